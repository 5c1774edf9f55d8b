//! Every change to the disk that putting files in place makes, one small step at a time, so that tests can
//! break off between any two of them.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use super::BundleError;

/// How many files are brought to the disk at once. File systems bring those that come together to the disk
/// together: eight threads take a fifth of the time of one.
const SYNC_THREADS: usize = 8;

/// Calls a system answers with when a folder cannot be synced there, which is no fault.
const NO_SYNC: [io::ErrorKind; 2] = [io::ErrorKind::InvalidInput, io::ErrorKind::Unsupported];

/// The disk. In tests it can fail or stop at any step.
#[derive(Debug, Clone, Default)]
pub(super) struct Disk {
    #[cfg(test)]
    pub(super) fault: Option<std::sync::Arc<super::fault::Fault>>,
}

/// Kinds of thing at a path. Links are not followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AtPath {
    Nothing,
    Folder,
    Link,
    File,
}

/// The kind of thing at a path.
pub(super) fn found(path: &Path) -> Result<AtPath, BundleError> {
    match fs::symlink_metadata(path) {
        Ok(at) if at.is_dir() => Ok(AtPath::Folder),
        Ok(at) if at.is_symlink() => Ok(AtPath::Link),
        Ok(_) => Ok(AtPath::File),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(AtPath::Nothing),
        Err(error) => Err(io_error(path)(error)),
    }
}

/// An error of the disk at a path.
pub(super) fn io_error(path: &Path) -> impl FnOnce(io::Error) -> BundleError + '_ {
    move |source| BundleError::Io { path: path.to_owned(), source }
}

impl Disk {
    /// A step is about to be made. Tests stop here; `torn` is what a broken-off write leaves behind.
    fn step(&self, torn: impl FnOnce()) -> io::Result<()> {
        #[cfg(test)]
        if let Some(fault) = &self.fault {
            return fault.step(torn);
        }
        let _ = torn;
        Ok(())
    }

    /// Whether the disk is real: tests that count steps do without waiting for it.
    fn is_real(&self) -> bool {
        #[cfg(test)]
        return self.fault.is_none();
        #[cfg(not(test))]
        true
    }

    /// Writes a file that must not exist.
    pub(super) fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), BundleError> {
        let write = |bytes: &[u8]| {
            OpenOptions::new().write(true).create_new(true).open(path).and_then(|mut f| f.write_all(bytes))
        };
        self.step(|| drop(write(&bytes[..bytes.len() / 2])))
            .and_then(|()| write(bytes))
            .map_err(io_error(path))
    }

    /// Renames; a file at `to` is replaced.
    pub(super) fn rename(&self, from: &Path, to: &Path) -> Result<(), BundleError> {
        self.step(|| ()).and_then(|()| fs::rename(from, to)).map_err(io_error(to))
    }

    /// Makes a folder. Says whether it was not there before.
    pub(super) fn make_folder(&self, path: &Path) -> Result<bool, BundleError> {
        match self.step(|| ()).and_then(|()| fs::create_dir(path)) {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => Ok(false),
            Err(error) => Err(io_error(path)(error)),
        }
    }

    /// Opens a file to lock, and makes it where it is missing.
    pub(super) fn open_lock(&self, path: &Path) -> io::Result<File> {
        self.step(|| ())?;
        OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)
    }

    /// Writes a few letters over the beginning of an open file.
    pub(super) fn note(&self, mut file: &File, text: &str) -> io::Result<()> {
        self.step(|| ())?;
        file.write_all(text.as_bytes())
    }

    /// Removes a file; one that is gone is no fault.
    pub(super) fn remove_file(&self, path: &Path) -> Result<(), BundleError> {
        gone_is_fine(self.step(|| ()).and_then(|()| fs::remove_file(path))).map_err(io_error(path))
    }

    /// Removes a folder that is empty, and leaves any other.
    pub(super) fn remove_empty(&self, path: &Path) -> Result<(), BundleError> {
        match self.step(|| ()).and_then(|()| fs::remove_dir(path)) {
            Err(error) if error.kind() == io::ErrorKind::DirectoryNotEmpty => Ok(()),
            other => gone_is_fine(other).map_err(io_error(path)),
        }
    }

    /// Removes a folder of files, one by one.
    pub(super) fn remove_files_of(&self, folder: &Path) -> Result<(), BundleError> {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(io_error(folder)(error)),
        };
        for entry in entries {
            self.remove_file(&entry.map_err(io_error(folder))?.path())?;
        }
        self.remove_empty(folder)
    }

    /// Waits until these files are on the disk.
    pub(super) fn sync_files(&self, paths: &[PathBuf]) -> Result<(), BundleError> {
        self.sync_all(paths, |path| {
            // One system flushes files open for reading, another only those open for writing.
            let file = OpenOptions::new().read(true).write(cfg!(windows)).open(path)?;
            file.sync_all()
        })
    }

    /// Waits until what these folders list is on the disk.
    pub(super) fn sync_folders(&self, paths: &[PathBuf]) -> Result<(), BundleError> {
        self.sync_all(paths, |path| {
            if cfg!(windows) {
                return Ok(());
            }
            match File::open(path).and_then(|folder| folder.sync_all()) {
                Err(error) if NO_SYNC.contains(&error.kind()) => Ok(()),
                other => other,
            }
        })
    }

    fn sync_all(
        &self,
        paths: &[PathBuf],
        sync: impl Fn(&Path) -> io::Result<()> + Sync,
    ) -> Result<(), BundleError> {
        let Some(first) = paths.first() else { return Ok(()) };
        self.step(|| ()).map_err(io_error(first))?;
        if !self.is_real() {
            return Ok(());
        }
        let next = AtomicUsize::new(0);
        let work = || {
            // The next path each time, for all threads together.
            while let Some(path) = paths.get(next.fetch_add(1, Ordering::Relaxed)) {
                sync(path).map_err(io_error(path))?;
            }
            Ok(())
        };
        let helpers = SYNC_THREADS.min(paths.len()) - 1;
        std::thread::scope(|scope| {
            // Threads that cannot be started are done without.
            let start = |_| std::thread::Builder::new().spawn_scoped(scope, work).ok();
            let helpers: Vec<_> = (0..helpers).filter_map(start).collect();
            let own = work();
            helpers.into_iter().fold(own, |so_far, helper| so_far.and(helper.join().unwrap_or(Ok(()))))
        })
    }
}

fn gone_is_fine(done: io::Result<()>) -> io::Result<()> {
    match done {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        other => other,
    }
}
