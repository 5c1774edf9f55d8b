//! Every run of a layout against every obstacle.

use rayon::prelude::*;

use super::distance::Near;
use super::solid::{Solid, lower_by_solid};
use super::stretch::{self, Stretch, vector};
use super::wanted::limits_of;
use super::world::{Close, Effort, Limits, World};
use super::{Clearance, Obstacle, itself};
use crate::centreline::{Centreline, Layout};
use crate::geometry::InnerSpace;
use crate::spec::model::{Component, End, Run};
use crate::tolerance::CLEARANCE_MM;

/// Most obstacles of one run that are told to overlap it, or to be too near.
const MOST_CLASHES: usize = 20;

/// The same of all runs together, for each an equal share.
const MOST_CLASHES_IN_ALL: usize = 20_000;

/// Most obstacles told to overlap one run of so many.
pub(super) fn most_clashes(runs: usize) -> usize {
    MOST_CLASHES.min(MOST_CLASHES_IN_ALL / runs.max(1)).max(1)
}

/// Most pairs of a run's stretches and obstacles that are measured: those whose boxes overlap, or are nearer than
/// the nearest obstacle known by then.
const MOST_PAIRS: usize = 40_000;

/// The same of all runs together, for each an equal share.
const MOST_PAIRS_IN_ALL: usize = 40_000_000;

/// Most pairs measured for one run of so many.
pub(super) fn most_pairs(runs: usize) -> usize {
    MOST_PAIRS.min(MOST_PAIRS_IN_ALL / runs.max(1))
}

/// The nearest neighbours of one run.
#[derive(Debug, Clone, Default)]
pub(super) struct Measured {
    /// The nearest obstacle.
    pub(super) nearest: Option<Clearance>,
    /// The obstacles it overlaps or is too near to, the first [`most_clashes`] of them: a pair of runs is told by the
    /// first of the two.
    pub(super) close: Vec<Close>,
    /// Why there may be more, and nearer ones.
    pub(super) cut_short: Option<CutShort>,
}

/// Why not everything about a run was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum CutShort {
    /// It overlaps or is too near to more than [`most_clashes`].
    Clashes,
    /// More than [`most_pairs`].
    Pairs,
}

/// Measures every run of a layout, in its order.
pub(super) fn measure(layout: &Layout) -> Vec<Measured> {
    let tubes: Vec<Vec<Stretch>> = layout.runs.iter().map(stretch::tube).collect();
    let solids = Solid::all(&layout.components);
    let world = World::of(&layout.runs, &tubes, &solids);
    (0..layout.runs.len())
        .into_par_iter()
        .map(|run| {
            if layout.runs[run].has_place() {
                measure_run(layout, &world, &solids, run, &tubes[run])
            } else {
                measure_alone(layout, run, &tubes[run])
            }
        })
        .collect()
}

/// A run on the bench can only meet itself.
fn measure_alone(layout: &Layout, run: usize, tube: &[Stretch]) -> Measured {
    let mut measured = Measured::default();
    let limit = limits_of(layout, run)(Obstacle::Itself);
    measured.note(itself::distance(&layout.runs[run], tube), Obstacle::Itself, limit);
    measured
}

fn measure_run(
    layout: &Layout,
    world: &World,
    solids: &[Vec<Solid>],
    run: usize,
    tube: &[Stretch],
) -> Measured {
    let laid = &layout.runs[run];
    let mut measured = Measured::default();
    let limit_of = limits_of(layout, run);
    let mut ignored = vec![Obstacle::Run(run)];
    for (component, solids) in solids.iter().enumerate().filter(|(_, solids)| !solids.is_empty()) {
        let is_own = |end: &Option<End>| {
            end.as_ref().is_some_and(|end| ends_in(end, &layout.components[component], solids))
        };
        let own = [is_own(&laid.run.from), is_own(&laid.run.to)];
        if own == [false; 2] {
            continue;
        }
        ignored.push(Obstacle::Component(component));
        let mut near = Near::within(f64::MAX);
        for stretch in beyond_ports(&laid.run, &laid.centreline, tube, own, solids) {
            solids.iter().for_each(|solid| lower_by_solid(&mut near, &stretch, solid));
        }
        let own = Obstacle::Component(component);
        measured.note((near.distance < f64::MAX).then_some(near), own, limit_of(own));
    }
    measured.note(itself::distance(laid, tube), Obstacle::Itself, limit_of(Obstacle::Itself));

    let most = most_pairs(layout.runs.len());
    let [nearest, closest] = [most; 2].map(Effort::of);
    for stretch in tube {
        world.lower(&mut measured.nearest, stretch, &ignored, &nearest);
    }
    let largest = largest_limit(layout, &limit_of);
    if measured.nearest.is_some_and(|nearest| nearest.distance < largest) {
        let limits = Limits { of: &limit_of, largest };
        let most = most_clashes(layout.runs.len());
        let (found, more) = world.closest(run, tube, &ignored, &limits, (&closest, most));
        measured.close.extend(found);
        measured.close.sort_by_key(|close| close.obstacle);
        measured.cut_short = more.then_some(CutShort::Clashes);
    }
    if measured.cut_short.is_none() && (nearest.is_spent() || closest.is_spent()) {
        measured.cut_short = Some(CutShort::Pairs);
    }
    measured
}

/// The largest of the distances below which a run is told to be near to something, mm.
fn largest_limit(layout: &Layout, limit_of: &dyn Fn(Obstacle) -> f64) -> f64 {
    let runs = (0..layout.runs.len()).map(|other| limit_of(Obstacle::Run(other)));
    runs.fold(limit_of(Obstacle::Itself), f64::max)
}

impl Measured {
    fn note(&mut self, near: Option<Near>, obstacle: Obstacle, limit: f64) {
        let Some(near) = near else { return };
        self.close.extend(Close::of(near, obstacle, limit));
        if self.nearest.is_none_or(|nearest| near.distance < nearest.distance) {
            self.nearest = Some(near.clearance(obstacle));
        }
    }
}

/// Whether an end is in a port of `component`, or, given by a point, on or in its shape.
pub(super) fn ends_in(end: &End, component: &Component, solids: &[Solid]) -> bool {
    let Some(name) = &end.port else {
        return Solid::nearest_of(solids, vector(end.face)) <= CLEARANCE_MM;
    };
    // Names hold dots too, so the port's name is matched from its end.
    component.ports.iter().any(|port| {
        name.strip_suffix(port.name.as_str()).and_then(|rest| rest.strip_suffix('.'))
            == Some(component.name.as_str())
    })
}

/// The stretches of a run that its own component counts for: what is beyond its ports there.
pub(super) fn beyond_ports(
    run: &Run,
    line: &Centreline,
    tube: &[Stretch],
    own: [bool; 2],
    solids: &[Solid],
) -> Vec<Stretch> {
    let length = line.length();
    let away = |end: &Option<End>, from_start: bool| {
        let at = |walked: f64| {
            let station = if from_start { walked } else { length - walked };
            Solid::nearest_of(solids, vector(line.point_at(station)))
        };
        let inside = end.as_ref().map_or(0.0, |end| told_inside(line, end, from_start));
        let own = port_length(end.as_ref(), run.tube.od()) + inside;
        walk_away(own, length, run.tube.outer_radius(), at)
    };
    let first = if own[0] { away(&run.from, true) } else { 0.0 };
    let last = if own[1] { length - away(&run.to, false) } else { length };
    tube.iter()
        .filter_map(|stretch| {
            let (from, to) = (stretch.from().max(first), stretch.to().min(last));
            (from < to).then(|| stretch.between(from, to))
        })
        .collect()
}

/// How much of a tube lies in its own component because of a port that was told to be wrong, mm: it is the same fault.
fn told_inside(line: &Centreline, end: &End, from_start: bool) -> f64 {
    let inward = if from_start { line.start_direction() } else { -line.end_direction() };
    let leaves = end.facing.is_some_and(|facing| inward.dot(facing) > 0.0);
    end.slip.filter(|_| leaves).map_or(0.0, |slip| slip.out)
}

/// Insertion, the fitting's straight and one OD: tube that belongs to the port.
fn port_length(end: Option<&End>, od: f64) -> f64 {
    let fitting = end.and_then(|end| end.fitting.as_ref());
    od + fitting.map_or(0.0, |fitting| fitting.insert + fitting.straight_outside())
}

/// Most steps of the walk away from a port, however long the run.
const MOST_STEPS: f64 = 10_000.0;

/// Shortest step of the walk away from a port, mm: far below any tube's OD.
const SHORTEST_STEP: f64 = 1.0;

/// How far a run goes from a port before it first stops moving away from the port's component.
/// `distance(walked)` is that of the centreline there. The walk ends at `port_length` where the tube still touches the
/// component there: from then on it overlaps.
fn walk_away(port_length: f64, length: f64, radius: f64, distance: impl Fn(f64) -> f64) -> f64 {
    let mut walked = port_length.min(length);
    let mut apart = distance(walked);
    if apart <= radius {
        return walked;
    }
    let step = SHORTEST_STEP.max(length / MOST_STEPS);
    // At most MOST_STEPS steps.
    while walked < length {
        let next = (walked + step).min(length);
        let there = distance(next);
        if there <= apart {
            break;
        }
        (walked, apart) = (next, there);
    }
    walked
}
