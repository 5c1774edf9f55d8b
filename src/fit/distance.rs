//! Distance between the surfaces of two stretches of tube.
//!
//! Bends are compared by their chords, which bounds their distance from below and above; a pair that
//! could still be nearer than the nearest known is halved until the bounds meet.

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::ClosestPoints;
use parry3d_f64::query::details::{
    closest_points_segment_segment_with_locations, closest_points_support_map_support_map,
    distance_support_map_support_map,
};
use parry3d_f64::shape::{Cylinder, SegmentPointLocation, SupportMap};

use super::stretch::Stretch;
use super::{Clearance, Obstacle};
use crate::geometry::Point3;
use crate::tolerance::MEASURED_MM;

/// How closely a pair is measured, mm: half of the promised error, the rest is for rounding.
pub(super) const MEASURED: f64 = MEASURED_MM / 2.0;

/// How near two bodies come, and where.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// From surface to surface, mm; negative where they overlap.
    pub(super) distance: f64,
    /// The middle of the gap or overlap, mm; of no meaning before the distance was lowered.
    pub(super) at: Vector,
    /// The places of the two surfaces, mm; of no meaning before.
    pub(super) on: [Vector; 2],
    /// Bodies nearer than this need not be measured closely, mm.
    pub(super) enough: f64,
    /// How closely the others are measured, mm.
    pub(super) fine: f64,
    /// The same as a part of how far they are apart, where that is more.
    pub(super) part: f64,
}

impl Near {
    /// Nothing nearer than `distance` (mm) is known yet.
    pub(super) fn within(distance: f64) -> Self {
        Near {
            distance,
            at: Vector::ZERO,
            on: [Vector::ZERO; 2],
            enough: f64::MIN,
            fine: MEASURED,
            part: 0.0,
        }
    }

    /// The same measured no more closely than this, mm, or this part of the distance.
    pub(super) fn to(self, fine: f64, part: f64) -> Self {
        Near { fine, part, ..self }
    }

    /// How closely bodies are measured that are so far apart, mm.
    pub(super) fn fine(&self, distance: f64) -> f64 {
        self.fine.max(self.part * distance)
    }

    /// The same where no more is asked than whether something is nearer than `enough` mm.
    pub(super) fn or_about(self, enough: f64) -> Self {
        Near { enough, ..self }
    }

    /// Whether bodies that are no farther apart than this, mm, need not be measured more closely.
    pub(super) fn is_settled_by(&self, at_most: f64) -> bool {
        at_most < self.enough
    }

    /// The clearance it is of the first body from an obstacle.
    pub(super) fn clearance(&self, obstacle: Obstacle) -> Clearance {
        let [on_run, on_obstacle] = self.on.map(|at| Point3::new(at.x, at.y, at.z));
        Clearance { distance: self.distance, obstacle, on_run, on_obstacle }
    }
}

/// Distance of two boxes, mm; 0 where they overlap.
pub(super) fn box_distance(a: &Aabb, b: &Aabb) -> f64 {
    (a.mins - b.maxs).max(b.mins - a.maxs).max(Vector::ZERO).length()
}

/// The middle of the gap or overlap between round tubes about two points, mm.
fn between(a: Vector, radius_a: f64, b: Vector, radius_b: f64) -> Vector {
    let apart = b - a;
    let length = apart.length();
    a + apart.normalize_or_zero() * ((radius_a + length - radius_b) / 2.0).clamp(0.0, length)
}

/// Distance between two bodies, 0 where they touch, overlap or the search does not settle.
pub(super) fn flat_distance(
    pose1: &Pose,
    body1: &impl SupportMap,
    pose2: &Pose,
    body2: &impl SupportMap,
) -> f64 {
    distance_support_map_support_map(&pose1.inv_mul(pose2), body1, body2)
}

/// The nearest places of two bodies, mm; none where they overlap or the search does not settle.
pub(super) fn flat_places(
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
    let slack = [a.slack(), b.slack()];
    let is_fine = slack[0] + slack[1] <= best.fine(bounds.lower);
    // At a flat end the places of a coarse pair are as far off as its slack, though its upper bound may stand.
    if is_fine || bounds.flat == [false; 2] {
        bounds.lower(best, a, b);
    }
    if is_fine || bounds.lower >= best.distance - MEASURED || best.is_settled_by(best.distance) {
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

pub(super) fn nearer_first<T>(pair: [T; 2], distance: impl Fn(&T) -> f64) -> [T; 2] {
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
            *best = Near { distance: self.upper, at: self.at, on: self.on_surfaces(a, b), ..*best };
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
    let both = |(pose_a, tube_a): (Pose, Cylinder), (pose_b, tube_b): (Pose, Cylinder)| {
        flat_distance(&pose_a, &tube_a, &pose_b, &tube_b)
    };
    let (apart, radius) = match closest.flat(a, b) {
        [true, true] => {
            let apart = both(a.cylinder(), b.cylinder());
            // Ends that touch are as far apart as they are shorter.
            if apart <= 0.0 && both(a.cylinder_short_of(MEASURED), b.cylinder_short_of(MEASURED)) > 0.0 {
                return 0.0;
            }
            (apart, 0.0)
        }
        [true, false] => to_axis(a, b),
        [false, _] => to_axis(b, a),
    };
    // Without a distance there is an overlap, whose depth only the balls can tell.
    if apart > 0.0 { closest.round.max(apart - radius) } else { closest.round }
}
