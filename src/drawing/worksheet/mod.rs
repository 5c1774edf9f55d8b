//! The worksheet: what the bench needs on paper. First the whole spec, then every run, then test pieces
//! for benders that have none.
//!
//! [`layout`] sets words, tables and pictures into blocks that flow over pages; [`Bench`] is a run as seen
//! from the end it is bent from; [`card`], [`steps`], [`cutting`], [`leak`] and [`trials`] are the parts.

mod bench;
mod card;
mod cautions;
mod cutting;
mod layout;
mod leak;
mod pictures;
mod run;
mod steps;
#[cfg(test)]
mod tests;
mod trials;
mod whole;

use self::bench::Bench;
use self::layout::{BODY, FINE, Flow, Ink};
use self::run::Surroundings;
use self::trials::Trial;
use super::item::{Across, Drawing, Role};
use super::sheet::{MARGIN, Paper, Sheet};
use super::shift::{scaled, shifted};
use super::text::{Weight, shortened};
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::plan::Plan;
use crate::quantity::Unit;

/// Widths the sheet is laid out for, mm: wider paper gets larger letters, narrower smaller ones.
const WIDTHS: (f64, f64) = (148.0, 216.0);

/// Height of a page's head with the title, mm.
const TOP: f64 = 12.0;

/// Height of a page's foot, mm.
const FOOT: f64 = 4.4;

/// The pages of the worksheet. `plan` and `findings` are those of `layout`.
pub fn worksheet(layout: &Layout, plan: &Plan, findings: &Diagnostics, paper: &Paper) -> Vec<Sheet> {
    let form = Form::new(paper);
    let in_inches = layout.units == Unit::Inch;
    let around = Surroundings { plan, in_inches };
    let mut sections =
        vec![(layout.title.clone(), "all runs", whole::whole(layout, plan, findings, in_inches, form.wide))];
    for (laid, planned) in layout.runs.iter().zip(&plan.runs) {
        let bench = Bench::best(planned, laid);
        sections.push((planned.name.clone(), "run", run::run(&bench, &around, form.wide)));
    }
    for trial in uncalibrated(layout) {
        let name = format!("Test pieces: {}", trial.bender.name);
        sections.push((name, "test pieces", trials::trial(&trial, form.wide)));
    }
    form.sheets(layout, sections)
}

/// Benders with a tube that have no test bends, each once.
fn uncalibrated(layout: &Layout) -> Vec<Trial<'_>> {
    let mut found: Vec<Trial<'_>> = Vec::new();
    for laid in &layout.runs {
        let (bender, tube) = (&laid.run.bender, &laid.run.tube);
        let known =
            |t: &Trial<'_>| t.bender.name == bender.name && t.bender.clr == bender.clr && t.tube == tube;
        let bent = !laid.centreline.bends().is_empty();
        if bent && bender.formed.is_none() && bender.test_bends.is_empty() && !found.iter().any(known) {
            found.push(Trial { bender, tube });
        }
    }
    found
}

/// How a page is divided, before it is enlarged to the paper.
struct Form {
    /// What everything is enlarged by.
    by: f64,
    /// Margin, mm.
    margin: f64,
    /// Width between the margins, mm.
    wide: f64,
    /// Height between head and foot, mm.
    high: f64,
    /// The paper, mm.
    paper: (f64, f64),
}

impl Form {
    fn new(paper: &Paper) -> Self {
        let by = paper.width() / paper.width().clamp(WIDTHS.0, WIDTHS.1);
        let margin = MARGIN / by;
        Form {
            by,
            margin,
            wide: paper.width() / by - 2.0 * margin,
            high: paper.height() / by - 2.0 * margin - TOP - FOOT,
            paper: (paper.width(), paper.height()),
        }
    }

    fn sheets(&self, layout: &Layout, sections: Vec<(String, &'static str, Flow)>) -> Vec<Sheet> {
        let pages: Vec<(String, String, Drawing)> = sections
            .into_iter()
            .flat_map(|(title, kind, flow)| {
                let pages = flow.pages(self.high);
                let of = pages.len();
                pages.into_iter().enumerate().map(move |(index, page)| {
                    (title.clone(), format!("{kind}, page {} of {of}", index + 1), page)
                })
            })
            .collect();
        let of = pages.len();
        pages
            .into_iter()
            .enumerate()
            .map(|(index, (title, part, page))| {
                let foot = format!("sheet {} of {of}", index + 1);
                let drawing = self.page(layout, &title, &part, &foot, &page);
                let sheet = Sheet::new(format!("{title}: {part}"), self.paper.0, self.paper.1, drawing);
                Sheet { full_size: false, ..sheet }
            })
            .collect()
    }

    /// A page with its head and foot, on the paper.
    fn page(&self, layout: &Layout, title: &str, part: &str, foot: &str, body: &Drawing) -> Drawing {
        let mut ink = Ink::new();
        let right = layout::wide(part, BODY, false);
        let name = shortened(title, self.wide - right - 6.0, 6.0, Weight::Bold);
        ink.words(0.0, 2.2, 6.0, true, &name);
        ink.anchored(self.wide, 5.2, BODY, false, Across::Right, part);
        ink.line(Role::Trim, (0.0, 10.2), (self.wide, 10.2));
        ink.put(body, 0.0, TOP);
        let bottom = TOP + self.high + FOOT;
        let wide_foot = layout::wide(foot, FINE, false);
        let defer = cautions::DEFER_SHORT;
        let room = self.wide - wide_foot - layout::wide(defer, FINE, false) - 10.0;
        let file = shortened(&layout.file_name, room.max(0.0), FINE, Weight::Regular);
        let words = format!("{file}  {defer}");
        ink.words(0.0, bottom - FINE - 0.8, FINE, false, &words);
        ink.anchored(self.wide, bottom - FINE - 0.8, FINE, false, Across::Right, foot);
        let top = self.paper.1 / self.by - self.margin;
        scaled(&shifted(&ink.0, self.margin, top), self.by)
    }
}
