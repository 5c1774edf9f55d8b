//! The files of forms, jigs and test pieces, but for meshes.

use super::failed;
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::drawing::cut;
use crate::drawing::sheet::{Paper, Sheet};
use crate::export::{self, Artifact, Meta};
use crate::spec::model::SheetStock;
use crate::tooling::SheetWork;
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

pub(super) type Files = Result<Vec<Artifact>, Diagnostics>;

pub(super) fn one(path: String, bytes: Vec<u8>) -> Files {
    Ok(vec![Artifact { path, bytes }])
}

/// `form.step`: the form's pieces and its follower.
pub(super) fn form_step(form: &Form, meta: &Meta) -> Files {
    let bytes = export::step::form_file(form, meta).map_err(failed)?;
    one(format!("forms/{}/form.step", form.name), bytes)
}

/// `form.dxf`: the layers nested on sheets.
pub(super) fn form_dxf(form: &Form, sheet: &SheetStock, meta: &Meta) -> Files {
    work_dxf(format!("forms/{}/form.dxf", form.name), &form.stack, sheet, cut::form_notes(form, sheet), meta)
}

/// `form.pdf`: how the stack is put together, in section.
pub(super) fn form_pdf(form: &Form, layout: &Layout, paper: &Paper, meta: &Meta) -> Files {
    pdf(format!("forms/{}/form.pdf", form.name), &crate::drawing::form::sheets(form, layout, paper), meta)
}

/// The jig put together, with its tube.
pub(super) fn jig_step(jig: &Jig, layout: &Layout, meta: &Meta) -> Files {
    let bytes = export::step::jig_file(jig, layout, meta).map_err(failed)?;
    one(format!("jigs/{}.step", jig.run), bytes)
}

/// The jig's parts nested on sheets.
pub(super) fn jig_dxf(jig: &Jig, sheet: &SheetStock, meta: &Meta) -> Files {
    work_dxf(format!("jigs/{}.dxf", jig.run), &jig.work, sheet, cut::jig_notes(jig, sheet), meta)
}

/// How the jig is put together.
pub(super) fn jig_pdf(jig: &Jig, layout: &Layout, paper: &Paper, meta: &Meta) -> Files {
    pdf(format!("jigs/{}.pdf", jig.run), &crate::drawing::jig::sheets(jig, layout, paper), meta)
}

/// `trials/comb.dxf`.
pub(super) fn comb(comb: &SheetWork, sheet: &SheetStock, meta: &Meta) -> Files {
    work_dxf("trials/comb.dxf".to_owned(), comb, sheet, cut::comb_notes(sheet), meta)
}

fn work_dxf(
    path: String,
    work: &SheetWork,
    sheet: &SheetStock,
    mut notes: Vec<String>,
    meta: &Meta,
) -> Files {
    notes.push(format!("Plan mark {}.", meta.mark));
    let drawing = cut::sheets(work, sheet, &notes).map_err(failed)?;
    one(path, export::dxf::render(&drawing, meta).map_err(failed)?)
}

fn pdf(path: String, sheets: &[Sheet], meta: &Meta) -> Files {
    one(path, export::pdf::render(sheets, meta))
}
