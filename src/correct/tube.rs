//! A tube with the first bends of its run.

use crate::centreline::{Centreline, TableRow, lay};
use crate::geometry::{Frame, InnerSpace, turned};

/// A tube that was made: some of the bends of its run, and straight tube behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// Its bends in the order they were made; the first has no rotation. A straight may be negative, mm: such a tube
    /// cannot be, but its numbers follow on from those of one that can.
    pub rows: Vec<TableRow>,
    /// The straight behind the last of them, mm.
    pub rest: f64,
    /// Where each bend begins on the straight tube, mm from its first end.
    pub begins: Vec<f64>,
    /// The tube that each bend took, mm.
    pub takes: Vec<f64>,
    /// Length of the straight tube, mm.
    pub cut: f64,
}

impl Made {
    /// The frame behind each of its bends, laid from a frame: where the bend ends, the way the tube goes on there, and
    /// the axis it turned about.
    pub fn frames(&self, from: Frame) -> impl Iterator<Item = Frame> {
        self.frames_behind(from, 0)
    }

    /// The same from the bend at a position on, whose straight begins at the frame and which turns about its normal.
    pub(super) fn frames_behind(&self, from: Frame, first: usize) -> impl Iterator<Item = Frame> {
        self.rows.iter().skip(first).enumerate().scan(from, |at, (index, row)| {
            let rotation = if index == 0 { 0.0 } else { row.rotation };
            let normal = turned(at.normal, at.direction, rotation);
            let starts = at.origin + at.direction * row.length;
            let spoke = normal.cross(at.direction) * -row.radius;
            // Squared up and made unit again, so that the rounding of one turn does not feed the next.
            let direction = turned(at.direction, normal, row.angle).normalize();
            let normal = (normal - direction * normal.dot(direction)).normalize();
            *at = Frame { origin: starts - spoke + turned(spoke, normal, row.angle), direction, normal };
            Some(*at)
        })
    }

    /// Its other end, laid from a frame: the place, the way out of the tube, and the axis of the last bend.
    pub fn end(&self, from: Frame) -> Frame {
        let last = self.frames(from).last().unwrap_or(from);
        Frame { origin: last.origin + last.direction * self.rest, ..last }
    }

    /// Where it was last bent, laid from a frame; the frame itself without bends.
    pub fn last_bend(&self, from: Frame) -> Frame {
        self.frames(from).last().unwrap_or(from)
    }

    /// Its centreline, laid from a frame. Straights that would be negative are none.
    pub fn laid_at(&self, frame: Frame) -> Centreline {
        lay(frame, &self.rows, self.rest)
    }
}
