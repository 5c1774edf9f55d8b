//! The terminal as a command sees it: how wide it is, what it can show, and what to print on it.

use std::io::{self, IsTerminal, Write};
use std::path::Path;

use terminal_size::{Width, terminal_size_of};
use tubewright::diagnostic::harmless;
use tubewright::drawing::text::wrapped_letters;

use super::Outcome;
use super::args::Colour;

/// Longest line of words, letters: longer ones are hard to read on any terminal.
const LONGEST_LINE: usize = 100;

/// Narrowest page that is set. A narrower terminal breaks the lines itself.
const NARROWEST: usize = 40;

/// A path as it can be shown on a terminal.
pub(super) fn shown(path: &Path) -> String {
    harmless(&path.to_string_lossy())
}

/// The terminal that every command prints to.
pub(super) struct Terminal {
    /// Whether only errors are printed.
    pub(super) quiet: bool,
    colour: Colour,
    dumb: bool,
}

/// How text is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Page {
    /// Room in a line, letters.
    pub(super) columns: usize,
    /// Whether rules are drawn with hyphens.
    pub(super) plain: bool,
}

impl Page {
    /// Words in lines, all indented alike. A word longer than a line has a line of its own.
    pub(super) fn wrapped(self, text: &str, indent: usize) -> String {
        let room = self.columns.min(LONGEST_LINE).saturating_sub(indent + 1);
        let lines = wrapped_letters(text, room);
        lines.iter().map(|line| format!("{}{line}\n", " ".repeat(indent + 1))).collect()
    }
}

impl Terminal {
    /// The terminal the program runs in.
    pub(super) fn new(quiet: bool, colour: Colour) -> Self {
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        Terminal { quiet, colour, dumb }
    }

    /// Whether to colour what goes to standard error.
    pub(super) fn colour_messages(&self) -> bool {
        match self.colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => {
                let wanted = std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
                wanted && !self.dumb && io::stderr().is_terminal()
            }
        }
    }

    /// Whether a bar that moves can be shown.
    pub(super) fn shows_progress(&self) -> bool {
        !self.quiet && !self.dumb
    }

    /// How to set what goes to standard output: for the width of the terminal, or for `COLUMNS` or 100
    /// letters where it goes to a file or program.
    pub(super) fn page(&self) -> Page {
        let stdout = io::stdout();
        let told = || std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
        // Some terminals say 0 where they do not know.
        let seen = terminal_size_of(&stdout).map(|(Width(columns), _)| usize::from(columns));
        let columns = seen.filter(|&columns| columns > 0).or_else(told).unwrap_or(LONGEST_LINE);
        Page { columns: columns.max(NARROWEST), plain: self.dumb }
    }

    /// The room for messages, letters; none where they do not go to a terminal, which leaves them for programs
    /// to search by the line.
    pub(super) fn message_columns(&self) -> Option<usize> {
        let seen = terminal_size_of(io::stderr()).map(|(Width(columns), _)| usize::from(columns));
        seen.filter(|&columns| columns > 0).map(|columns| columns.min(LONGEST_LINE))
    }

    /// Prints to standard output. A reader that has gone away is no error.
    pub(super) fn print(&self, text: &str) -> Outcome {
        match io::stdout().lock().write_all(text.as_bytes()) {
            Ok(()) => Outcome::Done,
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Outcome::Done,
            Err(error) => self.complain(&format!("could not print: {error}"), Outcome::Io),
        }
    }

    /// Prints to standard output unless quiet.
    pub(super) fn tell(&self, text: &str) -> Outcome {
        if self.quiet { Outcome::Done } else { self.print(text) }
    }

    /// Prints a message to standard error; there is nowhere left to report a failure of that.
    pub(super) fn message(&self, text: &str) {
        drop(io::stderr().lock().write_all(text.as_bytes()));
    }

    /// Says why a command ends.
    pub(super) fn complain(&self, text: &str, outcome: Outcome) -> Outcome {
        self.message(&format!("error: {text}\n"));
        outcome
    }
}
