//! Tools that a shop makes to bend and check tubes: bending forms, checking jigs and the test pieces that
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

use rayon::prelude::*;

use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::plan::Plan;
use crate::quantity::{Unit, trimmed};
use crate::spec::model::{SheetStock, Workshop};
use form::Form;
use jig::Jig;
use trial::GrooveGauge;

pub use block::{Block, Groove, SideHole};
pub use part::{Engraving, Opening, Part, Posed, Purpose, SheetWork, Words};

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
    let jigs = jig::jigs(layout, &mut findings);
    let mut ods: Vec<f64> = forms.iter().map(|form| form.od).collect();
    // Diameters that are written alike are one: their gauges would have one name.
    ods.dedup_by_key(|od| trimmed(*od));
    let gauges = trial::groove_gauges(&ods, &layout.workshop);
    let comb = trial::comb(&layout.workshop);
    let works = (forms.iter().map(|form| (format!("form {}", form.name), &form.stack)))
        .chain(jigs.iter().map(|jig| (format!("the jig of {}", jig.run), &jig.work)))
        .chain([("the comb".to_owned(), &comb)]);
    let works: Vec<(String, &SheetWork)> = works.collect();
    let (workshop, unit) = (&layout.workshop, layout.units);
    let sheet = &workshop.sheet;
    let told: Vec<_> = works
        .par_iter()
        .map(|(whose, work)| [too_large(work, whose, sheet, unit), too_wide(work, whose, sheet.kerf, unit)])
        .collect();
    let of_sheets = told.into_iter().flatten().flatten();
    findings.extend(of_sheets.filter_map(|finding| about_the_shop(finding, workshop)));
    (Tooling { forms, jigs, comb, gauges }, findings)
}

/// A finding that is about the shop's sizes is told where the spec gives them, and not at all to somebody who
/// never said what the shop has: the drawings say what sheet they need.
fn about_the_shop(finding: Diagnostic, workshop: &Workshop) -> Option<Diagnostic> {
    workshop.place.map(|place| finding.at(place))
}

/// Warns of slots and notches that the cut does not go into.
fn too_wide(work: &SheetWork, whose: &str, kerf: f64, unit: Unit) -> Option<Diagnostic> {
    let lost = work.parts.iter().filter(|part| part.kerfed(kerf).is_some_and(|kerfed| kerfed.lost > 0));
    let names: Vec<&str> = lost.map(|part| part.name.as_str()).collect();
    if names.is_empty() {
        return None;
    }
    let message = format!(
        "a cut {} wide does not go into every slot of {whose}: {}",
        unit.length(kerf),
        names.join(", ")
    );
    let hint = "CUT-KERF leaves these slots out: cut them along CUT with another tool, or give the kerf of a thinner cut";
    Some(Diagnostic::warning("wide-kerf", message).hint(hint))
}

/// Warns of the first part of a work that goes on no sheet.
fn too_large(work: &SheetWork, whose: &str, stock: &SheetStock, unit: Unit) -> Option<Diagnostic> {
    let larger = |part| nest::oversize(part, stock).map(|size| (part, size));
    let (part, (width, height)) = work.parts.iter().find_map(larger)?;
    let (width, height) = (unit.number_to(width, 1), unit.length_to(height, 1));
    let message = format!(
        "part {} of {whose} needs a sheet of {width} x {height}; the sheet is {} x {}",
        part.name,
        unit.number(stock.width),
        unit.length(stock.height)
    );
    let hint = "it is drawn on a sheet of its own of that size; give a larger `size` under `workshop: sheet:`, or cut the part elsewhere";
    Some(Diagnostic::warning("sheet-size", message).hint(hint))
}
