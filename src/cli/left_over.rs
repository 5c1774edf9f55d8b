//! Files in the output folder that are not from this build, so that nobody bends from an old template or cuts
//! an old part. They are the user's to delete.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use serde::Serialize;
use tubewright::diagnostic::harmless;
use tubewright::export::mark;

use super::selection;

/// Folders whose contents are all outputs.
const FOLDERS: [&str; 4] = ["runs", "forms", "jigs", "trials"];

/// Folders below the output folder are no deeper than this.
const DEEPEST: usize = 3;

/// How much is read of either end of a file to find its mark, bytes.
const ENDS: u64 = 1 << 16;

/// Longest list of files in a report for people.
const LISTED: usize = 12;

/// Other files in the output folder.
#[derive(Default, Serialize)]
pub(super) struct LeftOver {
    /// Outputs that a build of the whole spec no longer writes.
    not_from_this_build: Vec<String>,
    /// Outputs that the build has not renewed, and that are of another plan: files beside a build of some kinds or
    /// runs, and folders of some runs alone beside a whole one.
    of_another_plan: Vec<OtherPlan>,
}

#[derive(Serialize)]
struct OtherPlan {
    file: String,
    mark: String,
}

impl LeftOver {
    /// Looks at what is in the output folder beside `files`, which were built from the plan of this mark. `whole`
    /// builds write all there is; folders of some runs alone, of the spec's `runs`, are theirs.
    pub(super) fn of(out: &Path, files: &[String], mark: &str, whole: bool, runs: &[&str]) -> Self {
        if whole {
            let mut names = not_from_this_build(out, files);
            let (gone, others) = of_some_runs(out, mark, runs);
            names.extend(gone);
            return LeftOver { not_from_this_build: names, of_another_plan: others };
        }
        let mut others = Vec::new();
        marked(out, "", DEEPEST, &mut others);
        others.retain(|other| other.mark != mark && !files.contains(&other.file));
        others.sort_by(|a, b| a.file.cmp(&b.file));
        LeftOver { of_another_plan: others, ..LeftOver::default() }
    }

    /// As people read it; empty where there is nothing to tell.
    pub(super) fn text(&self) -> String {
        let mut text = listed("not from this build, and left as they were", &self.not_from_this_build);
        let others: Vec<String> =
            self.of_another_plan.iter().map(|other| format!("{} ({})", other.file, other.mark)).collect();
        text += &listed("of another plan, and left as they were", &others);
        text
    }
}

fn listed(words: &str, names: &[String]) -> String {
    if names.is_empty() {
        return String::new();
    }
    let first: Vec<String> = names.iter().take(LISTED).map(|name| harmless(name)).collect();
    let rest = match names.len().saturating_sub(LISTED) {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    format!("{words}: {}{rest}\n", first.join(", "))
}

/// A file or folder in the output folder. Links are neither followed nor named.
struct Entry {
    path: String,
    is_folder: bool,
}

fn entries(out: &Path, folder: &str) -> Vec<Entry> {
    let inside = if folder.is_empty() { String::new() } else { format!("{folder}/") };
    // Files beyond a link are not the output folder's.
    if fs::symlink_metadata(out.join(folder)).is_ok_and(|at| at.is_symlink()) && !folder.is_empty() {
        return Vec::new();
    }
    let entries = fs::read_dir(out.join(folder)).into_iter().flatten().flatten();
    let entry = |entry: fs::DirEntry| {
        let kind = entry.file_type().ok().filter(|kind| !kind.is_symlink())?;
        let path = format!("{inside}{}", entry.file_name().to_string_lossy());
        Some(Entry { path, is_folder: kind.is_dir() })
    };
    entries.filter_map(entry).collect()
}

/// Outputs that are no longer written: whole folders of runs, forms and jigs, files in those that are, and pages
/// of the whole spec.
fn not_from_this_build(out: &Path, files: &[String]) -> Vec<String> {
    let mut names = Vec::new();
    for Entry { path, is_folder } in FOLDERS.into_iter().flat_map(|folder| entries(out, folder)) {
        let inside = format!("{path}/");
        match is_folder {
            // A form that is now printed in two halves leaves its old whole behind.
            true if files.iter().any(|file| file.starts_with(&inside)) => names.extend(
                entries(out, &path)
                    .into_iter()
                    .map(|inner| inner.path)
                    .filter(|inner| !files.contains(inner)),
            ),
            true => names.push(inside),
            false if !files.contains(&path) => names.push(path),
            false => {}
        }
    }
    // Beside them lie files of the user's own: those that have a mark are outputs.
    let pages = entries(out, "").into_iter().filter(|entry| !entry.is_folder && !files.contains(&entry.path));
    names.extend(pages.map(|page| page.path).filter(|path| mark_of(&out.join(path)).is_some()));
    names.sort();
    names
}

/// Folders of some runs alone: those of runs that are not all the spec's any more, and of the others those with files
/// that have not this mark, once for each other mark. A folder of the user's own has no marks and is neither.
fn of_some_runs(out: &Path, mark: &str, runs: &[&str]) -> (Vec<String>, Vec<OtherPlan>) {
    let (mut gone, mut others) = (Vec::new(), Vec::new());
    for Entry { path, .. } in entries(out, selection::FOLDER).into_iter().filter(|entry| entry.is_folder) {
        let mut outputs = Vec::new();
        marked(out, &path, DEEPEST, &mut outputs);
        let marks: BTreeSet<String> = outputs.into_iter().map(|output| output.mark).collect();
        let file = format!("{path}/");
        let of_runs_gone = Path::new(&path).file_name().is_some_and(|name| {
            selection::runs_called(&name.to_string_lossy()).any(|run| !runs.contains(&run))
        });
        if !of_runs_gone {
            let stale = marks.into_iter().filter(|other| other != mark);
            others.extend(stale.map(|mark| OtherPlan { file: file.clone(), mark }));
        } else if !marks.is_empty() {
            gone.push(file);
        }
    }
    gone.sort();
    others.sort_by(|a, b| (&a.file, &a.mark).cmp(&(&b.file, &b.mark)));
    (gone, others)
}

/// Every file that has a mark.
fn marked(out: &Path, folder: &str, depth: usize, found: &mut Vec<OtherPlan>) {
    for Entry { path, is_folder } in entries(out, folder) {
        if !is_folder {
            found.extend(mark_of(&out.join(&path)).map(|mark| OtherPlan { file: path, mark }));
        } else if depth > 0 {
            marked(out, &path, depth - 1, found);
        }
    }
}

/// The mark of a file; none of one that is no output or cannot be read.
fn mark_of(path: &Path) -> Option<String> {
    let name = path.file_name()?.to_string_lossy();
    let (_, ending) = name.rsplit_once('.')?;
    // Only regular files: others may never end.
    fs::symlink_metadata(path).ok().filter(|at| at.is_file() && mark::ENDINGS.contains(&ending))?;
    let mut file = File::open(path).ok()?;
    let (mut first, mut last) = (Vec::new(), Vec::new());
    (&mut file).take(ENDS).read_to_end(&mut first).ok()?;
    let length = file.seek(SeekFrom::End(0)).ok()?;
    file.seek(SeekFrom::Start(length.saturating_sub(ENDS))).ok()?;
    (&mut file).take(ENDS).read_to_end(&mut last).ok()?;
    mark::found(&name, &first, &last)
}
