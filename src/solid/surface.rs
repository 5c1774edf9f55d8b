//! Surfaces of solid faces: planes, cylinders and tori, nothing else.

use super::Placement;
use super::curve::{Arc3, Curve, Line3, Motion};
use crate::geometry::{InnerSpace, Point3, Vector3};

/// The surface of a face. Its natural normal is the plane's axis, or points away from the
/// cylinder's axis or from the torus' tube centre; a face may use it the other way round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// A plane; its axis is its normal.
    Plane(Placement),
    /// A circular cylinder.
    Cylinder {
        /// Axis and zero direction.
        placement: Placement,
        /// Radius, mm.
        radius: f64,
    },
    /// A ring torus.
    Torus {
        /// Centre, axis and zero direction.
        placement: Placement,
        /// Distance from the centre to the tube's centreline, mm.
        major: f64,
        /// Radius of the tube, mm, less than `major`.
        minor: f64,
    },
}

impl Surface {
    /// Parameters of a point on (or near) the surface: for a plane x and y, mm; for a cylinder the
    /// angle about its axis, rad, and the height, mm; for a torus the angles about its axis and
    /// about the tube's centreline, rad.
    pub fn parameters(&self, point: Point3) -> (f64, f64) {
        let local = |p: &Placement| {
            let from = point - p.origin;
            (from.dot(p.x), from.dot(p.y()), from.dot(p.axis))
        };
        match self {
            Surface::Plane(placement) => {
                let (x, y, _) = local(placement);
                (x, y)
            }
            Surface::Cylinder { placement, .. } => {
                let (x, y, z) = local(placement);
                (y.atan2(x), z)
            }
            Surface::Torus { placement, major, .. } => {
                let (x, y, z) = local(placement);
                (y.atan2(x), z.atan2((x * x + y * y).sqrt() - major))
            }
        }
    }

    /// The point with these parameters (see [`Surface::parameters`]).
    pub fn at(&self, u: f64, v: f64) -> Point3 {
        match self {
            Surface::Plane(p) => p.origin + p.x * u + p.y() * v,
            Surface::Cylinder { placement: p, radius } => p.origin + p.spoke(u) * *radius + p.axis * v,
            Surface::Torus { placement: p, major, minor } => {
                let (sin, cos) = v.sin_cos();
                p.origin + p.spoke(u) * (major + minor * cos) + p.axis * (minor * sin)
            }
        }
    }

    /// Natural unit normal at these parameters.
    pub fn normal(&self, u: f64, v: f64) -> Vector3 {
        match self {
            Surface::Plane(p) => p.axis,
            Surface::Cylinder { placement, .. } => placement.spoke(u),
            Surface::Torus { placement, .. } => {
                let (sin, cos) = v.sin_cos();
                placement.spoke(u) * cos + placement.axis * sin
            }
        }
    }

    /// The surface that an edge's curve leaves behind under a motion. An arc's circle must stand square to the
    /// direction it is moved in. A line may be moved straight any way but along itself; one that is turned must
    /// lie along the axis' direction, which leaves a cylinder, or run straight away from the axis, which
    /// leaves a plane.
    pub(super) fn swept(curve: &Curve, motion: &Motion) -> Surface {
        match (curve, *motion) {
            (Curve::Arc(Arc3 { circle, radius, .. }), Motion::Shift(_)) => {
                Surface::Cylinder { placement: *circle, radius: *radius }
            }
            (Curve::Arc(Arc3 { circle, radius, .. }), Motion::Turn { centre, axis, .. }) => {
                let spoke = circle.origin - centre;
                let major = spoke.magnitude();
                let placement = Placement { origin: centre, axis, x: spoke / major };
                Surface::Torus { placement, major, minor: *radius }
            }
            (Curve::Line(Line3 { from, to }), Motion::Turn { centre, axis, .. })
                if along(*from, *to, axis) =>
            {
                let origin = centre + axis * axis.dot(from - centre);
                let radius = (from - origin).magnitude();
                let placement = Placement { origin, axis, x: (from - origin) / radius };
                Surface::Cylinder { placement, radius }
            }
            (Curve::Line(Line3 { from, to }), motion) => {
                let x = (to - from).normalize();
                // The middle is not on the axis, even where an end is.
                let towards = motion.direction(from + (to - from) / 2.0);
                Surface::Plane(Placement { origin: *from, axis: x.cross(towards).normalize(), x })
            }
        }
    }

    /// Whether the natural normal of the surface that a moved curve leaves behind has the sense of curve × motion.
    pub(super) fn looks_right(curve: &Curve, motion: &Motion) -> bool {
        match (curve, *motion) {
            (Curve::Arc(arc), motion) => arc.circle.axis.dot(motion.direction(arc.circle.origin)) > 0.0,
            (Curve::Line(Line3 { from, to }), Motion::Turn { axis, .. }) if along(*from, *to, axis) => {
                axis.dot(to - from) < 0.0
            }
            // A plane is laid so.
            (Curve::Line(_), _) => true,
        }
    }
}

/// Whether a line runs in the direction of an axis rather than square to it.
fn along(from: Point3, to: Point3, axis: Vector3) -> bool {
    let line = to - from;
    line.dot(axis).abs() > line.cross(axis).magnitude()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{MetricSpace, turned};

    fn placement() -> Placement {
        let axis = Vector3::new(1.0, 2.0, -0.5).normalize();
        let x = crate::geometry::reference_normal(axis);
        Placement { origin: Point3::new(10.0, -4.0, 2.0), axis, x: turned(x, axis, 0.3) }
    }

    #[test]
    fn parameters_and_points_are_inverse_and_normals_point_outward() {
        let p = placement();
        let surfaces = [
            Surface::Plane(p),
            Surface::Cylinder { placement: p, radius: 7.5 },
            Surface::Torus { placement: p, major: 38.0, minor: 7.5 },
        ];
        for surface in surfaces {
            for (u, v) in [(0.2, 0.4), (-2.5, 1.9), (3.0, -2.2)] {
                let point = surface.at(u, v);
                let (u2, v2) = surface.parameters(point);
                assert!((u - u2).abs() < 1e-13 && (v - v2).abs() < 1e-13, "{surface:?} {u} {v}");
                let step = 1e-6;
                let du = surface.at(u + step, v) - point;
                let dv = surface.at(u, v + step) - point;
                let normal = du.cross(dv).normalize();
                assert!((normal - surface.normal(u, v)).magnitude() < 1e-5, "{surface:?}");
            }
        }
    }

    #[test]
    fn a_circle_sweeps_a_cylinder_straight_and_a_torus_round_a_bend() {
        let p = placement();
        let [half, _] = Curve::half_circles(p, 5.0);
        let shift = Motion::Shift(p.axis * 20.0);
        assert_eq!(Surface::swept(&half, &shift), Surface::Cylinder { placement: p, radius: 5.0 });
        let turn = Motion::Turn { centre: p.origin + p.y() * 30.0, axis: p.axis.cross(p.y()), angle: 1.0 };
        let torus = Surface::swept(&half, &turn);
        let moved = half.moved(&turn);
        for fraction in [0.0, 0.3, 1.0] {
            let point = moved.at(fraction);
            let (u, v) = torus.parameters(point);
            assert!(torus.at(u, v).distance(point) < 1e-12);
        }
    }
}
