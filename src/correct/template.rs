//! Templates as they are drawn, and tubes that are laid on them.
//!
//! A template shows the bends of one plane in the order of bending, with the straights on both sides. Its axes: the drawn
//! tube sets out along x from the place where the straight before its first bend begins, this bend turns left, towards y,
//! and z stands up from the paper. The *near* end of its part of the tube is the first end of the tube, or where the bend
//! before ends; the *far* end is the tube's other end, or where the next bend begins. Tube that is trimmed away later is
//! part of the drawing, hatched, and counts: the near end of the first template lies before its trim line.
//!
//! A tube is laid so that its near end lies on the drawn one, the straight from there on its drawing, and the first bend
//! flat on the paper.

use std::borrow::Cow;
use std::f64::consts::PI;
use std::ops::Range;

use super::tube::Made;
use crate::centreline::{Bend, Centreline, LaidRun, TableRow, from_other_end};
use crate::geometry::{Frame, InnerSpace, Point3, Vector3};
use crate::plan::{FromEnd, RunPlan};
use crate::spec::model::Off;

/// A template as drawn.
#[derive(Debug, Clone)]
pub(super) struct Template {
    /// Its bends, by their positions in the order of bending.
    pub(super) bends: Range<usize>,
    /// Where its part of the tube begins, and the way it goes; z is the normal.
    near: Frame,
    /// Where each of its bends ends, and the way the tube goes on there.
    ends: Vec<Frame>,
    /// Where its part of the tube ends.
    far: Frame,
    /// The straight behind its last bend, mm.
    behind: f64,
}

/// The far end of a template's part of a tube.
#[derive(Debug, Clone, Copy)]
pub(super) struct Far {
    at: Point3,
    /// Whether it is an end that can be seen: not so where the next bend is still to be made.
    is_seen: bool,
}

impl Template {
    /// The templates of a run, in the order of bending. A straight run has one.
    pub(super) fn all(laid: &LaidRun, plan: &RunPlan) -> Vec<Template> {
        let from = plan.begins_at();
        let [waste_before, waste_behind] = plan.allowances(from);
        let count = laid.centreline.bends().len();
        let groups = laid.centreline.plane_groups();
        let (line, groups): (Cow<'_, Centreline>, Vec<Range<usize>>) = match from {
            FromEnd::Datum => (Cow::Borrowed(&laid.centreline), groups),
            FromEnd::Other => (
                Cow::Owned(laid.centreline.reversed()),
                groups.iter().rev().map(|group| from_other_end(group, count)).collect(),
            ),
        };
        let drawn = |group: Range<usize>| {
            let bends = line.bends().get(group.clone()).unwrap_or_default();
            let before = if group.start == 0 { waste_before } else { 0.0 };
            let behind = match line.bends().get(group.end) {
                Some(next) => next.straight_before,
                None => line.end_straight() + waste_behind,
            };
            drawn(group, bends, before, behind)
        };
        if groups.is_empty() { vec![drawn(0..0)] } else { groups.into_iter().map(drawn).collect() }
    }

    /// Where the bends of a tube end that are on this template, laid on it.
    fn laid<'t>(&self, tube: &'t Made) -> impl Iterator<Item = Frame> + use<'t> {
        tube.frames_behind(self.near, self.bends.start).take(self.bends.len())
    }

    /// The far end of its part of a tube; none where one of its bends is still to be made.
    pub(super) fn far_end(&self, tube: &Made, is_whole: bool) -> Option<Far> {
        if self.bends.end > tube.rows.len() {
            return None;
        }
        let last = self.laid(tube).last().unwrap_or(self.near);
        let (behind, is_seen) = match tube.rows.get(self.bends.end) {
            Some(next) => (next.length, true),
            None if is_whole => (tube.rest, true),
            None => (self.behind, false),
        };
        Some(Far { at: last.origin + last.direction * behind, is_seen })
    }

    /// The distance between both ends of its part of a tube, mm; none where the far one cannot be seen.
    pub(super) fn end_to_end(&self, tube: &Made, is_whole: bool) -> Option<f64> {
        let far = self.far_end(tube, is_whole)?;
        far.is_seen.then(|| (far.at - self.near.origin).magnitude())
    }

    /// How far the far end of its part of a tube lies off the drawn one, mm. Where the next bend is still to be made, it
    /// is the place as far behind the last bend as drawn, and nothing is known of how far it is beyond.
    pub(super) fn far_end_off(&self, tube: &Made, is_whole: bool, off: Off) -> Option<f64> {
        let far = self.far_end(tube, is_whole)?;
        (far.is_seen || off != Off::Beyond).then(|| apart(&self.far, far.at, off))
    }

    /// How far the end of the bend at a position in the order of bending lies off the drawn one, mm.
    pub(super) fn bend_off(&self, tube: &Made, position: usize, off: Off) -> Option<f64> {
        let index = position.checked_sub(self.bends.start)?;
        let (drawn, found) = (self.ends.get(index)?, self.laid(tube).nth(index)?);
        Some(apart(drawn, found.origin, off))
    }

    /// Both ends as drawn: the near one with the way into the tube, the far one with the way out of it.
    #[cfg(test)]
    pub(super) fn drawn(&self) -> [Frame; 2] {
        [self.near, self.far]
    }
}

/// How far a place is off a drawn one, looked at along the drawn tube from above the paper.
fn apart(drawn: &Frame, at: Point3, off: Off) -> f64 {
    let way = match off {
        Off::Beyond => drawn.direction,
        Off::Left => Vector3::unit_z().cross(drawn.direction),
        Off::Above => Vector3::unit_z(),
    };
    (at - drawn.origin).dot(way)
}

/// The template of bends that follow each other in one plane, `before` mm of tube before its trim line and `behind` mm of
/// straight behind its last bend.
fn drawn(group: Range<usize>, bends: &[Bend], before: f64, behind: f64) -> Template {
    let axis = bends.first().map_or_else(Vector3::unit_z, |bend| bend.axis);
    // To the left, or to the right: the plane is drawn flat.
    let side = |bend: &Bend| bend.axis.dot(axis) >= 0.0;
    let turns =
        bends.iter().zip(bends.iter().skip(1)).map(|(a, b)| if side(a) == side(b) { 0.0 } else { PI });
    let rows = bends.iter().zip([0.0].into_iter().chain(turns)).enumerate();
    let rows: Vec<TableRow> = rows
        .map(|(index, (bend, rotation))| {
            let length = bend.straight_before + if index == 0 { before } else { 0.0 };
            TableRow { length, rotation, angle: bend.angle, radius: bend.radius }
        })
        .collect();
    let (x, normal) = (Vector3::unit_x(), Vector3::unit_z());
    let near = Frame { origin: Point3::new(-before, 0.0, 0.0), direction: x, normal };
    let (begins, takes) = (Vec::new(), Vec::new());
    let behind = if bends.is_empty() { before + behind } else { behind };
    let flat = Made { rows, rest: behind, begins, takes, cut: 0.0 };
    let ends = flat.frames(near).map(|end| Frame { normal, ..end }).collect();
    Template { bends: group, near, ends, far: Frame { normal, ..flat.end(near) }, behind }
}
