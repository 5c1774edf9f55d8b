//! Corners → centreline.

use std::f64::consts::PI;
use std::fmt;

use super::table::lay;
use super::{Centreline, TableRow};
use crate::formula::bend;
use crate::geometry::{Frame, InnerSpace, MetricSpace, Point3, Vector3, angle_between, signed_angle};
use crate::quantity::Unit;
use crate::tolerance::{COINCIDENT_MM, NO_STRAIGHT_MM, SMALLEST_BEND};

/// A corner and the centreline radius of the bend there, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CornerPoint {
    /// Where the two straight centrelines cross.
    pub at: Point3,
    /// Centreline radius, mm.
    pub radius: f64,
}

/// A point of a run as messages name it: 0 is the start, `count + 1` the end, corners between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunPoint {
    index: usize,
    corners: usize,
}

impl RunPoint {
    /// Number of the corner, from 1; `None` for the two ends.
    pub fn corner(self) -> Option<usize> {
        (1..=self.corners).contains(&self.index).then_some(self.index)
    }
}

impl fmt::Display for RunPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.corner() {
            Some(number) => write!(f, "corner {number}"),
            None if self.index == 0 => f.write_str("the start"),
            None => f.write_str("the end"),
        }
    }
}

/// "corners 2 and 3", "the start and corner 1".
pub(super) struct Pair(pub(super) RunPoint, pub(super) RunPoint);

impl fmt::Display for Pair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.0.corner(), self.1.corner()) {
            (Some(a), Some(b)) => write!(f, "corners {a} and {b}"),
            _ => write!(f, "{} and {}", self.0, self.1),
        }
    }
}

/// Why corners cannot be joined by bends.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CornerFault {
    /// Two neighbouring points coincide.
    #[error("{} are the same point", Pair(*.first, *.second))]
    Coincident {
        /// First point.
        first: RunPoint,
        /// Second point.
        second: RunPoint,
    },
    /// A corner that lies on the straight between its neighbours.
    #[error("{at} lies in line with its neighbours, so there is nothing to bend")]
    InLine {
        /// The corner.
        at: RunPoint,
    },
    /// A corner where the run would turn back on itself.
    #[error("the run turns back on itself at {at}; a bend of 180° has no corner")]
    TurnsBack {
        /// The corner.
        at: RunPoint,
    },
    /// Two bends need more room than the points give.
    #[error("{}", too_close((*.first, *.second), *.apart, *.setbacks, Unit::Millimetre))]
    TooClose {
        /// First point.
        first: RunPoint,
        /// Second point.
        second: RunPoint,
        /// Distance between the points, mm.
        apart: f64,
        /// Setbacks of the two bends, mm; an end has none.
        setbacks: [f64; 2],
    },
}

fn too_close((first, second): (RunPoint, RunPoint), apart: f64, setbacks: [f64; 2], unit: Unit) -> String {
    let needed = setbacks.iter().sum();
    let (there, wanted) = (told_apart(apart, needed, unit), told_apart(needed, apart, unit));
    format!("{} are {there} apart; {} {wanted}", Pair(first, second), needs(first, second))
}

/// A length, mm, as with one decimal of mm, or with as many as it takes to tell it from `other`.
fn told_apart(length: f64, other: f64, unit: Unit) -> String {
    let text = |length: f64, places: usize| unit.length_with(length, places);
    (1..=6)
        .find(|places| text(length, *places) != text(other, *places))
        .map_or_else(|| text(length, 6), |places| text(length, places))
}

fn needs(first: RunPoint, second: RunPoint) -> &'static str {
    if first.corner().is_some() && second.corner().is_some() {
        "the bends there need"
    } else {
        "the bend there needs"
    }
}

impl CornerFault {
    /// Stable code of the message.
    pub fn code(&self) -> &'static str {
        match self {
            CornerFault::Coincident { .. } => "corners-coincide",
            CornerFault::InLine { .. } => "corners-in-line",
            CornerFault::TurnsBack { .. } => "corner-turns-back",
            CornerFault::TooClose { .. } => "corners-too-close",
        }
    }

    /// The message with its lengths in a spec's unit.
    pub fn message(&self, unit: Unit) -> String {
        match *self {
            CornerFault::TooClose { first, second, apart, setbacks } => {
                too_close((first, second), apart, setbacks, unit)
            }
            _ => self.to_string(),
        }
    }

    /// Advice.
    pub fn advice(&self) -> &'static str {
        match self {
            CornerFault::Coincident { first, second }
                if first.corner().is_none() && second.corner().is_none() =>
            {
                "move one of the two ends"
            }
            CornerFault::Coincident { .. } => "delete one of the two points",
            CornerFault::InLine { .. } => "delete this corner",
            CornerFault::TurnsBack { .. } => {
                "write the run as a bend table (`bends:`), where 180 is a legal angle"
            }
            CornerFault::TooClose { .. } => "move the points apart or give the corner a smaller `clr`",
        }
    }

    /// Whether the start is one of the points it is about.
    pub fn is_at_start(&self) -> bool {
        self.reach().0 == 0
    }

    /// Whether the end is one of the points it is about.
    pub fn is_at_end(&self) -> bool {
        let (_, last) = self.reach();
        last == self.corners() + 1
    }

    /// The first and the last of the points it is about.
    fn reach(&self) -> (usize, usize) {
        match self {
            CornerFault::InLine { at } | CornerFault::TurnsBack { at } => {
                (at.index.saturating_sub(1), at.index + 1)
            }
            CornerFault::Coincident { first, second } | CornerFault::TooClose { first, second, .. } => {
                (first.index, second.index)
            }
        }
    }

    fn corners(&self) -> usize {
        match self {
            CornerFault::InLine { at } | CornerFault::TurnsBack { at } => at.corners,
            CornerFault::Coincident { first, .. } | CornerFault::TooClose { first, .. } => first.corners,
        }
    }

    /// The corner to point at, from 1: the later of two; `None` where both points are ends.
    pub fn corner(&self) -> Option<usize> {
        match *self {
            CornerFault::InLine { at } | CornerFault::TurnsBack { at } => at.corner(),
            CornerFault::Coincident { first, second } | CornerFault::TooClose { first, second, .. } => {
                second.corner().or(first.corner())
            }
        }
    }
}

/// Joins `start`, `corners` and `end` by straights and arcs. Without corners the run is one straight.
///
/// # Errors
/// Every place where that is impossible, all at once.
pub fn from_corners(
    start: Point3,
    corners: &[CornerPoint],
    end: Point3,
) -> Result<Centreline, Vec<CornerFault>> {
    let points: Vec<Point3> =
        std::iter::once(start).chain(corners.iter().map(|c| c.at)).chain([end]).collect();
    let stop = |index| RunPoint { index, corners: corners.len() };

    let mut faults: Vec<CornerFault> = (1..points.len())
        .filter(|&i| points[i - 1].distance(points[i]) < COINCIDENT_MM)
        .map(|i| CornerFault::Coincident { first: stop(i - 1), second: stop(i) })
        .collect();
    if !faults.is_empty() {
        // Without directions nothing further can be said.
        return Err(faults);
    }

    let directions: Vec<Vector3> = points.windows(2).map(|p| (p[1] - p[0]).normalize()).collect();
    let angles: Vec<f64> = directions.windows(2).map(|pair| angle_between(pair[0], pair[1])).collect();
    for (index, &angle) in angles.iter().enumerate() {
        if angle < SMALLEST_BEND {
            faults.push(CornerFault::InLine { at: stop(index + 1) });
        } else if angle > PI - SMALLEST_BEND {
            faults.push(CornerFault::TurnsBack { at: stop(index + 1) });
        }
    }
    let straights: Vec<f64> = (1..points.len())
        .map(|index| {
            let apart = points[index - 1].distance(points[index]);
            let setbacks = [index - 1, index].map(|index| setback(corners, &angles, index));
            let needed: f64 = setbacks.iter().sum();
            if apart - needed < -NO_STRAIGHT_MM {
                let (first, second) = (stop(index - 1), stop(index));
                faults.push(CornerFault::TooClose { first, second, apart, setbacks });
            }
            (apart - needed).max(0.0)
        })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }

    let frame = Frame::new(start, directions[0]);
    let mut normal = frame.normal;
    let mut rows = Vec::with_capacity(corners.len());
    for (index, pair) in directions.windows(2).enumerate() {
        let axis = pair[0].cross(pair[1]).normalize();
        rows.push(TableRow {
            length: straights[index],
            rotation: signed_angle(normal, axis, pair[0]),
            angle: angles[index],
            radius: corners[index].radius,
        });
        normal = axis;
    }
    Ok(lay(frame, &rows, straights[corners.len()]))
}

/// Setback at the point with this index, mm. The two ends have none; where the run turns back on
/// itself there is no finite one, and NaN keeps its legs out of the comparison.
fn setback(corners: &[CornerPoint], angles: &[f64], index: usize) -> f64 {
    match index.checked_sub(1).and_then(|i| Some((corners.get(i)?, *angles.get(i)?))) {
        None => 0.0,
        Some((_, angle)) if angle > PI - SMALLEST_BEND => f64::NAN,
        Some((corner, angle)) => bend::setback(corner.radius, angle),
    }
}
