//! The closed form against plain sums, and drawn sets against all there are.

use super::mixture::{Fit, Problem, Unknown};
use super::sample::sample;
use crate::chance::Chance;

/// A problem of so many deviations and readings, with readings that its prior makes likely.
fn problem(chance: &mut Chance, deviations: usize, readings: usize, wild: f64) -> Problem {
    let mut unknowns: Vec<Unknown> = Vec::new();
    for index in 0..deviations + readings {
        let own = (0..readings).map(|at| if at + deviations == index { 1.0 } else { 0.0 }).collect();
        let column = (0..readings).map(|_| chance.normal()).collect();
        let is_deviation = index < deviations;
        unknowns.push(Unknown {
            column: if is_deviation { column } else { own },
            narrow: if is_deviation { 0.3 } else { 0.05 },
            broad: 9.0,
            chance: if is_deviation { 0.1 } else { 0.03 },
        });
    }
    let read = (0..readings).map(|_| wild * chance.normal()).collect();
    Problem { unknowns, deviations, read }
}

fn sets(count: usize) -> impl Iterator<Item = Vec<bool>> {
    (0..1usize << count).map(move |bits| (0..count).map(|at| bits >> at & 1 == 1).collect())
}

/// Density, means and covariance by Gauss' elimination of the readings' covariance: the textbook's way.
fn by_hand(problem: &Problem, is_broad: &[bool]) -> (f64, Vec<f64>, Vec<Vec<f64>>) {
    let (readings, count) = (problem.read.len(), problem.deviations);
    let variance: Vec<f64> = (problem.unknowns.iter().zip(is_broad))
        .map(|(unknown, broad)| if *broad { unknown.broad } else { unknown.narrow })
        .collect();
    let prior: f64 = (problem.unknowns.iter().zip(is_broad))
        .map(|(unknown, broad)| if *broad { unknown.chance } else { 1.0 - unknown.chance })
        .map(f64::ln)
        .sum();
    let mut matrix: Vec<Vec<f64>> = (0..readings)
        .map(|row| {
            let sum = |column: usize| -> f64 {
                let parts = problem.unknowns.iter().zip(&variance);
                parts.map(|(unknown, v)| v * unknown.column[row] * unknown.column[column]).sum()
            };
            let right = (0..count).map(|of| problem.unknowns[of].column[row]);
            (0..readings).map(sum).chain([problem.read[row]]).chain(right).collect()
        })
        .collect();
    let mut log_det = 0.0;
    for pivot in 0..readings {
        let line = matrix[pivot].clone();
        log_det += line[pivot].ln();
        for (row, other) in matrix.iter_mut().enumerate() {
            let factor = if row == pivot { 1.0 - 1.0 / line[pivot] } else { other[pivot] / line[pivot] };
            other.iter_mut().zip(&line).for_each(|(cell, from)| *cell -= factor * from);
        }
    }
    let along = |of: usize, solved: usize| -> f64 {
        (0..readings).map(|row| problem.unknowns[of].column[row] * matrix[row][readings + solved]).sum()
    };
    let quad: f64 = (0..readings).map(|row| problem.read[row] * matrix[row][readings]).sum();
    let means = (0..count).map(|of| variance[of] * along(of, 0)).collect();
    let covariance = (0..count)
        .map(|a| {
            let own = |b: usize| if a == b { variance[a] } else { 0.0 };
            (0..count).map(|b| own(b) - variance[a] * along(a, b + 1) * variance[b]).collect()
        })
        .collect();
    (prior - 0.5 * (log_det + quad), means, covariance)
}

#[test]
fn flips_change_everything_as_the_textbook_has_it() {
    let mut chance = Chance::new(7);
    for _ in 0..20 {
        let problem = problem(&mut chance, 4, 3, 3.0);
        let mut fit = Fit::new(&problem, &[]);
        let (first, ..) = by_hand(&problem, &[false; 7]);
        let first = first - fit.evidence;
        for _ in 0..60 {
            let pick = |chance: &mut Chance| ((chance.even() * 7.0) as usize).min(6);
            let (a, b) = (pick(&mut chance), pick(&mut chance));
            let before = fit.evidence;
            let gain = if a == b { fit.gain(a) } else { fit.gain_of_two(a, b) };
            fit.flip(a);
            if a != b {
                fit.flip(b);
            }
            assert!((fit.evidence - before - gain).abs() < 1e-8);
            let (evidence, means, covariance) = by_hand(&problem, &fit.is_broad);
            assert!((fit.evidence + first - evidence).abs() < 1e-8, "{} {evidence}", fit.evidence + first);
            for (row, (ours, theirs)) in fit.means().iter().zip(&means).enumerate() {
                assert!((ours - theirs).abs() < 1e-8);
                for (column, theirs) in covariance[row].iter().enumerate() {
                    assert!((fit.covariance()[row * 4 + column] - theirs).abs() < 1e-8);
                }
            }
        }
    }
}

#[test]
fn drawn_sets_stand_for_all_of_them() {
    let mut chance = Chance::new(11);
    for number in 0..12 {
        let problem = problem(&mut chance, 4, 5, if number % 2 == 0 { 1.0 } else { 3.0 });
        let all: Vec<(Vec<bool>, (f64, Vec<f64>, Vec<Vec<f64>>))> =
            sets(9).map(|set| (set.clone(), by_hand(&problem, &set))).collect();
        let most = all.iter().map(|(_, (evidence, ..))| *evidence).fold(f64::NEG_INFINITY, f64::max);
        let weight = |evidence: f64| (evidence - most).exp();
        let whole: f64 = all.iter().map(|(_, (evidence, ..))| weight(*evidence)).sum();
        let mean = |of: &dyn Fn(&Vec<bool>, &Vec<f64>, &Vec<Vec<f64>>) -> f64| -> f64 {
            let parts = all.iter().map(|(set, (evidence, means, covariance))| {
                weight(*evidence) / whole * of(set, means, covariance)
            });
            parts.sum()
        };
        let mut fit = Fit::new(&problem, &[]);
        fit.climb(40);
        let drawn = sample(&problem, &fit.is_broad);
        for index in 0..9 {
            let wanted = mean(&|set, _, _| if set[index] { 1.0 } else { 0.0 });
            // Six hundred draws, not independent: the deviation of a half is some 3 %.
            assert!(
                (drawn.broad[index] - wanted).abs() < 0.12,
                "{number} {index}: {} {wanted}",
                drawn.broad[index]
            );
        }
        for index in 0..4 {
            let wanted = mean(&|_, means, _| means[index]);
            let spread =
                mean(&|_, means, covariance| covariance[index][index] + (means[index] - wanted).powi(2));
            let slopes: Vec<f64> = (0..4).map(|at| if at == index { 1.0 } else { 0.0 }).collect();
            let found = drawn.means()[index];
            assert!((found - wanted).abs() < 0.25 * spread.sqrt(), "{number} {index}: {found} {wanted}");
            let found = drawn.covariance(&slopes, &slopes).sqrt();
            assert!(
                (found / spread.sqrt() - 1.0).abs() < 0.25,
                "{number} {index}: {found} {}",
                spread.sqrt()
            );
        }
    }
}

#[test]
fn the_likeliest_set_is_found_from_nothing() {
    let mut chance = Chance::new(13);
    let mut missed = 0;
    for _ in 0..40 {
        let problem = problem(&mut chance, 5, 5, 3.0);
        let mut fit = Fit::new(&problem, &[]);
        fit.climb(40);
        let (found, ..) = by_hand(&problem, &fit.is_broad);
        let best = sets(10).map(|set| by_hand(&problem, &set).0).fold(f64::NEG_INFINITY, f64::max);
        assert!(found <= best + 1e-9);
        missed += usize::from(found < best - 1e-6);
    }
    // By ones and twos the best is not always reached; draws go on from there.
    assert!(missed <= 8, "{missed} of 40");
}

#[test]
fn ranges_of_a_mixture_hold_95_percent() {
    // Without readings the prior is left: one in ten has six times the spread.
    let unknown = Unknown { column: vec![], narrow: 1.0, broad: 36.0, chance: 0.1 };
    let problem = Problem { unknowns: vec![unknown; 30], deviations: 30, read: vec![] };
    let drawn = sample(&problem, &[]);
    // 0.9·erf(h/√2) + 0.1·erf(h/6√2) = 0.95 at h = 4.051 (worked by halving).
    let slopes = |of: usize| (0..30).map(|at| if at == of { 1.0 } else { 0.0 }).collect::<Vec<f64>>();
    let mean = (0..30).map(|of| drawn.half_width(&slopes(of))).sum::<f64>() / 30.0;
    assert!((mean - 4.051).abs() < 0.15, "{mean}");
}
