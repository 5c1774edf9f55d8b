//! Distance between the surfaces of two stretches of tube, and of a stretch and a component.
//!
//! Bends are compared by their chords, which bounds their distance from below and above; a pair that
//! could still be nearer than the nearest known is halved until the bounds meet.

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::details::{
    closest_points_segment_segment_with_locations, closest_points_support_map_support_map,
    distance_support_map_support_map,
};
use parry3d_f64::query::{ClosestPoints, PointQuery};
use parry3d_f64::shape::{Cuboid, Cylinder, SegmentPointLocation, SupportMap};

use super::stretch::{Stretch, cylinder, vector};
use super::{Clearance, Obstacle};
use crate::geometry::Point3;
use crate::spec::model::{Component, Shape};
use crate::tolerance::CLEARANCE_MM;

/// How closely a pair is measured, mm: half of the promised error, the rest is for rounding.
const MEASURED: f64 = CLEARANCE_MM / 2.0;

/// Halvings of the search for the nearest point of a chord; 2⁻⁶⁰ of its length is below rounding.
const HALVINGS: usize = 60;

/// How near two bodies come, and where.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// From surface to surface, mm; negative where they overlap.
    pub(super) distance: f64,
    /// The middle of the gap or overlap, mm; of no meaning before the distance was lowered.
    pub(super) at: Vector,
    /// The places of the two surfaces, mm; of no meaning before.
    pub(super) on: [Vector; 2],
}

impl Near {
    /// Nothing nearer than `distance` (mm) is known yet.
    pub(super) fn within(distance: f64) -> Self {
        Near { distance, at: Vector::ZERO, on: [Vector::ZERO; 2] }
    }

    /// The clearance it is of the first body from an obstacle.
    pub(super) fn clearance(&self, obstacle: Obstacle) -> Clearance {
        let [on_run, on_obstacle] = self.on.map(|at| Point3::new(at.x, at.y, at.z));
        Clearance { distance: self.distance, obstacle, on_run, on_obstacle }
    }
}

/// The middle of the gap or overlap between round tubes about two points, mm.
fn between(a: Vector, radius_a: f64, b: Vector, radius_b: f64) -> Vector {
    let apart = b - a;
    let length = apart.length();
    a + apart.normalize_or_zero() * ((radius_a + length - radius_b) / 2.0).clamp(0.0, length)
}

/// A component's solid in its place.
#[derive(Debug, Clone, Copy)]
pub(super) enum Solid {
    /// A box.
    Cuboid(Pose, Cuboid),
    /// A round bar.
    Cylinder(Pose, Cylinder),
}

impl Solid {
    /// The solids of components, in their order; none of one without a shape.
    pub(super) fn all(components: &[Component]) -> Vec<Option<Self>> {
        components.iter().map(|component| component.shape.map(Solid::new)).collect()
    }

    /// The solid of a component's shape.
    fn new(shape: Shape) -> Self {
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

    /// The nearest or deepest places of a stretch's surface about a point of its axis, and of this surface, mm.
    fn surfaces_to(&self, stretch: &Stretch, at: Vector, is_flat: bool) -> [Vector; 2] {
        if is_flat {
            let (pose, tube) = stretch.cylinder();
            let found = match self {
                Solid::Cuboid(solid_pose, shape) => flat_places(&pose, &tube, solid_pose, shape),
                Solid::Cylinder(solid_pose, shape) => flat_places(&pose, &tube, solid_pose, shape),
            };
            if let Some(places) = found {
                return places;
            }
        }
        let surface = match self {
            Solid::Cuboid(pose, shape) => shape.project_point(pose, at, false),
            Solid::Cylinder(pose, shape) => shape.project_point(pose, at, false),
        };
        let towards = (surface.point - at).normalize_or_zero() * stretch.radius;
        [if surface.is_inside { at - towards } else { at + towards }, surface.point]
    }

    /// The middle of the gap or overlap with a round tube about a point, mm; the point itself inside.
    fn middle_to(&self, point: Vector, radius: f64) -> Vector {
        let nearest = match self {
            Solid::Cuboid(pose, shape) => shape.project_point(pose, point, true),
            Solid::Cylinder(pose, shape) => shape.project_point(pose, point, true),
        };
        let apart = nearest.point - point;
        point + apart.normalize_or_zero() * ((radius + apart.length()) / 2.0)
    }

    /// A box around it.
    pub(super) fn aabb(&self) -> Aabb {
        match self {
            Solid::Cuboid(pose, shape) => shape.aabb(pose),
            Solid::Cylinder(pose, shape) => shape.aabb(pose),
        }
    }

    /// Distance of a chord's tube with flat ends, mm: 0 where they touch, `None` where they overlap.
    fn distance_to_flat(&self, stretch: &Stretch) -> Option<f64> {
        let distance = |(pose, tube): (Pose, Cylinder)| match self {
            Solid::Cuboid(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
            Solid::Cylinder(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
        };
        let apart = distance(stretch.cylinder());
        // A tube that ends on a face is as far away as it is shorter.
        let touches = || distance(stretch.cylinder_short_of(MEASURED)) > 0.0;
        if apart > 0.0 { Some(apart) } else { touches().then_some(0.0) }
    }
}

/// Distance between two bodies, 0 where they touch, overlap or the search does not settle.
fn flat_distance(pose1: &Pose, body1: &impl SupportMap, pose2: &Pose, body2: &impl SupportMap) -> f64 {
    distance_support_map_support_map(&pose1.inv_mul(pose2), body1, body2)
}

/// The nearest places of two bodies, mm; none where they overlap or the search does not settle.
fn flat_places(
    pose1: &Pose,
    body1: &impl SupportMap,
    pose2: &Pose,
    body2: &impl SupportMap,
) -> Option<[Vector; 2]> {
    match closest_points_support_map_support_map(&pose1.inv_mul(pose2), body1, body2, f64::MAX) {
        // The second is in the space of the second body.
        ClosestPoints::WithinMargin(first, second) => {
            Some([pose1.transform_point(first), pose2.transform_point(second)])
        }
        _ => None,
    }
}

/// Lowers `best` to the distance (mm) between two stretches where that is smaller by more than the
/// promised error.
pub(super) fn lower_by_tube(best: &mut Near, a: &Stretch, b: &Stretch) {
    let Some(bounds) = Bounds::below(best.distance - MEASURED, a, b) else { return };
    bounds.lower(best, a, b);
    let slack = [a.slack(), b.slack()];
    if bounds.lower >= best.distance - MEASURED || slack[0] + slack[1] <= MEASURED {
        return;
    }
    let pairs = if slack[0] >= slack[1] {
        a.halves().map(|half| (half, *b))
    } else {
        b.halves().map(|half| (*a, half))
    };
    for (a, b) in nearer_first(pairs, |(a, b)| Closest::new(a, b).round) {
        lower_by_tube(best, &a, &b);
    }
}

/// Lowers `best` to the distance (mm) between a stretch and a solid where that is smaller.
pub(super) fn lower_by_solid(best: &mut Near, stretch: &Stretch, solid: &Solid) {
    let slack = stretch.slack();
    let ToSolid { mut distance, at, at_end } = chord_to_solid(stretch, solid);
    if distance - slack >= best.distance {
        return;
    }
    let is_flat = at_end && stretch.is_flat();
    if is_flat {
        // The depth of an overlap only the ball can tell.
        let flat = solid.distance_to_flat(stretch);
        distance = flat.map_or(distance, |flat| distance.max(flat));
        if distance - slack >= best.distance {
            return;
        }
    }
    if slack <= MEASURED {
        if distance < best.distance {
            let on = solid.surfaces_to(stretch, at, is_flat);
            *best = Near { distance, at: solid.middle_to(at, stretch.radius), on };
        }
        return;
    }
    for half in nearer_first(stretch.halves(), |half| chord_to_solid(half, solid).distance) {
        lower_by_solid(best, &half, solid);
    }
}

fn nearer_first<T>(pair: [T; 2], distance: impl Fn(&T) -> f64) -> [T; 2] {
    let [first, second] = pair;
    if distance(&second) < distance(&first) { [second, first] } else { [first, second] }
}

/// The nearest places of two chords.
struct Closest {
    /// Shares (0 to 1) along the chords.
    shares: [f64; 2],
    /// From the second chord to the first, unit; zero where they cross.
    apart: Vector,
    /// Distance between the chords' tubes with ball ends, mm.
    round: f64,
}

impl Closest {
    fn new(a: &Stretch, b: &Stretch) -> Self {
        let (at_a, at_b) = closest_points_segment_segment_with_locations(&Pose::IDENTITY, &a.chord, &b.chord);
        let apart = a.chord.point_at(&at_a) - b.chord.point_at(&at_b);
        let share = |at| match at {
            SegmentPointLocation::OnVertex(end) => f64::from(end),
            SegmentPointLocation::OnEdge([_, share]) => share,
        };
        Closest {
            shares: [share(at_a), share(at_b)],
            apart: apart.normalize_or_zero(),
            round: apart.length() - a.radius - b.radius,
        }
    }

    /// Which stretches are nearest at a flat end, where a ball would reach out too far.
    fn flat(&self, a: &Stretch, b: &Stretch) -> [bool; 2] {
        let at_end = self.shares.map(|share| share == 0.0 || share == 1.0);
        [at_end[0] && a.is_flat(), at_end[1] && b.is_flat()]
    }
}

/// Bounds of the distance between two stretches of bent tube, mm.
pub(super) struct Bounds {
    /// They are no nearer than this.
    pub(super) lower: f64,
    /// They are no farther than this.
    pub(super) upper: f64,
    /// The middle of the gap or overlap there, mm.
    at: Vector,
    /// The places of the two axes there, mm.
    on_axes: [Vector; 2],
    /// For each of the two, whether it is nearest at a flat end.
    flat: [bool; 2],
}

impl Bounds {
    /// Lowers `best` to the upper bound of these two stretches, where that is smaller.
    pub(super) fn lower(&self, best: &mut Near, a: &Stretch, b: &Stretch) {
        if self.upper < best.distance {
            *best = Near { distance: self.upper, at: self.at, on: self.on_surfaces(a, b) };
        }
    }

    fn on_surfaces(&self, a: &Stretch, b: &Stretch) -> [Vector; 2] {
        // From an axis to its surface, towards a place of the other.
        let on_skin =
            |axis: Vector, other: Vector, radius: f64| axis + (other - axis).normalize_or_zero() * radius;
        let ((pose_a, tube_a), (pose_b, tube_b)) = (a.cylinder(), b.cylinder());
        // The same bodies as in `flat_ended`: the axis of a stretch that is not nearest at its flat end.
        let at_flat_end = match self.flat {
            [false, false] => None,
            [true, true] => flat_places(&pose_a, &tube_a, &pose_b, &tube_b),
            [true, false] => flat_places(&pose_a, &tube_a, &Pose::IDENTITY, &b.chord)
                .map(|[on_a, axis_b]| [on_a, on_skin(axis_b, on_a, b.radius)]),
            [false, true] => flat_places(&Pose::IDENTITY, &a.chord, &pose_b, &tube_b)
                .map(|[axis_a, on_b]| [on_skin(axis_a, on_b, a.radius), on_b]),
        };
        at_flat_end.unwrap_or_else(|| {
            let [on_a, on_b] = self.on_axes;
            [on_skin(on_a, on_b, a.radius), on_skin(on_b, on_a, b.radius)]
        })
    }

    /// The bounds, where the lower one is below `limit`.
    pub(super) fn below(limit: f64, a: &Stretch, b: &Stretch) -> Option<Self> {
        let closest = Closest::new(a, b);
        // Both chords lie behind the planes square to `apart` at their nearest points, so the bent
        // tubes come nearer than the chords only by what they bulge towards each other. (Where the
        // chords cross there is no such plane, and no way to be nearer that matters.)
        let towards = (-a.bulge.dot(closest.apart)).max(0.0) + b.bulge.dot(closest.apart).max(0.0);
        let mut lower = closest.round - towards;
        if closest.apart == Vector::ZERO {
            lower -= a.bulge.length() + b.bulge.length();
        }
        // Nothing is deeper than one axis on the other.
        lower = lower.max(-a.radius - b.radius);
        if lower >= limit {
            return None;
        }
        let [share_a, share_b] = closest.shares;
        let (on_a, on_b) = (a.at_share(share_a), b.at_share(share_b));
        let at = between(on_a, a.radius, on_b, b.radius);
        let (on_axes, flat) = ([on_a, on_b], closest.flat(a, b));
        if flat.contains(&true) {
            let distance = flat_ended(a, b, &closest);
            let slack = a.slack() + b.slack();
            lower = lower.max(distance - slack);
            return (lower < limit).then_some(Bounds { lower, upper: distance + slack, at, on_axes, flat });
        }
        let upper = on_a.distance(on_b) - a.radius - b.radius;
        Some(Bounds { lower, upper, at, on_axes, flat })
    }
}

/// Distance between the chords' tubes with flat ends where the nearest places are there.
fn flat_ended(a: &Stretch, b: &Stretch, closest: &Closest) -> f64 {
    let to_axis = |flat: &Stretch, other: &Stretch| {
        let (pose, tube) = flat.cylinder();
        (flat_distance(&pose, &tube, &Pose::IDENTITY, &other.chord), other.radius)
    };
    let (apart, radius) = match closest.flat(a, b) {
        [true, true] => {
            let ((pose_a, tube_a), (pose_b, tube_b)) = (a.cylinder(), b.cylinder());
            (flat_distance(&pose_a, &tube_a, &pose_b, &tube_b), 0.0)
        }
        [true, false] => to_axis(a, b),
        [false, _] => to_axis(b, a),
    };
    // Without a distance there is an overlap, whose depth only the balls can tell.
    if apart > 0.0 { closest.round.max(apart - radius) } else { closest.round }
}

/// How near a chord's tube with ball ends comes to a solid.
struct ToSolid {
    /// From surface to surface, mm; negative by the depth of the centreline and the radius where they overlap.
    distance: f64,
    /// The place of the chord that is nearest or deepest.
    at: Vector,
    /// Whether that is an end.
    at_end: bool,
}

fn chord_to_solid(stretch: &Stretch, solid: &Solid) -> ToSolid {
    let (a, b) = (stretch.chord.a, stretch.chord.b);
    let distance = |share: f64| solid.distance_to_point(a.lerp(b, share));
    // The signed distance to a convex solid is convex along a line, so thirds close in on its least.
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let (left, right) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if distance(left) <= distance(right) { high = right } else { low = left }
    }
    let inner = (low + high) / 2.0;
    let middle = distance(inner);
    let (first, last) = (distance(0.0), distance(1.0));
    let at_end = first.min(last) <= middle;
    let share = match at_end {
        false => inner,
        true if first <= last => 0.0,
        true => 1.0,
    };
    ToSolid { distance: middle.min(first).min(last) - stretch.radius, at: a.lerp(b, share), at_end }
}
