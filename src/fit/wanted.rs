//! The gap that a run is to have beside everything else, and what is told where it is less.

use super::world::Close;
use super::{Obstacle, coordinates, copies, overlaps};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::Diagnostic;
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::tolerance::{CLEARANCE_MM, TOUCHING_MM};

/// The distance, mm, below which a run is told to be near to an obstacle: of two runs that of the one that wants more.
/// Where none is wanted, what touches is told.
pub(super) fn limits_of(layout: &Layout, run: usize) -> impl Fn(Obstacle) -> f64 + '_ {
    move |obstacle| match wanted(layout, run, obstacle) {
        // A gap of exactly what is wanted is enough, whatever rounding makes of it.
        Some(wanted) => wanted - CLEARANCE_MM,
        None => TOUCHING_MM,
    }
}

/// The gap that is wanted between a run and an obstacle, mm.
fn wanted(layout: &Layout, run: usize, obstacle: Obstacle) -> Option<f64> {
    let of = |run: usize| layout.runs.get(run).and_then(|laid| laid.run.clearance);
    match obstacle {
        // The larger one, or the one there is.
        Obstacle::Run(other) => of(run).into_iter().chain(of(other)).reduce(f64::max),
        Obstacle::Component(_) | Obstacle::Itself => of(run),
    }
}

/// The warning about an obstacle that a run comes too near to without overlapping it; none where two runs meet end to
/// end, which is how they are joined.
pub(super) fn too_near(layout: &Layout, index: usize, close: &Close) -> Option<Diagnostic> {
    if overlaps(close.distance) || is_joint(layout, index, close) {
        return None;
    }
    let (unit, run) = (layout.units, &layout.runs.get(index)?.run);
    let (what, hint) = match close.obstacle {
        Obstacle::Run(other) => {
            let other = &layout.runs.get(other)?.run;
            (format!("run {}", other.name), copies::pass_run(run, other))
        }
        Obstacle::Component(component) => {
            (format!("component {}", layout.components.get(component)?.name), copies::pass_component(run))
        }
        Obstacle::Itself => ("itself".to_owned(), super::PASS_ITSELF.to_owned()),
    };
    let at = [close.at.x, close.at.y, close.at.z];
    let place = coordinates(at, unit);
    let (message, hint) = match wanted(layout, index, close.obstacle) {
        Some(wanted) => {
            let comes = match close.distance < TOUCHING_MM {
                true => format!("touches {what}"),
                false => format!("comes within {} of {what}", unit.length_with(close.distance, 2)),
            };
            let wanted = unit.length(wanted);
            let message =
                format!("run {} {comes}, nearest at {place}; {wanted} of clearance are wanted", run.name);
            (message, format!("{hint}, or write a smaller `clearance`"))
        }
        None => {
            let message = format!("run {} touches {what}, nearest at {place}", run.name);
            (message, format!("{hint}; where they are meant to touch, write `clearance: 0` in the run"))
        }
    };
    let finding = Diagnostic::warning("too-near", message).hint(hint).at(run.place).run(&run.name).at_mm(at);
    Some(match close.obstacle {
        Obstacle::Run(other) => {
            let other = &layout.runs.get(other)?.run;
            finding.with(&other.name, other.place)
        }
        Obstacle::Component(_) => finding,
        Obstacle::Itself => finding.written_in(run.written_in()),
    })
}

/// Whether the place is where an end of one run meets an end of another, face to face.
fn is_joint(layout: &Layout, index: usize, close: &Close) -> bool {
    let Obstacle::Run(other) = close.obstacle else { return false };
    let (Some(laid), Some(other)) = (layout.runs.get(index), layout.runs.get(other)) else { return false };
    let at = Point3::new(close.at.x, close.at.y, close.at.z);
    ends(laid).into_iter().any(|(end, inward)| {
        ends(other).into_iter().any(|(met, way)| {
            end.distance(met) <= TOUCHING_MM
                && inward.dot(way) < 0.0
                && at.distance(end) <= laid.run.tube.outer_radius().max(other.run.tube.outer_radius())
        })
    })
}

/// Both ends of a run, each with the direction into the tube.
fn ends(laid: &LaidRun) -> [(Point3, Vector3); 2] {
    let line = &laid.centreline;
    [(line.start(), line.start_direction()), (line.end(), -line.end_direction())]
}
