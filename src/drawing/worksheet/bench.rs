//! One run as it is worked: its bends in the order they are made, with all distances from the end the
//! work begins at.

use crate::centreline::LaidRun;
use crate::drawing::template::plane::planes;
use crate::plan::{BendPlan, FromEnd, Operation, RunPlan};

/// A run seen from the end it is bent from.
pub(super) struct Bench<'a> {
    /// Its plan.
    pub(super) plan: &'a RunPlan,
    /// The run in space.
    pub(super) laid: &'a LaidRun,
    /// The end the work begins at.
    pub(super) from: FromEnd,
    /// Its bends in the order they are made.
    pub(super) bends: Vec<BenchBend<'a>>,
}

/// A bend as it is made.
pub(super) struct BenchBend<'a> {
    /// The bend as planned, whichever end it is made from.
    pub(super) bend: &'a BendPlan,
    /// How it is made from the end the work begins at.
    pub(super) made: &'a Operation,
    /// The bend made just before.
    pub(super) before: Option<usize>,
    /// The template it lies on.
    pub(super) template: String,
}

impl<'a> Bench<'a> {
    /// The run from the end that the plan says is better.
    pub(super) fn best(plan: &'a RunPlan, laid: &'a LaidRun) -> Self {
        Bench::from(plan, laid, plan.begins_at())
    }

    /// The run from one of its ends.
    pub(super) fn from(plan: &'a RunPlan, laid: &'a LaidRun, from: FromEnd) -> Self {
        let templates = templates(plan, laid);
        let template =
            |number: usize| templates.iter().find(|t| t.0 == number).map_or(String::new(), |t| t.1.clone());
        let mut before = None;
        let bends = plan
            .in_order(from)
            .map(|(bend, made)| {
                let before = before.replace(bend.number);
                BenchBend { bend, made, before, template: template(bend.number) }
            })
            .collect();
        Bench { plan, laid, from, bends }
    }

    /// The end the work begins at.
    pub(super) fn end(&self) -> &'static str {
        self.from.name()
    }
}

/// Every bend's number and the name of the template it lies on.
fn templates(plan: &RunPlan, laid: &LaidRun) -> Vec<(usize, String)> {
    planes(laid, plan)
        .into_iter()
        .flat_map(|plane| {
            let name = plane.name;
            plane.bends.into_iter().map(move |bend| (bend.number, name.clone())).collect::<Vec<_>>()
        })
        .collect()
}

/// How many templates a run has.
pub(super) fn template_count(plan: &RunPlan, laid: &LaidRun) -> usize {
    planes(laid, plan).len()
}
