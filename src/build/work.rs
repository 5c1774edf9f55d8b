//! The input and the result of every maker of files.

use super::notes::Notes;
use super::{Options, Project};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::export::{Artifact, Meta};
use crate::plan::RunPlan;

/// The input of every maker of files.
pub(super) struct Work<'a> {
    pub(super) project: &'a Project,
    /// Everything that was found before the first file.
    pub(super) findings: &'a Diagnostics,
    pub(super) options: &'a Options,
    pub(super) meta: &'a Meta,
    /// Warnings of files, once they are made.
    pub(super) notes: &'a Notes,
}

impl Work<'_> {
    pub(super) fn layout(&self) -> &Layout {
        &self.project.layout
    }
}

/// A run in space and its plan.
#[derive(Clone, Copy)]
pub(super) struct Planned<'a> {
    pub(super) laid: &'a LaidRun,
    pub(super) plan: &'a RunPlan,
}

/// The files of an output, or why there are none.
pub(super) type Files = Result<Vec<Artifact>, Unmade>;

/// Why a job gave no files.
pub(super) enum Unmade {
    /// Its output is beyond a limit; the others are made.
    LeftOut(Box<Diagnostic>),
    /// The build ends.
    Failed(Diagnostics),
}

impl Unmade {
    pub(super) fn left_out(why: Diagnostic) -> Self {
        Unmade::LeftOut(Box::new(why))
    }

    /// A writer's own fault, as a finding.
    pub(super) fn failed(error: impl std::fmt::Display) -> Self {
        let hint = "this is a fault of the program, not of the spec; slightly different lengths may avoid it";
        let mut findings = Diagnostics::new();
        findings.push(Diagnostic::error("output", error.to_string()).hint(hint));
        Unmade::Failed(findings)
    }
}

/// One file.
pub(super) fn one(path: &str, bytes: Vec<u8>) -> Files {
    Ok(vec![Artifact { path: path.to_owned(), bytes }])
}
