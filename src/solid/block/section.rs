//! The section of a block at its rim: an upright line with the groove let into it.

use std::f64::consts::PI;

use super::super::curve::Motion;
use super::super::{Arc3, Curve, Edge, Line3, Placement, Vertex, Wire};
use crate::geometry::{Point3, Vector3};
use crate::tolerance::COINCIDENT_MM;
use crate::tooling::{Block, Groove};

/// A groove's section in numbers: a part of a circle of half angle `half` about its deepest point, and, where
/// its centre lies within the block, straight walls from there to the rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Section {
    /// Radius, mm.
    pub(super) radius: f64,
    /// How far the centre lies outside the rim, mm.
    pub(super) offset: f64,
    /// Half the arc's angle, rad, at most π/2.
    pub(super) half: f64,
}

impl Section {
    pub(super) fn of(groove: &Groove) -> Section {
        // An offset of rounding would make walls too short for CAD programs.
        let offset = if groove.offset.abs() < COINCIDENT_MM { 0.0 } else { groove.offset };
        let half = (offset.max(0.0) / groove.radius).min(1.0).acos();
        Section { radius: groove.radius, offset, half }
    }

    /// Depth below the rim, mm.
    pub(super) fn depth(&self) -> f64 {
        self.radius - self.offset
    }

    /// Half its width at the rim, mm.
    pub(super) fn half_width(&self) -> f64 {
        self.radius * self.half.sin()
    }

    /// Area below the rim, mm², and its first moment about the rim, mm³.
    pub(super) fn area_and_moment(&self) -> (f64, f64) {
        let Section { radius, offset, half } = *self;
        let (sin, cos) = half.sin_cos();
        // A segment of a circle: its centroid is 2/3 r³ sin³ / area from the centre.
        let segment = radius * radius * (half - sin * cos);
        let about_centre = 2.0 / 3.0 * (radius * sin).powi(3);
        let walls = -offset.min(0.0);
        let area = segment + 2.0 * radius * walls;
        (area, about_centre - offset * segment + radius * walls * walls)
    }
}

/// The chain of edges from bottom to top where the rim passes `at` (mid height) in direction `along`, with the
/// block on the right; `out` is the direction to the left.
pub(super) fn chain(block: &Block, at: Point3, along: Vector3) -> Wire {
    let up = Vector3::unit_z();
    let out = up.cross(along);
    let section = Section::of(&block.groove);
    let point = |s: f64, z: f64| at + out * s + up * z;
    let (width, top) = (section.half_width(), block.height / 2.0);
    let circle = Placement { origin: point(section.offset, 0.0), axis: -along, x: -up };
    let start = PI / 2.0 - section.half;
    let arc = Curve::Arc(Arc3 { circle, radius: section.radius, start, sweep: 2.0 * section.half });
    let line = |from: (f64, f64), to: (f64, f64)| {
        Curve::Line(Line3 { from: point(from.0, from.1), to: point(to.0, to.1) })
    };
    let mut curves = vec![line((0.0, -top), (0.0, -width))];
    if section.offset < 0.0 {
        curves.push(line((0.0, -width), (section.offset, -width)));
        curves.push(arc);
        curves.push(line((section.offset, width), (0.0, width)));
    } else {
        curves.push(arc);
    }
    curves.push(line((0.0, width), (0.0, top)));
    let end = Vertex::new(point(0.0, top));
    let vertices: Vec<Vertex> = curves.iter().map(|curve| Vertex::new(curve.at(0.0))).chain([end]).collect();
    let pairs = vertices.iter().zip(vertices.iter().skip(1));
    curves.iter().zip(pairs).map(|(curve, (a, b))| Edge::debug_new(a, b, *curve)).collect()
}

/// The motions along the rim.
pub(super) fn motions(block: &Block) -> Vec<Motion> {
    use crate::flat::Edge;
    let motion = |edge: Edge| match edge {
        Edge::Line(line) => {
            Motion::Shift(Vector3::new(line.to.x - line.from.x, line.to.y - line.from.y, 0.0))
        }
        Edge::Arc(arc) => Motion::Turn {
            centre: Point3::new(arc.centre.x, arc.centre.y, 0.0),
            axis: -Vector3::unit_z(),
            angle: -arc.sweep,
        },
    };
    block.rim.iter().flat_map(Edge::in_half_turns).map(motion).collect()
}
