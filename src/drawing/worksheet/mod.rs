//! The worksheet: what the bench needs on paper. First the whole spec, then test pieces for benders that
//! have none, then every run.
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
mod stop;
#[cfg(test)]
mod tests;
mod together;
mod trials;
mod whole;

use self::bench::Bench;
use self::run::Surroundings;
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
    // They are bent before any run is.
    for trial in &plan.trials {
        let name = format!("Test pieces: {}", trial.bender);
        sections.push((name, "test pieces", trials::trial(trial, &plan.cut_plan, in_inches, pages.wide)));
    }
    for (laid, planned) in layout.runs.iter().zip(&plan.runs) {
        let bench = Bench::best(planned, laid);
        sections.push((planned.name.clone(), "run", run::run(&bench, &around, pages.wide)));
    }
    pages.sheets(layout, sections)
}
