//! Curves of solid edges: straight lines and circular arcs, nothing else.

use std::f64::consts::PI;

use crate::centreline::Segment;
use crate::geometry::{InnerSpace, MetricSpace, Placement, Point3, Vector3, turned};

/// A rigid motion along one segment of a centreline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Motion {
    /// Straight on, mm.
    Shift(Vector3),
    /// About an axis through `centre`; angle in rad, right-handed.
    Turn { centre: Point3, axis: Vector3, angle: f64 },
}

impl Motion {
    /// The motion along a `fraction` (0 ..= 1) of a segment, from its start.
    pub(super) fn part_of(segment: &Segment, fraction: f64) -> Motion {
        match *segment {
            Segment::Straight { direction, length, .. } => Motion::Shift(direction * (length * fraction)),
            Segment::Arc { centre, axis, angle, .. } => {
                Motion::Turn { centre, axis, angle: angle * fraction }
            }
        }
    }

    pub(super) fn vector(&self, vector: Vector3) -> Vector3 {
        match *self {
            Motion::Shift(_) => vector,
            Motion::Turn { axis, angle, .. } => turned(vector, axis, angle),
        }
    }

    pub(super) fn point(&self, point: Point3) -> Point3 {
        match *self {
            Motion::Shift(by) => point + by,
            Motion::Turn { centre, axis, angle } => centre + turned(point - centre, axis, angle),
        }
    }

    /// The direction in which it sets out at a point; of any length.
    pub(super) fn direction(&self, from: Point3) -> Vector3 {
        match *self {
            Motion::Shift(by) => by,
            Motion::Turn { centre, axis, .. } => axis.cross(from - centre),
        }
    }

    pub(super) fn placement(&self, at: &Placement) -> Placement {
        Placement { origin: self.point(at.origin), axis: self.vector(at.axis), x: self.vector(at.x) }
    }
}

/// A straight edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line3 {
    /// Start.
    pub from: Point3,
    /// End, apart from the start.
    pub to: Point3,
}

/// An arc of a circle of at most half a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc3 {
    /// The circle's centre, normal and zero direction.
    pub circle: Placement,
    /// Radius, mm.
    pub radius: f64,
    /// Angle of its start, rad, counted from the circle's `x`.
    pub start: f64,
    /// Angle swept, rad, right-handed about the circle's normal, 0 < sweep ≤ π.
    pub sweep: f64,
}

/// The curve of an edge, directed as the edge is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// Straight.
    Line(Line3),
    /// Circular.
    Arc(Arc3),
}

impl Curve {
    /// The two halves of a full circle, in order.
    pub(super) fn half_circles(circle: Placement, radius: f64) -> [Curve; 2] {
        [0.0, PI].map(|start| Curve::Arc(Arc3 { circle, radius, start, sweep: PI }))
    }

    /// The point a `fraction` (0 ..= 1) of the way along.
    pub fn at(&self, fraction: f64) -> Point3 {
        match self {
            Curve::Line(line) => line.from + (line.to - line.from) * fraction,
            Curve::Arc(arc) => {
                arc.circle.origin + arc.circle.spoke(arc.start + arc.sweep * fraction) * arc.radius
            }
        }
    }

    /// Length, mm.
    pub fn length(&self) -> f64 {
        match self {
            Curve::Line(line) => line.from.distance(line.to),
            Curve::Arc(arc) => arc.radius * arc.sweep,
        }
    }

    pub(super) fn moved(&self, motion: &Motion) -> Curve {
        match self {
            Curve::Line(line) => {
                Curve::Line(Line3 { from: motion.point(line.from), to: motion.point(line.to) })
            }
            Curve::Arc(arc) => Curve::Arc(Arc3 { circle: motion.placement(&arc.circle), ..*arc }),
        }
    }

    /// The path a point takes under a motion that moves it.
    pub(super) fn path(from: Point3, to: Point3, motion: &Motion) -> Curve {
        match *motion {
            Motion::Shift(_) => Curve::Line(Line3 { from, to }),
            Motion::Turn { centre, axis, angle } => {
                let origin = centre + axis * axis.dot(from - centre);
                let spoke = from - origin;
                let radius = spoke.magnitude();
                let circle = Placement { origin, axis, x: spoke / radius };
                Curve::Arc(Arc3 { circle, radius, start: 0.0, sweep: angle })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::EuclideanSpace;
    use std::f64::consts::FRAC_PI_2;

    const ORIGIN: Placement = Placement {
        origin: Point3::new(0.0, 0.0, 0.0),
        axis: Vector3::new(0.0, 0.0, 1.0),
        x: Vector3::new(1.0, 0.0, 0.0),
    };

    #[test]
    fn half_circles_meet() {
        let [first, second] = Curve::half_circles(ORIGIN, 2.0);
        assert!(first.at(1.0).distance(second.at(0.0)) < 1e-15);
        assert!(second.at(1.0).distance(first.at(0.0)) < 1e-15);
        assert!(first.at(0.5).distance(Point3::new(0.0, 2.0, 0.0)) < 1e-15);
        assert!((first.length() - 2.0 * PI).abs() < 1e-15);
    }

    #[test]
    fn a_turned_point_runs_on_an_arc_about_the_axis() {
        let motion = Motion::Turn { centre: Point3::origin(), axis: Vector3::unit_z(), angle: FRAC_PI_2 };
        let from = Point3::new(3.0, 0.0, 5.0);
        let path = Curve::path(from, motion.point(from), &motion);
        assert!(path.at(0.0).distance(from) < 1e-15);
        assert!(path.at(1.0).distance(Point3::new(0.0, 3.0, 5.0)) < 1e-15);
        assert!((path.length() - 3.0 * FRAC_PI_2).abs() < 1e-15);
    }

    #[test]
    fn flipping_keeps_the_zero_direction() {
        let flipped = ORIGIN.flipped();
        assert_eq!(flipped.x, ORIGIN.x);
        assert_eq!(flipped.y(), -ORIGIN.y());
    }
}
