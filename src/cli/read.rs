//! Reads the specs a command was given, all of them before anything is done with one.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Diagnostics, Place, Severity, render};

use super::args::SpecArguments;
use super::terminal::{Terminal, shown};
use super::{Outcome, report};

/// Stands for standard input where a spec's file is named.
pub(super) const STDIN: &str = "-";

/// The longest spec that is read, bytes: a thousand times what a person writes.
const LONGEST: u64 = 16_000_000;

/// One spec as read.
pub(super) struct ReadSpec {
    /// The file as typed.
    pub(super) path: PathBuf,
    /// Its text, for messages that show a line.
    pub(super) text: String,
    /// What became of it.
    pub(super) project: Result<Project, Diagnostics>,
}

impl ReadSpec {
    /// Everything found so far.
    pub(super) fn findings(&self) -> &Diagnostics {
        match &self.project {
            Ok(project) => project.findings(),
            Err(findings) => findings,
        }
    }

    /// Whether it may be built.
    pub(super) fn sound(&self, strict: bool) -> bool {
        self.project.is_ok() && (!strict || self.findings().is_empty())
    }

    /// Shows what was found in reading, on standard error, and why warnings stop a strict command.
    pub(super) fn show(&self, terminal: &Terminal, strict: bool) {
        let stopped = strict && self.project.is_ok() && !self.findings().is_empty();
        // Warnings that stop the command are its errors, and shown even when quiet.
        self.show_findings(terminal, self.findings(), terminal.quiet && !stopped);
        if stopped {
            terminal.message(&report::strict_note(self));
        }
    }

    /// Shows findings as people read them.
    pub(super) fn show_findings(&self, terminal: &Terminal, findings: &Diagnostics, errors_only: bool) {
        let mut shown = Diagnostics::new();
        shown.extend(findings.iter().filter(|d| !errors_only || d.severity == Severity::Error).cloned());
        if !shown.is_empty() {
            let file = self.path.to_string_lossy();
            terminal.message(&render(&shown, &file, &self.text, terminal.colour_messages()));
        }
    }
}

/// Reads every spec.
///
/// # Errors
/// The outcome to end with when a file cannot be read at all.
pub(super) fn read_specs(terminal: &Terminal, arguments: &SpecArguments) -> Result<Vec<ReadSpec>, Outcome> {
    if arguments.specs.iter().filter(|path| path.as_os_str() == STDIN).count() > 1 {
        return Err(terminal.complain("standard input can be read once only", Outcome::Usage));
    }
    let mut specs = Vec::with_capacity(arguments.specs.len());
    let mut unread = false;
    for path in &arguments.specs {
        match bytes_of(path) {
            Ok(bytes) => specs.push(read_spec(path, bytes)),
            Err(why) => {
                terminal.complain(&format!("could not read {}: {why}", shown(path)), Outcome::Io);
                unread = true;
            }
        }
    }
    if unread { Err(Outcome::Io) } else { Ok(specs) }
}

/// The bytes of a spec's file, or of standard input.
fn bytes_of(path: &Path) -> Result<Vec<u8>, String> {
    let said = |error: io::Error| error.to_string();
    if path.as_os_str() == STDIN {
        return up_to_longest(io::stdin().lock());
    }
    // Looked at before it is opened: opening a pipe waits until somebody writes to it.
    let kind = std::fs::metadata(path).map_err(said)?;
    if kind.is_dir() {
        return Err("it is a folder; name the spec in it".to_owned());
    }
    if !kind.is_file() {
        return Err(format!(
            "it is no regular file; to read from a pipe, write `{STDIN}` and lead it to standard input"
        ));
    }
    up_to_longest(File::open(path).map_err(said)?)
}

fn up_to_longest(from: impl Read) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    // One byte more tells a longer spec from one that is just as long.
    from.take(LONGEST + 1).read_to_end(&mut bytes).map_err(|error| error.to_string())?;
    if bytes.len() as u64 > LONGEST {
        return Err(format!("it is longer than {} MB, the longest spec that is read", LONGEST / 1_000_000));
    }
    Ok(bytes)
}

fn read_spec(path: &Path, bytes: Vec<u8>) -> ReadSpec {
    let file_name = if path.as_os_str() == STDIN { Path::new("stdin") } else { path };
    let file_name = file_name.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    match String::from_utf8(bytes) {
        Ok(text) => {
            let project = Project::read(&text, &file_name);
            ReadSpec { path: path.to_owned(), text, project }
        }
        Err(error) => {
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let mut findings = Diagnostics::new();
            findings.push(not_utf8(&text, error.utf8_error().valid_up_to()));
            ReadSpec { path: path.to_owned(), text, project: Err(findings) }
        }
    }
}

/// The first bytes that are no text. `text` has a replacement character there.
fn not_utf8(text: &str, start: usize) -> Diagnostic {
    let place = Place::in_text(text, start..start + char::REPLACEMENT_CHARACTER.len_utf8());
    Diagnostic::error("not-utf8", "the file is not UTF-8 text from here on")
        .hint("save it as UTF-8 (not as UTF-16 or in a code page)")
        .at(place)
}
