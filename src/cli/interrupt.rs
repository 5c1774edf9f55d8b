//! Ctrl-C and TERM while a build has files on their way.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use tubewright::export::bundle::{Bundle, BundleError};

/// Opens the bundle of a build that signals end cleanly: the process ends with 128 and the signal's number, as
/// shells do, after the build has left no trace. Signals are heard before the first file is made. One that
/// comes while the bundle is opened or files are put in place waits until that is done. Where signals cannot be
/// heard, the next build sweeps up.
///
/// # Errors
/// Those of [`Bundle::new`].
#[cfg(unix)]
pub(super) fn open(outs: &[PathBuf]) -> Result<Arc<Bundle>, BundleError> {
    use std::sync::atomic::{AtomicBool, Ordering};
    use std::sync::{Mutex, PoisonError, Weak, mpsc};

    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;

    let (ended, opened) = (Arc::new(AtomicBool::new(false)), Arc::new(Mutex::new(Weak::<Bundle>::new())));
    // Held until the bundle is open.
    let mut slot = opened.lock().unwrap_or_else(PoisonError::into_inner);
    let (listening, begun) = mpsc::channel();
    let (told, bundle) = (Arc::clone(&ended), Arc::clone(&opened));
    // Heard from within the thread only: without it, signals end the program as ever.
    let listen = move || {
        let signals = Signals::new([SIGINT, SIGTERM]);
        let _ = listening.send(());
        let Ok(mut signals) = signals else { return };
        if let Some(signal) = signals.forever().next() {
            told.store(true, Ordering::SeqCst);
            let open = bundle.lock().unwrap_or_else(PoisonError::into_inner).upgrade();
            if let Some(bundle) = open {
                bundle.abandon();
            }
            std::process::exit(128 + signal);
        }
    };
    if std::thread::Builder::new().spawn(listen).is_ok() {
        let _ = begun.recv();
    }
    let bundle = Bundle::new_unless(&ended, outs).map(Arc::new);
    if let Ok(bundle) = &bundle {
        *slot = Arc::downgrade(bundle);
    }
    drop(slot);
    if bundle.is_err() && ended.load(Ordering::SeqCst) {
        // The build was not refused, but told to end.
        wait_for_the_end();
    }
    bundle
}

/// Opens the bundle of a build. One that is ended is swept up by the next one.
///
/// # Errors
/// Those of [`Bundle::new`].
#[cfg(not(unix))]
pub(super) fn open(outs: &[PathBuf]) -> Result<Arc<Bundle>, BundleError> {
    Bundle::new(outs).map(Arc::new)
}

/// How long a build that was told to end waits for it.
const LAST_WAIT: Duration = Duration::from_secs(5);

/// Leaves it to the listener to end the process: a build told to end has that exit code and no message.
pub(super) fn wait_for_the_end() {
    std::thread::sleep(LAST_WAIT);
}
