//! Numbers of a tube, such as angles of bends and cuts, for which it fits its ports best.

use super::seat::{BentTube, Miss, Seat};

/// Rounds in which the tube is looked at anew where it then is.
const ROUNDS: usize = 12;

/// Rounds of weighing the limits in each of them.
const WEIGHINGS: usize = 24;

/// Steps are held back by this part of the matrix's size, so that numbers that change nothing stay.
const RIDGE: f64 = 1e-7;

/// Half of the difference over which slopes are taken, mm and rad.
const HALF_STEP: f64 = 1e-5;

/// Weights are no smaller than this: a limit that is met easily still counts.
const LEAST_WEIGHT: f64 = 1e-4;

/// A number that may be chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Free {
    /// Where it begins, mm or rad.
    pub(super) start: f64,
    /// Its least.
    pub(super) least: f64,
    /// Its most.
    pub(super) most: f64,
    /// A change of it that costs as much as one of any other, mm or rad.
    pub(super) scale: f64,
}

/// The numbers that were found.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Settled {
    /// The numbers, in their order.
    pub(super) numbers: Vec<f64>,
    /// Turn of the first bend about the first end from its planned plane, rad.
    pub(super) roll: f64,
    /// How far the last end is off.
    pub(super) miss: Miss,
    /// How many times what the fittings forgive it needs.
    pub(super) needs: f64,
}

/// The numbers with which a tube needs least of what its fittings forgive. Where `is_exact`, the first end is held where
/// it is drawn, and the last is brought as near to its place as it can.
pub(super) fn settle(
    seat: &Seat,
    tube: &dyn Fn(&[f64]) -> BentTube,
    free: &[Free],
    is_exact: bool,
) -> Settled {
    let mut numbers: Vec<f64> = free.iter().map(|free| free.start).collect();
    let mut roll = 0.0;
    let at = |numbers: &[f64], roll: f64| {
        let miss = seat.miss(&tube(numbers), roll);
        Settled { numbers: numbers.to_vec(), roll, miss, needs: seat.needs(&miss) }
    };
    let mut best = at(&numbers, roll);
    for _ in 0..ROUNDS {
        let step = Step::new(seat, tube, (&numbers, roll), free, is_exact);
        let Some(change) = step.solved(&numbers, free) else { break };
        for (number, change) in numbers.iter_mut().zip(&change) {
            *number += change;
        }
        numbers.iter_mut().zip(free).for_each(|(n, free)| *n = n.clamp(free.least, free.most));
        roll += change.last().copied().unwrap_or_default();
        let found = at(&numbers, roll);
        let is_better = if is_exact {
            let off = |s: &Settled| off(seat, &s.miss);
            off(&found) < off(&best)
        } else {
            found.needs < best.needs
        };
        if is_better {
            best = found;
        }
    }
    best
}

/// The square sum of an end's parts where the tube is not moved.
fn off(seat: &Seat, miss: &Miss) -> f64 {
    seat.parts(miss).iter().flatten().map(|(part, _)| part * part).sum()
}

/// The tube's neighbourhood, to first order.
struct Step {
    /// For each limit two parts: the value, and the slopes by each number, the roll, and the motions of a rigid body.
    limits: Vec<[(f64, Vec<f64>); 2]>,
    /// Numbers and the roll.
    count: usize,
}

impl Step {
    fn new(
        seat: &Seat,
        tube: &dyn Fn(&[f64]) -> BentTube,
        (numbers, roll): (&[f64], f64),
        free: &[Free],
        is_exact: bool,
    ) -> Self {
        let miss = |numbers: &[f64], roll: f64| seat.miss(&tube(numbers), roll);
        let here = seat.parts(&miss(numbers, roll));
        let slope = |index: usize| {
            let by = |sign: f64| {
                let mut moved = numbers.to_vec();
                let mut turned = roll;
                match moved.get_mut(index) {
                    Some(number) => *number += sign * HALF_STEP,
                    None => turned += sign * HALF_STEP,
                }
                miss(&moved, turned)
            };
            let (more, less) = (by(1.0), by(-1.0));
            let half = 2.0 * HALF_STEP;
            Miss { moved: (more.moved - less.moved) / half, turned: (more.turned - less.turned) / half }
        };
        let slopes: Vec<Vec<[(f64, [f64; 6]); 2]>> =
            (0..=free.len()).map(|index| seat.parts(&slope(index))).collect();
        let limits = here.iter().enumerate().map(|(limit, parts)| {
            let part = |half: usize| {
                let of = |all: &Vec<[(f64, [f64; 6]); 2]>| all.get(limit).map_or(0.0, |parts| parts[half].0);
                let (value, motions) = parts[half];
                let mut row: Vec<f64> = slopes.iter().map(of).collect();
                if !is_exact {
                    row.extend(seat.tilts(&motions));
                }
                (value, row)
            };
            [part(0), part(1)]
        });
        Step { limits: limits.collect(), count: free.len() + 1 }
    }

    /// The changes of the numbers and the roll that make the largest of all limits least (Lawson's weights), within their
    /// bounds.
    fn solved(&self, numbers: &[f64], free: &[Free]) -> Option<Vec<f64>> {
        let mut weights = vec![1.0; self.limits.len()];
        let mut best: Option<(f64, Vec<f64>)> = None;
        for _ in 0..WEIGHINGS {
            let change = self.bounded(&weights, numbers, free)?;
            let lengths: Vec<f64> = self.limits.iter().map(|parts| length(parts, &change)).collect();
            let most = lengths.iter().copied().fold(0.0, f64::max);
            if best.as_ref().is_none_or(|(least, _)| most < *least) {
                best = Some((most, change));
            }
            if most <= 0.0 {
                break;
            }
            for (weight, length) in weights.iter_mut().zip(&lengths) {
                *weight = (*weight * length / most).max(LEAST_WEIGHT);
            }
        }
        best.map(|(_, change)| change.into_iter().take(self.count).collect())
    }

    /// Least squares by these weights: numbers that would pass their bounds are held there.
    fn bounded(&self, weights: &[f64], numbers: &[f64], free: &[Free]) -> Option<Vec<f64>> {
        let mut held: Vec<Option<f64>> = vec![None; free.len()];
        // Every round holds one number more.
        for _ in 0..=free.len() {
            let change = self.least_squares(weights, &held, free)?;
            let passed =
                free.iter().zip(numbers).zip(&change).enumerate().filter_map(|(index, ((free, n), by))| {
                    let bounded = (n + by).clamp(free.least, free.most) - n;
                    let beyond = (by - bounded).abs() / free.scale;
                    (held.get(index) == Some(&None) && beyond > 1e-9).then_some((beyond, index, bounded))
                });
            match passed.max_by(|a, b| a.0.total_cmp(&b.0)) {
                None => return Some(change),
                Some((_, index, bounded)) => *held.get_mut(index)? = Some(bounded),
            }
        }
        None
    }

    fn least_squares(&self, weights: &[f64], held: &[Option<f64>], free: &[Free]) -> Option<Vec<f64>> {
        let size = self.limits.first().map_or(0, |parts| parts[0].1.len());
        let scale = |index: usize| free.get(index).map_or(1.0, |free| free.scale);
        let is_held = |index: usize| held.get(index).copied().flatten();
        let mut matrix = vec![vec![0.0; size]; size];
        let mut right = vec![0.0; size];
        for (parts, weight) in self.limits.iter().zip(weights) {
            for (value, row) in parts {
                let fixed: f64 =
                    row.iter().enumerate().filter_map(|(index, slope)| Some(slope * is_held(index)?)).sum();
                let row: Vec<f64> = row
                    .iter()
                    .enumerate()
                    .map(|(index, slope)| if is_held(index).is_some() { 0.0 } else { slope * scale(index) })
                    .collect();
                for ((line, a), right) in matrix.iter_mut().zip(&row).zip(&mut right) {
                    line.iter_mut().zip(&row).for_each(|(cell, b)| *cell += weight * a * b);
                    *right -= weight * a * (value + fixed);
                }
            }
        }
        let solution = cholesky(matrix, right)?;
        let change = |(index, by): (usize, f64)| is_held(index).unwrap_or(by * scale(index));
        Some(solution.into_iter().enumerate().map(change).collect())
    }
}

/// The length of a limit's two parts after a change.
fn length(parts: &[(f64, Vec<f64>); 2], change: &[f64]) -> f64 {
    let [a, b] = [0, 1].map(|half: usize| {
        let (value, row) = &parts[half];
        value + row.iter().zip(change).map(|(slope, by)| slope * by).sum::<f64>()
    });
    a.hypot(b)
}

/// The solution of a symmetric system that is held back a little; none where it has none.
fn cholesky(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let size = right.len();
    let trace: f64 = matrix.iter().enumerate().filter_map(|(at, row)| row.get(at)).sum();
    let ridge = (RIDGE * trace / size.max(1) as f64).max(f64::MIN_POSITIVE);
    for (at, row) in matrix.iter_mut().enumerate() {
        *row.get_mut(at)? += ridge;
    }
    for column in 0..size {
        for row in column..size {
            let done: f64 = (0..column).map(|k| matrix[row][k] * matrix[column][k]).sum();
            let left = matrix[row][column] - done;
            matrix[row][column] = match row == column {
                true if left > 0.0 => left.sqrt(),
                true => return None,
                false => left / matrix[column][column],
            };
        }
    }
    for row in 0..size {
        let done: f64 = (0..row).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - done) / matrix[row][row];
    }
    for row in (0..size).rev() {
        let done: f64 = (row + 1..size).map(|k| matrix[k][row] * right[k]).sum();
        right[row] = (right[row] - done) / matrix[row][row];
    }
    Some(right)
}
