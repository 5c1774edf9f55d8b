//! The lengths of legs as a linear programme.

use microlp::{ComparisonOp, OptimizationDirection, Problem as Programme, Variable};

use super::beside::Wanted;
use super::shape::{Place, Shape};
use crate::geometry::{InnerSpace, Point3, Vector3, Zero, reference_normal};

/// Parts of directions smaller than this are rounding.
const NOTHING: f64 = 1e-10;

/// No leg is longer than its least by more than this, mm: beyond it lie only the crossings of nearly parallel lines.
const LONGEST_MM: f64 = 1e5;

/// How far the sum of the legs may miss an end where no leg can change it, mm.
const CLOSED_MM: f64 = 1e-6;

/// Rounds of narrowing the room of the legs.
const ROUNDS: usize = 3;

/// Narrows the room of lengths (mm, from and to) for a sum of parts of them, each times `sign`, that is at least so
/// much; whether there is any left.
fn narrow(room: &mut [[f64; 2]], parts: &[f64], least: f64, sign: f64) -> bool {
    let most_of = |part: f64, [low, high]: [f64; 2]| if part > 0.0 { part * high } else { part * low };
    let most: f64 = parts.iter().zip(&*room).map(|(part, room)| most_of(part * sign, *room)).sum();
    if most < least - CLOSED_MM {
        return false;
    }
    for (part, room) in parts.iter().zip(room.iter_mut()) {
        let part = part * sign;
        if part.abs() > NOTHING {
            let own = (least - (most - most_of(part, *room))) / part;
            if part > 0.0 {
                room[0] = room[0].max(own);
            } else {
                room[1] = room[1].min(own);
            }
            if room[0] > room[1] + CLOSED_MM {
                return false;
            }
        }
    }
    true
}

/// A point lies on a line that is nearer to it than this, mm.
const ON_LINE_MM: f64 = 0.01;

/// A millimetre off the line that a leg should lie on is worth so many of tube.
const OFF: f64 = 20.0;

/// A demand on the lengths of legs: their weighted sum is at least so much.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) parts: Vec<f64>,
    pub(super) least: f64,
}

impl Row {
    /// The demand that this one is not met.
    pub(super) fn missed(&self) -> Row {
        Row { parts: self.parts.iter().map(|part| -part).collect(), least: -self.least }
    }

    /// How much more there is than it asks for, mm; less than nothing where it is not met.
    pub(super) fn spare(&self, lengths: &[f64]) -> f64 {
        self.parts.iter().zip(lengths).map(|(part, length)| part * length).sum::<f64>() - self.least
    }

    /// Whether it is met wherever another one is: along the same direction, and no farther.
    pub(super) fn follows_from(&self, other: &Row) -> bool {
        let is_along = self.parts.iter().zip(&other.parts).all(|(a, b)| (a - b).abs() < NOTHING);
        is_along && self.least <= other.least
    }
}

/// The lengths of legs of one sequence, to be chosen.
#[derive(Debug, Clone)]
pub(super) struct Legs {
    /// The least length of each, mm.
    pub(super) least: Vec<f64>,
    /// What the legs must add up to along each axis, with the parts of every leg.
    sums: Vec<(Vec<f64>, f64)>,
    /// Demands on them that hold everywhere.
    rows: Vec<Row>,
    /// Weighted sums that should be so much, mm.
    wanted: Vec<(Vec<f64>, f64)>,
}

impl Legs {
    /// The legs of a shape that ends at `end`, each with so much straight at least, mm.
    pub(super) fn new(shape: &Shape, end: Point3, straights: &[f64]) -> Option<Self> {
        let least: Vec<f64> = straights
            .iter()
            .enumerate()
            .map(|(index, straight)| straight + shape.setback_at(index) + shape.setback_at(index + 1))
            .collect();
        let apart = end - shape.start;
        let part = |axis: fn(Vector3) -> f64| -> (Vec<f64>, f64) {
            (shape.sequence.legs.iter().map(|leg| axis(*leg)).collect(), axis(apart))
        };
        let mut sums = Vec::with_capacity(3);
        for (parts, sum) in [part(|v| v.x), part(|v| v.y), part(|v| v.z)] {
            if parts.iter().any(|part| part.abs() > NOTHING) {
                sums.push((parts, sum));
            } else if sum.abs() > CLOSED_MM {
                return None;
            }
        }
        Some(Legs { least, sums, rows: Vec::new(), wanted: Vec::new() })
    }

    /// Lets legs be no shorter than this and `more`, mm.
    pub(super) fn at_least(mut self, needs: &[f64], more: f64) -> Self {
        self.least.iter_mut().zip(needs).for_each(|(least, need)| *least = least.max(need + more));
        self
    }

    /// Lets the straight of a leg lead through a point; `None` where it cannot.
    pub(super) fn through(mut self, shape: &Shape, leg: usize, point: Point3) -> Option<Self> {
        let way = *shape.sequence.legs.get(leg)?;
        let apart = point - shape.start;
        let before = |direction: Vector3, sign: f64| -> Vec<f64> {
            let part = |(index, other): (usize, &Vector3)| {
                if index < leg { sign * other.dot(direction) } else { 0.0 }
            };
            shape.sequence.legs.iter().enumerate().map(part).collect()
        };
        let beside = reference_normal(way);
        for direction in [beside, way.cross(beside)] {
            let (parts, sum) = (before(direction, 1.0), apart.dot(direction));
            if parts.iter().any(|part| part.abs() > NOTHING) {
                self.sums.push((parts, sum));
            } else if sum.abs() > ON_LINE_MM {
                return None;
            }
        }
        let along = apart.dot(way);
        self.rows.push(Row { parts: before(way, -1.0), least: shape.setback_at(leg) - along });
        let mut parts = before(way, 1.0);
        if let Some(part) = parts.get_mut(leg) {
            *part = 1.0;
        }
        self.rows.push(Row { parts, least: along + shape.setback_at(leg + 1) });
        Some(self)
    }

    /// Lets legs lie where they should, as nearly as they can.
    pub(super) fn beside(mut self, shape: &Shape, wanted: &[Wanted]) -> Self {
        for Wanted { legs, across, at } in wanted {
            let (parts, fixed) = shape.along(&Place { legs: *legs, off: Vector3::zero() }, *across);
            self.wanted.push((parts, at - fixed));
        }
        self
    }

    /// The programme's worth of these lengths: how long they are together, and how far from where they should be.
    pub(super) fn cost(&self, lengths: &[f64]) -> f64 {
        let there = |parts: &[f64]| -> f64 { parts.iter().zip(lengths).map(|(a, b)| a * b).sum() };
        let off: f64 = self.wanted.iter().map(|(parts, value)| (there(parts) - value).abs()).sum();
        lengths.iter().sum::<f64>() + OFF * off
    }

    /// Whether some legs have a place where they should lie.
    pub(super) fn is_placed(&self) -> bool {
        !self.wanted.is_empty()
    }

    /// The shortest lengths that meet every row, mm, the first and the last leg no longer than its cap; `None` where
    /// there are none.
    pub(super) fn shortest(&self, rows: &[&Row], caps: [f64; 2]) -> Option<Vec<f64>> {
        self.solve(rows, caps, None)
    }

    /// Of the lengths that are together no longer than `most`, mm, those that leave the most to spare on every leg, up
    /// to `enough` mm.
    pub(super) fn roomiest(
        &self,
        rows: &[&Row],
        caps: [f64; 2],
        (most, enough): (f64, f64),
    ) -> Option<Vec<f64>> {
        self.solve(rows, caps, Some((most, enough)))
    }

    /// Whether there may be lengths that meet every row: `false` is certain, and quick to find.
    pub(super) fn may_meet(&self, rows: &[&Row]) -> bool {
        let mut room: Vec<[f64; 2]> = self.least.iter().map(|least| [*least, least + LONGEST_MM]).collect();
        for _ in 0..ROUNDS {
            let both = self.sums.iter().all(|(parts, sum)| {
                narrow(&mut room, parts, *sum, 1.0) && narrow(&mut room, parts, -*sum, -1.0)
            });
            if !both
                || !rows
                    .iter()
                    .copied()
                    .chain(&self.rows)
                    .all(|row| narrow(&mut room, &row.parts, row.least, 1.0))
            {
                return false;
            }
        }
        true
    }

    fn solve(&self, rows: &[&Row], caps: [f64; 2], spare: Option<(f64, f64)>) -> Option<Vec<f64>> {
        let direction =
            if spare.is_some() { OptimizationDirection::Maximize } else { OptimizationDirection::Minimize };
        let mut programme = Programme::new(direction);
        let cost = if spare.is_some() { 0.0 } else { 1.0 };
        // Lengths beyond the least: these are never below nothing.
        let mut more: Vec<Variable> = Vec::with_capacity(self.least.len());
        for (index, least) in self.least.iter().enumerate() {
            let first = if index == 0 { caps[0] } else { f64::INFINITY };
            let last = if index + 1 == self.least.len() { caps[1] } else { f64::INFINITY };
            let room = LONGEST_MM.min(first.min(last) - least);
            if room < 0.0 {
                return None;
            }
            more.push(programme.add_var(cost, (0.0, room)));
        }
        let at_least: f64 = self.least.iter().sum();
        let fixed = |parts: &[f64]| -> f64 { parts.iter().zip(&self.least).map(|(a, b)| a * b).sum() };
        let terms = |parts: &[f64], sign: f64| -> Vec<(Variable, f64)> {
            let all = more.iter().zip(parts).filter(|(_, part)| part.abs() > NOTHING);
            all.map(|(variable, part)| (*variable, sign * part)).collect()
        };
        let add = |programme: &mut Programme, parts: &[f64], op: ComparisonOp, right: f64| {
            let (fixed, terms) = (fixed(parts), terms(parts, 1.0));
            if terms.is_empty() {
                let missing = right - fixed;
                return match op {
                    ComparisonOp::Ge => missing <= CLOSED_MM,
                    ComparisonOp::Le => missing >= -CLOSED_MM,
                    ComparisonOp::Eq => missing.abs() <= CLOSED_MM,
                };
            }
            programme.add_constraint(terms.as_slice(), op, right - fixed);
            true
        };
        for (parts, sum) in &self.sums {
            if !add(&mut programme, parts, ComparisonOp::Eq, *sum) {
                return None;
            }
        }
        for row in rows.iter().copied().chain(&self.rows) {
            if !add(&mut programme, &row.parts, ComparisonOp::Ge, row.least) {
                return None;
            }
        }
        // Beyond both sides of where it should be, a leg costs more than it may save.
        for (parts, value) in self.wanted.iter().filter(|_| spare.is_none()) {
            let off = programme.add_var(OFF, (0.0, LONGEST_MM));
            for sign in [1.0, -1.0] {
                let terms = [terms(parts, sign), vec![(off, -1.0)]].concat();
                programme.add_constraint(terms.as_slice(), ComparisonOp::Le, sign * (value - fixed(parts)));
            }
        }
        if let Some((most, enough)) = spare {
            let all = vec![1.0; self.least.len()];
            if !add(&mut programme, &all, ComparisonOp::Le, most.max(at_least)) {
                return None;
            }
            // The first millimetres to spare are worth most, so that no leg goes without.
            for variable in &more {
                let [first, second, third] = [(4.0, 0.25), (2.0, 0.25), (1.0, 0.5)]
                    .map(|(worth, share)| programme.add_var(worth, (0.0, share * enough)));
                let terms = [(*variable, 1.0), (first, -1.0), (second, -1.0), (third, -1.0)];
                programme.add_constraint(terms, ComparisonOp::Ge, 0.0);
            }
        }
        let solution = programme.solve().ok()?.into_solution().ok()?;
        let lengths: Vec<f64> = self
            .least
            .iter()
            .zip(&more)
            .map(|(least, more)| least + solution.var_value(*more).max(0.0))
            .collect();
        let is_closed = |(parts, sum): &(Vec<f64>, f64)| {
            let there: f64 = parts.iter().zip(&lengths).map(|(part, length)| part * length).sum();
            (there - sum).abs() < CLOSED_MM
        };
        self.sums.iter().all(is_closed).then_some(lengths)
    }
}
