//! Puts finished files in place, all or none.
//!
//! Files are staged on disk beside their destination while they are rendered, so that memory does
//! not grow with their number, and renamed into place together at the end. A file that is replaced
//! is kept until the last rename has worked, so a failure puts everything back. Nothing that this
//! bundle did not write is ever deleted.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::Mutex;

use super::Artifact;

/// Why files could not be put in place.
#[derive(Debug, thiserror::Error)]
pub enum BundleError {
    /// The disk said no.
    #[error("could not write {}: {source}", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A name that leads out of the output folder.
    #[error("refused to write {path:?}: the name leads out of the output folder")]
    Escapes {
        /// The path asked for.
        path: String,
    },
    /// Two outputs of one name.
    #[error("two outputs are both named {path:?}")]
    Twice {
        /// The path asked for.
        path: String,
    },
}

/// Files on their way to an output folder.
#[derive(Debug)]
pub struct Bundle {
    out: PathBuf,
    stage: tempfile::TempDir,
    files: Mutex<BTreeSet<String>>,
}

fn io_error(path: &Path) -> impl FnOnce(io::Error) -> BundleError + '_ {
    move |source| BundleError::Io { path: path.to_owned(), source }
}

impl Bundle {
    /// Opens a bundle for the folder `out`, which need not exist.
    ///
    /// # Errors
    /// When nothing can be staged beside it.
    pub fn new(out: &Path) -> Result<Self, BundleError> {
        // Staged on the same disk as the destination, so that putting in place is a rename.
        let base = out.ancestors().find(|p| p.is_dir()).unwrap_or(Path::new("."));
        let stage =
            tempfile::Builder::new().prefix(".tubewright-").tempdir_in(base).map_err(io_error(base))?;
        Ok(Bundle { out: out.to_owned(), stage, files: Mutex::default() })
    }

    /// Stages one file. May be called from several threads.
    ///
    /// # Errors
    /// When the name leads out of the folder or was used before, or the disk says no.
    pub fn add(&self, artifact: &Artifact) -> Result<(), BundleError> {
        let path = &artifact.path;
        let relative = Path::new(path);
        let plain = !path.is_empty()
            && !path.contains(['\\', ':', '\0'])
            && relative.components().all(|part| matches!(part, Component::Normal(_)));
        if !plain {
            return Err(BundleError::Escapes { path: path.clone() });
        }
        let mut files = self.files.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if !files.insert(path.clone()) {
            return Err(BundleError::Twice { path: path.clone() });
        }
        drop(files);
        let staged = self.new_files().join(relative);
        make_parent(&staged)?;
        fs::write(&staged, &artifact.bytes).map_err(io_error(&staged))
    }

    /// Puts every staged file in place and returns their paths below the output folder, sorted.
    ///
    /// # Errors
    /// When the disk says no; then every file is as it was before.
    pub fn put_in_place(self) -> Result<Vec<String>, BundleError> {
        let files =
            std::mem::take(&mut *self.files.lock().unwrap_or_else(std::sync::PoisonError::into_inner));
        let mut moves = Moves::default();
        for file in &files {
            let target = self.out.join(file);
            let old = self.stage.path().join("old").join(file);
            if let Err(error) = moves.replace(&self.new_files().join(file), &target, &old) {
                moves.undo();
                return Err(error);
            }
        }
        Ok(files.into_iter().collect())
    }

    fn new_files(&self) -> PathBuf {
        self.stage.path().join("new")
    }
}

fn make_parent(path: &Path) -> Result<(), BundleError> {
    match path.parent() {
        Some(parent) => fs::create_dir_all(parent).map_err(io_error(parent)),
        None => Ok(()),
    }
}

/// Renames done so far, and how to take them back.
#[derive(Default)]
struct Moves {
    done: Vec<(PathBuf, Option<PathBuf>)>,
    made: Vec<PathBuf>,
}

impl Moves {
    fn replace(&mut self, new: &Path, target: &Path, old: &Path) -> Result<(), BundleError> {
        self.make_folders(target)?;
        let replaced = match fs::symlink_metadata(target) {
            Ok(found) if found.is_dir() => {
                let source =
                    io::Error::new(io::ErrorKind::IsADirectory, "a folder of that name is in the way");
                return Err(BundleError::Io { path: target.to_owned(), source });
            }
            Ok(_) => {
                make_parent(old)?;
                fs::rename(target, old).map_err(io_error(target))?;
                Some(old.to_owned())
            }
            Err(_) => None,
        };
        // Recorded before the rename, so that a failed rename also brings the old file back.
        self.done.push((target.to_owned(), replaced));
        fs::rename(new, target).map_err(io_error(target))
    }

    fn make_folders(&mut self, target: &Path) -> Result<(), BundleError> {
        let Some(parent) = target.parent() else { return Ok(()) };
        let missing: Vec<&Path> =
            parent.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists()).collect();
        for folder in missing.into_iter().rev() {
            fs::create_dir(folder).map_err(io_error(folder))?;
            self.made.push(folder.to_owned());
        }
        Ok(())
    }

    /// Best effort: an error on the way back cannot be mended here and the first error is reported.
    fn undo(self) {
        for (target, old) in self.done.into_iter().rev() {
            match old {
                Some(old) => drop(fs::rename(old, target)),
                None => drop(fs::remove_file(target)),
            }
        }
        for folder in self.made.into_iter().rev() {
            drop(fs::remove_dir(folder));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn artifact(path: &str, text: &str) -> Artifact {
        Artifact { path: path.to_owned(), bytes: text.as_bytes().to_vec() }
    }

    fn entries(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn names_that_leave_the_folder_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let bundle = Bundle::new(&folder.path().join("out")).unwrap();
        for path in ["../a", "/a", "a/../../b", "", "a\\b", "c:/x", "./a/.."] {
            assert!(matches!(bundle.add(&artifact(path, "")), Err(BundleError::Escapes { .. })), "{path}");
        }
        assert!(matches!(bundle.add(&artifact("a/b", "")), Ok(())));
        assert!(matches!(bundle.add(&artifact("a/b", "")), Err(BundleError::Twice { .. })));
    }

    #[test]
    fn a_dropped_bundle_leaves_no_trace() {
        let folder = tempfile::tempdir().unwrap();
        let bundle = Bundle::new(&folder.path().join("deep/out")).unwrap();
        bundle.add(&artifact("a", "1")).unwrap();
        drop(bundle);
        assert!(entries(folder.path()).is_empty());
    }

    #[test]
    fn a_failure_puts_every_file_back() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path();
        fs::write(out.join("a"), "old").unwrap();
        fs::create_dir(out.join("b")).unwrap();
        let bundle = Bundle::new(out).unwrap();
        bundle.add(&artifact("a", "new")).unwrap();
        bundle.add(&artifact("aa/x", "new")).unwrap();
        bundle.add(&artifact("b", "a folder is in the way")).unwrap();
        assert!(matches!(bundle.put_in_place(), Err(BundleError::Io { .. })));
        assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "old");
        assert_eq!(entries(out), ["a", "b"]);
    }

    #[test]
    fn files_of_others_stay() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path();
        fs::write(out.join("mine.txt"), "keep").unwrap();
        let bundle = Bundle::new(out).unwrap();
        bundle.add(&artifact("runs/a/tube.step", "1")).unwrap();
        assert_eq!(bundle.put_in_place().unwrap(), ["runs/a/tube.step"]);
        assert_eq!(fs::read_to_string(out.join("mine.txt")).unwrap(), "keep");
        assert_eq!(entries(out), ["mine.txt", "runs"]);
    }
}
