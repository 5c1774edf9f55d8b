//! Puts staged files in place, or takes that back. The same steps serve a build and whoever finds one that
//! was broken off.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::disk::{AtPath, Disk, found};
use super::journal::{self, Journal, Progress};
use super::{BundleError, Mended};

/// One folder of a build whose journal is written.
pub(super) struct Member {
    /// The output folder.
    pub(super) out: PathBuf,
    /// The bundle's folder inside it.
    pub(super) state: PathBuf,
    /// How far it has come.
    pub(super) step: Progress,
    /// The journal that is followed.
    pub(super) journal: Journal,
}

/// Folders that are missing below an output folder for these files.
///
/// # Errors
/// When something in the folder is in a file's way, or a folder is a link.
pub(super) fn missing_folders<'f>(
    out: &Path,
    files: impl Iterator<Item = &'f String>,
) -> Result<Vec<String>, BundleError> {
    let mut seen = BTreeSet::new();
    let mut missing = Vec::new();
    for file in files {
        for folder in folders_of(file) {
            if seen.insert(folder.to_owned()) && !is_folder(&out.join(folder))? {
                missing.push(folder.to_owned());
            }
        }
        let target = out.join(file);
        if found(&target)? == AtPath::Folder {
            return Err(BundleError::in_the_way(&target, "a folder of that name is in the way"));
        }
    }
    Ok(missing)
}

/// The folders a file is in, from the outermost on.
fn folders_of(file: &str) -> impl Iterator<Item = &str> {
    file.match_indices('/').filter_map(|(at, _)| file.get(..at))
}

/// Whether there is a folder. Links are refused, for they may lead out of the output folder.
fn is_folder(path: &Path) -> Result<bool, BundleError> {
    match found(path)? {
        AtPath::Nothing => Ok(false),
        AtPath::Folder => Ok(true),
        AtPath::File => Err(BundleError::in_the_way(path, "a file is in the way of the folder of that name")),
        AtPath::Link => Err(BundleError::in_the_way(
            path,
            "it is a link, and nothing is written through links inside the output folder",
        )),
    }
}

/// Finishes a build whose leading folder says so, or takes it back where it says that or where finishing
/// fails. Then the journals are gone, the leading folder's last.
///
/// Returns what was done, and for a build taken back why, if it was to be finished.
///
/// # Errors
/// When it can be neither finished nor taken back; then the journals stay for another attempt.
pub(super) fn finish(
    disk: &Disk,
    mut members: Vec<Member>,
) -> Result<(Mended, Option<BundleError>), BundleError> {
    members.sort_by_key(|member| member.journal.lead.is_none());
    let Some(lead) = members.last() else { return Ok((Mended::Swept, None)) };
    let leads = lead.journal.lead.is_none();
    // Others that have been finished, journal and all, cannot be taken back any more.
    let whole = !leads || lead.journal.others.len() + 1 == members.len();
    let mut failed = None;
    if lead.step != Progress::Back {
        match members.iter_mut().try_for_each(|member| forward(disk, member)) {
            Ok(()) => {}
            Err(error) if !whole => return Err(error),
            Err(error) => failed = Some(error),
        }
    }
    let Some(lead) = members.last_mut() else { return Ok((Mended::Swept, None)) };
    if failed.is_some() {
        journal::change(disk, &lead.state, lead.step, Progress::Back)?;
        lead.step = Progress::Back;
    }
    let back = lead.step == Progress::Back;
    if back {
        members.iter().rev().try_for_each(|member| take_back(disk, member))?;
    }
    members.iter().try_for_each(|member| journal::remove(disk, &member.state))?;
    Ok((if back { Mended::TakenBack } else { Mended::Finished }, failed))
}

/// Places what is not placed yet.
fn forward(disk: &Disk, member: &mut Member) -> Result<(), BundleError> {
    let Member { out, state, journal, step } = member;
    if *step == Progress::Ready {
        journal::change(disk, state, Progress::Ready, Progress::Go)?;
        *step = Progress::Go;
    }
    let mut listing = BTreeSet::new();
    for folder in &journal.folders {
        let path = out.join(folder);
        if !is_folder(&path)? && disk.make_folder(&path)? {
            listing.extend(path.parent().map(Path::to_owned));
        }
    }
    let mut folders = BTreeSet::new();
    for (file, number) in &journal.files {
        let staged = journal::new_files(state).join(number.to_string());
        let target = out.join(file);
        listing.extend(target.parent().map(Path::to_owned));
        if found(&staged)? == AtPath::Nothing {
            continue;
        }
        // Looked at again: a link may have come since.
        for folder in folders_of(file) {
            if folders.insert(folder) {
                is_folder(&out.join(folder))?;
            }
        }
        let old = journal::old_files(state).join(number.to_string());
        match found(&target)? {
            AtPath::Folder => {
                return Err(BundleError::in_the_way(&target, "a folder of that name is in the way"));
            }
            AtPath::Nothing => {}
            AtPath::File | AtPath::Link => {
                if found(&old)? == AtPath::Nothing {
                    disk.rename(&target, &old)?;
                }
            }
        }
        disk.rename(&staged, &target)?;
    }
    disk.sync_folders(&listing.into_iter().collect::<Vec<_>>())
}

/// Takes back what was placed, in reverse. A file is placed if it is no longer staged; one that it replaced is
/// among the old ones.
fn take_back(disk: &Disk, member: &Member) -> Result<(), BundleError> {
    let Member { out, state, journal, .. } = member;
    let mut listing = BTreeSet::new();
    for (file, number) in journal.files.iter().rev() {
        let staged = journal::new_files(state).join(number.to_string());
        let old = journal::old_files(state).join(number.to_string());
        let target = out.join(file);
        if found(&staged)? == AtPath::Nothing && found(&target)? != AtPath::Nothing {
            disk.rename(&target, &staged)?;
        }
        if found(&old)? != AtPath::Nothing {
            disk.rename(&old, &target)?;
        }
        listing.extend(target.parent().filter(|parent| parent.is_dir()).map(Path::to_owned));
    }
    disk.sync_folders(&listing.into_iter().collect::<Vec<_>>())?;
    journal.folders.iter().rev().try_for_each(|folder| disk.remove_empty(&out.join(folder)))
}
