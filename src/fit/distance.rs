//! Distance between the surfaces of two stretches of tube, and of a stretch and a component.
//!
//! Bends are compared by their chords, whose distance is wrong by at most the chords' slack; a pair
//! that could still be the nearest is halved until its slack is below the wanted error.

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::PointQuery;
use parry3d_f64::query::details::{
    closest_points_segment_segment_with_locations, distance_support_map_support_map,
};
use parry3d_f64::shape::{Cuboid, Cylinder, SegmentPointLocation, SupportMap};

use super::stretch::{Stretch, cylinder, vector};
use crate::spec::model::Shape;
use crate::tolerance::CLEARANCE_MM;

/// Slack at which a pair counts as measured, mm: half of the promised error, the rest is for rounding.
const MEASURED: f64 = CLEARANCE_MM / 2.0;

/// Halvings of the search for the nearest point of a chord; 2⁻⁶⁰ of its length is below rounding.
const HALVINGS: usize = 60;

/// A component's solid in its place.
#[derive(Debug, Clone, Copy)]
pub(super) enum Solid {
    /// A box.
    Cuboid(Pose, Cuboid),
    /// A round bar.
    Cylinder(Pose, Cylinder),
}

impl Solid {
    /// The solid of a component's shape.
    pub(super) fn new(shape: Shape) -> Self {
        match shape {
            Shape::Box { min, max } => {
                let (min, max) = (vector(min), vector(max));
                Solid::Cuboid(Pose::from_translation((min + max) / 2.0), Cuboid::new((max - min) / 2.0))
            }
            Shape::Cylinder { from, to, diameter } => {
                let (pose, shape) = cylinder(vector(from), vector(to), diameter / 2.0);
                Solid::Cylinder(pose, shape)
            }
        }
    }

    /// Distance of a point from the surface, mm; negative inside.
    pub(super) fn distance_to_point(&self, point: Vector) -> f64 {
        match self {
            Solid::Cuboid(pose, shape) => shape.distance_to_point(pose, point, false),
            Solid::Cylinder(pose, shape) => shape.distance_to_point(pose, point, false),
        }
    }

    /// A box around it.
    pub(super) fn aabb(&self) -> Aabb {
        match self {
            Solid::Cuboid(pose, shape) => shape.aabb(pose),
            Solid::Cylinder(pose, shape) => shape.aabb(pose),
        }
    }

    fn distance_to_flat(&self, stretch: &Stretch) -> f64 {
        let (pose, tube) = stretch.cylinder();
        match self {
            Solid::Cuboid(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
            Solid::Cylinder(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
        }
    }
}

/// Distance between two bodies, 0 where they touch, overlap or the search does not settle.
fn flat_distance(pose1: &Pose, body1: &impl SupportMap, pose2: &Pose, body2: &impl SupportMap) -> f64 {
    distance_support_map_support_map(&pose1.inv_mul(pose2), body1, body2)
}

/// Lowers `best` to the distance (mm) between two stretches where that is smaller.
pub(super) fn lower_by_tube(best: &mut f64, a: &Stretch, b: &Stretch) {
    let slack = [a.slack(), b.slack()];
    let Some(distance) = chord_distance(a, b, *best + slack[0] + slack[1]) else { return };
    if slack[0] + slack[1] <= MEASURED {
        *best = best.min(distance);
        return;
    }
    let pairs = if slack[0] >= slack[1] {
        a.halves().map(|half| (half, *b))
    } else {
        b.halves().map(|half| (*a, half))
    };
    for (a, b) in nearer_first(pairs, |(a, b)| round_distance(a, b).0) {
        lower_by_tube(best, &a, &b);
    }
}

/// Lowers `best` to the distance (mm) between a stretch and a solid where that is smaller.
pub(super) fn lower_by_solid(best: &mut f64, stretch: &Stretch, solid: &Solid) {
    let slack = stretch.slack();
    let (mut distance, at_end) = chord_to_solid(stretch, solid);
    if distance - slack >= *best {
        return;
    }
    if at_end && stretch.is_flat() {
        distance = distance.max(solid.distance_to_flat(stretch));
        if distance - slack >= *best {
            return;
        }
    }
    if slack <= MEASURED {
        *best = best.min(distance);
        return;
    }
    for half in nearer_first(stretch.halves(), |half| chord_to_solid(half, solid).0) {
        lower_by_solid(best, &half, solid);
    }
}

fn nearer_first<T>(pair: [T; 2], distance: impl Fn(&T) -> f64) -> [T; 2] {
    let [first, second] = pair;
    if distance(&second) < distance(&first) { [second, first] } else { [first, second] }
}

/// Distance between the chords' tubes with ball ends, and whether the nearest points are at ends of
/// the chords. Never more than the distance between flat-ended tubes.
fn round_distance(a: &Stretch, b: &Stretch) -> (f64, [bool; 2]) {
    let (at_a, at_b) = closest_points_segment_segment_with_locations(&Pose::IDENTITY, &a.chord, &b.chord);
    let apart = a.chord.point_at(&at_a).distance(b.chord.point_at(&at_b));
    let is_end = |at| matches!(at, SegmentPointLocation::OnVertex(_));
    (apart - a.radius - b.radius, [is_end(at_a), is_end(at_b)])
}

/// Distance between the chords' tubes; `None` where it is not below `limit`.
pub(super) fn chord_distance(a: &Stretch, b: &Stretch, limit: f64) -> Option<f64> {
    let (round, at_end) = round_distance(a, b);
    if round >= limit {
        return None;
    }
    // Away from the ends the nearest point is on the wall, where balls and flat ends agree.
    let flat_a = at_end[0] && a.is_flat();
    let flat_b = at_end[1] && b.is_flat();
    let against_axis = |flat: &Stretch, other: &Stretch| {
        let (pose, tube) = flat.cylinder();
        (flat_distance(&pose, &tube, &Pose::IDENTITY, &other.chord), other.radius)
    };
    let (apart, radius) = match (flat_a, flat_b) {
        (false, false) => (0.0, 0.0),
        (true, true) => {
            let ((pose_a, tube_a), (pose_b, tube_b)) = (a.cylinder(), b.cylinder());
            (flat_distance(&pose_a, &tube_a, &pose_b, &tube_b), 0.0)
        }
        (true, false) => against_axis(a, b),
        (false, true) => against_axis(b, a),
    };
    // Without a distance there is an overlap, whose depth only the balls can tell.
    let distance = if apart > 0.0 { round.max(apart - radius) } else { round };
    Some(distance).filter(|distance| *distance < limit)
}

/// Distance between a chord's tube with ball ends and a solid (negative by the depth of the
/// centreline and the radius where they overlap), and whether the nearest point is an end.
fn chord_to_solid(stretch: &Stretch, solid: &Solid) -> (f64, bool) {
    let (a, b) = (stretch.chord.a, stretch.chord.b);
    let distance = |share: f64| solid.distance_to_point(a.lerp(b, share));
    // The signed distance to a convex solid is convex along a line, so thirds close in on its least.
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let (left, right) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if distance(left) <= distance(right) { high = right } else { low = left }
    }
    let middle = distance((low + high) / 2.0);
    let ends = distance(0.0).min(distance(1.0));
    (middle.min(ends) - stretch.radius, ends <= middle)
}
