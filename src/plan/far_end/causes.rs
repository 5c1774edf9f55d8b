//! The quantities that are not known exactly, and how each moves and turns the far end.

use std::borrow::Cow;
use std::ops::Range;

use super::Pose;
use super::spreads::{Spread, spreads};
use crate::centreline::{Bend, Centreline, LaidRun, from_other_end};
use crate::formula::normal::REACH_95;
use crate::geometry::{Point3, Vector3};
use crate::plan::model::{FromEnd, Quantity, RunPlan};
use crate::spec::model::Uncertainty;

/// An independent error.
#[derive(Debug, Clone)]
pub(super) struct Cause {
    /// Its quantity.
    pub(super) quantity: Quantity,
    /// Its standard deviation, mm or rad.
    pub(super) deviation: f64,
    /// How far the far end moves for 1 mm or 1 rad of it, mm.
    pub(super) moves: Vector3,
    /// How the far end's direction changes.
    pub(super) turns: Vector3,
    /// The parts of the tube it changes, and by how much each.
    pub(super) parts: Vec<(Part, f64)>,
}

/// A part of the tube that an error changes, by its position from the end that bending begins at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Part {
    /// Length of a straight.
    Straight(usize),
    /// Turn of a bend's plane.
    Turn(usize),
    /// Angle of a bend, at its radius.
    Angle(usize),
    /// Radius of a bend, at its angle.
    Radius(usize),
}

/// The tube in the order it is bent.
pub(super) struct Chain<'l> {
    line: Cow<'l, Centreline>,
    /// Numbers of the bends, from the datum end.
    numbers: Vec<usize>,
    from: FromEnd,
}

impl<'l> Chain<'l> {
    pub(super) fn new(laid: &'l LaidRun, plan: &RunPlan, from: FromEnd) -> Self {
        let line = match from {
            FromEnd::Datum => Cow::Borrowed(&laid.centreline),
            FromEnd::Other => Cow::Owned(laid.centreline.reversed()),
        };
        let numbers = plan.operations(from).iter().map(|made| made.bend).collect();
        Chain { line, numbers, from }
    }

    /// Where the tube begins, and its direction there.
    pub(super) fn near_end(&self) -> Pose {
        (self.line.start(), self.line.start_direction())
    }

    /// Where it ends, and its direction there.
    pub(super) fn far_end(&self) -> Pose {
        (self.line.end(), self.line.end_direction())
    }

    fn bends(&self) -> &[Bend] {
        self.line.bends()
    }

    /// Direction of a straight.
    fn along(&self, straight: usize) -> Vector3 {
        self.bends().get(straight).map_or(self.line.end_direction(), |bend| bend.direction_in)
    }

    /// How a part of the tube moves and turns a place and a direction behind it, for 1 mm or 1 rad.
    fn effect(&self, part: Part, (at, way): Pose) -> (Vector3, Vector3) {
        let nothing = Vector3::new(0.0, 0.0, 0.0);
        let bend = |index: usize| self.bends().get(index);
        match part {
            Part::Straight(index) => (self.along(index), nothing),
            Part::Turn(index) => bend(index).map_or((nothing, nothing), |bend| {
                let (axis, through) = (bend.direction_in, start_of(bend));
                (axis.cross(at - through), axis.cross(way))
            }),
            Part::Angle(index) => bend(index)
                .map_or((nothing, nothing), |bend| (bend.axis.cross(at - bend.centre), bend.axis.cross(way))),
            Part::Radius(index) => bend(index).map_or((nothing, nothing), |bend| {
                let (sin, cos) = bend.angle.sin_cos();
                let inward = bend.axis.cross(bend.direction_in);
                (bend.direction_in * sin + inward * (1.0 - cos), nothing)
            }),
        }
    }

    /// How parts move and turn the far end.
    fn at_far_end(&self, parts: &[(Part, f64)]) -> (Vector3, Vector3) {
        let mut all = (Vector3::new(0.0, 0.0, 0.0), Vector3::new(0.0, 0.0, 0.0));
        for (part, by) in parts {
            let (moves, turns) = self.effect(*part, self.far_end());
            all = (all.0 + moves * *by, all.1 + turns * *by);
        }
        all
    }

    /// The positions of bends that have these numbers less one, from the datum end.
    fn positions(&self, group: &Range<usize>) -> Range<usize> {
        match self.from {
            FromEnd::Datum => group.clone(),
            FromEnd::Other => from_other_end(group, self.bends().len()),
        }
    }

    /// The ends of the part of the tube that a template of these bends shows: with the straights on both sides.
    pub(super) fn ends_of(&self, group: &Range<usize>) -> Option<(Point3, Point3)> {
        let positions = self.positions(group);
        let first = self.bends().get(positions.start)?;
        let last = self.bends().get(positions.end.checked_sub(1)?)?;
        let behind = self.bends().get(positions.end).map_or(self.line.end_straight(), |b| b.straight_before);
        let from = start_of(first) - first.direction_in * first.straight_before;
        Some((from, self.line.point_at(last.end()) + last.direction_out * behind))
    }

    /// How the parts of such a piece move its end `at` from its beginning.
    pub(super) fn moves_within(&self, parts: &[(Part, f64)], group: &Range<usize>, at: Point3) -> Vector3 {
        let positions = self.positions(group);
        let is_in = |part: Part| match part {
            Part::Straight(index) => (positions.start..=positions.end).contains(&index),
            Part::Turn(index) | Part::Angle(index) | Part::Radius(index) => positions.contains(&index),
        };
        let kept = parts.iter().filter(|(part, _)| is_in(*part));
        kept.fold(Vector3::new(0.0, 0.0, 0.0), |sum, (part, by)| {
            sum + self.effect(*part, (at, Vector3::new(0.0, 0.0, 0.0))).0 * *by
        })
    }
}

/// Where a bend starts.
fn start_of(bend: &Bend) -> Point3 {
    bend.centre - bend.axis.cross(bend.direction_in) * bend.radius
}

/// The independent errors of a run, those of its ports apart.
pub(super) fn causes(chain: &Chain<'_>, laid: &LaidRun, plan: &RunPlan, of: &Uncertainty) -> Vec<Cause> {
    // The part of a bend that lies before the tool's mark.
    let before = plan.bender.mark.behind_start(1.0);
    let takes = |index: usize, tube: f64| {
        [(Part::Straight(index), -before * tube), (Part::Straight(index + 1), -(1.0 - before) * tube)]
    };
    let bends = chain.bends().iter().zip(&chain.numbers).enumerate();
    let with = |part: &dyn Fn(usize, &Bend) -> (Part, f64), of: &[usize]| -> Vec<(Part, f64)> {
        let its = bends.clone().filter(|(_, (_, number))| of.contains(number));
        its.flat_map(|(index, (bend, &number))| {
            let (own, tube) = part(index, bend);
            let used = 1.0 - laid.formed_at(&Bend { number, ..*bend }).map_or(0.0, |formed| formed.stretch);
            [(own, 1.0)].into_iter().chain(takes(index, used * tube))
        })
        .collect()
    };
    let position = |number: usize| chain.numbers.iter().position(|other| *other == number).unwrap_or(0);
    let cause = |Spread { quantity, half_width, bends }: Spread| {
        let parts = match quantity {
            Quantity::Mark(number) => {
                let index = position(number);
                vec![(Part::Straight(index), 1.0), (Part::Straight(index + 1), -1.0)]
            }
            Quantity::Turn(number) => vec![(Part::Turn(position(number)), 1.0)],
            Quantity::Angle(_) => with(&|index, bend| (Part::Angle(index), bend.radius), &bends),
            Quantity::Radius(_) => with(&|index, bend| (Part::Radius(index), bend.angle), &bends),
            Quantity::Length => vec![(Part::Straight(chain.bends().len()), 1.0)],
            Quantity::Ports => Vec::new(),
        };
        let (moves, turns) = chain.at_far_end(&parts);
        Cause { quantity, deviation: half_width / REACH_95, moves, turns, parts }
    };
    spreads(laid, plan, of, chain.from).into_iter().map(cause).collect()
}
