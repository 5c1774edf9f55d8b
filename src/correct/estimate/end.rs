//! How far the end of a tube is off the plan.

use super::sample::Mixture;
use super::{Contribution, Deviation, dot, slopes};
use crate::correct::made::Making;
use crate::correct::tube::Made;
use crate::geometry::{Frame, InnerSpace, Vector3, reference_normal, signed_angle};
use crate::tolerance::COINCIDENT_MM;

/// The error of an end of a tube that is laid from the end that bending began at.
#[derive(Debug, Clone, PartialEq)]
pub struct EndError {
    /// Where it is by the plan: the end of the cut tube, its allowance counted, or, of a tube with bends that are still
    /// to be made, the end of the last bend that is done. The direction leads away from the bends; the normal is the
    /// axis of the last bend, seen from the end that bending began at.
    pub planned: Frame,
    /// Where it is most likely.
    pub found: Frame,
    /// Unit vectors in the run's axes: along the planned direction, to the left of it, and up. Up is the world's +Z made
    /// square to the direction, or +X where the tube ends along ±Z; left is as seen along the direction with that up.
    pub axes: [Vector3; 3],
    /// How far the end is off along, to the left and up, mm; how far its direction points to the left and up, and how far
    /// the plane of the last bend lies right-handed about the direction, rad.
    pub error: [f64; 6],
    /// The covariance of these, mm and rad.
    pub covariance: [[f64; 6]; 6],
    /// Half the width of the range about each that holds 95 %, mm and rad.
    pub half_widths: [f64; 6],
}

impl EndError {
    /// How far the place is off, mm.
    pub fn distance(&self) -> f64 {
        self.error.iter().take(3).map(|part| part * part).sum::<f64>().sqrt()
    }

    /// How far the direction is off, rad.
    pub fn angle(&self) -> f64 {
        self.error.iter().skip(3).take(2).map(|part| part * part).sum::<f64>().sqrt()
    }

    /// Whether the place is off at all.
    pub(super) fn is_off(&self) -> bool {
        self.distance() > COINCIDENT_MM
    }
}

/// The end that a tube is judged by.
fn end_of(making: &Making, tube: &Made) -> Frame {
    if making.is_whole() { tube.end(making.frame()) } else { tube.last_bend(making.frame()) }
}

fn axes(planned: &Frame) -> [Vector3; 3] {
    let along = planned.direction;
    let up = reference_normal(along);
    [along, up.cross(along), up]
}

fn off(planned: &Frame, [along, left, up]: [Vector3; 3], found: &Frame) -> [f64; 6] {
    let apart = found.origin - planned.origin;
    let way = found.direction;
    let square = |axis: Vector3| axis - way * axis.dot(way);
    let roll = signed_angle(square(planned.normal), found.normal, way);
    [
        apart.dot(along),
        apart.dot(left),
        apart.dot(up),
        way.dot(left).atan2(way.dot(along)),
        way.dot(up).clamp(-1.0, 1.0).asin(),
        roll,
    ]
}

/// The end's error, and its slopes in each deviation.
pub(super) fn error(
    making: &Making,
    values: &[f64],
    made: &Made,
    mixture: &Mixture,
) -> (EndError, [Vec<f64>; 6]) {
    let planned = end_of(making, &making.planned());
    let axes = axes(&planned);
    let found = end_of(making, made);
    let numbers = |tube: &Made| off(&planned, axes, &end_of(making, tube)).map(Some).to_vec();
    let columns = slopes(making, values, numbers);
    let rows: [Vec<f64>; 6] = std::array::from_fn(|row| {
        columns.iter().map(|column| column.get(row).copied().flatten().unwrap_or(0.0)).collect()
    });
    let covariance = std::array::from_fn(|a| {
        std::array::from_fn(|b| match (rows.get(a), rows.get(b)) {
            (Some(a), Some(b)) => mixture.covariance(a, b),
            _ => 0.0,
        })
    });
    let half_widths = rows.clone().map(|row| mixture.half_width(&row));
    let error = off(&planned, axes, &found);
    (EndError { planned, found, axes, error, covariance, half_widths }, rows)
}

/// The part of each quantity in the end's error, to first order, the largest share first.
pub(super) fn contributions(
    deviations: &[Deviation],
    end: &EndError,
    slopes: &[Vec<f64>; 6],
) -> Vec<Contribution> {
    let of = |index: usize, found: &Deviation| {
        let by = |row: &Vec<f64>| row.get(index).copied().unwrap_or(0.0) * found.value;
        let [along, left, up, to_left, to_up, _] = slopes.each_ref().map(by);
        (found.quantity, found.value, [along, left, up], [to_left, to_up])
    };
    let parts: Vec<_> = deviations.iter().enumerate().map(|(index, found)| of(index, found)).collect();
    let sum = |axis: usize| -> f64 { parts.iter().filter_map(|(.., moves, _)| moves.get(axis)).sum() };
    let whole: [f64; 3] = std::array::from_fn(sum);
    let size = dot(&whole, &whole);
    let share = |moves: &[f64; 3]| if size > 0.0 { dot(moves, &whole) / size } else { 0.0 };
    let mut all: Vec<Contribution> = parts
        .iter()
        .map(|(quantity, value, moves, turns)| Contribution {
            quantity: *quantity,
            value: *value,
            share: share(moves),
            moves: *moves,
            turns: *turns,
        })
        .collect();
    all.sort_by(|a, b| b.share.total_cmp(&a.share));
    if !end.is_off() {
        all.clear();
    }
    all
}
