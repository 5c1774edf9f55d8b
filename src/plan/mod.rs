//! The work on a run at the bench: lengths, marks from either end of the cut tube, angles to pull to, where
//! to anneal, whether tube and tool take the bends, and which run is cut from which piece of stock.

mod accept;
mod anneal;
mod cutting;
mod estimate;
mod far_end;
mod limits;
mod measurable;
mod metal;
mod model;
mod operations;
mod order;
mod pressure;
mod quality;
mod schedule;
mod springback;
mod trials;

#[cfg(test)]
mod tests;

pub use crate::calibration::{LEG_MM, Measure, TestPiece};
pub use crate::fit::Neighbour;
pub use crate::fit::{Assembly, AssemblyStep, Joint};
pub use accept::{QualityPlan, SectionEstimate, Verdict};
pub(crate) use far_end::{Seating, forgiven};
pub use far_end::{Spread, spreads};
pub use measurable::measurable;
pub use model::{
    AllowedPressure, ArcOnTube, BendPlan, BenderPlan, Better, Clock, Cut, CutPlan, Dominant, Early, EndPlan,
    FarEnd, Feed, FromEnd, MissingPiece, Operation, OrderFit, OrderPlan, Plan, Pull, Quantity, Reach,
    RunPlan, SpringbackSource, StockPiece, StockPlan, TestCut, TrialPlan, TubePlan, Turn, Zone,
};

use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::fit::FitReport;

/// The part of a spec that could be read. A plan of less than the whole is made for its findings, and has none that
/// may be due to the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known {
    /// Whether the layout has every run of the spec, or every run that is asked for.
    pub runs: bool,
    /// Whether the stock could be read.
    pub stock: bool,
}

impl Known {
    /// All of it.
    pub const WHOLE: Known = Known { runs: true, stock: true };
}

/// Plans every run of a layout. `fit` is what [`crate::fit::check`] found for the same runs.
///
/// The findings say where a bender's grip or lead-out is longer than the straight there, from whichever
/// end the tube is bent, which marks are not on the tube, which bends the tube does not take, where
/// springback is not known, which seats the torch comes to, and which runs the stock does not suffice for. Once
/// everything is found, [`Plan::stop_cutting`] says which runs are not to be cut.
pub fn plan(layout: &Layout, fit: &FitReport) -> (Plan, Diagnostics) {
    plan_known(layout, fit, Known::WHOLE)
}

/// The same for a layout of a part of the spec.
pub fn plan_known(layout: &Layout, fit: &FitReport, known: Known) -> (Plan, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut runs = Vec::with_capacity(layout.runs.len());
    let tried = far_end::tried(layout.runs.len());
    for (index, laid) in layout.runs.iter().enumerate() {
        let mut planned = schedule::plan_run(laid, fit.neighbour(index), layout.carries);
        planned.far_end = far_end::far_end(laid, &planned, &layout.uncertainty, tried);
        limits::check(laid, &planned, layout.units, &mut findings);
        quality::check(laid, &planned, layout.units, &mut findings);
        trials::check(laid, &planned, &mut findings);
        anneal::check(laid, &planned, layout.units, &mut findings);
        runs.push(planned);
    }
    let trials = trials::trials(layout, &runs);
    let cut_plan = if known.stock {
        cutting::cut_plan(layout, (&runs, &trials), known.runs, &mut findings)
    } else {
        CutPlan::default()
    };
    let plan = Plan {
        title: layout.title.clone(),
        spec: layout.file_name.clone(),
        carries: layout.carries,
        runs,
        cut_plan,
        trials,
        assembly: fit.assembly.clone(),
    };
    (plan, findings)
}
