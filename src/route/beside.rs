//! A way beside another run, with the same bends, at one distance from its centreline.

use super::directions::is_same;
use crate::centreline::Centreline;
use crate::geometry::{InnerSpace, Point3, Vector3};

/// Parts of an offset smaller than this are nothing, mm.
const NOTHING_MM: f64 = 1e-6;

/// Where the straights of a way should lie.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Beside {
    /// Directions of its legs: those of the other run.
    pub(super) legs: Vec<Vector3>,
    /// A place for every leg but the first and the last, which lie where the ports say.
    pub(super) wanted: Vec<Wanted>,
}

/// A wish for the leg behind so many others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wanted {
    /// Legs before it.
    pub(super) legs: usize,
    /// Square to the leg, in the plane of the bend before it.
    pub(super) across: Vector3,
    /// How far along that the leg should lie, mm from the origin.
    pub(super) at: f64,
}

impl Beside {
    /// A way from a start, between ends that face so, beside a line, so many mm away from it: as far as the ends at its start where nothing is
    /// said. `None` where the ports do not face as the line's ends do.
    pub(super) fn of(
        (start, ways): (Point3, [Option<Vector3>; 2]),
        line: &Centreline,
        spacing: Option<f64>,
    ) -> Option<Self> {
        let faces = |line: &Centreline| {
            let faces = |way: Option<Vector3>, there: Vector3| way.is_none_or(|way| is_same(way, there));
            faces(ways[0], line.start_direction()) && faces(ways[1], -line.end_direction())
        };
        let reversed = line.reversed();
        let line = [line, &reversed].into_iter().find(|line| faces(line))?;
        let corners: Vec<Point3> = line.bends().iter().map(|bend| bend.corner).collect::<Option<_>>()?;
        let legs: Vec<Vector3> = std::iter::once(line.start_direction())
            .chain(line.bends().iter().map(|bend| bend.direction_out))
            .collect();
        let first = *legs.first()?;
        let apart = start - line.start();
        let mut offset = apart - first * apart.dot(first);
        let spacing = spacing.unwrap_or(offset.magnitude());
        let mut wanted = Vec::new();
        // The offset turns with the tube: what lies across the bend's plane stays, the rest is as long as the spacing
        // leaves.
        for (index, (pair, corner)) in legs.windows(2).zip(&corners).enumerate() {
            let normal = pair[0].cross(pair[1]).normalize();
            let beside = offset.dot(normal);
            let in_plane = offset.dot(normal.cross(pair[0]));
            let across = normal.cross(pair[1]);
            let left = (spacing * spacing - beside * beside).max(0.0).sqrt();
            let in_plane = if in_plane.abs() < NOTHING_MM { 0.0 } else { left.copysign(in_plane) };
            offset = normal * beside + across * in_plane;
            if index + 2 < legs.len() {
                let on_line = across.dot(Vector3::new(corner.x, corner.y, corner.z));
                wanted.push(Wanted { legs: index + 1, across, at: on_line + in_plane });
            }
        }
        Some(Beside { legs, wanted })
    }

    /// How far the corners of a way are from where its legs should lie, mm at most; `None` where it has other legs.
    pub(super) fn off(&self, corners: &[Point3], start: Point3) -> Option<f64> {
        let alike = corners.len() + 1 == self.legs.len()
            && std::iter::once(&start)
                .chain(corners)
                .zip(corners)
                .zip(&self.legs)
                .all(|((from, to), leg)| is_same((*to - *from).normalize(), *leg));
        let off = |wanted: &Wanted| {
            let corner = corners.get(wanted.legs - 1)?;
            Some((wanted.across.dot(Vector3::new(corner.x, corner.y, corner.z)) - wanted.at).abs())
        };
        alike.then(|| self.wanted.iter().filter_map(off).fold(0.0, f64::max))
    }
}
