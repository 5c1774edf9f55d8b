//! Ways, and how sure it is that they are the best.

use std::collections::BTreeMap;

use super::merit::{Merit, Rank};
use crate::centreline::Centreline;
use crate::fit::Obstacle;
use crate::geometry::{MetricSpace, Point3, Vector3};
use crate::spec::model::Criterion;

/// Decimals of a corner's coordinates, mm.
const DECIMALS: f64 = 1e3;

/// A way from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Its corners.
    pub corners: Vec<Point3>,
    /// Its centreline.
    pub line: Centreline,
    /// Planes that its bends lie in, one after the other.
    pub planes: usize,
    /// Bends at other angles than 45° and 90°.
    pub unusual: usize,
    merit: Merit,
    rank: Rank,
}

impl Way {
    pub(super) fn new(corners: Vec<Point3>, line: Centreline, merit: Merit, order: &[Criterion]) -> Self {
        let (planes, unusual, rank) = (merit.planes, merit.unusual, merit.rank(order));
        Way { corners, line, planes, unusual, merit, rank }
    }

    /// The same by another order of merit.
    pub(super) fn by(self, order: &[Criterion]) -> Self {
        Way { rank: self.merit.rank(order), ..self }
    }

    /// Whether its corners are where another one's are, but for so many mm.
    pub(super) fn is_like(&self, corners: &[Point3], within: f64) -> bool {
        self.corners.len() == corners.len()
            && self.corners.iter().zip(corners).all(|(a, b)| a.distance(*b) < within)
    }

    /// How much worse it is than another one, number by number of their rank.
    pub(super) fn loss_to(&self, other: &Way) -> Rank {
        let mut loss = self.rank;
        loss.iter_mut().zip(other.rank).for_each(|(mine, other)| *mine -= other);
        loss
    }

    /// Its corners as they are built and written: to a thousandth of a millimetre.
    pub fn rounded_corners(&self) -> Vec<Point3> {
        let rounded = |mm: f64| (mm * DECIMALS).round() / DECIMALS + 0.0;
        self.corners.iter().map(|at| Point3::new(rounded(at.x), rounded(at.y), rounded(at.z))).collect()
    }

    /// The numbers that ways are compared by.
    pub(super) fn rank(&self) -> Rank {
        self.rank
    }

    /// Whether it is better than another one.
    pub(super) fn is_better_than(&self, other: &Way) -> bool {
        self.rank < other.rank
    }
}

/// How sure it is that the first way is the best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// Along these directions there is none better; or none at all.
    Proven,
    /// The effort was spent first. A better way than the first has at least so many bends, and a tube at least so
    /// long, mm.
    Open {
        /// Bends.
        bends: usize,
        /// Length, mm.
        length: f64,
    },
}

/// The outcome of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The best ways, each different from those before; empty where none was found.
    pub ways: Vec<Way>,
    /// How sure that is.
    pub proof: Proof,
    /// How often each obstacle was in the way.
    pub in_the_way: BTreeMap<Obstacle, usize>,
    /// Linear programmes solved, and ways measured.
    pub effort: usize,
}

impl Answer {
    /// The answer before anything is found.
    pub(super) fn nothing() -> Self {
        Answer { ways: Vec::new(), proof: Proof::Proven, in_the_way: BTreeMap::new(), effort: 0 }
    }
}

/// The wishes of a search.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Ways to find.
    pub ways: usize,
    /// Linear programmes to solve and ways to measure at most: the same on every machine.
    pub effort: usize,
    /// The order of merit; criteria that are left out come last.
    pub order: &'a [Criterion],
    /// Directions of the lines near by.
    pub kin: &'a [Vector3],
    /// Only ways that are better than this are looked for.
    pub(super) below: Option<Rank>,
}

impl<'a> Asked<'a> {
    /// So many ways with so much effort, by an order of merit.
    pub fn new(ways: usize, effort: usize, order: &'a [Criterion]) -> Self {
        Asked { ways, effort, order, kin: &[], below: None }
    }

    /// Whether a way is better than all that are not looked for.
    pub(super) fn wants(&self, way: &Way) -> bool {
        self.below.is_none_or(|below| way.rank < below)
    }
}
