//! Everything that has a place, with a tree of boxes so that far things cost nothing.

use std::cell::Cell;
use std::collections::BTreeMap;

use parry3d_f64::bounding_volume::{Aabb, BoundingVolume};
use parry3d_f64::math::Vector;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy};

use super::distance::{Near, box_distance, lower_by_tube};
use super::solid::{Solid, lower_by_solid};
use super::stretch::{self, Stretch, stretches};
use super::{Clearance, Obstacle, overlaps};
use crate::centreline::{Centreline, LaidRun};
use crate::spec::model::Component;

/// An obstacle that a run overlaps, or comes nearer to than is wanted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Close {
    /// The obstacle.
    pub(super) obstacle: Obstacle,
    /// From surface to surface, mm; negative where they overlap.
    pub(super) distance: f64,
    /// The middle of the gap or overlap.
    pub(super) at: Vector,
}

impl Close {
    /// The place, where two come nearer than `limit` mm.
    pub(super) fn of(near: Near, obstacle: Obstacle, limit: f64) -> Option<Self> {
        (near.distance < limit).then_some(Close { obstacle, distance: near.distance, at: near.at })
    }

    /// Whether they overlap.
    pub(super) fn is_clash(&self) -> bool {
        overlaps(self.distance)
    }
}

/// The distances below which a run is told to be near to obstacles.
pub(super) struct Limits<'a> {
    /// That of an obstacle, mm.
    pub(super) of: &'a dyn Fn(Obstacle) -> f64,
    /// The largest of all, mm.
    pub(super) largest: f64,
}

/// The count of pairs that were measured for one run: the same on every machine.
pub(super) struct Effort {
    done: Cell<usize>,
    most: usize,
}

impl Effort {
    /// So many pairs at most.
    pub(super) fn of(most: usize) -> Self {
        Effort { done: Cell::new(0), most }
    }

    /// Any number of pairs.
    pub(super) fn without_end() -> Self {
        Effort::of(usize::MAX)
    }

    /// Counts a pair, if there is one left to be measured.
    pub(super) fn one_more(&self) -> bool {
        let left = !self.is_spent();
        self.done.set(self.done.get() + usize::from(left));
        left
    }

    pub(super) fn is_spent(&self) -> bool {
        self.done.get() >= self.most
    }
}

/// One leaf of the tree.
pub(super) struct Leaf {
    pub(super) obstacle: Obstacle,
    pub(super) body: Body,
}

pub(super) enum Body {
    Tube(Stretch),
    Solid(Solid),
}

/// Components and runs where the spec places them, for questions about any line among them.
pub struct World {
    leaves: Vec<Leaf>,
    tree: Bvh,
}

impl World {
    /// The world of these components and runs. Obstacles are named by their positions in them; a run without a
    /// place is nobody's obstacle.
    pub fn new(components: &[Component], runs: &[LaidRun]) -> World {
        let tubes: Vec<Vec<Stretch>> = runs.iter().map(stretch::tube).collect();
        World::of(runs, &tubes, &Solid::all(components))
    }

    /// The nearest obstacle of a tube of diameter `od`, mm, along a line; `None` where there is nothing but what is
    /// ignored. The distance is within [`MEASURED_MM`](crate::tolerance::MEASURED_MM) of the truth.
    pub fn clearance(&self, line: &Centreline, od: f64, ignoring: &[Obstacle]) -> Option<Clearance> {
        let (mut best, effort) = (None, Effort::without_end());
        for stretch in stretches(line, od / 2.0) {
            self.lower(&mut best, &stretch, ignoring, &effort);
        }
        best
    }

    /// The world of runs, whose tubes are given, and of solids.
    pub(super) fn of(runs: &[LaidRun], tubes: &[Vec<Stretch>], solids: &[Vec<Solid>]) -> Self {
        let in_place = |(laid, tube): (&LaidRun, _)| if laid.has_place() { Vec::as_slice(tube) } else { &[] };
        World::made_of(runs.iter().zip(tubes).map(in_place), solids)
    }

    fn made_of<'a>(tubes: impl Iterator<Item = &'a [Stretch]>, solids: &[Vec<Solid>]) -> Self {
        let mut leaves = Vec::new();
        let mut boxes = Vec::new();
        for (run, tube) in tubes.enumerate() {
            for stretch in tube {
                leaves.push(Leaf { obstacle: Obstacle::Run(run), body: Body::Tube(*stretch) });
                boxes.push(stretch.aabb());
            }
        }
        for (component, solids) in solids.iter().enumerate() {
            for solid in solids {
                leaves.push(Leaf {
                    obstacle: Obstacle::Component(component),
                    body: Body::Solid(solid.clone()),
                });
                boxes.push(solid.aabb());
            }
        }
        let tree = Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes);
        World { leaves, tree }
    }

    /// The stretches of one tube alone: among thousands of others its own are slow to find.
    pub(super) fn alone(tube: &[Stretch]) -> Self {
        World::made_of([tube].into_iter(), &[])
    }

    /// The stretches of tubes whose boxes come within `margin` mm of `stretch`'s.
    pub(super) fn tubes_near(&self, stretch: &Stretch, margin: f64) -> Vec<Stretch> {
        let reach = stretch.aabb().loosened(margin);
        self.tree
            .intersect_aabb(&reach)
            .filter_map(|leaf| match self.leaves.get(leaf as usize)?.body {
                Body::Tube(near) => Some(near),
                Body::Solid(_) => None,
            })
            .collect()
    }

    /// The leaves whose boxes meet a box.
    pub(super) fn leaves_in<'a>(&'a self, reach: &'a Aabb) -> impl Iterator<Item = &'a Leaf> + 'a {
        self.tree.intersect_aabb(reach).filter_map(|leaf| self.leaves.get(leaf as usize))
    }

    /// Lowers `best` to the nearest foreign obstacle of `stretch`.
    pub(super) fn lower(
        &self,
        best: &mut Option<Clearance>,
        stretch: &Stretch,
        ignored: &[Obstacle],
        effort: &Effort,
    ) {
        let start = best.map_or(f64::MAX, |b| b.distance);
        let stretch_box = stretch.aabb();
        let nearest = Cell::new(*best);
        self.tree.find_best(
            start,
            |node, _| {
                if effort.is_spent() {
                    return f64::MAX;
                }
                let apart = box_distance(&stretch_box, &node.aabb());
                // Where boxes overlap bodies may too, by any depth.
                if apart > 0.0 { apart } else { f64::MIN }
            },
            |leaf, limit| {
                let leaf = self.leaves.get(leaf as usize)?;
                if ignored.contains(&leaf.obstacle) || !effort.one_more() {
                    return None;
                }
                let mut near = Near::within(limit);
                leaf.lower(&mut near, stretch);
                // The search asks for nothing but what is nearer than all before.
                (near.distance < limit).then(|| {
                    nearest.set(Some(near.clearance(leaf.obstacle)));
                    near.distance
                })
            },
        );
        *best = nearest.get();
    }

    /// The foreign obstacles that `tube` comes nearer to than their `limits`, mm, of the other runs those after `run`:
    /// at most so many, and whether that is why it ends.
    pub(super) fn closest(
        &self,
        run: usize,
        tube: &[Stretch],
        ignored: &[Obstacle],
        limits: &Limits<'_>,
        (effort, most): (&Effort, usize),
    ) -> (Vec<Close>, bool) {
        let counts = |obstacle: Obstacle| {
            let told_by_other = matches!(obstacle, Obstacle::Run(other) if other < run);
            !told_by_other && !ignored.contains(&obstacle)
        };
        let mut near: BTreeMap<Obstacle, Vec<(&Stretch, &Leaf)>> = BTreeMap::new();
        for stretch in tube {
            let reach = stretch.aabb().loosened(limits.largest.max(0.0));
            let leaves = self.tree.intersect_aabb(&reach).filter_map(|leaf| self.leaves.get(leaf as usize));
            for leaf in leaves.filter(|leaf| counts(leaf.obstacle)) {
                if !effort.one_more() {
                    break;
                }
                near.entry(leaf.obstacle).or_default().push((stretch, leaf));
            }
        }
        let mut found = Vec::new();
        for (obstacle, pairs) in near {
            let limit = (limits.of)(obstacle);
            let mut nearest = Near::within(limit);
            pairs.iter().for_each(|(stretch, leaf)| leaf.lower(&mut nearest, stretch));
            if let Some(close) = Close::of(nearest, obstacle, limit) {
                if found.len() == most {
                    return (found, true);
                }
                found.push(close);
            }
        }
        (found, false)
    }
}

impl Leaf {
    pub(super) fn lower(&self, best: &mut Near, stretch: &Stretch) {
        match &self.body {
            Body::Tube(other) => lower_by_tube(best, stretch, other),
            Body::Solid(solid) => lower_by_solid(best, stretch, solid),
        }
    }
}
