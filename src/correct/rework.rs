//! A finished tube that misses its port: the smallest set of re-bends and cuts that lets it in.

use super::limits::Reach;
use super::seat::{BentTube, Miss, Seat};
use super::settle::{Free, Settled, settle};
use crate::centreline::TableRow;

/// Most bends that are bent again: beyond that a new tube is less work (common practice, no source).
const MOST_BENDS: usize = 3;

/// Of longer runs only so many bends, those that help most alone, are tried together.
const TRIED_TOGETHER: usize = 10;

/// Furthest that a straight is twisted, rad: beyond that it buckles (common practice, no source).
const FURTHEST_TWIST: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// A change of angle below this is not made: no hand and no protractor keeps to it, rad (0.2°).
const LEAST_CHANGE: f64 = 0.2 * std::f64::consts::PI / 180.0;

/// Changes that cost alike: rad and mm.
const SCALES: (f64, f64) = (0.05, 5.0);

/// A tube that needs this much less than with fewer changes is worth one more.
const WORTH: f64 = 0.8;

/// A finished tube and what may be done with it.
#[derive(Debug, Clone)]
pub struct Finished<'s> {
    /// Its ports.
    pub seat: &'s Seat,
    /// The tube as it is.
    pub tube: BentTube,
    /// For each bend how far it may be bent again.
    pub reaches: Vec<Reach>,
    /// Most tube that can be cut off at the first and the last end, mm.
    pub cuts: [f64; 2],
    /// Whether straights may be twisted.
    pub may_twist: bool,
}

/// One change of a finished tube, by the position of the bend in the order of bending, from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// The bend is opened (less than nothing) or closed by so much, rad.
    Bend(usize, f64),
    /// The straight before the bend is twisted by so much, rad: clockwise looking from the first end.
    Twist(usize, f64),
}

/// A finished tube after some changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Rework {
    /// The changes.
    pub changes: Vec<Change>,
    /// The tube after them, with its cuts.
    pub tube: BentTube,
    /// Turn of its first bend about the first end from the planned plane, rad.
    pub roll: f64,
    /// How far its last end is then off.
    pub miss: Miss,
    /// How many times what the fittings forgive it needs.
    pub needs: f64,
}

impl Finished<'_> {
    /// The tube as it is, cut as it is planned to be.
    pub fn as_made(&self) -> Rework {
        let Settled { roll, miss, needs, .. } = settle(self.seat, &|_| self.tube.clone(), &[], false);
        Rework { changes: Vec::new(), tube: self.tube.clone(), roll, miss, needs }
    }

    /// The tube as it was made; then the best of those that are cut otherwise, with no change, with one, with two and so
    /// on: each needs clearly less than the one before.
    pub fn ways(&self) -> Vec<Rework> {
        let mut moves: Vec<Move> = self.moves();
        let mut best = vec![self.as_made()];
        if moves.len() > TRIED_TOGETHER {
            let mut alone: Vec<(f64, Move)> =
                moves.iter().map(|one| (self.with(&[*one]).needs, *one)).collect();
            alone.sort_by(|a, b| a.0.total_cmp(&b.0));
            moves = alone.into_iter().take(TRIED_TOGETHER).map(|(_, one)| one).collect();
        }
        for count in 0..=MOST_BENDS.min(moves.len()) {
            let tried = subsets(&moves, count).into_iter().map(|these| self.with(&these));
            let found = tried.min_by(|a, b| a.needs.total_cmp(&b.needs));
            let least = best.last().map_or(f64::MAX, |last| last.needs);
            best.extend(found.filter(|found| found.needs < WORTH * least));
        }
        best
    }

    fn moves(&self) -> Vec<Move> {
        let bends = self.reaches.iter().enumerate();
        let mut moves: Vec<Move> = bends
            .filter(|(_, reach)| reach.open.max(reach.close) > LEAST_CHANGE)
            .map(|(index, _)| Move::Bend(index))
            .collect();
        if self.may_twist {
            moves.extend((1..self.reaches.len()).map(Move::Twist));
        }
        moves
    }

    fn with(&self, moves: &[Move]) -> Rework {
        let (angle, length) = SCALES;
        let cut = |end: usize| Free {
            start: self.tube.trimmed[end].min(self.cuts[end]),
            least: 0.0,
            most: self.cuts[end],
            scale: length,
        };
        let change = |one: &Move| {
            let (least, most) = match one {
                Move::Bend(index) => {
                    self.reaches.get(*index).map_or((0.0, 0.0), |reach| (-reach.open, reach.close))
                }
                Move::Twist(_) => (-FURTHEST_TWIST, FURTHEST_TWIST),
            };
            Free { start: 0.0, least, most, scale: angle }
        };
        let free: Vec<Free> = [cut(0), cut(1)].into_iter().chain(moves.iter().map(change)).collect();
        let made = |numbers: &[f64]| self.made(moves, numbers);
        let Settled { numbers, roll, miss, needs } = settle(self.seat, &made, &free, false);
        let changes = moves.iter().zip(numbers.iter().skip(2)).map(|(one, by)| match one {
            Move::Bend(index) => Change::Bend(*index, *by),
            Move::Twist(index) => Change::Twist(*index, *by),
        });
        Rework { changes: changes.collect(), tube: made(&numbers), roll, miss, needs }
    }

    /// The tube with these cuts and changes.
    fn made(&self, moves: &[Move], numbers: &[f64]) -> BentTube {
        let mut tube = self.tube.clone();
        if let [first, last, changes @ ..] = numbers {
            tube.trimmed = [*first, *last];
            for (one, by) in moves.iter().zip(changes) {
                one.make(&mut tube, *by);
            }
        }
        tube
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Move {
    Bend(usize),
    Twist(usize),
}

impl Move {
    fn make(self, tube: &mut BentTube, by: f64) {
        match self {
            Move::Bend(index) => rebend(tube, index, by),
            Move::Twist(index) => {
                if let Some(row) = tube.rows.get_mut(index) {
                    row.rotation += by;
                }
            }
        }
    }
}

/// Bends a bend again by an angle, rad. Closed, it goes on over the straight behind it, at its radius. Opened, its arc
/// keeps its length.
pub fn rebend(tube: &mut BentTube, index: usize, by: f64) {
    let Some(TableRow { angle, radius, .. }) = tube.rows.get(index).copied() else { return };
    if by >= 0.0 {
        match tube.rows.get_mut(index + 1) {
            Some(next) => next.length -= radius * by,
            None => tube.rest -= radius * by,
        }
    }
    if let Some(row) = tube.rows.get_mut(index) {
        row.angle = angle + by;
        if by < 0.0 && row.angle > 0.0 {
            row.radius = radius * angle / row.angle;
        }
    }
}

/// Every choice of so many.
fn subsets(all: &[Move], count: usize) -> Vec<Vec<Move>> {
    match (count, all) {
        (0, _) => vec![Vec::new()],
        (_, []) => Vec::new(),
        (_, [first, others @ ..]) => {
            let with = subsets(others, count - 1).into_iter().map(|mut rest| {
                rest.insert(0, *first);
                rest
            });
            with.chain(subsets(others, count)).collect()
        }
    }
}
