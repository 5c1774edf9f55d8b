//! The lock of an output folder: a file in a folder of the bundle's own inside it. Whoever holds the lock may
//! stage, place and clean there; the system frees it when its holder ends, however it ends.

use std::fs::{self, File, TryLockError};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::BundleError;
use super::disk::{AtPath, Disk, found, io_error};

/// Folder inside the output folder that is there only while a build is: its lock, its journal, and files on
/// their way in and out. Inside, so that every move is a rename on one disk and any later build finds it.
pub(super) const STATE: &str = ".tubewright-build";

/// How often a held lock is tried again.
const TRY_AGAIN: Duration = Duration::from_millis(20);

/// A locked output folder.
#[derive(Debug)]
pub(super) struct Lock {
    /// The output folder.
    pub(super) out: PathBuf,
    /// [`STATE`] inside it.
    pub(super) state: PathBuf,
    /// How many folders were made to get there, the output folder last.
    made: usize,
    /// Holds the lock while it is open.
    _file: File,
}

/// How long a held lock is waited for.
pub(super) struct Patience<'a> {
    /// The latest time.
    pub(super) until: Instant,
    /// Set when the build is told to end.
    pub(super) ended: &'a AtomicBool,
}

impl Patience<'_> {
    fn is_over(&self) -> bool {
        self.ended.load(Ordering::SeqCst) || Instant::now() >= self.until
    }
}

/// The outcome of one attempt.
enum Attempt {
    Locked(File, usize),
    Held,
    /// The holder has cleaned up and removed the file meanwhile.
    Gone,
}

/// Makes the output folder where it is missing and locks it, as long as there is patience.
pub(super) fn acquire(disk: &Disk, out: &Path, patience: &Patience<'_>) -> Result<Lock, BundleError> {
    let state = out.join(STATE);
    // Until the lock is had or patience is over.
    loop {
        let made = make_out(disk, out)?;
        let attempt = attempt(disk, &state, made);
        if !matches!(attempt, Ok(Attempt::Locked(..))) {
            drop(disk.remove_empty(&state));
            remove_made(disk, out, made);
        }
        match attempt? {
            Attempt::Locked(file, made) => {
                return Ok(Lock { out: out.to_owned(), state, made, _file: file });
            }
            Attempt::Held | Attempt::Gone if patience.is_over() => {
                return Err(BundleError::Busy { out: out.to_owned() });
            }
            Attempt::Held => std::thread::sleep(TRY_AGAIN),
            Attempt::Gone => {}
        }
    }
}

fn attempt(disk: &Disk, state: &Path, made: usize) -> Result<Attempt, BundleError> {
    match found(state)? {
        AtPath::Folder => {}
        AtPath::Nothing => match disk.make_folder(state) {
            Err(BundleError::Io { source, .. }) if source.kind() == io::ErrorKind::NotFound => {
                return Ok(Attempt::Gone);
            }
            other => drop(other?),
        },
        AtPath::Link | AtPath::File => return Err(BundleError::in_the_way(state, "it is no folder")),
    }
    let path = state.join("lock");
    let opened = match disk.open_lock(&path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Attempt::Gone),
        opened => opened.map_err(io_error(&path))?,
    };
    match opened.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Ok(Attempt::Held),
        Err(TryLockError::Error(error)) => return Err(io_error(&path)(error)),
    }
    // The file may have been removed by its last holder between opening and locking it.
    let same = opened.try_clone().and_then(same_file::Handle::from_file).and_then(|mine| {
        match same_file::Handle::from_path(&path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
            theirs => Ok(theirs? == mine),
        }
    });
    if !same.map_err(io_error(&path))? {
        return Ok(Attempt::Gone);
    }
    let made = remember(disk, &opened, made).map_err(io_error(&path))?;
    Ok(Attempt::Locked(opened, made))
}

/// Notes in the lock how many folders were made, so that whoever sweeps up after a build that was killed
/// can remove them too. A build killed earlier may have noted more.
fn remember(disk: &Disk, file: &File, made: usize) -> io::Result<usize> {
    let mut noted = String::new();
    file.take(20).read_to_string(&mut noted)?;
    let before = noted.trim().parse().unwrap_or(0);
    if noted.is_empty() && made > 0 {
        disk.note(file, &made.to_string())?;
    }
    Ok(made.max(before))
}

impl Lock {
    /// Ends the hold: the lock and the bundle's folder are removed. Where `keep` is false, so are output
    /// folders that were made for nothing. Best effort: what stays is removed by the next build.
    pub(super) fn release(self, disk: &Disk, keep: bool) {
        let removed =
            disk.remove_file(&self.state.join("lock")).and_then(|()| disk.remove_empty(&self.state));
        if removed.is_ok() && !keep {
            remove_made(disk, &self.out, self.made);
        }
    }

    /// Folders that list an entry made for this build: the output folder and those made above it.
    pub(super) fn listing(&self) -> Vec<PathBuf> {
        let real =
            |path: &Path| if path.as_os_str().is_empty() { PathBuf::from(".") } else { path.to_owned() };
        self.out.ancestors().take(self.made + 1).map(real).collect()
    }
}

/// Removes the innermost `made` folders of a path while they are empty.
fn remove_made(disk: &Disk, out: &Path, made: usize) {
    for folder in out.ancestors().take(made) {
        if disk.remove_empty(folder).is_err() {
            break;
        }
    }
}

/// Makes a folder and those above it. Says how many were made.
fn make_out(disk: &Disk, out: &Path) -> Result<usize, BundleError> {
    let mut made = 0;
    let mut path = PathBuf::new();
    let parts: Vec<Component<'_>> = out.components().collect();
    for (index, part) in parts.iter().enumerate() {
        path.push(part);
        let rest = parts.get(index + 1..).unwrap_or_default();
        match make_part(disk, &path, rest, out) {
            Ok(new) => made += usize::from(new),
            Err(error) => {
                remove_made(disk, path.parent().unwrap_or(&path), made);
                return Err(error);
            }
        }
    }
    Ok(made)
}

fn make_part(disk: &Disk, path: &Path, rest: &[Component<'_>], out: &Path) -> Result<bool, BundleError> {
    match fs::metadata(path) {
        Ok(at) if at.is_dir() => Ok(false),
        Ok(_) => Err(BundleError::in_the_way(path, "it is a file, not a folder")),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            if let Ok(to) = fs::read_link(path) {
                return Err(BundleError::Dangling { path: path.to_owned(), to });
            }
            if rest.contains(&Component::ParentDir) {
                return Err(BundleError::Nowhere { path: path.to_owned(), out: out.to_owned() });
            }
            disk.make_folder(path)
        }
        Err(error) => Err(io_error(path)(error)),
    }
}
