//! Points, directions and frames in space: the vocabulary every later stage shares.
//!
//! Lengths are millimetres, angles radians, axes right-handed. The vector types are the ones the
//! solid modeller uses, so nothing is converted on the way there.

pub use truck_base::cgmath64::{EuclideanSpace, InnerSpace, MetricSpace, Point3, Rad, Vector3, Zero};

/// Signed angle (rad, −π < angle ≤ π) that turns `from` into `to` about the unit `axis`, right-handed.
///
/// `from` and `to` must be square to `axis`; their lengths do not matter.
pub fn signed_angle(from: Vector3, to: Vector3, axis: Vector3) -> f64 {
    let angle = from.cross(to).dot(axis).atan2(from.dot(to));
    // atan2 gives −π for an opposite pair whose cross product is −0.0; the range is half-open.
    if angle <= -std::f64::consts::PI { std::f64::consts::PI } else { angle }
}

/// Angle (rad, 0 ..= π) between two vectors of any length; accurate near 0 and near π.
pub fn angle_between(a: Vector3, b: Vector3) -> f64 {
    a.cross(b).magnitude().atan2(a.dot(b))
}

/// `vector` turned by `angle` (rad, right-handed) about the unit `axis` through the origin.
pub fn turned(vector: Vector3, axis: Vector3, angle: f64) -> Vector3 {
    turned_by(vector, axis, angle.sin_cos())
}

/// The same by an angle whose sine and cosine are known.
pub(crate) fn turned_by(vector: Vector3, axis: Vector3, (sin, cos): (f64, f64)) -> Vector3 {
    vector * cos + axis.cross(vector) * sin + axis * (axis.dot(vector) * (1.0 - cos))
}

/// A unit vector square to the unit `direction`: world +Z made square to it, or world +X when it
/// runs along ±Z. Rotations of first bends are measured from the plane with this normal.
pub fn reference_normal(direction: Vector3) -> Vector3 {
    let square = |axis: Vector3| axis - direction * axis.dot(direction);
    let up = square(Vector3::unit_z());
    // Below this the projection of Z is rounding noise and its direction means nothing.
    if up.magnitude() > 1e-9 { up.normalize() } else { square(Vector3::unit_x()).normalize() }
}

/// A right-handed set of axes in space: where a circle, plane, cylinder or torus sits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Origin: centre of a circle or torus, a point on a plane or on a cylinder's axis, mm.
    pub origin: Point3,
    /// Unit main axis: normal of a circle or plane, axis of a cylinder or torus.
    pub axis: Vector3,
    /// Unit vector square to `axis`, from which angles about it are counted.
    pub x: Vector3,
}

impl Placement {
    /// The third unit vector: `axis` × `x`.
    pub fn y(&self) -> Vector3 {
        self.axis.cross(self.x)
    }

    /// Unit vector square to the axis at `angle` (rad, right-handed about the axis from `x`).
    pub fn spoke(&self, angle: f64) -> Vector3 {
        let (sin, cos) = angle.sin_cos();
        self.x * cos + self.y() * sin
    }

    /// The same place facing the other way.
    #[must_use]
    pub fn flipped(&self) -> Self {
        Placement { axis: -self.axis, ..*self }
    }

    /// A point given in these axes, as a point of space.
    pub fn point(&self, local: Point3) -> Point3 {
        self.origin + self.vector(local.to_vec())
    }

    /// A direction given in these axes, as one of space.
    pub fn vector(&self, local: Vector3) -> Vector3 {
        self.x * local.x + self.y() * local.y + self.axis * local.z
    }
}

/// Where a run starts and how it is held: an origin, the direction of travel, and the unit normal
/// from whose plane the first bend's rotation is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Start of the centreline, mm.
    pub origin: Point3,
    /// Unit direction of travel.
    pub direction: Vector3,
    /// Unit vector square to `direction`.
    pub normal: Vector3,
}

impl Frame {
    /// The frame of a run that starts at `origin` along `direction` (any non-zero length).
    pub fn new(origin: Point3, direction: Vector3) -> Self {
        let direction = direction.normalize();
        Frame { origin, direction, normal: reference_normal(direction) }
    }
}

impl Default for Frame {
    /// The origin, along +X: where a bend table without `from` starts.
    fn default() -> Self {
        Frame::new(Point3::origin(), Vector3::unit_x())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    #[test]
    fn rotation_zero_along_x_turns_towards_y() {
        let frame = Frame::default();
        let turned_to = turned(frame.direction, frame.normal, FRAC_PI_2);
        assert!((turned_to - Vector3::unit_y()).magnitude() < 1e-15);
    }

    #[test]
    fn along_z_the_reference_is_world_x() {
        assert_eq!(reference_normal(-Vector3::unit_z()), Vector3::unit_x());
    }

    #[test]
    fn signed_angles_are_half_open_at_pi() {
        let (x, z) = (Vector3::unit_x(), Vector3::unit_z());
        assert_eq!(signed_angle(x, -x, z), PI);
        assert_eq!(signed_angle(x, -x, -z), PI);
        assert!((signed_angle(x, -Vector3::unit_y(), z) + FRAC_PI_2).abs() < 1e-15);
    }
}
