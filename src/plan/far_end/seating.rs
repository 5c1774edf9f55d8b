//! A rigid tube in two ports.
//!
//! It is asked whether there is a place for a tube in which both ends lie within what their fittings forgive: to the
//! side, in angle, and in how deep they are. The tube may be turned about the port it is put into first, and moved and
//! tilted in both. To first order each of these is a vector, linear in the six ways a rigid body moves, that must be no
//! longer than its limit. Their excess is driven to nothing by steps that never increase it: the matrix of each step is
//! that of all limits that are exceeded, which is no less than the excess's own curvature. A tube that is not in after
//! [`STEPS`] does not go in.

use super::Pose;
use crate::geometry::{InnerSpace, Vector3, reference_normal};
use crate::plan::model::Reach;

/// Most steps for one tube.
const STEPS: usize = 16;

/// The part of a limit that a step aims for, so that it is reached in few.
const AIM: f64 = 0.98;

/// Added to the matrix of a step, as a part of its size: motions that nothing limits are not made.
const RIDGE: f64 = 1e-9;

/// Least limit, as a part of a millimetre or of a radian: a fitting that forgives nothing at all.
const LEAST: f64 = 1e-6;

/// Least and most of what fittings forgive that [`Seating::needs`] tells.
const LEAST_NEED: f64 = 0.01;
/// See [`LEAST_NEED`].
const MOST_NEED: f64 = 1000.0;

/// Halvings between them: to a hundredth.
const HALVINGS: usize = 11;

pub(crate) type Row = [f64; 6];
type Matrix = [[f64; 6]; 6];

#[derive(Debug)]
/// A vector that must not be longer than its limit; all is divided by the limit.
struct Limit {
    /// How the six motions change its two parts; one that has but one part has nothing for the other.
    rows: [Row; 2],
    /// Rows, transposed, times rows.
    square: Matrix,
    /// The directions of its parts, divided by the limit, and whether they are of the far end's direction, not its place.
    parts: [(Vector3, bool); 2],
}

/// A tube in two ports.
#[derive(Debug)]
pub(crate) struct Seating {
    limits: Vec<Limit>,
}

impl Seating {
    /// A tube with its ends and what is forgiven at both, the end that is put in first before the other. `is_trimmed` says
    /// that its length is made to fit.
    pub(crate) fn new(near: Pose, far: Pose, forgiven: [Reach; 2], is_trimmed: bool) -> Self {
        let ((from, near_way), (to, far_way)) = (near, far);
        let arm = to - from;
        // A rotation moves the far end by about as much as a shift.
        let size = arm.magnitude().max(1.0);
        let axes = |way: Vector3| {
            let side = reference_normal(way);
            [side, way.cross(side)]
        };
        let shift = |way: Vector3| [way.x, way.y, way.z, 0.0, 0.0, 0.0];
        let turn = |way: Vector3| {
            let way = way / size;
            [0.0, 0.0, 0.0, way.x, way.y, way.z]
        };
        // As many numbers as a row has.
        let both = |a: Row, b: Row| std::array::from_fn(|at| a[at] + b[at]);
        let zero = Vector3::new(0.0, 0.0, 0.0);
        let nothing = ([0.0; 6], (zero, false));
        let [first, second] = forgiven;
        let at_far = |way: Vector3| (both(shift(way), turn(arm.cross(way))), (way, false));
        let mut limits = vec![
            Limit::new(first.across, axes(near_way).map(|way| (shift(way), (zero, false)))),
            Limit::new(first.along, [(shift(near_way), (zero, false)), nothing]),
            Limit::new(first.angle, axes(near_way).map(|way| (turn(way), (zero, true)))),
            Limit::new(second.across, axes(far_way).map(at_far)),
            Limit::new(second.angle, axes(far_way).map(|way| (turn(far_way.cross(way)), (way, true)))),
        ];
        if !is_trimmed {
            limits.push(Limit::new(second.along, [at_far(far_way), nothing]));
        }
        Seating { limits }
    }

    /// Whether a tube whose far end is off by so much goes in.
    pub(crate) fn takes(&self, moved: Vector3, turned: Vector3) -> bool {
        let off: Vec<[f64; 2]> = self.limits.iter().map(|limit| limit.off(moved, turned)).collect();
        let mut motion = [0.0; 6];
        for _ in 0..STEPS {
            let (mut matrix, mut slope, mut is_in) = ([[0.0; 6]; 6], [0.0; 6], true);
            for (limit, off) in self.limits.iter().zip(&off) {
                let parts = limit.parts_at(&motion, off);
                let long = parts[0].hypot(parts[1]);
                is_in &= long <= 1.0;
                if long > AIM {
                    limit.add(&parts, 1.0 - AIM / long, &mut matrix, &mut slope);
                }
            }
            if is_in {
                return true;
            }
            let Some(step) = solved(matrix, slope) else { return false };
            motion.iter_mut().zip(step).for_each(|(motion, step)| *motion -= step);
        }
        false
    }
}

impl Seating {
    /// How many times as much as they do the fittings would have to forgive for a tube to go in whose far end is off by
    /// so much: 1 or less goes in. To a hundredth, from [`LEAST_NEED`] to [`MOST_NEED`].
    pub(crate) fn needs(&self, moved: Vector3, turned: Vector3) -> f64 {
        let takes = |times: f64| self.takes(moved / times, turned / times);
        let (mut low, mut high) = (LEAST_NEED.ln(), MOST_NEED.ln());
        if takes(LEAST_NEED) {
            return LEAST_NEED;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if takes(middle.exp()) { high = middle } else { low = middle }
        }
        high.exp()
    }

    /// For each limit its two parts where the tube is not moved, and how the six motions of a rigid body change them; all
    /// divided by the limit.
    pub(crate) fn parts(&self, moved: Vector3, turned: Vector3) -> Vec<[(f64, Row); 2]> {
        let of = |limit: &Limit| {
            let [a, b] = limit.off(moved, turned);
            let [first, second] = limit.rows;
            [(a, first), (b, second)]
        };
        self.limits.iter().map(of).collect()
    }
}

impl Limit {
    fn new(limit: f64, parts: [(Row, (Vector3, bool)); 2]) -> Self {
        let limit = limit.max(LEAST);
        let rows = parts.map(|(row, _)| row.map(|number| number / limit));
        let mut square = [[0.0; 6]; 6];
        for row in &rows {
            for (line, a) in square.iter_mut().zip(row) {
                line.iter_mut().zip(row).for_each(|(cell, b)| *cell += a * b);
            }
        }
        let parts = parts.map(|(_, (way, is_turn))| (way / limit, is_turn));
        Limit { rows, square, parts }
    }

    /// Its parts before the tube is moved.
    fn off(&self, moved: Vector3, turned: Vector3) -> [f64; 2] {
        self.parts.map(|(way, is_turn)| way.dot(if is_turn { turned } else { moved }))
    }

    fn parts_at(&self, motion: &[f64; 6], off: &[f64; 2]) -> [f64; 2] {
        let dot = |row: &Row| -> f64 { row.iter().zip(motion).map(|(a, b)| a * b).sum() };
        let [first, second] = &self.rows;
        [off[0] + dot(first), off[1] + dot(second)]
    }

    /// Adds its excess to the matrix and the slope of a step.
    fn add(&self, parts: &[f64; 2], excess: f64, matrix: &mut Matrix, slope: &mut [f64; 6]) {
        for (line, square) in matrix.iter_mut().zip(&self.square) {
            line.iter_mut().zip(square).for_each(|(cell, more)| *cell += more);
        }
        for (row, part) in self.rows.iter().zip(parts) {
            slope.iter_mut().zip(row).for_each(|(slope, row)| *slope += row * part * excess);
        }
    }
}

/// The solution of a symmetric system, by Cholesky's way; none where it has none.
fn solved(mut matrix: Matrix, mut right: [f64; 6]) -> Option<[f64; 6]> {
    let ridge = RIDGE * (0..6).map(|at| matrix[at][at]).sum::<f64>();
    for (at, row) in matrix.iter_mut().enumerate() {
        row[at] += ridge;
    }
    for column in 0..6 {
        for row in column..6 {
            let done: f64 = (0..column).map(|k| matrix[row][k] * matrix[column][k]).sum();
            let left = matrix[row][column] - done;
            matrix[row][column] = match row == column {
                true if left > 0.0 => left.sqrt(),
                true => return None,
                false => left / matrix[column][column],
            };
        }
    }
    for row in 0..6 {
        let done: f64 = (0..row).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - done) / matrix[row][row];
    }
    for row in (0..6).rev() {
        let done: f64 = (row + 1..6).map(|k| matrix[k][row] * right[k]).sum();
        right[row] = (right[row] - done) / matrix[row][row];
    }
    Some(right)
}
