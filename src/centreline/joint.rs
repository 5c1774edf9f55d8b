//! The corner that is missing where two corners cannot be joined by one straight.

use super::{Centreline, CornerPoint, from_corners};
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::spec::model::{Corner, Run, RunPath};
use crate::tolerance::{COINCIDENT_MM, SMALLEST_BEND};

/// The part of its angle by which a bend may have to be pulled further than it is to be: more than drawn copper springs
/// back at a bender's usual radii.
const SPRINGS: f64 = 0.1;

/// A corner that makes right angles of a straight that is too far off its neighbours: after which corner it goes (from
/// 1), and where. Only one with which the run can be laid out, and no bend of which is more than the bender makes.
pub(super) fn missing(run: &Run, centreline: &Centreline, number: usize) -> Option<(usize, Point3)> {
    let RunPath::Corners(corners) = &run.path else { return None };
    let afters = [number, number.checked_sub(1)?];
    afters.into_iter().find_map(|after| {
        let (at, points) = (joining(run, corners, after)?, points(corners, centreline)?);
        let with = |at: &Point3| is_sound(run, &points, after, *at);
        at.into_iter().find(with).map(|at| (after, at))
    })
}

/// The points from which straights lead on square to those that reach corner `after` and leave the one behind it, the
/// one with longer straights first.
fn joining(run: &Run, corners: &[Corner], after: usize) -> Option<[Point3; 2]> {
    let (from, to) = (run.from.as_ref()?.at, run.to.as_ref()?.at);
    let at = |index: usize| match index {
        0 => Some(from),
        index if index == corners.len() + 1 => Some(to),
        index => corners.get(index - 1).map(|corner| corner.at),
    };
    // Both ends of the straight are corners.
    let here = corners.get(after.checked_sub(1)?)?.at;
    let there = corners.get(after)?.at;
    let (way_in, way_out) = (here - at(after - 1)?, at(after + 2)? - there);
    let along = way_in.cross(way_out);
    if along.magnitude() < COINCIDENT_MM {
        return None;
    }
    // The line on which straights are square to both ways: here the plane of the one, there that of the other.
    let foot = here + step_to(way_in, way_out, there - here)?;
    let along = along.normalize();
    // On it, both straights meet at a right angle where the ball over `here` and `there` is met.
    let (a, b) = ((here - foot).dot(along), (there - foot).dot(along));
    let beside = (here - foot - along * a).dot(there - foot - along * b);
    let (half, rest) = (f64::midpoint(a, b), a * b + beside);
    let root = (half * half - rest).max(0.0).sqrt();
    if half * half - rest < -COINCIDENT_MM {
        return None;
    }
    let mut both = [half - root, half + root].map(|way| foot + along * way);
    let shorter = |at: &Point3| at.distance(here).min(at.distance(there));
    if shorter(&both[0]) < shorter(&both[1]) {
        both.reverse();
    }
    Some(both)
}

/// The step, in the plane of two ways, that is square to the first and as far along the second as `to`.
fn step_to(first: Vector3, second: Vector3, to: Vector3) -> Option<Vector3> {
    let first = first.normalize();
    let beside = second - first * second.dot(first);
    let share = second.dot(beside);
    (share > COINCIDENT_MM).then(|| beside * (to.dot(second) / share))
}

fn points(corners: &[Corner], centreline: &Centreline) -> Option<Vec<CornerPoint>> {
    let bends = centreline.bends();
    let point = |(index, corner): (usize, &Corner)| {
        bends.get(index).map(|bend| CornerPoint { at: corner.at, radius: bend.radius })
    };
    corners.iter().enumerate().map(point).collect()
}

/// Whether the run can be bent with one corner more.
fn is_sound(run: &Run, points: &[CornerPoint], after: usize, at: Point3) -> bool {
    let (Some(from), Some(to)) = (&run.from, &run.to) else { return false };
    let mut points = points.to_vec();
    points.insert(after.min(points.len()), CornerPoint { at, radius: run.bender.clr });
    let most = run.bender.max_angle;
    let takes = |angle: f64| angle * (1.0 + SPRINGS) <= most + SMALLEST_BEND;
    from_corners(from.at, &points, to.at).is_ok_and(|laid| laid.bends().iter().all(|bend| takes(bend.angle)))
}
