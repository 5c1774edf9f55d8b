//! Whether the tube takes its bends, what to accept, and how to help it keep its shape.

use super::limits::warning;
use super::metal;
use super::model::{BendPlan, QualityPlan, RunPlan};
use super::springback::UNKNOWN;
use crate::centreline::LaidRun;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::formula::wall;
use crate::quantity::decimals;
use crate::spec::model::Temper;

/// Largest ovality, 1: 8 % under internal pressure (ASME B31.3, 332.2.1, from memory), counted as
/// (largest − smallest diameter)/OD.
const OVALITY: f64 = 0.08;

/// Smallest diameter of a bend that is used at all, as a part of the OD: three quarters (FAA aviation
/// maintenance handbook).
const REJECT: f64 = 0.75;

/// Furthest a tube can be pulled, degrees: beyond that its legs cross (common practice, no source).
const FURTHEST_PULL_DEG: f64 = 200.0;

/// What to accept and how to help. An oval is taken as grown to one side by what it lost on the other, so
/// the smallest diameter has half of the ovality.
pub(super) fn plan(laid: &LaidRun) -> QualityPlan {
    let od = laid.run.tube.od();
    let radii = laid.centreline.bends().iter().map(|bend| bend.radius);
    let tightest = radii.min_by(f64::total_cmp);
    QualityPlan {
        smallest_diameter_mm: od * (1.0 - OVALITY / 2.0),
        reject_diameter_mm: od * REJECT,
        intrados_factor: tightest.map(|radius| wall::intrados_factor(od, radius)),
        extrados_factor: tightest.map(|radius| wall::extrados_factor(od, radius)),
        filler: None,
    }
}

/// Adds a warning for every bend the tube or the hand does not take, and one where nothing is known of how
/// the tube springs back.
pub(super) fn check(laid: &LaidRun, plan: &RunPlan, findings: &mut Diagnostics) {
    for bend in &plan.bends {
        findings.extend(strain(laid, bend));
        findings.extend(pull_too_far(laid, bend));
    }
    findings.extend(no_springback(laid, plan));
}

fn strain(laid: &LaidRun, bend: &BendPlan) -> Option<Diagnostic> {
    let tube = &laid.run.tube;
    let annealed = bend.anneal_from_mm.is_some();
    let most = metal::elongation(tube, annealed)?;
    if bend.outer_strain <= most {
        return None;
    }
    let soft = annealed || tube.temper() == Temper::Soft;
    let state = if soft { "soft" } else { tube.temper().name() };
    let message = format!(
        "the back of bend {} stretches by {} %; {state} {} breaks at about {} %",
        bend.number,
        percent(bend.outer_strain),
        tube.material(),
        percent(most)
    );
    let hint = if soft { "make `clr` larger" } else { "make `clr` larger, or write `anneal: always`" };
    Some(warning(laid, bend.number, "strain", &message, hint))
}

fn pull_too_far(laid: &LaidRun, bend: &BendPlan) -> Option<Diagnostic> {
    if bend.pull_to_deg <= FURTHEST_PULL_DEG {
        return None;
    }
    let message = format!(
        "bend {} would have to be pulled to {}° to keep {}°; past {}° the legs are in each other's way",
        bend.number,
        decimals(bend.pull_to_deg, 1),
        decimals(bend.angle_deg, 1),
        decimals(FURTHEST_PULL_DEG, 0)
    );
    let hint = "make `clr` smaller, take softer tube, or make two bends of it";
    Some(warning(laid, bend.number, "pull-too-far", &message, hint))
}

fn no_springback(laid: &LaidRun, plan: &RunPlan) -> Option<Diagnostic> {
    plan.bends.iter().find(|bend| bend.springback_source == UNKNOWN)?;
    let (run, tube) = (&laid.run, &laid.run.tube);
    let message = format!(
        "run {}: how far {} {} springs back is not known, so nothing is added to the angles to pull to",
        run.name,
        tube.temper().name(),
        tube.material()
    );
    let missing =
        if metal::modulus(tube).is_none() { "`modulus` and `yield_strength`" } else { "`yield_strength`" };
    let hint = format!("give the bender `test_bends`, or the tube its {missing}");
    Some(Diagnostic::warning("no-springback", message).hint(hint).at(run.place).run(&run.name))
}

/// A part as percent, one decimal at most.
fn percent(part: f64) -> String {
    decimals(part * 100.0, 1)
}
