//! What is wrong with a spec, where, and what to write instead. Many at once; warnings are data.

mod group;
mod rank;
mod render;

pub use group::{Group, grouped, listed};
pub use rank::Rank;
pub use render::{harmless, render, render_wrapped};

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::fmt;

use serde::ser::{Serialize, SerializeStruct, Serializer};

/// How much a diagnostic matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The spec builds, but the reader should know.
    Warning,
    /// Nothing is written.
    Error,
}

/// A span of the spec's text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Byte offset of the first character.
    pub start: usize,
    /// Byte offset behind the last character.
    pub end: usize,
}

impl Span {
    /// The span of a byte range of `text`. A start beyond the text or within a character counts
    /// as the beginning of the text.
    pub fn in_text(text: &str, range: std::ops::Range<usize>) -> Self {
        let before = text.get(..range.start).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Span {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            start: range.start,
            end: range.end,
        }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// Error or warning.
    pub severity: Severity,
    /// Stable code, kebab-case, part of the contract (`plan.json` lists warnings by it).
    pub code: &'static str,
    /// What is wrong, lower-case, one sentence, with the numbers.
    pub message: String,
    /// What to write or do instead.
    pub hint: Option<String>,
    /// Where in the spec.
    pub place: Option<Span>,
    /// The run it concerns.
    pub run: Option<String>,
    /// The other run, where it concerns a pair.
    pub with: Option<String>,
    /// Where in the spec the other run is.
    pub with_place: Option<Span>,
    /// The bend it concerns, from 1.
    pub bend: Option<usize>,
    /// The port or end of the run it concerns, as the message names it.
    pub port: Option<String>,
    /// Where in space, mm.
    pub at_mm: Option<[f64; 3]>,
    /// The run that the hint is to be followed in, where that is another.
    pub written_in: Option<String>,
}

impl Diagnostic {
    /// An error with this code and message.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message.into())
    }

    /// A warning with this code and message. The code must have a rank in the table of `rank`.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        debug_assert!(rank::is_ranked(code), "the warning `{code}` has no rank");
        Self::new(Severity::Warning, code, message.into())
    }

    fn new(severity: Severity, code: &'static str, message: String) -> Self {
        Diagnostic {
            severity,
            code,
            message,
            hint: None,
            place: None,
            run: None,
            with: None,
            with_place: None,
            bend: None,
            port: None,
            at_mm: None,
            written_in: None,
        }
    }

    /// Adds what to do instead.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Adds the place in the spec.
    #[must_use]
    pub fn at(mut self, place: Span) -> Self {
        self.place = Some(place);
        self
    }

    /// Adds the run's name.
    #[must_use]
    pub fn run(mut self, run: impl Into<String>) -> Self {
        self.run = Some(run.into());
        self
    }

    /// Adds the name and place of the other run of a pair.
    #[must_use]
    pub fn with(mut self, run: impl Into<String>, place: Span) -> Self {
        self.with = Some(run.into());
        self.with_place = Some(place);
        self
    }

    /// Adds the port or end, as the message names it.
    #[must_use]
    pub fn port(mut self, port: impl Into<String>) -> Self {
        self.port = Some(port.into());
        self
    }

    /// Adds the place in space, mm.
    #[must_use]
    pub fn at_mm(mut self, point: [f64; 3]) -> Self {
        self.at_mm = Some(point);
        self
    }

    /// Adds the run that the hint is to be followed in, where that is another than the one it concerns.
    #[must_use]
    pub fn written_in(mut self, run: Option<&str>) -> Self {
        self.written_in = run.map(str::to_owned);
        self
    }

    /// What to write or do instead, and in which run, where that is another.
    pub fn help(&self) -> Option<String> {
        let hint = self.hint.as_ref()?;
        Some(match &self.written_in {
            Some(run) => format!("in run `{run}`: {hint}"),
            None => hint.clone(),
        })
    }

    /// Whether it concerns one of these runs, or no run in particular.
    pub fn is_about(&self, is_named: impl Fn(&String) -> bool) -> bool {
        self.run.is_none() || self.run.iter().chain(&self.with).any(is_named)
    }

    /// Adds the bend's number, from 1.
    #[must_use]
    pub fn bend(mut self, number: usize) -> Self {
        self.bend = Some(number);
        self
    }
}

impl Severity {
    /// As reports name it.
    pub fn name(self) -> &'static str {
        match self {
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// Machine-readable reports: every key is always there, `null` where nothing is known.
impl Serialize for Diagnostic {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut keys = serializer.serialize_struct("Diagnostic", 11)?;
        keys.serialize_field("severity", self.severity.name())?;
        keys.serialize_field("rank", self.rank().name())?;
        keys.serialize_field("code", self.code)?;
        keys.serialize_field("message", &self.message)?;
        keys.serialize_field("hint", &self.help())?;
        keys.serialize_field("line", &self.place.map(|p| p.line))?;
        keys.serialize_field("column", &self.place.map(|p| p.column))?;
        keys.serialize_field("run", &self.run)?;
        keys.serialize_field("with", &self.with)?;
        keys.serialize_field("bend", &self.bend)?;
        keys.serialize_field("at_mm", &self.at_mm)?;
        keys.end()
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

/// Findings of one spec, in the order they were made.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Diagnostics(Vec<Diagnostic>);

impl Diagnostics {
    /// No findings.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one finding.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.0.push(diagnostic);
    }

    /// Adds all findings of another set.
    pub fn extend(&mut self, other: impl IntoIterator<Item = Diagnostic>) {
        self.0.extend(other);
    }

    /// Keeps the findings for which `keep` says so.
    pub fn retain(&mut self, keep: impl FnMut(&Diagnostic) -> bool) {
        self.0.retain(keep);
    }

    /// Whether one of them is an error.
    pub fn has_errors(&self) -> bool {
        self.0.iter().any(|d| d.severity == Severity::Error)
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// All of them, in order.
    pub fn iter(&self) -> std::slice::Iter<'_, Diagnostic> {
        self.0.iter()
    }

    /// The same without those that have place, code and message of an earlier one. One that was found in several runs
    /// is about none of them.
    #[must_use]
    pub fn none_twice(self) -> Diagnostics {
        let mut kept: Vec<Diagnostic> = Vec::with_capacity(self.len());
        let mut seen = BTreeMap::new();
        for finding in self {
            let key =
                (finding.place.map(|place| (place.start, place.end)), finding.code, finding.message.clone());
            match seen.entry(key) {
                Entry::Vacant(entry) => {
                    entry.insert(kept.len());
                    kept.push(finding);
                }
                Entry::Occupied(entry) => {
                    if let Some(first) = kept.get_mut(*entry.get()).filter(|first| first.run != finding.run) {
                        first.run = None;
                    }
                }
            }
        }
        Diagnostics(kept)
    }

    /// In the order of their places in the text; those without a place come last.
    pub fn sort_by_place(&mut self) {
        self.0.sort_by_key(|d| d.place.map_or((1, 0), |p| (0, p.start)));
    }
}

impl IntoIterator for Diagnostics {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}
