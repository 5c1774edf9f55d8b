//! What the bench sets, and the tube that it makes.
//!
//! The rules are those of [`mod@crate::bench`]. A bend of finished radius R and angle a takes t = (1 − stretch)·R·a of the
//! straight tube. With the tube's mark m on the reference line it begins at m + datum − p·t, p being 0, ½ or 1 for a tool
//! that is marked for the start, the middle or the end of a bend. The straight before it is what lies between there and
//! the end of the bend made before.
//!
//! A deviation is what a quantity is more than planned: of a mark where the tool was set, of an angle what is left after
//! letting go, of a turn the rotation of the bend's plane, of a radius the finished one.

use super::template::Template;
use super::tube::Made;
use crate::bench::{Tool, run_frame};
use crate::centreline::{LaidRun, TableRow};
use crate::formula::bend::arc_length;
use crate::formula::calibration::springback;
use crate::geometry::Frame;
use crate::plan::{FromEnd, Operation, Quantity, RunPlan, Spread, spreads};
use crate::spec::model::{MarkPoint, Readings, Uncertainty};

/// A bend as the bench is set for it, with the positions of its quantities.
#[derive(Debug, Clone)]
pub(super) struct Set {
    /// Its number from the datum end.
    pub(super) number: usize,
    /// The place that goes to the reference line, mm.
    mark: f64,
    rotation: f64,
    /// The angle after letting go, rad.
    angle: f64,
    clr: f64,
    stretch: f64,
    /// Where the deviations of its mark, turn, angle and radius stand.
    at: [Option<usize>; 4],
}

/// How the bends of a run that are done were to be made.
#[derive(Debug, Clone)]
pub struct Making {
    pub(super) bends: Vec<Set>,
    pub(super) templates: Vec<Template>,
    spreads: Vec<Spread>,
    /// Length to cut, mm.
    cut: f64,
    mark: MarkPoint,
    datum: f64,
    /// Outside diameter, mm.
    pub(super) od: f64,
    frame: Frame,
    from: FromEnd,
    is_whole: bool,
}

impl Making {
    /// The making of the bends that are done, in the order of the plan. Where a bend was pulled to an angle that is not
    /// the plan's, that one counts. No more bends are done than the run has.
    pub fn new(laid: &LaidRun, plan: &RunPlan, uncertainty: &Uncertainty, readings: &Readings) -> Self {
        let from = plan.begins_at();
        let operations = plan.operations(from);
        let done = readings.done.min(operations.len());
        let made = operations.iter().take(done);
        let is_made = |bend: usize| made.clone().any(|made| made.bend == bend);
        let of_tube = |spread: &Spread| spread.bends.is_empty() || spread.bends.iter().any(|of| is_made(*of));
        let spreads: Vec<Spread> =
            spreads(laid, plan, uncertainty, from).into_iter().filter(of_tube).collect();
        let tool = Tool::as_planned(plan);
        let bends = made.clone().filter_map(|made| set(made, &tool, &spreads, &readings.pulled)).collect();
        Making {
            bends,
            templates: Template::all(laid, plan),
            spreads,
            cut: plan.cut_length,
            mark: tool.mark,
            datum: tool.datum,
            od: plan.tube.od,
            frame: run_frame(&laid.centreline, from, plan.allowances(from)[0]),
            from,
            is_whole: done == operations.len(),
        }
    }

    /// The quantities that the bench sets, with what 95 % of their errors stay within. Deviations stand in this order.
    pub fn spreads(&self) -> &[Spread] {
        &self.spreads
    }

    /// The bends that are done, by their numbers from the datum end, in the order they were made.
    pub fn bends(&self) -> impl Iterator<Item = usize> {
        self.bends.iter().map(|set| set.number)
    }

    /// Whether all bends of the run are done.
    pub fn is_whole(&self) -> bool {
        self.is_whole
    }

    /// The end that bending begins at.
    pub fn from(&self) -> FromEnd {
        self.from
    }

    /// The frame in the run's axes that the tube is laid from: the first end of the cut tube, its allowance counted (see
    /// [`run_frame`]).
    pub fn frame(&self) -> Frame {
        self.frame
    }

    /// The position of a bend in the order of bending, by its number; none where it is not done.
    pub(super) fn position(&self, number: usize) -> Option<usize> {
        self.bends.iter().position(|set| set.number == number)
    }

    /// The tube as planned.
    pub fn planned(&self) -> Made {
        self.made(&[])
    }

    /// The tube of some deviations, in the order of [`Making::spreads`], mm and rad. Those left out are nothing.
    pub fn made(&self, deviations: &[f64]) -> Made {
        let by = |at: Option<usize>| at.and_then(|at| deviations.get(at)).copied().unwrap_or(0.0);
        let cut = self.cut + by(self.spreads.iter().position(|of| of.quantity == Quantity::Length));
        let count = self.bends.len();
        let mut tube = Made {
            rows: Vec::with_capacity(count),
            rest: 0.0,
            begins: Vec::with_capacity(count),
            takes: Vec::with_capacity(count),
            cut,
        };
        let mut straight_from = 0.0;
        for set in &self.bends {
            let [mark, turn, angle, radius] = set.at.map(by);
            let (angle, radius) = (set.angle + angle, set.clr + radius);
            let takes = (1.0 - set.stretch) * arc_length(radius, angle);
            let begins = set.mark + mark + self.datum - self.mark.behind_start(takes);
            let length = begins - straight_from;
            tube.rows.push(TableRow { length, rotation: set.rotation + turn, angle, radius });
            tube.begins.push(begins);
            tube.takes.push(takes);
            straight_from = begins + takes;
        }
        tube.rest = cut - straight_from;
        tube
    }
}

/// A bend as it is set; none where the tool has no constants for it.
fn set(made: &Operation, tool: &Tool, spreads: &[Spread], pulled: &[(usize, f64)]) -> Option<Set> {
    let number = made.bend;
    let form = tool.forms.get(number.checked_sub(1)?)?;
    let pull = pulled.iter().rev().find(|(bend, _)| *bend == number).map_or(made.pull.angle, |(_, to)| *to);
    let at = |is_it: &dyn Fn(&Spread) -> bool| spreads.iter().position(is_it);
    let own = |quantity: Quantity| at(&|spread| spread.quantity == quantity);
    let radius =
        at(&|spread| matches!(spread.quantity, Quantity::Radius(_)) && spread.bends.contains(&number));
    let turn = own(Quantity::Turn(number));
    Some(Set {
        number,
        mark: made.feed.mark,
        // The first bend has nothing to turn from.
        rotation: if turn.is_some() { -made.turn.of_tube() } else { 0.0 },
        angle: pull - springback(pull, form.springback_fixed, form.springback_rate),
        clr: form.clr,
        stretch: form.stretch,
        at: [own(Quantity::Mark(number)), turn, own(Quantity::Angle(number)), radius],
    })
}
