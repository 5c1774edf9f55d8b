//! Bend table → centreline.

use std::f64::consts::PI;

use super::{Bend, Centreline, Segment};
use crate::formula::bend as formula;
use crate::geometry::{Frame, InnerSpace, Point3, Vector3, turned};
use crate::tolerance::{HALF_TURN_ROUNDING, NO_STRAIGHT_MM, SMALLEST_BEND};

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
        if !(SMALLEST_BEND..=PI + HALF_TURN_ROUNDING).contains(&row.angle) {
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
pub(crate) fn lay(frame: Frame, rows: &[TableRow], end_length: f64) -> Centreline {
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
        let row = TableRow { length: real(row.length), ..*row };
        straight(&mut segments, at, direction, row.length);
        at += direction * row.length;
        station += row.length;
        let bend = bend(index + 1, row, at, direction, normal, station);
        segments.push(Segment::Arc { centre: bend.centre, axis: bend.axis, from: at, angle: bend.angle });
        at = bend.centre + turned(at - bend.centre, bend.axis, bend.angle);
        station = bend.end();
        direction = bend.direction_out;
        normal = bend.axis;
        bends.push(bend);
    }
    straight(&mut segments, at, direction, end_length);
    let end = at + direction * end_length;
    Centreline { frame, bends, end_straight: end_length, segments, end }
}

/// The bend that starts `at` a point, travelling in `direction`, after a bend whose axis was `normal`.
fn bend(number: usize, row: TableRow, at: Point3, direction: Vector3, normal: Vector3, start: f64) -> Bend {
    let TableRow { length, rotation, angle, radius } = row;
    // Squared up and made unit again at every bend: left alone, the rounding of one turn feeds the
    // next, and after some forty bends in space the run is millimetres off.
    let axis = turned(normal, direction, rotation);
    let axis = (axis - direction * axis.dot(direction)).normalize();
    Bend {
        number,
        angle,
        rotation,
        radius,
        straight_before: length,
        start,
        centre: at + axis.cross(direction) * radius,
        axis,
        direction_in: direction,
        direction_out: turned(direction, axis, angle).normalize(),
        corner: (angle < PI - SMALLEST_BEND).then(|| at + direction * formula::setback(radius, angle)),
    }
}
