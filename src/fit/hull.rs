//! Convex bodies that hold obstacles, and the direction in which one lies from another.

use parry3d_f64::math::{Pose, Rotation, Vector};
use parry3d_f64::query::{ClosestPoints, closest_points};
use parry3d_f64::shape::{Cuboid, Segment, Shape, Triangle};

use super::solid::towards;
use super::stretch::{cylinder, vector};
use crate::geometry::{EuclideanSpace, InnerSpace, Point3, Vector3};

/// Lengths below this are nothing, mm.
const NOTHING_MM: f64 = 1e-6;

/// A convex body that holds an obstacle, or the part of it that is too near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hull {
    /// A box: its middle, the unit vectors along its edges, and half of their lengths, mm.
    Box {
        /// Its middle.
        middle: Point3,
        /// Along its edges.
        axes: [Vector3; 3],
        /// Half of its lengths, mm.
        half: [f64; 3],
    },
    /// A round bar, or a stretch of tube: the middles of its ends, and its radius, mm. A bent stretch has a third
    /// place, where the lines along its ends cross.
    Bar {
        /// The middle of one end.
        from: Point3,
        /// The middle of the other.
        to: Point3,
        /// Where the lines along its ends cross.
        crown: Point3,
        /// Its radius, mm.
        radius: f64,
    },
}

impl Hull {
    /// How far it reaches along a direction, mm from the origin.
    pub fn reach(&self, normal: Vector3) -> f64 {
        let at = |point: &Point3| normal.dot(Vector3::new(point.x, point.y, point.z));
        match self {
            Hull::Box { middle, axes, half } => {
                let reach: f64 =
                    axes.iter().zip(half).map(|(axis, half)| axis.dot(normal).abs() * half).sum();
                at(middle) + reach
            }
            Hull::Bar { from, to, crown, radius } => {
                let ends = at(from).max(at(to));
                match straight_axis(from, to, crown) {
                    // A flat end reaches along its axis no farther than its middle.
                    Some(axis) => ends + radius * (1.0 - normal.dot(axis).powi(2)).max(0.0).sqrt(),
                    None => ends.max(at(crown)) + radius,
                }
            }
        }
    }

    /// The direction from it to the nearest place of the hull of two or three points; `None` where they touch.
    pub fn way_to(&self, points: &[Point3]) -> Option<Vector3> {
        match self {
            Hull::Box { middle, axes, half } => {
                let [x, y, z] = axes.map(towards);
                let turn = Rotation::from_rotation_axes(x, y, z);
                let shape = Cuboid::new(Vector::new(half[0], half[1], half[2]));
                nearest((&Pose::from_parts(vector(*middle), turn), &shape), points)
            }
            Hull::Bar { from, to, crown, radius } => match straight_axis(from, to, crown) {
                Some(_) => {
                    let (pose, shape) = cylinder(vector(*from), vector(*to), *radius);
                    nearest((&pose, &shape), points)
                }
                None => way_between(&[*from, *crown, *to], points),
            },
        }
    }
}

/// The axis of a straight bar; none of a bent one, or of one that is a point.
fn straight_axis(from: &Point3, to: &Point3, crown: &Point3) -> Option<Vector3> {
    let (along, bulge) = (*to - *from, *crown - from.midpoint(*to));
    (along.magnitude() > NOTHING_MM && bulge.magnitude() < NOTHING_MM).then(|| along.normalize())
}

/// The direction from the hull of two or three points to the nearest place of another; `None` where they touch.
pub fn way_between(from: &[Point3], to: &[Point3]) -> Option<Vector3> {
    match *from {
        [a, b] => nearest((&Pose::IDENTITY, &Segment::new(vector(a), vector(b))), to),
        [a, b, c] => nearest((&Pose::IDENTITY, &Triangle::new(vector(a), vector(b), vector(c))), to),
        _ => None,
    }
}

fn nearest((pose, shape): (&Pose, &dyn Shape), points: &[Point3]) -> Option<Vector3> {
    let to = |other: &dyn Shape| closest_points(pose, shape, &Pose::IDENTITY, other, f64::MAX).ok();
    let found = match *points {
        [a, b] => to(&Segment::new(vector(a), vector(b))),
        [a, b, c] => to(&Triangle::new(vector(a), vector(b), vector(c))),
        _ => None,
    }?;
    let ClosestPoints::WithinMargin(a, b) = found else { return None };
    let apart = b - a;
    (apart.length() > NOTHING_MM).then(|| Vector3::new(apart.x, apart.y, apart.z).normalize())
}
