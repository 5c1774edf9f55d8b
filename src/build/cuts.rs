//! DXF files: outlines to cut, nested on sheets.

use super::work::{Files, Unmade, Work, one};
use crate::drawing::cut;
use crate::export::dxf;
use crate::tooling::SheetWork;
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

/// The layers of a form.
pub(super) fn form(work: &Work<'_>, form: &Form, path: &str) -> Files {
    nested(work, path, &form.stack, cut::form_notes(form, &work.layout().workshop.sheet))
}

/// The parts of a jig.
pub(super) fn jig(work: &Work<'_>, jig: &Jig, path: &str) -> Files {
    nested(work, path, &jig.work, cut::jig_notes(jig, &work.layout().workshop.sheet))
}

/// The comb that finds kerf and slot fit.
pub(super) fn comb(work: &Work<'_>, path: &str) -> Files {
    let notes = cut::comb_notes(&work.layout().workshop.sheet);
    nested(work, path, &work.project.tooling().comb, notes)
}

fn nested(work: &Work<'_>, path: &str, parts: &SheetWork, mut notes: Vec<String>) -> Files {
    notes.push(format!("Plan mark {}.", work.meta.mark));
    let drawing = cut::sheets(parts, &work.layout().workshop.sheet, &notes).map_err(Unmade::failed)?;
    one(path, dxf::render(&drawing, work.meta).map_err(Unmade::failed)?)
}
