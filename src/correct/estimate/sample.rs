//! Which unknowns are broad, drawn in proportion to how likely that is.
//!
//! Each unknown in turn is made broad or narrow by its odds, all others as they are (Geman and Geman: Stochastic
//! relaxation, Gibbs distributions, and the Bayesian restoration of images, 1984); between the turns a broad and a narrow
//! one are swapped by theirs, so that a slip and a wrong reading that explain the same can take each other's place
//! (Metropolis and others: Equation of state calculations by fast computing machines, 1953). Each draw is a normal
//! distribution in closed form, and what is foretold is their mixture. There are as many sets of broad unknowns as the
//! powers of two: of a run of 60 bends no list of the likeliest would hold enough of them.

use super::mixture::{Fit, Problem};
use crate::chance::Chance;
use crate::formula::normal::REACH_95;

/// Draws before the first that counts.
const BEFORE: usize = 30;

/// Draws that count, and at most so many numbers of all of them together.
const DRAWS: usize = 1000;
const NUMBERS: usize = 6_000_000;

/// Fewest draws that count.
const LEAST_DRAWS: usize = 150;

/// Draws after which the sums are made anew, before rounding adds up.
const ANEW: usize = 100;

/// The normal distribution of the deviations in some of the draws.
#[derive(Debug, Clone)]
struct Normal {
    is_broad: Vec<bool>,
    weight: f64,
    means: Vec<f64>,
    covariance: Vec<f64>,
}

impl Normal {
    /// Which readings are wrong in them.
    fn wrong(&self, deviations: usize) -> &[bool] {
        self.is_broad.get(deviations..).unwrap_or_default()
    }
}

/// The distribution of the deviations.
#[derive(Debug, Clone)]
pub(super) struct Mixture {
    parts: Vec<Normal>,
    /// The most likely deviations.
    pub(super) likeliest: Vec<f64>,
    /// The probability of each unknown to be broad.
    pub(super) broad: Vec<f64>,
}

/// Draws from a problem, beginning with these unknowns broad.
pub(super) fn sample(problem: &Problem, is_broad: &[bool]) -> Mixture {
    let mut chance = Chance::new(0x5EED);
    let mut fit = Fit::new(problem, is_broad);
    let (count, deviations) = (problem.unknowns.len(), problem.deviations);
    let draws = DRAWS.min(NUMBERS / (deviations * deviations).max(1)).max(LEAST_DRAWS);
    let mut parts: Vec<Normal> = Vec::new();
    let mut broad = vec![0.0; count];
    for draw in 0..BEFORE + draws {
        if draw.is_multiple_of(ANEW) {
            fit = Fit::new(problem, &fit.is_broad.clone());
        }
        for (index, sum) in broad.iter_mut().enumerate() {
            let was = fit.is_broad.get(index).copied().unwrap_or(false);
            let flips = 1.0 / (1.0 + (-fit.gain(index)).exp());
            if draw >= BEFORE {
                *sum += if was { 1.0 - flips } else { flips };
            }
            if chance.even() <= flips {
                fit.flip(index);
            }
        }
        swap(&mut fit, &mut chance);
        if draw >= BEFORE {
            match parts.iter_mut().find(|part| part.is_broad == fit.is_broad) {
                Some(part) => part.weight += 1.0 / draws as f64,
                None => parts.push(Normal {
                    is_broad: fit.is_broad.clone(),
                    weight: 1.0 / draws as f64,
                    means: fit.means(),
                    covariance: fit.covariance(),
                }),
            }
        }
    }
    broad.iter_mut().for_each(|sum| *sum /= draws as f64);
    let likeliest = Mixture::likeliest(&parts, deviations);
    Mixture { parts, likeliest, broad }
}

/// Tries to swap broad unknowns and narrow ones, as many times as there are unknowns.
fn swap(fit: &mut Fit<'_>, chance: &mut Chance) {
    let count = fit.is_broad.len();
    let any =
        |chance: &mut Chance, of: usize| ((chance.even() * of as f64) as usize).min(of.saturating_sub(1));
    for _ in 0..count {
        let broad: Vec<usize> = (0..count).filter(|at| fit.is_broad.get(*at) == Some(&true)).collect();
        let (one, other) = (any(chance, broad.len()), any(chance, count));
        let Some(one) = broad.get(one).copied() else { return };
        if fit.is_broad.get(other) == Some(&false) && chance.even().ln() <= fit.gain_of_two(one, other) {
            fit.flip(one);
            fit.flip(other);
        }
    }
}

impl Mixture {
    /// The most likely deviations: the mean over the draws that take the same readings for wrong, of those sets of
    /// readings the one that is drawn most. A mean over all sets would lie between two tubes where it is doubtful whether
    /// a reading is wrong, and be neither.
    fn likeliest(parts: &[Normal], deviations: usize) -> Vec<f64> {
        let mut sets: Vec<(&[bool], f64)> = Vec::new();
        for part in parts {
            match sets.iter_mut().find(|(set, _)| *set == part.wrong(deviations)) {
                Some((_, weight)) => *weight += part.weight,
                None => sets.push((part.wrong(deviations), part.weight)),
            }
        }
        let mut all = vec![0.0; deviations];
        let Some((set, whole)) = sets.iter().max_by(|a, b| a.1.total_cmp(&b.1)) else { return all };
        for part in parts.iter().filter(|part| part.wrong(deviations) == *set) {
            all.iter_mut().zip(&part.means).for_each(|(sum, mean)| *sum += part.weight / whole * mean);
        }
        all
    }

    /// The covariance of two quantities with these slopes in the deviations, about the most likely ones.
    pub(super) fn covariance(&self, a: &[f64], b: &[f64]) -> f64 {
        let (middle_a, middle_b) = (dot(a, &self.likeliest), dot(b, &self.likeliest));
        let of = |part: &Normal| {
            let between = (dot(a, &part.means) - middle_a) * (dot(b, &part.means) - middle_b);
            part.weight * (between + quadratic(a, &part.covariance, b))
        };
        self.parts.iter().map(of).sum()
    }

    /// Half the width of the range that holds 95 % of a quantity with these slopes in the deviations, about its value by
    /// the most likely ones.
    pub(super) fn half_width(&self, slopes: &[f64]) -> f64 {
        let middle = dot(slopes, &self.likeliest);
        let parts: Vec<(f64, f64, f64)> = (self.parts.iter())
            .map(|part| {
                let variance = quadratic(slopes, &part.covariance, slopes).max(0.0);
                (part.weight, dot(slopes, &part.means) - middle, variance.sqrt())
            })
            .collect();
        half_width(&parts)
    }
}

impl Mixture {
    /// So many deviations drawn at random.
    pub(super) fn draws(&self, count: usize) -> Vec<Vec<f64>> {
        let mut chance = Chance::new(0xD4A5);
        let roots: Vec<Option<Vec<f64>>> =
            self.parts.iter().map(|part| root(&part.covariance, part.means.len())).collect();
        let whole: f64 = self.parts.iter().map(|part| part.weight).sum();
        let mut draw = || {
            let mut at = chance.even() * whole;
            let one = self.parts.iter().zip(&roots).find(|(part, _)| {
                at -= part.weight;
                at <= 0.0
            });
            let (part, root) = one.or_else(|| self.parts.iter().zip(&roots).next_back())?;
            let normal: Vec<f64> = part.means.iter().map(|_| chance.normal()).collect();
            let Some(root) = root else { return Some(part.means.clone()) };
            let rows = root.chunks(normal.len().max(1));
            Some(part.means.iter().zip(rows).map(|(mean, row)| mean + dot(row, &normal)).collect())
        };
        (0..count).filter_map(|_| draw()).collect()
    }
}

/// The lower root of a covariance, by Cholesky's way; none where it has none. What has no variance does not vary.
fn root(covariance: &[f64], size: usize) -> Option<Vec<f64>> {
    let mut lower = vec![0.0; size * size];
    for row in 0..size {
        for column in 0..=row {
            let done: f64 = (0..column).map(|k| lower[row * size + k] * lower[column * size + k]).sum();
            let left = covariance.get(row * size + column)? - done;
            let diagonal = lower[column * size + column];
            lower[row * size + column] = match row == column {
                true => left.max(0.0).sqrt(),
                false if diagonal > 0.0 => left / diagonal,
                false => 0.0,
            };
        }
    }
    Some(lower)
}

/// Half the width of the range about nothing that holds 95 % of a mixture of normal distributions: weight, mean and
/// standard deviation of each.
fn half_width(parts: &[(f64, f64, f64)]) -> f64 {
    /// Halvings of the search: 2⁻⁴⁰ of the widest.
    const HALVINGS: u32 = 40;
    let within = |reach: f64| -> f64 {
        let part = |(weight, mean, deviation): &(f64, f64, f64)| {
            let below = |at: f64| match at - mean {
                off if *deviation > 0.0 => libm::erf(off / (deviation * std::f64::consts::SQRT_2)),
                off => off.signum(),
            };
            weight * 0.5 * (below(reach) - below(-reach))
        };
        parts.iter().map(part).sum()
    };
    // Beyond this no part has more than 5 % of its own.
    let most = parts.iter().map(|(_, mean, deviation)| mean.abs() + REACH_95 * deviation).fold(0.0, f64::max);
    let (mut low, mut high) = (0.0, most);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if within(middle) < 0.95 { low = middle } else { high = middle }
    }
    high
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn quadratic(a: &[f64], matrix: &[f64], b: &[f64]) -> f64 {
    let rows = a.iter().zip(matrix.chunks(b.len().max(1))).filter(|(a, _)| **a != 0.0);
    rows.map(|(a, row)| a * dot(row, b)).sum()
}
