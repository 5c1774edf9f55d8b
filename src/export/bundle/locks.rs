//! The locks of all output folders of a build, and what is done with them before it begins.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::disk::{Disk, io_error};
use super::journal::{self, Progress};
use super::lock::{self, Lock, Patience};
use super::place::{self, Member};
use super::{BundleError, Folder, Mended};

/// Locked output folders by their true paths.
pub(super) struct Locks(BTreeMap<PathBuf, Lock>);

/// Removes what is left of a stage and frees its folder. Best effort: the next build there does the rest.
pub(super) fn close(disk: &Disk, lock: Lock, kept: bool) {
    // With a journal, all is still needed; an open lock is freed as it is dropped.
    if let Ok(true) = journal::sweep(disk, &lock.state) {
        lock.release(disk, kept);
    }
}

impl Locks {
    /// Locks these folders, and those that a broken-off build in one of them names. All are taken in one
    /// order, so that two builds never wait for each other.
    pub(super) fn take(disk: &Disk, outs: &[PathBuf], patience: &Patience<'_>) -> Result<Self, BundleError> {
        let mut wanted: BTreeMap<PathBuf, PathBuf> =
            outs.iter().map(|out| (in_order(out), out.clone())).collect();
        // Every turn adds folders that were not wanted before, and each names those of one build.
        loop {
            let mut locks = Locks(BTreeMap::new());
            let more = wanted
                .values()
                .try_for_each(|out| locks.add(disk, out, patience))
                .and_then(|()| locks.named());
            match more {
                Ok(more) if more.is_empty() => return Ok(locks),
                Ok(more) => {
                    locks.release(disk);
                    wanted.extend(more.into_iter().map(|out| (in_order(&out), out)));
                }
                Err(error) => {
                    locks.release(disk);
                    return Err(error);
                }
            }
        }
    }

    fn add(&mut self, disk: &Disk, out: &Path, patience: &Patience<'_>) -> Result<(), BundleError> {
        if out.canonicalize().is_ok_and(|path| self.0.contains_key(&path)) {
            return Ok(());
        }
        let lock = lock::acquire(disk, out, patience)?;
        match out.canonicalize() {
            Ok(path) => drop(self.0.insert(path, lock)),
            Err(error) => {
                close(disk, lock, false);
                return Err(io_error(out)(error));
            }
        }
        Ok(())
    }

    /// Folders of the same builds, by what the journals in these say, that are not locked yet.
    fn named(&self) -> Result<Vec<PathBuf>, BundleError> {
        let mut named = BTreeSet::new();
        for lock in self.0.values() {
            if let Some((_, journal)) = journal::read(&lock.state)? {
                let partners = journal::partners(&journal);
                named.extend(partners.into_iter().filter_map(|path| path.canonicalize().ok()));
            }
        }
        Ok(named.into_iter().filter(|path| !self.0.contains_key(path)).collect())
    }

    /// Finishes or takes back builds that were broken off in these folders, and sweeps up after others.
    pub(super) fn mend(&mut self, disk: &Disk) -> Result<Vec<(PathBuf, Mended)>, BundleError> {
        let mut builds: BTreeMap<String, Vec<Member>> = BTreeMap::new();
        let mut mended = Vec::new();
        for Lock { out, state, .. } in self.0.values() {
            let (out, state) = (out.clone(), state.clone());
            match journal::read(&state)? {
                Some((step, journal)) => {
                    builds.entry(journal.id.clone()).or_default().push(Member { out, state, step, journal });
                }
                None if journal::new_files(&state).exists() => mended.push((out, Mended::Swept)),
                None => {}
            }
        }
        for members in builds.into_values() {
            let outs: Vec<PathBuf> = members.iter().map(|member| member.out.clone()).collect();
            let done = settle(disk, members).map_err(|source| BundleError::Stuck {
                out: outs.first().cloned().unwrap_or_default(),
                source: Box::new(source),
            })?;
            mended.extend(outs.into_iter().map(|out| (out, done)));
        }
        self.0.values().try_for_each(|lock| journal::sweep(disk, &lock.state).map(drop))?;
        Ok(mended)
    }

    /// Hands over these folders, each with an empty stage.
    pub(super) fn stages(&mut self, disk: &Disk, outs: &[PathBuf]) -> Result<Vec<Folder>, BundleError> {
        let path = |out: &PathBuf| out.canonicalize().map_err(io_error(out));
        let paths: Vec<PathBuf> = outs.iter().map(path).collect::<Result<_, _>>()?;
        for (index, path) in paths.iter().enumerate() {
            match self.0.get(path) {
                Some(lock) if !paths.iter().take(index).any(|before| before == path) => {
                    disk.make_folder(&journal::new_files(&lock.state))?;
                    disk.make_folder(&journal::old_files(&lock.state))?;
                }
                _ => return Err(BundleError::Shared { out: path.clone() }),
            }
        }
        let locks = paths.iter().filter_map(|path| self.0.remove(path));
        Ok(locks.map(|lock| Folder { lock, files: Mutex::default() }).collect())
    }

    /// Frees all.
    pub(super) fn release(self, disk: &Disk) {
        for lock in self.0.into_values() {
            close(disk, lock, false);
        }
    }
}

/// The key that folders are ordered by: their full path, without a look at the disk.
fn in_order(out: &Path) -> PathBuf {
    std::path::absolute(out).unwrap_or_else(|_| out.to_owned())
}

/// Finishes a broken-off build or takes it back.
fn settle(disk: &Disk, mut members: Vec<Member>) -> Result<Mended, BundleError> {
    if members.iter().any(|member| member.journal.lead.is_none()) {
        return place::finish(disk, members).map(|(mended, _)| mended);
    }
    // The leading folder says nothing of this build: it was not to be placed yet, or is gone.
    let mut mended = Mended::Swept;
    for member in members.drain(..) {
        if member.step == Progress::Ready {
            journal::remove(disk, &member.state)?;
        } else {
            mended = place::finish(disk, vec![member])?.0;
        }
    }
    Ok(mended)
}
