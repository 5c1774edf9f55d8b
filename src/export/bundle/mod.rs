//! Puts finished files in place, all or none, whatever ends the program in between.
//!
//! Files are staged on disk inside their output folder while they are rendered, so that memory does not grow
//! with their number. Then they are brought to the disk, a journal says what is to be done, and they are
//! renamed into place; a file that is replaced is kept until the last rename has worked. A failure puts
//! everything back. Whoever opens the folder next finishes what a killed build began, or sweeps up after it.
//! Several folders are one build: the journal of the first of them decides for all.
//! Nothing that this bundle did not write is ever deleted.

mod disk;
#[cfg(test)]
mod fault;
mod journal;
mod lock;
mod locks;
mod place;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, PoisonError, RwLock};
use std::time::{Duration, Instant, SystemTime};

use super::Artifact;
use crate::diagnostic::harmless;
use disk::{AtPath, Disk};
use journal::{Journal, Progress};
use lock::{Lock, Patience};
use locks::Locks;
use place::Member;

/// How long a build waits for another one in its folder.
const WAIT: Duration = Duration::from_secs(5);

/// The file that is placed last: programs that wait for it find the others whole.
const LAST: &str = "plan.json";

/// Why files could not be put in place.
#[derive(Debug, thiserror::Error)]
pub enum BundleError {
    /// The disk said no.
    #[error("could not write {}: {source}", shown(path))]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// The system's error.
        source: io::Error,
    },
    /// Something that is not ours is where a file belongs.
    #[error("could not write {}: {why}", shown(path))]
    InTheWay {
        /// The file or folder.
        path: PathBuf,
        /// What is there.
        why: &'static str,
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
    /// Two specs of one build with the same output folder.
    #[error("two specs would both be written to {}; build them one by one with --out", shown(out))]
    Shared {
        /// The output folder.
        out: PathBuf,
    },
    /// Another build is going on there.
    #[error("another build is writing to {}; build again when it has ended", shown(out))]
    Busy {
        /// The output folder.
        out: PathBuf,
    },
    /// A link that leads nowhere.
    #[error("{} is a link to {}, which does not exist", shown(path), shown(to))]
    Dangling {
        /// The link.
        path: PathBuf,
        /// Where it leads.
        to: PathBuf,
    },
    /// A folder that is to be left again by `..` does not exist.
    #[error("{} leads through {}, which does not exist", shown(out), shown(path))]
    Nowhere {
        /// The folder that is missing.
        path: PathBuf,
        /// The whole path.
        out: PathBuf,
    },
    /// A broken-off build that stays as it is.
    #[error(
        "a build into {} was broken off, and can be neither finished nor taken back: {source}",
        shown(out)
    )]
    Stuck {
        /// The output folder.
        out: PathBuf,
        /// Why.
        source: Box<BundleError>,
    },
    /// A journal that is none.
    #[error(
        "{} is of a build that was broken off, and damaged ({}); look through that folder, save what you need from its folder \"old\", and remove it",
        shown(path),
        harmless(why)
    )]
    Damaged {
        /// The journal.
        path: PathBuf,
        /// Why it cannot be read.
        why: String,
    },
    /// The build was told to end.
    #[error("the build was broken off")]
    Ended,
}

fn shown(path: &Path) -> String {
    harmless(&path.to_string_lossy())
}

impl BundleError {
    fn in_the_way(path: &Path, why: &'static str) -> Self {
        BundleError::InTheWay { path: path.to_owned(), why }
    }
}

/// The fate of a build that had been broken off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mended {
    /// It had not begun to place files; what it had staged was removed.
    Swept,
    /// Its files are all in place.
    Finished,
    /// Every file is as it was before.
    TakenBack,
}

/// Files on their way to one or more output folders.
#[derive(Debug)]
pub struct Bundle {
    disk: Disk,
    /// The folders, in the order asked for, until they are done.
    folders: RwLock<Option<Vec<Folder>>>,
    mended: Vec<(PathBuf, Mended)>,
}

/// One output folder and the files staged for it, each with its number.
#[derive(Debug)]
struct Folder {
    lock: Lock,
    files: Mutex<BTreeMap<String, usize>>,
}

impl Bundle {
    /// Opens a bundle for output folders, which need not exist. Waits a little for other builds there, and
    /// mends what broken-off ones left.
    ///
    /// # Errors
    /// When a folder cannot be made or locked, or a broken-off build there can neither be finished nor taken
    /// back.
    pub fn new(outs: &[PathBuf]) -> Result<Self, BundleError> {
        Self::open(Disk::default(), outs, WAIT)
    }

    /// The same; stops waiting for other builds as soon as `ended` is set.
    ///
    /// # Errors
    /// The same.
    pub fn new_unless(ended: &AtomicBool, outs: &[PathBuf]) -> Result<Self, BundleError> {
        Self::open_unless(ended, Disk::default(), outs, WAIT)
    }

    fn open(disk: Disk, outs: &[PathBuf], wait: Duration) -> Result<Self, BundleError> {
        Self::open_unless(&AtomicBool::new(false), disk, outs, wait)
    }

    fn open_unless(
        ended: &AtomicBool,
        disk: Disk,
        outs: &[PathBuf],
        wait: Duration,
    ) -> Result<Self, BundleError> {
        let mut locks = Locks::take(&disk, outs, &Patience { until: Instant::now() + wait, ended })?;
        let opened = locks.mend(&disk).and_then(|mended| Ok((mended, locks.stages(&disk, outs)?)));
        // Folders of others that were mended with these, or all of them after a failure.
        locks.release(&disk);
        let (mended, folders) = opened?;
        Ok(Bundle { disk, folders: RwLock::new(Some(folders)), mended })
    }

    /// The fate of builds that had been broken off in these folders.
    pub fn mended(&self) -> &[(PathBuf, Mended)] {
        &self.mended
    }

    /// Stages one file for the output folder of this index. May be called from several threads.
    ///
    /// # Errors
    /// When the name leads out of the folder or was used before, or the disk says no.
    pub fn add(&self, folder: usize, artifact: &Artifact) -> Result<(), BundleError> {
        let path = &artifact.path;
        if !plain(path) {
            return Err(BundleError::Escapes { path: path.clone() });
        }
        // Held until the file is written: whoever ends the build waits for it.
        let folders = self.folders.read().unwrap_or_else(PoisonError::into_inner);
        let folder = folders.as_ref().and_then(|all| all.get(folder)).ok_or(BundleError::Ended)?;
        let mut files = folder.files.lock().unwrap_or_else(PoisonError::into_inner);
        let number = files.len();
        if files.contains_key(path) {
            return Err(BundleError::Twice { path: path.clone() });
        }
        files.insert(path.clone(), number);
        drop(files);
        let staged = journal::new_files(&folder.lock.state).join(number.to_string());
        self.disk.write(&staged, &artifact.bytes).map_err(|error| error.at(&folder.lock.out.join(path)))
    }

    /// Puts every staged file in place and returns their paths below each output folder, sorted.
    ///
    /// # Errors
    /// When the disk says no; then every file is as it was before.
    pub fn put_in_place(&self) -> Result<Vec<Vec<String>>, BundleError> {
        let mut all = self.folders.write().unwrap_or_else(PoisonError::into_inner);
        let folders = all.take().ok_or(BundleError::Ended)?;
        let placed = place_all(&self.disk, &folders);
        let kept = placed.is_ok();
        let files = folders.into_iter().map(|folder| close(&self.disk, folder, kept)).collect();
        placed.map(|()| files)
    }

    /// Ends the build without a trace, once files that are being staged or placed are done. What was placed
    /// before stays.
    pub fn abandon(&self) {
        let mut all = self.folders.write().unwrap_or_else(PoisonError::into_inner);
        for folder in all.take().into_iter().flatten() {
            close(&self.disk, folder, false);
        }
    }
}

impl Drop for Bundle {
    fn drop(&mut self) {
        self.abandon();
    }
}

/// Finishes or takes back a build that was broken off in this folder, if there is one and nobody is at it.
///
/// # Errors
/// When it can be neither finished nor taken back.
pub fn mend(out: &Path) -> Result<Option<Mended>, BundleError> {
    mend_with(&Disk::default(), out)
}

fn mend_with(disk: &Disk, out: &Path) -> Result<Option<Mended>, BundleError> {
    if !matches!(disk::found(&out.join(lock::STATE)), Ok(AtPath::Folder)) {
        return Ok(None);
    }
    match Bundle::open(disk.clone(), &[out.to_owned()], Duration::ZERO) {
        Err(BundleError::Busy { .. }) => Ok(None),
        opened => Ok(opened?.mended.first().map(|(_, mended)| *mended)),
    }
}

/// Whether a path stays below the folder it is joined to, on every system.
fn plain(path: &str) -> bool {
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}

impl BundleError {
    /// The same, said of the file it is about instead of its place in the stage.
    fn at(self, path: &Path) -> Self {
        match self {
            BundleError::Io { source, .. } => BundleError::Io { path: path.to_owned(), source },
            other => other,
        }
    }
}

/// Frees the folder and returns the files that were staged.
fn close(disk: &Disk, folder: Folder, kept: bool) -> Vec<String> {
    locks::close(disk, folder.lock, kept);
    folder.files.into_inner().unwrap_or_else(PoisonError::into_inner).into_keys().collect()
}

fn place_all(disk: &Disk, folders: &[Folder]) -> Result<(), BundleError> {
    let mut members = prepare(disk, folders)?;
    // The leading folder's journal is the last to be written: with it, all are to be placed.
    let written = members
        .iter()
        .rev()
        .try_for_each(|member| journal::write(disk, &member.state, member.step, &member.journal));
    if let Err(error) = written {
        members.drain(..).try_for_each(|member| journal::remove(disk, &member.state))?;
        return Err(error);
    }
    match place::finish(disk, members)? {
        (_, Some(error)) => Err(error),
        (_, None) => Ok(()),
    }
}

/// Brings what is staged to the disk and says what is to be done in each folder, the leading one first.
fn prepare(disk: &Disk, folders: &[Folder]) -> Result<Vec<Member>, BundleError> {
    let mut members = Vec::with_capacity(folders.len());
    let (mut staged, mut listings) = (Vec::new(), BTreeSet::new());
    let full = |folder: &Folder| {
        let out = &folder.lock.out;
        out.canonicalize().map(PathBuf::into_os_string).map_err(disk::io_error(out))
    };
    let others: Vec<OsString> = folders.iter().skip(1).map(full).collect::<Result<_, _>>()?;
    let lead = folders.first().map(full).transpose()?;
    let id = id();
    for (index, folder) in folders.iter().enumerate() {
        let files = folder.files.lock().unwrap_or_else(PoisonError::into_inner);
        let missing = place::missing_folders(&folder.lock.out, files.keys())?;
        let new = journal::new_files(&folder.lock.state);
        staged.extend(files.values().map(|number| new.join(number.to_string())));
        listings.extend(folder.lock.listing());
        listings.extend([new, folder.lock.state.clone()]);
        let mut order: Vec<(String, usize)> = files.iter().map(|(path, &at)| (path.clone(), at)).collect();
        order.sort_by_key(|(path, _)| path == LAST);
        members.push(Member {
            out: folder.lock.out.clone(),
            state: folder.lock.state.clone(),
            step: if index == 0 { Progress::Go } else { Progress::Ready },
            journal: Journal {
                id: id.clone(),
                folders: missing,
                files: order,
                lead: if index == 0 { None } else { lead.clone() },
                others: if index == 0 { others.clone() } else { Vec::new() },
            },
        });
    }
    disk.sync_files(&staged)?;
    disk.sync_folders(&listings.into_iter().collect::<Vec<_>>())?;
    Ok(members)
}

/// Tells builds apart: no two at the same time on one machine have the same.
fn id() -> String {
    let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    format!("{}-{}", std::process::id(), now.as_nanos())
}
