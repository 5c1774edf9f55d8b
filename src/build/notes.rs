//! Where files are not quite what was asked for.

use std::sync::{Mutex, PoisonError};

use crate::diagnostic::{Diagnostic, Diagnostics};

/// Notes about files that are made; several threads add to them.
#[derive(Debug, Default)]
pub(super) struct Notes(Mutex<Vec<Diagnostic>>);

impl Notes {
    /// Adds a note.
    pub(super) fn add(&self, note: Diagnostic) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).push(note);
    }

    /// All notes, in an order that does not depend on the threads, none twice.
    pub(super) fn finish(self) -> Diagnostics {
        let mut notes = self.0.into_inner().unwrap_or_else(PoisonError::into_inner);
        notes.sort_by(|a, b| (a.place, &a.message).cmp(&(b.place, &b.message)));
        notes.dedup();
        let mut findings = Diagnostics::new();
        findings.extend(notes);
        findings
    }
}
