//! Reads the specs a command was given, all of them before anything is done with one.

use std::path::{Path, PathBuf};

use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Diagnostics, Severity, render};

use super::args::SpecArguments;
use super::{Outcome, Terminal};

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

    /// Shows findings of this spec on standard error, as people read them.
    pub(super) fn show(&self, terminal: &Terminal, findings: &Diagnostics) {
        let mut shown = Diagnostics::new();
        shown.extend(findings.iter().filter(|d| !terminal.quiet || d.severity == Severity::Error).cloned());
        if !shown.is_empty() {
            let file = self.path.display().to_string();
            terminal.message(&render(&shown, &file, &self.text, terminal.colour_messages()));
        }
    }
}

/// Reads every spec.
///
/// # Errors
/// The outcome to end with when a file cannot be read at all.
pub(super) fn read_specs(terminal: &Terminal, arguments: &SpecArguments) -> Result<Vec<ReadSpec>, Outcome> {
    let mut specs = Vec::with_capacity(arguments.specs.len());
    let mut unread = false;
    for path in &arguments.specs {
        match std::fs::read(path) {
            Ok(bytes) => specs.push(read_spec(path, bytes)),
            Err(error) => {
                terminal.complain(&format!("could not read {}: {error}", path.display()), Outcome::Io);
                unread = true;
            }
        }
    }
    if unread { Err(Outcome::Io) } else { Ok(specs) }
}

fn read_spec(path: &Path, bytes: Vec<u8>) -> ReadSpec {
    let file_name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    match String::from_utf8(bytes) {
        Ok(text) => {
            let project = Project::read(&text, &file_name);
            ReadSpec { path: path.to_owned(), text, project }
        }
        Err(error) => {
            let mut findings = Diagnostics::new();
            findings.push(
                Diagnostic::error(
                    "not-utf8",
                    format!("the file is not UTF-8 text (byte {})", error.utf8_error().valid_up_to() + 1),
                )
                .hint("save it as UTF-8"),
            );
            ReadSpec { path: path.to_owned(), text: String::new(), project: Err(findings) }
        }
    }
}
