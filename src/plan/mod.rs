//! What the bench does with a run: lengths, marks from either end of the cut tube, angles to pull to, where
//! to anneal, whether tube and tool take the bends, and which run is cut from which piece of stock.

mod anneal;
pub mod calibration;
mod cutting;
mod limits;
mod metal;
mod model;
mod operations;
mod order;
mod quality;
mod schedule;
mod springback;

#[cfg(test)]
mod tests;

pub use model::{
    BendPlan, BenderPlan, Better, Clock, Cut, CutPlan, EndPlan, Feed, FromEnd, MissingPiece, Operation,
    OrderFit, OrderPlan, Plan, Pull, QualityPlan, RunPlan, Span, SpringbackSource, StockPiece, StockPlan,
    TubePlan, Turn, Zone,
};

use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::fit::FitReport;

/// Plans every run of a layout. `fit` is what [`crate::fit::check`] found for the same layout.
///
/// The findings say where a bender's grip or lead-out is longer than the straight there, from whichever
/// end the tube is bent, which marks are not on the tube, which bends the tube does not take, where
/// springback is not known, and which runs the stock does not suffice for.
pub fn plan(layout: &Layout, fit: &FitReport) -> (Plan, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut runs = Vec::with_capacity(layout.runs.len());
    for (index, laid) in layout.runs.iter().enumerate() {
        let planned = schedule::plan_run(laid, fit.min_clearance(index));
        limits::check(laid, &planned, layout.units, &mut findings);
        quality::check(laid, &planned, layout.units, &mut findings);
        runs.push(planned);
    }
    let cut_plan = cutting::cut_plan(layout, &runs, &mut findings);
    let plan = Plan { title: layout.title.clone(), spec: layout.file_name.clone(), runs, cut_plan };
    (plan, findings)
}

/// Keeps the runs that a narrowed layout still has and cuts the stock for them alone. `findings` lose
/// those of the old cut plan and gain those of the new one.
pub fn narrow(plan: &mut Plan, layout: &Layout, findings: &mut Diagnostics) {
    plan.runs.retain(|run| layout.runs.iter().any(|laid| laid.run.name == run.name));
    let others = std::mem::take(findings).into_iter().filter(|d| !cutting::CODES.contains(&d.code));
    findings.extend(others);
    plan.cut_plan = cutting::cut_plan(layout, &plan.runs, findings);
    findings.sort_by_place();
}

/// Drops the findings that hold only for all runs of a spec together, where some are missing; with
/// `without_stock` all that are about stock.
pub fn drop_of_the_whole(findings: &mut Diagnostics, without_stock: bool) {
    let of_the_whole: &[&str] = if without_stock { &cutting::CODES } else { &[cutting::SHORT] };
    let others = std::mem::take(findings).into_iter().filter(|d| !of_the_whole.contains(&d.code));
    findings.extend(others);
}
