//! One run as it is worked: its bends in the order they are made, with all distances from the end the
//! work begins at.

use crate::centreline::LaidRun;
use crate::drawing::template::plane::planes;
use crate::plan::{BendPlan, Marks, OrderedBend, RunPlan};

/// A run seen from the end it is bent from.
pub(super) struct Bench<'a> {
    /// Its plan.
    pub(super) plan: &'a RunPlan,
    /// The run in space.
    pub(super) laid: &'a LaidRun,
    /// Whether the work begins at the other end instead of the datum end.
    pub(super) other: bool,
    /// Its bends in the order they are made.
    pub(super) bends: Vec<BenchBend<'a>>,
}

/// A bend as it is made.
pub(super) struct BenchBend<'a> {
    /// What does not depend on the end.
    pub(super) bend: &'a BendPlan,
    /// Where it lies from the end the work begins at.
    pub(super) marks: &'a Marks,
    /// What a dial on the tube reads: clockwise seen from that end, 0 at the inside of the first bend made.
    pub(super) dial: f64,
    /// The bend made just before.
    pub(super) before: Option<usize>,
    /// Anneal zone from that end, mm.
    pub(super) anneal: Option<(f64, f64)>,
    /// For a 90° bend: leg to centre, back and inside, mm.
    pub(super) square: Option<[f64; 3]>,
    /// The template it lies on.
    pub(super) template: String,
}

impl<'a> Bench<'a> {
    /// The run from the end that the plan says is better.
    pub(super) fn best(plan: &'a RunPlan, laid: &'a LaidRun) -> Self {
        Bench::from(plan, laid, plan.begins_at_other_end())
    }

    /// The run from one of its ends.
    pub(super) fn from(plan: &'a RunPlan, laid: &'a LaidRun, other: bool) -> Self {
        let templates = templates(laid);
        let template =
            |number: usize| templates.iter().find(|t| t.0 == number).map_or(String::new(), |t| t.1.clone());
        let mut before = None;
        let bends = plan
            .in_order(other)
            .into_iter()
            .map(|OrderedBend { bend, marks, inside_clock_deg: dial, anneal_mm: anneal }| {
                let waste = if other { plan.allowance_end_mm } else { plan.allowance_start_mm };
                let leg = marks.straight_before_mm + bend.clr_mm + before.map_or(waste, |_| 0.0);
                let half = plan.tube.od_mm / 2.0;
                let square = bend.end_to_centre_mm.map(|_| [leg, leg + half, leg - half]);
                let template = template(bend.number);
                let made = BenchBend { bend, marks, dial, before, anneal, square, template };
                before = Some(bend.number);
                made
            })
            .collect();
        Bench { plan, laid, other, bends }
    }

    /// The end the work begins at.
    pub(super) fn end(&self) -> &'static str {
        if self.other { "other end" } else { "datum end" }
    }
}

/// Every bend's number and the name of the template it lies on.
fn templates(laid: &LaidRun) -> Vec<(usize, String)> {
    planes(laid, None)
        .into_iter()
        .flat_map(|plane| {
            let name = plane.name;
            plane.bends.into_iter().map(move |bend| (bend.number, name.clone())).collect::<Vec<_>>()
        })
        .collect()
}

/// How many templates a run has.
pub(super) fn template_count(laid: &LaidRun) -> usize {
    planes(laid, None).len()
}
