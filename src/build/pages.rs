//! Pages to print, and the same drawings as pictures.

use super::limits;
use super::work::{Files, Planned, Unmade, Work, one};
use crate::drawing::sheet::Sheet;
use crate::drawing::{self, strip, template};
use crate::export::{pdf, svg};
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

/// Templates of all runs, tiled.
pub(super) fn templates(work: &Work<'_>, path: &str) -> Files {
    let sheets = template::template_sheets(work.layout(), &work.project.plan, &work.options.print);
    printed(work, path, &sheets.map_err(Unmade::left_out)?)
}

/// Wrap strips of all runs. A loop of straight pieces alone may have none.
pub(super) fn strips(work: &Work<'_>, path: &str) -> Files {
    let strips = strip::strip_sheets(&work.project.plan, &work.options.print).map_err(Unmade::left_out)?;
    strips.too_high.into_iter().for_each(|warning| work.notes.add(warning));
    if strips.sheets.is_empty() { Ok(Vec::new()) } else { printed(work, path, &strips.sheets) }
}

/// The loop in four views.
pub(super) fn overview(work: &Work<'_>, path: &str) -> Files {
    printed(work, path, &[drawing::overview::sheet(work.layout(), work.findings)])
}

/// The bench sheet.
pub(super) fn worksheet(work: &Work<'_>, path: &str) -> Files {
    let layout = work.layout();
    if let Some(why) = limits::worksheet(layout) {
        return Err(Unmade::left_out(why));
    }
    let paper = &work.options.print.paper;
    let sheets = drawing::worksheet::worksheet(layout, &work.project.plan, work.findings, paper);
    one(path, pdf::render(sheets, work.meta))
}

/// How a form's stack is put together, in section.
pub(super) fn form(work: &Work<'_>, form: &Form, path: &str) -> Files {
    printed(work, path, &drawing::form::sheets(form, work.layout(), &work.options.print.paper))
}

/// How a jig is put together.
pub(super) fn jig(work: &Work<'_>, jig: &Jig, path: &str) -> Files {
    printed(work, path, &drawing::jig::sheets(jig, work.layout(), &work.options.print.paper))
}

fn printed(work: &Work<'_>, path: &str, sheets: &[Sheet]) -> Files {
    one(path, pdf::render(sheets, work.meta))
}

/// The loop in four views.
pub(super) fn overview_picture(work: &Work<'_>, path: &str) -> Files {
    one(path, svg::render(&drawing::overview::overview(work.layout(), work.findings), work.meta))
}

/// A run's template in one piece.
pub(super) fn template_picture(work: &Work<'_>, run: Planned<'_>, path: &str) -> Files {
    let drawing = template::template_drawing(work.layout(), &work.project.plan, run.laid);
    one(path, svg::render(&drawing, work.meta))
}

/// A run's wrap strip in one piece; none for a straight run.
pub(super) fn strip_picture(work: &Work<'_>, run: Planned<'_>, path: &str) -> Files {
    let thickness = work.options.print.paper_thickness_mm;
    match strip::strip_drawing(&work.project.plan, run.plan, thickness) {
        Some(drawing) => one(path, svg::render(&drawing, work.meta)),
        None => Ok(Vec::new()),
    }
}
