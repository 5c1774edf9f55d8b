//! What the bench does with a run: lengths, marks measured from the datum end of the cut tube, and
//! whether the tool can hold the straights. Springback, anneal zones and the cut plan are not here yet.

mod anneal;
pub mod calibration;
mod limits;
mod marks;
mod metal;
mod model;
mod order;
mod quality;
mod schedule;
mod springback;

#[cfg(test)]
mod tests;

pub use model::{
    BendPlan, BenderPlan, Cut, CutPlan, EndPlan, Marks, MissingPiece, OrderFit, OrderPlan, OtherEndBend,
    Plan, QualityPlan, RunPlan, StockPiece, StockPlan, TubePlan,
};

use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::fit::FitReport;

/// Version of the plan's keys.
pub const PLAN_FORMAT: u32 = 1;

/// Plans every run of a layout. `fit` is what [`crate::fit::check`] found for the same layout.
///
/// The findings say where a bender's grip or lead-out is longer than the straight there, from whichever
/// end the tube is bent, and which marks are not on the tube.
pub fn plan(layout: &Layout, fit: &FitReport) -> (Plan, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut runs = Vec::with_capacity(layout.runs.len());
    for (index, laid) in layout.runs.iter().enumerate() {
        let planned = schedule::plan_run(laid, fit.min_clearance(index));
        limits::check(laid, &planned, &mut findings);
        quality::check(laid, &planned, &mut findings);
        runs.push(planned);
    }
    let plan = Plan {
        format: PLAN_FORMAT,
        title: layout.title.clone(),
        spec: layout.file_name.clone(),
        runs,
        cut_plan: CutPlan::default(),
    };
    (plan, findings)
}
