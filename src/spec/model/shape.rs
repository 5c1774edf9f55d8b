//! Outer shapes of components.

use std::sync::Arc;

use super::TriangleMesh;
use crate::geometry::{InnerSpace, MetricSpace, Placement, Point3, Vector3, reference_normal, turned};
use crate::tolerance::COINCIDENT_MM;

/// The largest distance from its component's skin at which a port counts as on it, mm.
pub const ON_THE_SKIN_MM: f64 = 1.0;

/// The outer shape of a component.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A box, square to the axes of the spec or turned.
    Box {
        /// One corner, and the directions of the three edges from it: `x`, `y()` and `axis`.
        place: Placement,
        /// Lengths of these edges, mm.
        size: Vector3,
    },
    /// A round bar.
    Cylinder {
        /// Centre of one end.
        from: Point3,
        /// Centre of the other end.
        to: Point3,
        /// Diameter, mm.
        diameter: f64,
    },
    /// Any surface of triangles; only a closed one has an inside.
    Mesh(Arc<TriangleMesh>),
}

/// A rotation about a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rotation {
    /// Unit vector along the line.
    pub axis: Vector3,
    /// The angle, right-handed, rad.
    pub angle: f64,
    /// A point of the line.
    pub about: Point3,
}

impl Rotation {
    /// A point, turned.
    pub fn point(&self, point: Point3) -> Point3 {
        self.about + self.direction(point - self.about)
    }

    /// A direction, turned.
    pub fn direction(&self, direction: Vector3) -> Vector3 {
        turned(direction, self.axis, self.angle)
    }

    /// The rotation that undoes it.
    #[must_use]
    pub fn back(&self) -> Rotation {
        Rotation { angle: -self.angle, ..*self }
    }
}

impl Shape {
    /// A box square to the axes between its corners with the smallest and the largest coordinates.
    pub fn square(min: Point3, max: Point3) -> Shape {
        let place = Placement { origin: min, axis: Vector3::unit_z(), x: Vector3::unit_x() };
        Shape::Box { place, size: max - min }
    }

    /// The shape, turned.
    #[must_use]
    pub fn turned(&self, rotation: &Rotation) -> Shape {
        match self {
            Shape::Box { place, size } => {
                let (axis, x) = (rotation.direction(place.axis), rotation.direction(place.x));
                Shape::Box { place: Placement { origin: rotation.point(place.origin), axis, x }, size: *size }
            }
            Shape::Cylinder { from, to, diameter } => {
                Shape::Cylinder { from: rotation.point(*from), to: rotation.point(*to), diameter: *diameter }
            }
            Shape::Mesh(mesh) => Shape::Mesh(Arc::new(mesh.turned(rotation))),
        }
    }

    /// Where a straight line is inside any of several shapes, in its order, from and to how far from `at` along the unit
    /// vector `way`, mm: parts that touch or overlap are one.
    pub fn inside_any(shapes: &[Shape], at: Point3, way: Vector3) -> Vec<(f64, f64)> {
        let mut spans: Vec<(f64, f64)> = shapes.iter().flat_map(|shape| shape.inside(at, way)).collect();
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<(f64, f64)> = Vec::new();
        for (from, to) in spans {
            match joined.last_mut() {
                Some(last) if from <= last.1 + COINCIDENT_MM => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        joined
    }

    /// The eight corners of a box at `place` with edges of these lengths; bit 0, 1 and 2 of a corner's position say
    /// whether it lies at the far end along the edges `x`, `y()` and `axis`.
    pub fn box_corners(place: &Placement, size: Vector3) -> [Point3; 8] {
        [0, 1, 2, 3, 4, 5, 6, 7].map(|corner| {
            let far = |bit: u32, length: f64| if corner >> bit & 1 == 1 { length } else { 0.0 };
            place.point(Point3::new(far(0, size.x), far(1, size.y), far(2, size.z)))
        })
    }

    /// The nearest place of its skin to a point.
    pub fn nearest(&self, at: Point3) -> Point3 {
        match self {
            Shape::Box { place, size } => {
                let (edges, start) = ([place.x, place.y(), place.axis], at - place.origin);
                let sizes = [size.x, size.y, size.z];
                let mut along = [0.0; 3];
                for ((at, edge), length) in along.iter_mut().zip(edges).zip(sizes) {
                    *at = start.dot(edge).clamp(0.0, length);
                }
                let near = place.point(Point3::from(along));
                let inside = near.distance(at) < COINCIDENT_MM;
                // From inside, the nearest of the six faces.
                let faces = (0..3).flat_map(|axis| [(axis, 0.0), (axis, sizes[axis])]);
                let depth = |&(axis, face): &(usize, f64)| (along[axis] - face).abs();
                if let Some((axis, face)) =
                    faces.min_by(|a, b| depth(a).total_cmp(&depth(b))).filter(|_| inside)
                {
                    along[axis] = face;
                }
                place.point(Point3::from(along))
            }
            Shape::Cylinder { from, to, diameter } => {
                let (length, axis, radius) = (from.distance(*to), (to - from).normalize(), diameter / 2.0);
                let up = (at - from).dot(axis);
                let out = at - from - axis * up;
                let way =
                    if out.magnitude() > COINCIDENT_MM { out.normalize() } else { reference_normal(axis) };
                let (beyond, off) = (up.clamp(0.0, length), out.magnitude().min(radius));
                // From inside, the wall or the nearer end.
                let to_ends = [up, length - up].into_iter().fold(f64::MAX, f64::min);
                let is_inside = to_ends >= 0.0 && out.magnitude() <= radius;
                let (beyond, off) = match is_inside {
                    true if radius - off <= to_ends => (beyond, radius),
                    true => (if up < length / 2.0 { 0.0 } else { length }, off),
                    false => (beyond, off),
                };
                from + axis * beyond + way * off
            }
            Shape::Mesh(mesh) => mesh.nearest(at),
        }
    }

    /// Whether a tube from `at`, on the skin, leaves the shape along the unit vector `way`: it neither goes through
    /// the shape nor along its skin.
    pub fn is_left_along(&self, at: Point3, way: Vector3) -> bool {
        // Beside the line, too: one along the skin is not inside the shape.
        let sides =
            [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()].map(|axis| axis * ON_THE_SKIN_MM);
        let beside = |side: Vector3| side - way * side.dot(way);
        let mut starts =
            sides.into_iter().flat_map(|side| [at + beside(side), at - beside(side)]).chain([at]);
        starts.all(|start| self.inside(start, way).iter().all(|(_, front)| *front < ON_THE_SKIN_MM))
    }

    /// Whether the shape begins at a point, or at most [`ON_THE_SKIN_MM`] from there, going back along `facing`.
    pub fn is_behind(&self, at: Point3, facing: Vector3) -> bool {
        self.inside(at, -facing).iter().any(|(from, to)| *from <= ON_THE_SKIN_MM && *to > 0.0)
    }

    /// Where a straight line is inside, in its order: from and to how far from `at` along the unit vector `way`, mm.
    /// Nowhere for a line that misses the shape or runs along a flat skin.
    pub fn inside(&self, at: Point3, way: Vector3) -> Vec<(f64, f64)> {
        let parts = match self {
            Shape::Box { place, size } => {
                let start = at - place.origin;
                let along = |edge: Vector3, length| between(start.dot(edge), way.dot(edge), 0.0, length);
                [along(place.x, size.x), along(place.y(), size.y), along(place.axis, size.z)]
            }
            Shape::Cylinder { from, to, diameter } => {
                let (length, axis) = (from.distance(*to), (to - from).normalize());
                let (start, round) = (at - from, way - axis * way.dot(axis));
                let ends = between(start.dot(axis), way.dot(axis), 0.0, length);
                let wall = within(start - axis * start.dot(axis), round, diameter / 2.0);
                [ends, wall, Some((f64::MIN, f64::MAX))]
            }
            Shape::Mesh(mesh) => return mesh.inside(at, way),
        };
        let both = |all: (f64, f64), part: (f64, f64)| (all.0.max(part.0), all.1.min(part.1));
        let common = parts.into_iter().try_fold((f64::MIN, f64::MAX), |all, part| Some(both(all, part?)));
        common.filter(|(from, to)| from <= to).into_iter().collect()
    }
}

/// Where `at + t * way` lies between two numbers.
fn between(at: f64, way: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if way.abs() < 1e-12 {
        return (low < at && at < high).then_some((f64::MIN, f64::MAX));
    }
    let (a, b) = ((low - at) / way, (high - at) / way);
    Some((a.min(b), a.max(b)))
}

/// Where `at + t * way` lies within a radius of 0; both are square to one axis.
fn within(at: Vector3, way: Vector3, radius: f64) -> Option<(f64, f64)> {
    let speed = way.magnitude2();
    let outside = at.magnitude2() - radius * radius;
    if speed < 1e-24 {
        return (outside < 0.0).then_some((f64::MIN, f64::MAX));
    }
    let middle = -at.dot(way) / speed;
    let half = (middle * middle - outside / speed).max(0.0).sqrt();
    (half > 0.0).then_some((middle - half, middle + half))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tube_leaves_a_shape_from_its_skin_and_not_along_it_or_through_it() {
        let (min, max) = (Point3::new(0.0, 0.0, 0.0), Point3::new(100.0, 100.0, 200.0));
        let block = Shape::square(min, max);
        let (from, to) = (Point3::new(50.0, 50.0, 0.0), Point3::new(50.0, 50.0, 90.0));
        let bar = Shape::Cylinder { from, to, diameter: 100.0 };
        let at = Point3::new(50.0, 100.0, 40.0);
        for shape in [block, bar] {
            assert!(shape.is_left_along(at, Vector3::unit_y()));
            for way in [-Vector3::unit_y(), Vector3::unit_z(), -Vector3::unit_z(), Vector3::unit_x()] {
                assert!(!shape.is_left_along(at, way), "{shape:?} {way:?}");
            }
        }
    }

    #[test]
    fn the_nearest_place_is_on_the_skin() {
        let point = Point3::new;
        let block = Shape::square(point(0.0, 0.0, 0.0), point(80.0, 60.0, 40.0));
        let near = |shape: &Shape, at: [f64; 3], wanted: [f64; 3]| {
            assert!(shape.nearest(Point3::from(at)).distance(Point3::from(wanted)) < 1e-9, "{at:?}");
        };
        near(&block, [40.0, 70.0, 20.0], [40.0, 60.0, 20.0]);
        near(&block, [90.0, 70.0, 50.0], [80.0, 60.0, 40.0]);
        near(&block, [40.0, 50.0, 20.0], [40.0, 60.0, 20.0]);
        near(&block, [3.0, 30.0, 20.0], [0.0, 30.0, 20.0]);
        let bar = Shape::Cylinder { from: point(0.0, 0.0, 0.0), to: point(0.0, 0.0, 100.0), diameter: 60.0 };
        near(&bar, [40.0, 0.0, 50.0], [30.0, 0.0, 50.0]);
        near(&bar, [20.0, 0.0, 50.0], [30.0, 0.0, 50.0]);
        near(&bar, [20.0, 0.0, 98.0], [20.0, 0.0, 100.0]);
        near(&bar, [10.0, 0.0, -7.0], [10.0, 0.0, 0.0]);
        near(&bar, [0.0, 40.0, 110.0], [0.0, 30.0, 100.0]);
    }

    #[test]
    fn a_line_is_followed_through_boxes_and_cylinders() {
        let point = Point3::new;
        let block = Shape::square(point(0.0, 0.0, 0.0), point(80.0, 60.0, 40.0));
        let y = Vector3::unit_y();
        assert_eq!(block.inside(point(40.0, 60.0, 20.0), y), [(-60.0, 0.0)]);
        assert_eq!(block.inside(point(40.0, 10.0, 20.0), -y), [(-50.0, 10.0)]);
        assert_eq!(block.inside(point(90.0, 10.0, 20.0), y), []);
        assert_eq!(block.inside(point(40.0, 10.0, 40.0), y), []);
        let bar =
            Shape::Cylinder { from: point(200.0, 250.0, 0.0), to: point(200.0, 250.0, 70.0), diameter: 62.0 };
        assert_eq!(bar.inside(point(200.0, 219.0, 30.0), y), [(0.0, 62.0)]);
        assert_eq!(bar.inside(point(200.0, 240.0, 70.0), Vector3::unit_z()), [(-70.0, 0.0)]);
        assert_eq!(bar.inside(point(232.0, 219.0, 30.0), y), []);
        assert_eq!(bar.inside(point(200.0, 219.0, 71.0), y), []);
    }
}
