//! A run whose way is to be found, as numbers.

use std::borrow::Cow;

use super::answer::Proof;
use super::beside::{Beside, Follower};
use crate::geometry::{MetricSpace, Point3, Vector3};
use crate::spec::model::{BendFrom, Component, Directions, End, Fitting, Route, Run};

/// Distance to keep from everything where the spec wants none, mm: hand-bent tube may be off by as much (common
/// practice, no source).
const CLEARANCE_MM: f64 = 3.0;

/// Where one end of the tube is, and how it leaves there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leave {
    /// Centre of the tube's end.
    pub at: Point3,
    /// Unit vector out of the port; none for an end that may leave any way.
    pub way: Option<Vector3>,
    /// Tube that goes in behind the port's face, mm.
    pub insert: f64,
    /// Straight tube that the fitting needs outside the face, mm.
    pub outside: f64,
    /// Length of the fitting's body outside the face, mm.
    pub body: f64,
    /// Extra tube to trim away, mm: the bender may grip it.
    pub allowance: f64,
    /// Tube that a part takes that must be on it before the bends are made, mm.
    pub taken: f64,
}

impl Leave {
    fn of(end: &End, allowance: f64) -> Self {
        let fitting = end.fitting.as_ref();
        Leave {
            at: end.at,
            way: end.facing,
            insert: end.insert(),
            outside: fitting.map_or(0.0, |fitting| fitting.straight_outside().max(fitting.slide_back)),
            body: fitting.map_or(0.0, Fitting::body_length),
            allowance,
            taken: fitting.map_or(0.0, Fitting::on_tube),
        }
    }

    /// The least straight at this end for a bender that needs so much of it, mm.
    fn straight(&self, needed: f64) -> f64 {
        (self.insert + self.outside).max(needed - self.allowance + self.taken).max(0.0)
    }
}

/// Both ends.
pub type Ends = [Leave; 2];

/// The wishes of the spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Wishes {
    /// Most bends.
    pub max_bends: usize,
    /// Bend angles allowed, rad; empty for any.
    pub angles: Vec<f64>,
    /// Distance to keep from everything, mm.
    pub clearance: f64,
    /// The directions of legs.
    pub directions: Directions,
    /// Places that straights lead through, in this order.
    pub through: Vec<Point3>,
}

impl Wishes {
    /// Those of a run for its route.
    pub fn of(run: &Run, route: &Route) -> Self {
        let Route { max_bends, angles, clearance, directions, through, .. } = route;
        let clearance = clearance.or(run.clearance).unwrap_or(CLEARANCE_MM);
        let (angles, through) = (angles.clone(), through.clone());
        Wishes { max_bends: *max_bends, angles, clearance, directions: *directions, through }
    }
}

/// A run whose way is to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem<'a> {
    /// The run.
    pub run: &'a Run,
    /// Its ends, datum end first.
    pub ends: Ends,
    /// Finished centreline radius of its bends, mm.
    pub radius: f64,
    /// The wishes of the spec.
    pub wishes: Wishes,
    /// Room to keep clear of beside all that is there.
    pub avoid: Vec<Component>,
    /// Where it should lead beside another run.
    pub(super) beside: Option<Beside>,
    /// Runs that are to lead beside this one.
    pub(super) followers: Vec<Follower>,
}

impl<'a> Problem<'a> {
    /// The problem of a run with these wishes, its bends of this finished radius, mm; `None` without both ends.
    pub fn new(run: &'a Run, radius: f64, wishes: Wishes) -> Option<Self> {
        let ends = [
            Leave::of(run.from.as_ref()?, run.allowance_start),
            Leave::of(run.to.as_ref()?, run.allowance_end),
        ];
        Some(Problem { run, ends, radius, wishes, avoid: Vec::new(), beside: None, followers: Vec::new() })
    }

    /// Nothing is proven of ways with so many bends or more, but that none is shorter than the ends are apart.
    pub(super) fn open(&self, bends: usize) -> Proof {
        let [from, to] = &self.ends;
        Proof::Open { bends, length: from.at.distance(to.at) }
    }

    /// Ways whose corners are nearer to each other than this are one, mm.
    pub(super) fn alike(&self) -> f64 {
        self.run.tube.od().max(self.radius / 2.0)
    }

    /// The needs of this run for one that it is to lead beside.
    pub(super) fn as_follower(&self, spacing: Option<f64>) -> Option<Follower> {
        let straights = *self.end_straights(1).first()?;
        let ends = self.ends.map(|end| (end.at, end.way));
        Some(Follower { ends, straights, between: self.between(), radius: self.radius, spacing })
    }

    /// The components, and the room to keep clear of behind them.
    pub(super) fn all_of<'c>(&self, components: &'c [Component]) -> Cow<'c, [Component]> {
        if self.avoid.is_empty() {
            Cow::Borrowed(components)
        } else {
            Cow::Owned(components.iter().chain(&self.avoid).cloned().collect())
        }
    }

    /// The least straights at both ends, mm, for each order of bending that may be taken and that the other does not
    /// make needless.
    pub(super) fn end_straights(&self, bends: usize) -> Vec<[f64; 2]> {
        let [first, last] = &self.ends;
        if bends == 0 {
            // One piece: what goes in at one end, or lies in a body there, does not stand out of the other.
            let beside = |one: &Leave, other: &Leave| one.insert + one.outside + other.body + other.insert;
            let least = beside(first, last).max(beside(last, first));
            return vec![[least, 0.0]];
        }
        let bender = &self.run.bender;
        let datum = [first.straight(bender.grip), last.straight(bender.lead_out)];
        let other = [first.straight(bender.lead_out), last.straight(bender.grip)];
        let both = match self.run.bend_from {
            BendFrom::Datum => vec![datum],
            BendFrom::Other => vec![other],
            BendFrom::Better => vec![datum, other],
        };
        let is_needless = |order: &[f64; 2]| {
            both.iter().any(|rival| rival != order && rival[0] <= order[0] && rival[1] <= order[1])
        };
        let mut kept: Vec<[f64; 2]> = both.iter().copied().filter(|order| !is_needless(order)).collect();
        kept.dedup();
        kept
    }

    /// The least straight between two bends, mm.
    pub(super) fn between(&self) -> f64 {
        self.run.bender.grip.max(0.0)
    }
}
