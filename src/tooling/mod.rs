//! What a shop makes to bend and check tubes with: bending forms, checking jigs and the test pieces that
//! find a machine's fit, as numbers that solids and drawings are made from alike.
//!
//! Flat parts ([`Part`]) are cut from sheet and stand in space at a [`Placement`](crate::geometry::Placement);
//! blocks ([`Block`]) are printed or milled. Nothing here knows a file format. Lengths are mm, angles rad.

mod block;
pub mod form;
pub mod jig;
pub mod kerf;
pub mod nest;
mod part;
pub mod trial;

use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::plan::Plan;
use form::Form;
use jig::Jig;
use trial::GrooveGauge;

pub use block::{Block, Groove, SideHole};
pub use part::{Mark, Opening, Part, Posed, Purpose, SheetWork, Words};

/// Everything a shop makes for a spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Tooling {
    /// Bending forms.
    pub forms: Vec<Form>,
    /// Checking jigs, in the order of the runs.
    pub jigs: Vec<Jig>,
    /// The comb that finds kerf and slot fit.
    pub comb: SheetWork,
    /// Gauges that find the clearance of a printed groove.
    pub gauges: Vec<GrooveGauge>,
}

/// Designs forms, jigs and test pieces for a layout and its plan.
///
/// The findings say what does not fit the sheet or the printer's bed, and which bends a jig does not feel.
pub fn tooling(layout: &Layout, plan: &Plan) -> (Tooling, Diagnostics) {
    let mut findings = Diagnostics::new();
    let forms = form::forms(layout, plan, &mut findings);
    let jigs = jig::jigs(layout, plan, &mut findings);
    let mut ods: Vec<f64> = forms.iter().map(|form| form.od).collect();
    ods.dedup();
    let gauges = trial::groove_gauges(&ods, &layout.workshop);
    (Tooling { forms, jigs, comb: trial::comb(&layout.workshop), gauges }, findings)
}

/// Designs anew for a narrowed layout and plan; `findings` lose those of the old tooling and gain the new ones.
pub fn narrow(tooling: &mut Tooling, layout: &Layout, plan: &Plan, findings: &mut Diagnostics) {
    let others = std::mem::take(findings).into_iter().filter(|d| !CODES.contains(&d.code));
    findings.extend(others);
    let (new, found) = self::tooling(layout, plan);
    *tooling = new;
    findings.extend(found);
    findings.sort_by_place();
}

/// Codes of this stage's findings.
const CODES: [&str; 6] = ["form-rim", "form-hole", "printer-bed", "sheet-size", "no-jig", "jig-blind"];
