//! The journal of files being put in place. It is written whole, brought to the disk, and then given its
//! name, so that a journal that can be found is a whole one.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use strum::VariantArray;

use super::BundleError;
use super::disk::{Disk, io_error};
use super::lock::STATE;

/// Progress of putting in place; the journal's name says it. A folder is searched for them in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, VariantArray)]
pub(super) enum Progress {
    /// To be taken back.
    Back,
    /// To be finished.
    Go,
    /// All is staged; the leading folder's journal says whether it is to be placed.
    Ready,
}

impl Progress {
    fn file(self) -> &'static str {
        match self {
            Progress::Ready => "ready.json",
            Progress::Go => "go.json",
            Progress::Back => "back.json",
        }
    }
}

/// The files to put in place in one output folder. Placing is a redo, taking back an undo; both can be broken off
/// anywhere and begun again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Journal {
    /// The same in all folders of one build.
    pub(super) id: String,
    /// Folders to make, each below the one it is in.
    pub(super) folders: Vec<String>,
    /// Files in the order they are placed, each with its number in the stage.
    pub(super) files: Vec<(String, usize)>,
    /// Full path of the folder that leads; none if this one does.
    pub(super) lead: Option<OsString>,
    /// Full paths of the folders that are placed with this one, if it leads.
    pub(super) others: Vec<OsString>,
}

/// The file a new journal is written to until it is whole.
const UNNAMED: &str = "journal.new";

/// Puts a journal in place under the name of its step.
pub(super) fn write(disk: &Disk, state: &Path, step: Progress, journal: &Journal) -> Result<(), BundleError> {
    let unnamed = state.join(UNNAMED);
    let text = serde_json::to_vec(journal).map_err(|error| io_error(&unnamed)(error.into()))?;
    disk.write(&unnamed, &text)?;
    disk.sync_files(std::slice::from_ref(&unnamed))?;
    disk.rename(&unnamed, &state.join(step.file()))?;
    disk.sync_folders(&[state.to_owned()])
}

/// Gives a journal the name of its next step.
pub(super) fn change(disk: &Disk, state: &Path, from: Progress, to: Progress) -> Result<(), BundleError> {
    disk.rename(&state.join(from.file()), &state.join(to.file()))?;
    disk.sync_folders(&[state.to_owned()])
}

/// The journal of a folder, if putting in place has begun there.
pub(super) fn read(state: &Path) -> Result<Option<(Progress, Journal)>, BundleError> {
    for step in Progress::VARIANTS {
        let path = state.join(step.file());
        let text = match fs::read(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            Err(error) => return Err(io_error(&path)(error)),
        };
        let journal: Journal = serde_json::from_slice(&text)
            .map_err(|error| BundleError::Damaged { path: path.clone(), why: error.to_string() })?;
        let paths = journal.folders.iter().chain(journal.files.iter().map(|(path, _)| path));
        if let Some(path) = paths.into_iter().find(|path| !super::plain(path)) {
            return Err(BundleError::Escapes { path: path.clone() });
        }
        return Ok(Some((*step, journal)));
    }
    Ok(None)
}

/// Removes the journal: all is done.
pub(super) fn remove(disk: &Disk, state: &Path) -> Result<(), BundleError> {
    for step in Progress::VARIANTS {
        let path = state.join(step.file());
        if path.exists() {
            disk.remove_file(&path)?;
        }
    }
    Ok(())
}

/// Removes what was staged or replaced, unless there is a journal that needs it. Says whether it did.
pub(super) fn sweep(disk: &Disk, state: &Path) -> Result<bool, BundleError> {
    if read(state)?.is_some() {
        return Ok(false);
    }
    let unnamed = state.join(UNNAMED);
    if unnamed.exists() {
        disk.remove_file(&unnamed)?;
    }
    disk.remove_files_of(&new_files(state))?;
    disk.remove_files_of(&old_files(state))?;
    Ok(true)
}

/// Where files wait to be placed, by number.
pub(super) fn new_files(state: &Path) -> PathBuf {
    state.join("new")
}

/// Where files that were replaced are kept, by number.
pub(super) fn old_files(state: &Path) -> PathBuf {
    state.join("old")
}

/// The folders of the same build, as its journal names them, without those that no longer have a build going.
pub(super) fn partners(journal: &Journal) -> Vec<PathBuf> {
    let named = journal.lead.iter().chain(&journal.others).map(PathBuf::from);
    named.filter(|path| path.join(STATE).is_dir()).collect()
}
