//! Bend table → centreline.

use std::f64::consts::PI;

use super::{Bend, Centreline, Segment};
use crate::geometry::{Frame, turned};
use crate::tolerance::{NO_STRAIGHT_MM, SMALLEST_BEND};

/// One row of a bend table in the trade's order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableRow {
    /// Straight before the bend, mm.
    pub length: f64,
    /// Plane rotation before the bend, rad, right-handed about the direction of travel.
    pub rotation: f64,
    /// Bend angle (change of direction), rad.
    pub angle: f64,
    /// Centreline radius, mm.
    pub radius: f64,
}

/// Why a bend table cannot be laid out. Rows are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TableFault {
    /// A straight of negative length.
    #[error("the straight before bend {row} is {length:.1} mm long")]
    NegativeStraight {
        /// Row, from 1.
        row: usize,
        /// The length given, mm.
        length: f64,
    },
    /// The straight after the last bend is negative.
    #[error("the straight after the last bend is {length:.1} mm long")]
    NegativeEnd {
        /// The length given, mm.
        length: f64,
    },
    /// A bend angle outside 0.05° ..= 180°.
    #[error("bend {row} turns by {degrees:.2}°; a bend turns by 0.05° to 180°")]
    Angle {
        /// Row, from 1.
        row: usize,
        /// The angle given, degrees.
        degrees: f64,
    },
    /// A run of no length at all.
    #[error("the run has no length")]
    Empty,
}

impl TableFault {
    /// The row to point at, from 1; `None` for the run as a whole.
    pub fn row(&self) -> Option<usize> {
        match *self {
            TableFault::NegativeStraight { row, .. } | TableFault::Angle { row, .. } => Some(row),
            TableFault::NegativeEnd { .. } | TableFault::Empty => None,
        }
    }

    /// What to write instead.
    pub fn advice(&self) -> &'static str {
        match self {
            TableFault::NegativeStraight { .. } | TableFault::NegativeEnd { .. } => {
                "write a length of 0 or more"
            }
            TableFault::Angle { .. } => "write an angle from 0.05 up to 180 degrees",
            TableFault::Empty => "add a bend, or an `end_length` of more than 0",
        }
    }
}

/// Lays a bend table out from a frame: each row's straight, its turn about the tube, its bend; then `end_length`.
///
/// # Errors
/// Every row that cannot be bent, all at once.
pub fn from_table(frame: Frame, rows: &[TableRow], end_length: f64) -> Result<Centreline, Vec<TableFault>> {
    let mut faults = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        let number = index + 1;
        if row.length < 0.0 {
            faults.push(TableFault::NegativeStraight { row: number, length: row.length });
        }
        // Angles come from degrees, so 180° may arrive a rounding step above π.
        if !(SMALLEST_BEND..=PI + 1e-12).contains(&row.angle) {
            faults.push(TableFault::Angle { row: number, degrees: row.angle.to_degrees() });
        }
    }
    if end_length < 0.0 {
        faults.push(TableFault::NegativeEnd { length: end_length });
    }
    if rows.is_empty() && end_length < NO_STRAIGHT_MM {
        faults.push(TableFault::Empty);
    }
    if faults.is_empty() { Ok(lay(frame, rows, end_length)) } else { Err(faults) }
}

/// Lays out rows known to be sound.
pub(super) fn lay(frame: Frame, rows: &[TableRow], end_length: f64) -> Centreline {
    let mut at = frame.origin;
    let mut direction = frame.direction;
    let mut normal = frame.normal;
    let mut station = 0.0;
    let mut bends = Vec::with_capacity(rows.len());
    let mut segments = Vec::with_capacity(2 * rows.len() + 1);
    let straight = |segments: &mut Vec<Segment>, from, direction, length| {
        if length > 0.0 {
            segments.push(Segment::Straight { from, direction, length });
        }
    };
    // A straight too short to be a segment takes no room either, so segments meet exactly.
    let real = |length: f64| if length > NO_STRAIGHT_MM { length } else { 0.0 };
    let end_length = real(end_length);
    for (index, row) in rows.iter().enumerate() {
        let TableRow { length, rotation, angle, radius } = *row;
        let length = real(length);
        straight(&mut segments, at, direction, length);
        at += direction * length;
        station += length;
        let axis = turned(normal, direction, rotation);
        let centre = at + axis.cross(direction) * radius;
        let direction_out = turned(direction, axis, angle);
        segments.push(Segment::Arc { centre, axis, from: at, angle });
        bends.push(Bend {
            number: index + 1,
            angle,
            rotation,
            radius,
            straight_before: length,
            start: station,
            centre,
            axis,
            direction_in: direction,
            direction_out,
            corner: (angle < PI - SMALLEST_BEND).then(|| at + direction * (radius * (angle / 2.0).tan())),
        });
        at = centre + turned(at - centre, axis, angle);
        station += radius * angle;
        direction = direction_out;
        normal = axis;
    }
    straight(&mut segments, at, direction, end_length);
    let end = at + direction * end_length;
    Centreline { frame, bends, end_straight: end_length, segments, end }
}
