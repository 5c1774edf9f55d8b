//! A run that is a copy of another.

use strum::{IntoStaticStr, VariantArray};

use super::Corner;
use crate::geometry::{Point3, Vector3};

/// An axis of the spec's coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Axis {
    /// The first.
    X,
    /// The second.
    Y,
    /// The third.
    Z,
}

/// A plane square to an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MirrorPlane {
    axis: Axis,
    at: f64,
}

impl MirrorPlane {
    /// The plane that crosses an axis at a place, mm.
    pub fn new(axis: Axis, at: f64) -> Self {
        MirrorPlane { axis, at }
    }

    /// The name of the axis it stands square to.
    pub fn axis(self) -> &'static str {
        self.axis.into()
    }

    /// Where it crosses the axis, mm.
    pub fn at(self) -> f64 {
        self.at
    }

    /// The mirror image of a point, mm.
    pub fn point(self, mut point: Point3) -> Point3 {
        point[self.axis as usize] = 2.0 * self.at - point[self.axis as usize];
        point
    }

    /// The mirror images of corners.
    pub fn corners(self, corners: &[Corner]) -> Vec<Corner> {
        corners.iter().map(|corner| Corner { at: self.point(corner.at), ..*corner }).collect()
    }

    /// The mirror image of a direction or of a way from a point to another, mm.
    pub fn vector(self, mut vector: Vector3) -> Vector3 {
        vector[self.axis as usize] = -vector[self.axis as usize];
        vector
    }

    /// The plane that mirrors everything this far from where this one does, mm; `None` where no other plane square
    /// to the axis does, to within `most` mm.
    pub fn shifting(self, by: Vector3, most: f64) -> Option<MirrorPlane> {
        let along = by[self.axis as usize];
        let mut beside = by;
        beside[self.axis as usize] = 0.0;
        let near = beside.x.abs().max(beside.y.abs()).max(beside.z.abs()) <= most;
        near.then(|| MirrorPlane { at: self.at + along / 2.0, ..self })
    }
}

/// Whose bends a run has, where the spec writes none for it.
#[derive(Debug, Clone, PartialEq)]
pub struct CopyOf {
    /// Name of the run it is made from.
    pub run: String,
    /// Name of the run that the spec writes the bends for: that one, or the one that it is made from in turn.
    pub first: String,
    /// Whether the spec writes them as corners.
    pub by_corners: bool,
    /// The plane it is the mirror image in; none for the same bends.
    pub plane: Option<MirrorPlane>,
    /// Whether its allowance is its own.
    pub own_allowance: bool,
}
