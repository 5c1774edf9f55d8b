//! Ctrl-C and TERM while a build has files on their way.

use std::sync::Arc;

use tubewright::export::bundle::Bundle;

/// Ends the process with 128 and the signal's number, as shells do, after the build has left no trace. A
/// signal that comes while files are put in place waits until they are. Where signals cannot be heard, the next
/// build sweeps up.
#[cfg(unix)]
pub(super) fn end_cleanly(bundle: &Arc<Bundle>) {
    use std::sync::{Weak, mpsc};

    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;

    let bundle: Weak<Bundle> = Arc::downgrade(bundle);
    let (listening, begun) = mpsc::channel();
    // Heard from within the thread only: without it, signals end the program as ever.
    let listen = move || {
        let signals = Signals::new([SIGINT, SIGTERM]);
        let _ = listening.send(());
        let Ok(mut signals) = signals else { return };
        if let Some(signal) = signals.forever().next() {
            if let Some(bundle) = bundle.upgrade() {
                bundle.abandon();
            }
            std::process::exit(128 + signal);
        }
    };
    if std::thread::Builder::new().spawn(listen).is_ok() {
        let _ = begun.recv();
    }
}

/// Elsewhere a build that is ended is swept up by the next one.
#[cfg(not(unix))]
pub(super) fn end_cleanly(_: &Arc<Bundle>) {}
