//! Components, their ports and the fittings that tube goes into.

use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};

/// A fitting a tube end goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitting {
    /// Its name in the spec.
    pub name: String,
    /// Outside diameter of the tube it is made for, mm.
    pub tube_od: f64,
    /// How far the tube goes in behind the port's face, mm.
    pub insert: f64,
    /// Unbent tube it needs outside its face, mm.
    pub straight: f64,
    /// Largest misalignment it takes, rad.
    pub max_angle: f64,
    /// Largest sideways misfit it takes, mm.
    pub max_side: f64,
    /// Its seal, if the spec describes it.
    pub seal: Option<Seal>,
}

/// The O-ring of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seal {
    /// Thickness of the ring, mm.
    pub section: f64,
    /// How far a tube of the fitting's own size squeezes it, as a part of its thickness.
    pub squeeze: f64,
}

/// The finding about a port from which a tube goes into its own component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PortSlip {
    /// Whether it faces the wrong way; else it lies inside.
    pub faces_inward: bool,
    /// How far on, the way it faces, the component ends, mm.
    pub out: f64,
}

/// How far from its component's skin a port may be typed and still be on it, mm.
pub const ON_THE_SKIN_MM: f64 = 1.0;

/// The outer shape of a component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A box square to the axes.
    Box {
        /// Corner with the smallest coordinates.
        min: Point3,
        /// Corner with the largest coordinates.
        max: Point3,
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
}

impl Shape {
    /// Whether a tube from `at`, on the skin, leaves the shape along the unit vector `way`: it neither goes through
    /// the shape nor along its skin.
    pub fn is_left_along(&self, at: Point3, way: Vector3) -> bool {
        // Beside the line, too: one along the skin is not inside the shape.
        let sides =
            [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()].map(|axis| axis * ON_THE_SKIN_MM);
        let beside = |side: Vector3| side - way * side.dot(way);
        let starts = sides.into_iter().flat_map(|side| [at + beside(side), at - beside(side)]);
        starts.chain([at]).filter_map(|start| self.along(start, way)).all(|(_, front)| front < ON_THE_SKIN_MM)
    }

    /// Where a straight line is inside: from and to how far from `at` along the unit vector `way`, mm. `None`
    /// for a line that misses the shape or runs along its skin.
    pub fn along(&self, at: Point3, way: Vector3) -> Option<(f64, f64)> {
        let inside = match *self {
            Shape::Box { min, max } => [
                between(at.x, way.x, min.x, max.x),
                between(at.y, way.y, min.y, max.y),
                between(at.z, way.z, min.z, max.z),
            ],
            Shape::Cylinder { from, to, diameter } => {
                let (length, axis) = (from.distance(to), (to - from).normalize());
                let (start, round) = (at - from, way - axis * way.dot(axis));
                let ends = between(start.dot(axis), way.dot(axis), 0.0, length);
                [
                    ends,
                    within(start - axis * start.dot(axis), round, diameter / 2.0),
                    Some((f64::MIN, f64::MAX)),
                ]
            }
        };
        let mut all = (f64::MIN, f64::MAX);
        for part in inside {
            let (from, to) = part?;
            all = (all.0.max(from), all.1.min(to));
        }
        (all.0 <= all.1).then_some(all)
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

/// A place of a component where a tube can end.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// Its name within the component.
    pub name: String,
    /// Centre of its face.
    pub at: Point3,
    /// Unit vector out of the face.
    pub facing: Vector3,
    /// The fitting there.
    pub fitting: Option<Fitting>,
    /// The finding about it at the place where it is written.
    pub slip: Option<PortSlip>,
}

/// Something the tubes must reach and must miss.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its name in the spec.
    pub name: String,
    /// Its outer shape; `None` for a component that is ports only.
    pub shape: Option<Shape>,
    /// Its ports.
    pub ports: Vec<Port>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tube_leaves_a_shape_from_its_skin_and_not_along_it_or_through_it() {
        let (min, max) = (Point3::new(0.0, 0.0, 0.0), Point3::new(100.0, 100.0, 200.0));
        let block = Shape::Box { min, max };
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
    fn a_line_is_followed_through_boxes_and_cylinders() {
        let point = Point3::new;
        let block = Shape::Box { min: point(0.0, 0.0, 0.0), max: point(80.0, 60.0, 40.0) };
        let y = Vector3::unit_y();
        assert_eq!(block.along(point(40.0, 60.0, 20.0), y), Some((-60.0, 0.0)));
        assert_eq!(block.along(point(40.0, 10.0, 20.0), -y), Some((-50.0, 10.0)));
        assert_eq!(block.along(point(90.0, 10.0, 20.0), y), None);
        assert_eq!(block.along(point(40.0, 10.0, 40.0), y), None);
        let bar =
            Shape::Cylinder { from: point(200.0, 250.0, 0.0), to: point(200.0, 250.0, 70.0), diameter: 62.0 };
        assert_eq!(bar.along(point(200.0, 219.0, 30.0), y), Some((0.0, 62.0)));
        assert_eq!(bar.along(point(200.0, 240.0, 70.0), Vector3::unit_z()), Some((-70.0, 0.0)));
        assert_eq!(bar.along(point(232.0, 219.0, 30.0), y), None);
        assert_eq!(bar.along(point(200.0, 219.0, 71.0), y), None);
    }
}
