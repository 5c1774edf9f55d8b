//! One straight or one arc of a centreline.

use crate::formula::bend::arc_length;
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3, turned};

/// A piece of a centreline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// A straight.
    Straight {
        /// Start point.
        from: Point3,
        /// Unit direction of travel.
        direction: Vector3,
        /// Length, mm, > 0.
        length: f64,
    },
    /// A circular arc.
    Arc {
        /// Centre of the arc.
        centre: Point3,
        /// Unit axis; travel is right-handed about it.
        axis: Vector3,
        /// Start point.
        from: Point3,
        /// Angle turned, rad, 0 < angle ≤ π.
        angle: f64,
    },
}

impl Segment {
    /// Length along the centreline, mm.
    pub fn length(&self) -> f64 {
        match *self {
            Segment::Straight { length, .. } => length,
            Segment::Arc { angle, .. } => arc_length(self.radius().unwrap_or(0.0), angle),
        }
    }

    /// Radius of an arc, mm; `None` for a straight.
    pub fn radius(&self) -> Option<f64> {
        match *self {
            Segment::Straight { .. } => None,
            Segment::Arc { centre, from, .. } => Some(centre.distance(from)),
        }
    }

    /// Start point.
    pub fn start(&self) -> Point3 {
        match *self {
            Segment::Straight { from, .. } | Segment::Arc { from, .. } => from,
        }
    }

    /// End point.
    pub fn end(&self) -> Point3 {
        self.point_at(self.length())
    }

    /// Point at a distance (mm) from the segment's start.
    pub fn point_at(&self, distance: f64) -> Point3 {
        self.place_at(distance).0
    }

    /// Unit direction of travel at a distance (mm) from the segment's start.
    pub fn direction_at(&self, distance: f64) -> Vector3 {
        self.place_at(distance).1
    }

    /// Point and unit direction of travel at a distance (mm) from the segment's start.
    pub fn place_at(&self, distance: f64) -> (Point3, Vector3) {
        match *self {
            Segment::Straight { from, direction, .. } => (from + direction * distance, direction),
            Segment::Arc { centre, axis, from, .. } => {
                let spoke = from - centre;
                let angle = distance / spoke.magnitude();
                let along = axis.cross(spoke).normalize();
                (centre + turned(spoke, axis, angle), turned(along, axis, angle))
            }
        }
    }
}
