//! The worksheet: what the bench needs on paper. First the whole spec, then every run, then test pieces
//! for benders that have none.
//!
//! Words, tables and pictures are blocks that flow over [`Pages`]; [`Bench`] is a run as seen
//! from the end it is bent from; [`card`], [`steps`], [`cutting`], [`leak`] and [`trials`] are the parts.

mod bench;
mod card;
mod carried;
mod cautions;
mod cutting;
mod leak;
mod pictures;
mod run;
mod steps;
#[cfg(test)]
mod tests;
mod trials;
mod whole;

use self::bench::Bench;
use self::run::Surroundings;
use self::trials::Trial;
use super::page::Pages;
use super::sheet::{Paper, Sheet};
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::plan::Plan;
use crate::quantity::Unit;

/// The pages of the worksheet. `plan` and `findings` are those of `layout`.
pub fn worksheet<'a>(
    layout: &'a Layout,
    plan: &Plan,
    findings: &Diagnostics,
    paper: &Paper,
) -> impl Iterator<Item = Sheet> + use<'a> {
    let pages = Pages::new(paper);
    let in_inches = layout.units == Unit::Inch;
    let around = Surroundings { plan, in_inches };
    let mut sections =
        vec![(layout.title.clone(), "all runs", whole::whole(layout, plan, findings, in_inches, pages.wide))];
    for (laid, planned) in layout.runs.iter().zip(&plan.runs) {
        let bench = Bench::best(planned, laid);
        sections.push((planned.name.clone(), "run", run::run(&bench, &around, pages.wide)));
    }
    for trial in uncalibrated(layout) {
        let name = format!("Test pieces: {}", trial.bender.name);
        sections.push((name, "test pieces", trials::trial(&trial, pages.wide)));
    }
    pages.sheets(layout, sections)
}

/// Benders with a tube that have no test bends, each once.
fn uncalibrated(layout: &Layout) -> Vec<Trial<'_>> {
    let mut found: Vec<Trial<'_>> = Vec::new();
    for laid in &layout.runs {
        let (bender, tube) = (&laid.run.bender, &laid.run.tube);
        let known =
            |t: &Trial<'_>| t.bender.name == bender.name && t.bender.clr == bender.clr && t.tube == tube;
        let bent = !laid.centreline.bends().is_empty();
        if bent && laid.formed.is_none() && bender.test_bends.is_empty() && !found.iter().any(known) {
            found.push(Trial { bender, tube });
        }
    }
    found
}
