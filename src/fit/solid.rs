//! Distance between a stretch of tube and a component.
//!
//! Along a line, the signed distance to a convex solid is convex, so thirds close in on the least of it. A mesh is
//! not convex: the library's tree finds its skin's nearest place to a chord outside, and inside the deepest place is
//! searched for by parts of the chord.

use std::sync::Arc;

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Rotation, Vector};
use parry3d_f64::query::{self, PointQueryWithLocation};
use parry3d_f64::query::{ClosestPoints, PointProjection, PointQuery, closest_points};
use parry3d_f64::shape::{Cuboid, Cylinder, Segment as Chord, Shape as Body, TriMesh};

use super::distance::{MEASURED, Near, box_distance, flat_distance, flat_places, nearer_first};
use super::stretch::{Stretch, cylinder, vector};
use crate::geometry::{Placement, Point3, Vector3};
use crate::spec::model::{Component, Shape, TriangleMesh};

/// The search for the nearest point of a chord closes in to so many mm.
const CLOSE_MM: f64 = 1e-7;

/// The same where bodies are measured less closely, as a part of how closely.
const PART_OF_FINE: f64 = 0.1;

/// An end that is farther away than another place by no more than this is as near, mm.
const ROUNDING: f64 = 1e-9;

/// The golden ratio's inverse: of two inner places that part an interval so, one serves the next interval, too.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Shares of a chord nearer to 0 or 1 than this are its ends.
const AT_END: f64 = 1e-9;

/// A component's solid in its place.
#[derive(Debug, Clone)]
pub(super) enum Solid {
    /// A box.
    Cuboid(Pose, Cuboid),
    /// A round bar.
    Cylinder(Pose, Cylinder),
    /// Anything with a skin.
    Mesh(Arc<TriangleMesh>),
}

impl Solid {
    /// The solids of components, in their order.
    pub(super) fn all(components: &[Component]) -> Vec<Vec<Self>> {
        components.iter().map(|component| component.shapes.iter().map(Solid::new).collect()).collect()
    }

    /// The solid of a component's shape.
    pub(super) fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Box { place, size } => {
                Solid::Cuboid(box_pose(place, *size), Cuboid::new(towards(*size) / 2.0))
            }
            Shape::Cylinder { from, to, diameter } => {
                let (pose, shape) = cylinder(vector(*from), vector(*to), diameter / 2.0);
                Solid::Cylinder(pose, shape)
            }
            Shape::Mesh(mesh) => Solid::Mesh(Arc::clone(mesh)),
        }
    }

    /// The nearest point of the surface to a point, or the point itself where it is inside and `solid`.
    fn nearest(&self, point: Vector, solid: bool) -> PointProjection {
        match self {
            Solid::Cuboid(pose, shape) => shape.project_point(pose, point, solid),
            Solid::Cylinder(pose, shape) => shape.project_point(pose, point, solid),
            Solid::Mesh(mesh) => {
                let nearest = mesh.skin().project_local_point(point, solid);
                let point = if solid && nearest.is_inside { point } else { nearest.point };
                PointProjection { point, ..nearest }
            }
        }
    }

    /// Distance of a point from the surface, mm; negative inside.
    pub(super) fn distance_to_point(&self, point: Vector) -> f64 {
        match self {
            Solid::Cuboid(pose, shape) => shape.distance_to_point(pose, point, false),
            Solid::Cylinder(pose, shape) => shape.distance_to_point(pose, point, false),
            Solid::Mesh(mesh) => mesh.skin().distance_to_local_point(point, false),
        }
    }

    /// Distance of a point from the nearest of several, mm; negative inside.
    pub(super) fn nearest_of(solids: &[Solid], point: Vector) -> f64 {
        solids.iter().map(|solid| solid.distance_to_point(point)).fold(f64::MAX, f64::min)
    }

    /// The nearest or deepest places of a stretch's surface about a point of its axis, and of this surface, mm.
    fn surfaces_to(&self, stretch: &Stretch, at: Vector, is_flat: bool) -> [Vector; 2] {
        if is_flat {
            let (pose, tube) = stretch.cylinder();
            let found = match self {
                Solid::Cuboid(solid_pose, shape) => flat_places(&pose, &tube, solid_pose, shape),
                Solid::Cylinder(solid_pose, shape) => flat_places(&pose, &tube, solid_pose, shape),
                Solid::Mesh(mesh) => {
                    match closest_points(&pose, &tube, &Pose::IDENTITY, mesh.skin(), f64::MAX) {
                        Ok(ClosestPoints::WithinMargin(on_tube, on_skin)) => Some([on_tube, on_skin]),
                        _ => None,
                    }
                }
            };
            if let Some(places) = found {
                return places;
            }
        }
        let surface = self.nearest(at, false);
        let towards = (surface.point - at).normalize_or_zero() * stretch.radius;
        [if surface.is_inside { at - towards } else { at + towards }, surface.point]
    }

    /// The middle of the gap or overlap with a round tube about a point, mm; the point itself inside.
    fn middle_to(&self, point: Vector, radius: f64) -> Vector {
        let apart = self.nearest(point, true).point - point;
        point + apart.normalize_or_zero() * ((radius + apart.length()) / 2.0)
    }

    /// Distance from another solid once this one is shifted, mm, where that is less than `most`; negative by the depth of
    /// an overlap.
    pub(super) fn apart(&self, shift: Vector3, other: &Solid, most: f64) -> f64 {
        let shift = towards(shift);
        let own = self.aabb();
        let moved = Aabb::new(own.mins + shift, own.maxs + shift);
        if box_distance(&moved, &other.aabb()) >= most {
            return most;
        }
        let ((pose, shape), (place, body)) = (self.body(), other.body());
        let pose = Pose::from_parts(pose.translation + shift, pose.rotation);
        // The library knows every pair; without an answer there would be an overlap.
        let apart = query::distance(&pose, shape, &place, body).map_or(0.0, |apart| apart.distance);
        if apart > 0.0 {
            return apart.min(most);
        }
        let contact = query::contact(&pose, shape, &place, body, 0.0).ok().flatten();
        contact.map_or(0.0, |contact| contact.dist.min(0.0))
    }

    fn body(&self) -> (Pose, &dyn Body) {
        match self {
            Solid::Cuboid(pose, shape) => (*pose, shape),
            Solid::Cylinder(pose, shape) => (*pose, shape),
            Solid::Mesh(mesh) => (Pose::IDENTITY, mesh.skin()),
        }
    }

    /// A box around it.
    pub(super) fn aabb(&self) -> Aabb {
        match self {
            Solid::Cuboid(pose, shape) => shape.aabb(pose),
            Solid::Cylinder(pose, shape) => shape.aabb(pose),
            Solid::Mesh(mesh) => mesh.skin().local_aabb(),
        }
    }

    /// Distance of a chord's tube with flat ends, mm: 0 where they touch, `None` where they overlap.
    fn distance_to_flat(&self, stretch: &Stretch) -> Option<f64> {
        let distance = |(pose, tube): (Pose, Cylinder)| match self {
            Solid::Cuboid(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
            Solid::Cylinder(solid_pose, shape) => flat_distance(&pose, &tube, solid_pose, shape),
            // The library knows the pair; without an answer there would be an overlap.
            Solid::Mesh(mesh) => query::distance(&pose, &tube, &Pose::IDENTITY, mesh.skin())
                .map_or(0.0, |apart| apart.distance),
        };
        if let Solid::Mesh(_) = self
            && self.distance_to_point(stretch.chord.a).min(self.distance_to_point(stretch.chord.b)) < 0.0
        {
            // A skin is far from what lies deep inside it.
            return None;
        }
        let apart = distance(stretch.cylinder());
        // A tube that ends on a face is as far away as it is shorter.
        let touches = || distance(stretch.cylinder_short_of(MEASURED)) > 0.0;
        if apart > 0.0 { Some(apart) } else { touches().then_some(0.0) }
    }
}

/// The box, square to the axes, round some shapes; `None` where there are none.
pub fn box_round(shapes: &[Shape]) -> Option<Shape> {
    let boxes = shapes.iter().map(|shape| Solid::new(shape).aabb());
    let all = boxes.reduce(|all, one| Aabb::new(all.mins.min(one.mins), all.maxs.max(one.maxs)))?;
    let point = |at: Vector| Point3::new(at.x, at.y, at.z);
    Some(Shape::square(point(all.mins), point(all.maxs)))
}

pub(super) fn towards(way: Vector3) -> Vector {
    Vector::new(way.x, way.y, way.z)
}

/// The place of a box's middle and the directions of its edges.
fn box_pose(place: &Placement, size: Vector3) -> Pose {
    let middle = vector(place.origin)
        + towards(place.x) * (size.x / 2.0)
        + towards(place.y()) * (size.y / 2.0)
        + towards(place.axis) * (size.z / 2.0);
    let turn = Rotation::from_rotation_axes(towards(place.x), towards(place.y()), towards(place.axis));
    Pose::from_parts(middle, turn)
}

/// Lowers `best` to the distance (mm) between a stretch and a solid where that is smaller.
pub(super) fn lower_by_solid(best: &mut Near, stretch: &Stretch, solid: &Solid) {
    let slack = stretch.slack();
    let (a, b) = (stretch.chord.a, stretch.chord.b);
    // No place of the chord is nearer than its middle by more than half of its length.
    let middle = solid.distance_to_point(a.midpoint(b)) - a.distance(b) / 2.0;
    if middle - stretch.radius - slack >= best.distance {
        return;
    }
    let ToSolid { mut distance, at, at_end } =
        chord_to_solid(stretch, solid, best.fine(middle - stretch.radius - slack));
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
    if slack <= best.fine(distance - slack) || best.is_settled_by(distance + slack) {
        if distance < best.distance {
            let on = solid.surfaces_to(stretch, at, is_flat);
            *best = Near { distance, at: solid.middle_to(at, stretch.radius), on, ..*best };
        }
        return;
    }
    let fine = best.fine(distance - slack);
    for half in nearer_first(stretch.halves(), |half| chord_to_solid(half, solid, fine).distance) {
        lower_by_solid(best, &half, solid);
    }
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

fn chord_to_solid(stretch: &Stretch, solid: &Solid, fine: f64) -> ToSolid {
    let (a, b) = (stretch.chord.a, stretch.chord.b);
    let (share, distance) = match solid {
        Solid::Cuboid(pose, shape) => nearest_to_convex((pose, shape), a, b, fine),
        Solid::Cylinder(pose, shape) => nearest_to_convex((pose, shape), a, b, fine),
        Solid::Mesh(mesh) => nearest_to_skin(mesh.skin(), a, b),
    };
    let at_end = share == 0.0 || share == 1.0;
    ToSolid { distance: distance - stretch.radius, at: a.lerp(b, share), at_end }
}

/// The share of a chord that is nearest to a convex solid or deepest in it, and its signed distance, mm.
fn nearest_to_convex(solid: (&Pose, &impl PointQuery), a: Vector, b: Vector, fine: f64) -> (f64, f64) {
    let (pose, shape) = solid;
    let (a, b) = (pose.inverse_transform_point(a), pose.inverse_transform_point(b));
    let distance = |share: f64| shape.distance_to_local_point(a.lerp(b, share), false);
    let length = a.distance(b);
    let close = if fine > MEASURED { PART_OF_FINE * fine } else { CLOSE_MM };
    let (mut low, mut high) = (0.0, 1.0);
    let (mut left, mut right) = (1.0 - GOLDEN, GOLDEN);
    let (mut at_left, mut at_right) = (distance(left), distance(right));
    // The interval shrinks by the golden ratio each time.
    while (high - low) * length > close && left < right {
        if at_left <= at_right {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - (high - low) * GOLDEN;
            at_left = distance(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + (high - low) * GOLDEN;
            at_right = distance(right);
        }
    }
    let inner = f64::midpoint(low, high);
    let (first, middle, last) = (distance(0.0), distance(inner), distance(1.0));
    let share = match first.min(last) <= middle + ROUNDING {
        false => inner,
        true if first <= last => 0.0,
        true => 1.0,
    };
    (share, middle.min(first).min(last))
}

/// The same for any skin; the depth of a chord inside is within [`MEASURED`] of the greatest.
fn nearest_to_skin(skin: &TriMesh, a: Vector, b: Vector) -> (f64, f64) {
    let chord = Chord::new(a, b);
    let starts_inside = skin.project_local_point(a, false).is_inside;
    if !starts_inside
        && let Ok(ClosestPoints::WithinMargin(on_chord, on_skin)) =
            closest_points(&Pose::IDENTITY, &chord, &Pose::IDENTITY, skin, f64::MAX)
    {
        let share = (on_chord - a).dot(b - a) / (b - a).length_squared().max(f64::MIN_POSITIVE);
        let share = match share {
            share if share < AT_END => 0.0,
            share if share > 1.0 - AT_END => 1.0,
            share => share,
        };
        return (share, on_chord.distance(on_skin));
    }
    deepest(skin, a, b)
}

/// The share of a chord that is deepest inside a skin, and its signed distance, mm.
fn deepest(skin: &TriMesh, a: Vector, b: Vector) -> (f64, f64) {
    let length = a.distance(b);
    let at = |share: f64| a.lerp(b, share);
    let depth = |share: f64| -skin.distance_to_local_point(at(share), false);
    let mut best = if depth(1.0) > depth(0.0) { (1.0, depth(1.0)) } else { (0.0, depth(0.0)) };
    let mut parts = vec![(0.0, 1.0)];
    // Parts are halved; one shorter than the promised error holds nothing deeper than it by more.
    while let Some((from, to)) = parts.pop() {
        let middle = f64::midpoint(from, to);
        let (nearest, (triangle, _)) = skin.project_local_point_and_get_location(at(middle), false);
        let apart = nearest.point.distance(at(middle));
        let here = if nearest.is_inside { apart } else { -apart };
        if here > best.1 {
            best = (middle, here);
        }
        // No place of the part is deeper than it is far from this triangle, whose distance is convex along the line;
        // and depth changes by no more than the way.
        let triangle = skin.triangle(triangle);
        let to_triangle = |share: f64| triangle.distance_to_local_point(at(share), false);
        let bound = to_triangle(from).max(to_triangle(to)).min(here + (to - from) / 2.0 * length);
        if bound > best.1 + MEASURED {
            parts.extend([(from, middle), (middle, to)]);
        }
    }
    (best.0, -best.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sampling stands in for a closed form: no place of a chord is nearer, or deeper, than the one that is found.
    #[test]
    fn no_sampled_place_of_a_chord_is_nearer_to_a_convex_solid() {
        let mut seed = 5_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1_u64 << 53) as f64 * 200.0 - 100.0
        };
        let cylinder = cylinder(Vector::new(3.0, 4.0, -90.0), Vector::new(3.0, 4.0, 95.0), 31.0);
        let cuboid = Cuboid::new(Vector::new(30.0, 50.0, 20.0));
        for _ in 0..300 {
            let [a, b] = [0, 1].map(|_| Vector::new(next(), next(), next()));
            let (share, found) = nearest_to_convex((&cylinder.0, &cylinder.1), a, b, MEASURED);
            let (of_box, in_box) = nearest_to_convex((&cylinder.0, &cuboid), a, b, MEASURED);
            for step in 0..=2000 {
                let at = a.lerp(b, f64::from(step) / 2000.0);
                let there = cylinder.1.distance_to_point(&cylinder.0, at, false);
                assert!(there > found - 1e-6, "{a:?} {b:?}: {there} < {found} at {step}, not {share}");
                let there = cuboid.distance_to_point(&cylinder.0, at, false);
                assert!(there > in_box - 1e-6, "{a:?} {b:?}: {there} < {in_box} at {step}, not {of_box}");
            }
        }
    }
}
