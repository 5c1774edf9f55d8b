//! Reads the specs a command was given, all of them before anything is done with one.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use tubewright::build::{Checked, Project};
use tubewright::diagnostic::{Diagnostic, Diagnostics, Severity, Span, render, render_wrapped};
use tubewright::spec::Resolver;

use super::args::SpecArguments;
use super::terminal::{Terminal, shown};
use super::{Outcome, report};

/// Stands for standard input where a spec's file is named.
pub(super) const STDIN: &str = "-";

/// How messages, files and folders call standard input.
pub(super) const STDIN_NAME: &str = "stdin";

/// The longest spec that is read, bytes: a thousand times what a person writes.
const LONGEST: u64 = 16_000_000;

/// The longest file that a spec names, bytes: ASCII triangles in plenty.
const LONGEST_NAMED: u64 = 100_000_000;

/// One spec as read.
pub(super) struct ReadSpec<P = Project> {
    /// The file as typed.
    pub(super) path: PathBuf,
    /// Its text, for messages that show a line.
    pub(super) text: String,
    /// Its outcome; none where it could not be read.
    pub(super) project: Option<P>,
    /// Everything found so far.
    pub(super) findings: Diagnostics,
}

/// The outcome of a command on a spec.
pub(super) trait FromSpec: Sized {
    /// Reads a spec's text and the files that it names, and what was found on the way. `file_name` is its name
    /// without folders.
    fn read(text: &str, file_name: &str, resolver: &Resolver<'_>) -> (Self, Diagnostics);
}

impl FromSpec for Checked {
    fn read(text: &str, file_name: &str, resolver: &Resolver<'_>) -> (Self, Diagnostics) {
        let checked = Checked::read_with(text, file_name, resolver);
        let findings = checked.findings().clone();
        (checked, findings)
    }
}

impl<P> ReadSpec<P> {
    /// Its name for people: the file as typed.
    pub(super) fn called(&self) -> String {
        if self.path.as_os_str() == STDIN { STDIN_NAME.to_owned() } else { shown(&self.path) }
    }

    /// Whether it may be built.
    pub(super) fn sound(&self, strict: bool) -> bool {
        let findings = &self.findings;
        !findings.has_errors() && (!strict || findings.is_empty())
    }

    /// Shows what was found in reading, on standard error, and why warnings stop a strict command.
    pub(super) fn show(&self, terminal: &Terminal, strict: bool) {
        let stopped = strict && !self.findings.has_errors() && !self.findings.is_empty();
        // Warnings that stop the command are its errors, and shown even when quiet.
        self.show_findings(terminal, &self.findings, terminal.quiet && !stopped);
        if stopped {
            terminal.message(&report::strict_note(&self.called(), &self.findings));
        }
    }

    /// Shows findings as people read them.
    pub(super) fn show_findings(&self, terminal: &Terminal, findings: &Diagnostics, errors_only: bool) {
        let mut shown = Diagnostics::new();
        shown.extend(findings.iter().filter(|d| !errors_only || d.severity == Severity::Error).cloned());
        if !shown.is_empty() {
            let file = self.called();
            let colour = terminal.colour_messages();
            let text = match terminal.message_columns() {
                Some(columns) => render_wrapped(&shown, &file, &self.text, colour, columns),
                None => render(&shown, &file, &self.text, colour),
            };
            terminal.message(&text);
        }
    }
}

/// Reads every spec.
///
/// # Errors
/// The outcome to end with when a file cannot be read at all.
pub(super) fn read_specs<P: FromSpec>(
    terminal: &Terminal,
    arguments: &SpecArguments,
) -> Result<Vec<ReadSpec<P>>, Outcome> {
    if arguments.specs.iter().filter(|path| path.as_os_str() == STDIN).count() > 1 {
        return Err(terminal.complain("standard input can be read once only", Outcome::Usage));
    }
    let mut specs = Vec::with_capacity(arguments.specs.len());
    let mut unread = false;
    for path in &arguments.specs {
        match bytes_of(path, "spec") {
            Ok(bytes) => specs.push(read_spec(path, bytes)),
            Err(why) => {
                terminal.complain(&format!("could not read {}: {why}", shown(path)), Outcome::Io);
                unread = true;
            }
        }
    }
    if unread { Err(Outcome::Io) } else { Ok(specs) }
}

/// The text of another file that a command is given, or of standard input, and what is wrong with it where it is no
/// text. `what` it is.
///
/// # Errors
/// The outcome to end with when it cannot be read at all.
pub(super) fn read_text(
    terminal: &Terminal,
    path: &Path,
    what: &str,
) -> Result<(String, Option<Diagnostic>), Outcome> {
    let bytes = bytes_of(path, what)
        .map_err(|why| terminal.complain(&format!("could not read {}: {why}", shown(path)), Outcome::Io))?;
    Ok(text_of(bytes))
}

/// The bytes of a file, or of standard input. `what` it is.
fn bytes_of(path: &Path, what: &str) -> Result<Vec<u8>, String> {
    if path.as_os_str() == STDIN {
        return up_to(LONGEST, what, io::stdin().lock());
    }
    let file = opened(path).map_err(|why| match why {
        Unopened::Folder => format!("it is a folder; name the {what} in it"),
        Unopened::NoFile => format!(
            "it is no regular file; to read from a pipe, write `{STDIN}` and lead it to standard input"
        ),
        Unopened::Io(error) => error.to_string(),
    })?;
    up_to(LONGEST, what, file)
}

/// The bytes of a file that the spec at `spec` names, from the folder that the spec is in.
fn named_by(spec: &Path, name: &str) -> Result<Vec<u8>, String> {
    let path = spec.parent().unwrap_or(Path::new("")).join(name);
    let file = opened(&path).map_err(|why| match why {
        Unopened::Folder => "it is a folder".to_owned(),
        Unopened::NoFile => "it is no regular file".to_owned(),
        Unopened::Io(error) if error.kind() == io::ErrorKind::NotFound => {
            format!("there is no {}", shown(&path))
        }
        Unopened::Io(error) => error.to_string(),
    })?;
    up_to(LONGEST_NAMED, "file", file)
}

/// Why a file was not opened.
enum Unopened {
    Folder,
    NoFile,
    Io(io::Error),
}

fn opened(path: &Path) -> Result<File, Unopened> {
    // Looked at before it is opened: opening a pipe waits until somebody writes to it.
    let kind = std::fs::metadata(path).map_err(Unopened::Io)?;
    if kind.is_dir() {
        return Err(Unopened::Folder);
    }
    if !kind.is_file() {
        return Err(Unopened::NoFile);
    }
    File::open(path).map_err(Unopened::Io)
}

fn up_to(longest: u64, what: &str, from: impl Read) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    // One byte more tells a longer file from one that is just as long.
    from.take(longest + 1).read_to_end(&mut bytes).map_err(|error| error.to_string())?;
    if bytes.len() as u64 > longest {
        return Err(format!("it is longer than {} MB, the longest {what} that is read", longest / 1_000_000));
    }
    Ok(bytes)
}

fn read_spec<P: FromSpec>(path: &Path, bytes: Vec<u8>) -> ReadSpec<P> {
    let file_name = if path.as_os_str() == STDIN { Path::new(STDIN_NAME) } else { path };
    let file_name = file_name.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    match text_of(bytes) {
        (text, None) => {
            let (project, findings) = P::read(&text, &file_name, &|name| named_by(path, name));
            ReadSpec { path: path.to_owned(), text, project: Some(project), findings }
        }
        (text, Some(not_text)) => {
            let mut findings = Diagnostics::new();
            findings.push(not_text);
            ReadSpec { path: path.to_owned(), text, project: None, findings }
        }
    }
}

/// Bytes as text, with replacement characters and a finding where they are none.
fn text_of(bytes: Vec<u8>) -> (String, Option<Diagnostic>) {
    match String::from_utf8(bytes) {
        Ok(text) => (text, None),
        Err(error) => {
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let finding = not_utf8(&text, error.utf8_error().valid_up_to());
            (text, Some(finding))
        }
    }
}

/// The first bytes that are no text. `text` has a replacement character there.
fn not_utf8(text: &str, start: usize) -> Diagnostic {
    let place = Span::in_text(text, start..start + char::REPLACEMENT_CHARACTER.len_utf8());
    Diagnostic::error("not-utf8", "the file is not UTF-8 text from here on")
        .hint("save it as UTF-8 (not as UTF-16 or in a code page)")
        .at(place)
}
