//! The centreline of a run: straights and arcs that follow each other without a kink.
//!
//! It is made from corners ([`from_corners`]) or from a bend table ([`from_table`]); both give the same
//! [`Centreline`], which knows its corners *and* its table, so either form can be read back.
//! [`lay_out`] does so for a whole spec. Only geometry lives here: nothing about tools or files.

mod bench;
mod corners;
mod crowded;
mod joint;
mod layout;
mod parallel;
mod rules;
mod segment;
mod table;
mod turned;

#[cfg(test)]
mod tests;

pub use corners::{CornerFault, CornerPoint, RunPoint, from_corners};
pub use layout::{LaidRun, Layout, lay_out};
pub use segment::Segment;
pub(crate) use table::lay;
pub use table::{TableFault, TableRow, from_table};

use crate::formula::bend as formula;
use crate::geometry::{Frame, InnerSpace, Placement, Point3, Vector3};

/// One bend of a centreline, with everything its neighbours make of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// Bend number from the datum end, from 1.
    pub number: usize,
    /// Change of direction, rad, 0 < angle ≤ π.
    pub angle: f64,
    /// Plane rotation (clocking) from the previous bend's plane, rad, −π < rotation ≤ π; for the
    /// first bend from the plane of the start frame's normal.
    pub rotation: f64,
    /// Centreline radius, mm.
    pub radius: f64,
    /// Straight between the end of the previous bend (or the datum end) and this bend's start, mm.
    pub straight_before: f64,
    /// Distance along the centreline from the datum end to the start of the bend, mm.
    pub start: f64,
    /// Centre of the bend's arc.
    pub centre: Point3,
    /// Unit normal of the bend's plane: the tube turns right-handed about it.
    pub axis: Vector3,
    /// Unit direction of travel into the bend.
    pub direction_in: Vector3,
    /// Unit direction of travel out of the bend.
    pub direction_out: Vector3,
    /// Where the two straight centrelines cross; `None` for a bend of 180° (within 0.05°), which has no corner.
    pub corner: Option<Point3>,
}

impl Bend {
    /// Length of the arc, mm: radius × angle.
    pub fn arc_length(&self) -> f64 {
        formula::arc_length(self.radius, self.angle)
    }

    /// Distance along the centreline from the datum end to the middle of the bend, mm.
    pub fn middle(&self) -> f64 {
        self.start + self.arc_length() / 2.0
    }

    /// Distance along the centreline from the datum end to the end of the bend, mm.
    pub fn end(&self) -> f64 {
        self.start + self.arc_length()
    }
}

/// A tangent-continuous centreline, datum end first.
#[derive(Debug, Clone, PartialEq)]
pub struct Centreline {
    frame: Frame,
    bends: Vec<Bend>,
    end_straight: f64,
    segments: Vec<Segment>,
    end: Point3,
}

impl Centreline {
    /// The start, direction and reference normal.
    pub fn frame(&self) -> Frame {
        self.frame
    }

    /// The bends, datum end first. Empty for a straight piece.
    pub fn bends(&self) -> &[Bend] {
        &self.bends
    }

    /// Centreline radius of the tightest bend, mm; `None` without bends.
    pub fn tightest_radius(&self) -> Option<f64> {
        self.bends.iter().map(|bend| bend.radius).min_by(f64::total_cmp)
    }

    /// Straights and arcs in order, without any of no length.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// The straights, mm: before each bend and after the last, so one more than there are bends.
    pub fn straights(&self) -> Vec<f64> {
        self.bends.iter().map(|b| b.straight_before).chain([self.end_straight]).collect()
    }

    /// The straight after the last bend, mm (the whole length if there is no bend).
    pub fn end_straight(&self) -> f64 {
        self.end_straight
    }

    /// Point at the datum end.
    pub fn start(&self) -> Point3 {
        self.frame.origin
    }

    /// Point at the other end.
    pub fn end(&self) -> Point3 {
        self.end
    }

    /// Unit direction of travel at the datum end.
    pub fn start_direction(&self) -> Vector3 {
        self.frame.direction
    }

    /// Unit direction of travel at the other end.
    pub fn end_direction(&self) -> Vector3 {
        self.bends.last().map_or(self.frame.direction, |b| b.direction_out)
    }

    /// Length along the centreline, mm: Σ straights + Σ radius × angle.
    pub fn length(&self) -> f64 {
        self.bends.last().map_or(0.0, Bend::end) + self.end_straight
    }

    /// The unit directions of its straights, in order.
    pub fn directions(&self) -> impl Iterator<Item = Vector3> {
        std::iter::once(self.start_direction()).chain(self.bends.iter().map(|bend| bend.direction_out))
    }

    /// Start, corners and end. A bend of 180° (within 0.05°) has no corner and gives none.
    pub fn corner_points(&self) -> Vec<Point3> {
        std::iter::once(self.start())
            .chain(self.bends.iter().filter_map(|b| b.corner))
            .chain([self.end])
            .collect()
    }

    /// The point at `station`, a distance (mm) along the centreline from the datum end, clamped to its ends.
    pub fn point_at(&self, station: f64) -> Point3 {
        let mut left = station.max(0.0);
        for segment in &self.segments {
            if left <= segment.length() {
                return segment.point_at(left);
            }
            left -= segment.length();
        }
        self.end
    }

    /// The same tube with its space laid at a placement: a point given in this space becomes the point with
    /// the same coordinates along the placement's axes.
    #[must_use]
    pub fn moved(&self, to: &Placement) -> Centreline {
        let frame = Frame {
            origin: to.point(self.frame.origin),
            direction: to.vector(self.frame.direction),
            normal: to.vector(self.frame.normal),
        };
        lay(frame, &self.table(), self.end_straight)
    }

    /// The same tube run from the other end. First and last rotations are each measured from world
    /// references, so only the rotations between bends carry over.
    #[must_use]
    pub fn reversed(&self) -> Centreline {
        let mut rows: Vec<TableRow> = Vec::with_capacity(self.bends.len());
        let mut straight = self.end_straight;
        let frame = Frame::new(self.end, -self.end_direction());
        for (position, bend) in self.bends.iter().enumerate().rev() {
            let rotation = match self.bends.get(position + 1) {
                Some(next) => next.rotation,
                None => crate::geometry::signed_angle(frame.normal, -bend.axis, frame.direction),
            };
            rows.push(TableRow { length: straight, rotation, angle: bend.angle, radius: bend.radius });
            straight = bend.straight_before;
        }
        lay(frame, &rows, straight)
    }

    /// The bend table that, laid from [`Centreline::frame`], gives this centreline back.
    pub fn table(&self) -> Vec<TableRow> {
        self.bends
            .iter()
            .map(|b| TableRow {
                length: b.straight_before,
                rotation: b.rotation,
                angle: b.angle,
                radius: b.radius,
            })
            .collect()
    }

    /// Runs of neighbouring bends that share a plane, as ranges of indices into [`Centreline::bends`].
    /// A planar run has one group; a straight piece has none.
    pub fn plane_groups(&self) -> Vec<std::ops::Range<usize>> {
        let mut groups: Vec<std::ops::Range<usize>> = Vec::new();
        for (index, bend) in self.bends.iter().enumerate() {
            // Held against the first bend of the group, so that small turns cannot add up unseen. The
            // cross product is small both for a bend to the same side and for one to the other side.
            let same = |first: usize| {
                bend.axis.cross(self.bends[first].axis).magnitude() < crate::tolerance::SAME_PLANE.sin()
            };
            match groups.last_mut() {
                Some(group) if same(group.start) => group.end = index + 1,
                _ => groups.push(index..index + 1),
            }
        }
        groups
    }

    /// The axes of a template of such a group, walked from this centreline's first end: the place where the straight
    /// before the group's first bend begins, its direction, and the axis that this bend turns about, which is the side
    /// that the template is seen from. `None` where there is no such bend.
    pub fn plane_frame(&self, group: &std::ops::Range<usize>) -> Option<Frame> {
        let bend = self.bends.get(group.start)?;
        let starts = bend.centre - bend.axis.cross(bend.direction_in) * bend.radius;
        let origin = starts - bend.direction_in * bend.straight_before;
        Some(Frame { origin, direction: bend.direction_in, normal: bend.axis })
    }
}

/// A range of bends of which there are `count`, as it is walked from the other end.
pub(crate) fn from_other_end(range: &std::ops::Range<usize>, count: usize) -> std::ops::Range<usize> {
    count.saturating_sub(range.end)..count.saturating_sub(range.start)
}
