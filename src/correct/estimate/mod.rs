//! The most likely tube from readings and plan.
//!
//! Beforehand every deviation of what the bench sets is normal about nothing, of the spread that the plan reckons with, or
//! by chance a slip of a broader one ([`prior`]). Every reading is off by a normal error of its accuracy, or by chance
//! wrong. About the likeliest tube the readings are taken to be linear in the deviations; their slopes are central
//! differences. Where slips and wrong readings are known, deviations are then normal, and their mean and covariance are
//! sums ([`mixture`]). The likeliest set of slips and wrong readings and the likeliest tube are sought in turn (Gauss and
//! Newton), and the sets drawn by their probabilities there ([`sample`]). What is told is the mean
//! of the draws that take the same readings for wrong, those readings that most draws do, and ranges about it that hold
//! 95 % of all.

mod end;
mod mixture;
mod prior;
mod sample;

pub use end::EndError;

use self::mixture::{Fit, Problem, Unknown};
use self::prior::Prior;
use self::sample::{Mixture, dot, sample};
use super::made::Making;
use super::readings::more;
use super::tube::Made;
use crate::centreline::Centreline;
use crate::plan::Quantity;
use crate::spec::model::{Reading, What};

#[cfg(test)]
mod tests;

/// A reading with more probability than this to be wrong is named wrong.
const NAMED: f64 = 0.8;

/// With more than this it is doubtful.
const DOUBTFUL: f64 = 0.3;

/// Steps of the central differences, mm and rad.
const STEP_MM: f64 = 1e-2;
const STEP_ANGLE: f64 = 1e-4;

/// Rounds of slopes and likeliest deviations at the most, and the change below which they end, mm or rad.
const ROUNDS: usize = 12;
const SETTLED: f64 = 1e-6;

/// A value and half the width of the range about it that holds 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sure {
    /// The value.
    pub value: f64,
    /// Half the width, in the value's unit.
    pub half_width: f64,
}

/// A quantity that the bench set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// The quantity.
    pub quantity: Quantity,
    /// How much more it is than planned, mm or rad.
    pub value: f64,
    /// Half the width of the range that holds 95 %, mm or rad.
    pub half_width: f64,
    /// The probability that somebody slipped there, 0 to 1.
    pub slipped: f64,
}

/// A reading beside the tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingFit {
    /// The reading.
    pub reading: Reading,
    /// How much more was read than the tube has, mm or rad; none where it tells nothing of this tube: of a bend that is
    /// not done, of legs that do not cross.
    pub more: Option<f64>,
    /// The probability that it is wrong, 0 to 1.
    pub wrong: f64,
}

impl ReadingFit {
    /// Whether it contradicts the others and is the one that is wrong, with confidence.
    pub fn is_wrong(&self) -> bool {
        self.wrong > NAMED
    }

    /// Whether it may well be wrong.
    pub fn is_doubtful(&self) -> bool {
        self.wrong > DOUBTFUL
    }
}

/// The part of one quantity in the end's error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// The quantity.
    pub quantity: Quantity,
    /// How much more it is than planned, mm or rad.
    pub value: f64,
    /// Its part of the error of the end's place: what it moves the end by along that error, over the error. All parts
    /// come to 1, but some may be negative.
    pub share: f64,
    /// How far it moves the end along, to the left and up (see [`EndError::axes`]), mm.
    pub moves: [f64; 3],
    /// How far it turns the end's direction to the left and up, rad.
    pub turns: [f64; 2],
}

/// The most likely tube.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// What the bench set, in the order of [`Making::spreads`].
    pub deviations: Vec<Deviation>,
    /// The tube of these deviations.
    pub made: Made,
    /// Its centreline in the run's axes, laid from the end that bending began at, with the tube that is trimmed later.
    /// Straights that would be negative are none.
    pub line: Centreline,
    /// The readings, in the order they were given.
    pub readings: Vec<ReadingFit>,
    /// How far the end of the tube is off the plan; of a tube with bends that are still to be made, the end of the last
    /// bend that is done.
    pub end: EndError,
    /// The parts of all quantities in that error, the largest first.
    pub contributions: Vec<Contribution>,
    /// The largest of them; none where the end is where it should be.
    pub dominant: Option<Contribution>,
    mixture: Mixture,
}

impl Estimate {
    /// The deviations alone, as [`Making::made`] takes them.
    pub fn values(&self) -> Vec<f64> {
        self.deviations.iter().map(|found| found.value).collect()
    }

    /// So many sets of deviations, each as [`Making::made`] takes them, drawn from all that fit the readings: the same
    /// each time.
    pub fn draws(&self, count: usize) -> Vec<Vec<f64>> {
        self.mixture.draws(count)
    }

    /// The covariance of two deviations about their values, by their positions, in their units.
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        let slopes = |index: usize| -> Vec<f64> {
            (0..self.deviations.len()).map(|at| if at == index { 1.0 } else { 0.0 }).collect()
        };
        self.mixture.covariance(&slopes(a), &slopes(b))
    }

    /// Anything that can be told of the tube, with how sure it is. `making` is the one that the estimate was made with.
    pub fn sure(&self, making: &Making, of: impl Fn(&Made) -> f64) -> Sure {
        let values = self.values();
        let slopes = slopes(making, &values, |tube| vec![Some(of(tube))]);
        let slopes: Vec<f64> = slopes.into_iter().flatten().map(Option::unwrap_or_default).collect();
        Sure { value: of(&making.made(&values)), half_width: self.mixture.half_width(&slopes) }
    }
}

/// The most likely tube. Readings that tell nothing of it are passed over.
pub fn estimate(making: &Making, readings: &[Reading]) -> Estimate {
    let planned = making.planned();
    let told: Vec<Option<f64>> = readings.iter().map(|read| making.reading(&planned, read.what)).collect();
    let is_sound = |read: &Reading| read.value.is_finite() && read.accuracy.is_finite();
    let used: Vec<(Reading, f64)> = readings
        .iter()
        .zip(&told)
        .filter(|(read, _)| is_sound(read))
        .filter_map(|(read, planned)| Some((*read, (*planned)?)))
        .collect();
    let priors = Priors {
        deviations: prior::of_deviations(making, &used),
        readings: used.iter().map(|(read, planned)| prior::of_reading(read, *planned)).collect(),
    };
    let zero = vec![0.0; making.spreads().len()];
    let starts = [zero, prior::face_value(making, &used)];
    let settled = starts.into_iter().map(|start| settle(making, &used, &priors, start));
    let best = settled.max_by(|a, b| a.evidence.total_cmp(&b.evidence));
    let (at, is_broad) = best.map_or_else(Default::default, |best| (best.values, best.is_broad));
    let mixture = sample(&linear(making, &used, &priors, &at), &is_broad);
    told_of(making, readings, &told, mixture)
}

/// What is known beforehand.
struct Priors {
    deviations: Vec<Prior>,
    readings: Vec<Prior>,
}

/// The likeliest deviations for the likeliest set of slips and wrong readings.
struct Settled {
    values: Vec<f64>,
    is_broad: Vec<bool>,
    evidence: f64,
}

fn settle(making: &Making, used: &[(Reading, f64)], priors: &Priors, start: Vec<f64>) -> Settled {
    let mut found = Settled { values: start, is_broad: Vec::new(), evidence: f64::NEG_INFINITY };
    for _ in 0..ROUNDS {
        let problem = linear(making, used, priors, &found.values);
        let mut fit = Fit::new(&problem, &found.is_broad);
        fit.climb(2 * problem.unknowns.len());
        let values = fit.means();
        let moved = values.iter().zip(&found.values).map(|(new, old)| (new - old).abs()).fold(0.0, f64::max);
        let is_same = fit.is_broad == found.is_broad;
        found = Settled { values, is_broad: fit.is_broad, evidence: fit.evidence };
        if is_same && moved < SETTLED {
            break;
        }
    }
    found
}

/// The readings as they change with the deviations near some of them.
fn linear(making: &Making, used: &[(Reading, f64)], priors: &Priors, at: &[f64]) -> Problem {
    let whats: Vec<What> = used.iter().map(|(read, _)| read.what).collect();
    let tube = making.made(at);
    let columns = slopes(making, at, |tube| whats.iter().map(|what| making.reading(tube, *what)).collect());
    let columns: Vec<Vec<f64>> = columns
        .into_iter()
        .map(|column| column.into_iter().map(Option::unwrap_or_default).collect())
        .collect();
    let read = used.iter().enumerate().map(|(index, (read, planned))| {
        let foretold = making.reading(&tube, read.what).unwrap_or(*planned);
        let of_deviations: f64 =
            columns.iter().zip(at).map(|(column, at)| column.get(index).copied().unwrap_or(0.0) * at).sum();
        more(read.what, read.value, foretold) + of_deviations
    });
    let unknown = |column: Vec<f64>, prior: &Prior| {
        let (narrow, broad) = prior.variances();
        Unknown { column, narrow, broad, chance: prior.chance }
    };
    let own = |index: usize| (0..used.len()).map(|at| if at == index { 1.0 } else { 0.0 }).collect();
    Problem {
        read: read.collect(),
        deviations: columns.len(),
        unknowns: columns
            .clone()
            .into_iter()
            .zip(&priors.deviations)
            .map(|(column, prior)| unknown(column, prior))
            .chain(priors.readings.iter().enumerate().map(|(index, prior)| unknown(own(index), prior)))
            .collect(),
    }
}

/// The slopes of several numbers in each deviation, near some deviations: central differences. None where a number is
/// not there on one of the sides.
fn slopes(making: &Making, at: &[f64], of: impl Fn(&Made) -> Vec<Option<f64>>) -> Vec<Vec<Option<f64>>> {
    let spreads = making.spreads().iter().enumerate();
    let slope = |(index, spread): (usize, &crate::plan::Spread)| {
        let step = match spread.quantity {
            Quantity::Mark(_) | Quantity::Radius(_) | Quantity::Length | Quantity::Ports => STEP_MM,
            Quantity::Angle(_) | Quantity::Turn(_) => STEP_ANGLE,
        };
        let moved = |by: f64| {
            let mut values = at.to_vec();
            values.resize(making.spreads().len(), 0.0);
            values.iter_mut().skip(index).take(1).for_each(|value| *value += by);
            of(&making.made(&values))
        };
        let (more, less) = (moved(step), moved(-step));
        more.iter().zip(&less).map(|(more, less)| Some(((*more)? - (*less)?) / (2.0 * step))).collect()
    };
    spreads.map(slope).collect()
}

/// Everything that is told of a tube.
fn told_of(making: &Making, readings: &[Reading], told: &[Option<f64>], mixture: Mixture) -> Estimate {
    let values = mixture.likeliest.clone();
    let made = making.made(&values);
    let count = values.len();
    let unit =
        |index: usize| -> Vec<f64> { (0..count).map(|at| if at == index { 1.0 } else { 0.0 }).collect() };
    let broad = |index: usize| mixture.broad.get(index).copied().unwrap_or(0.0);
    let deviations = making.spreads().iter().zip(&values).enumerate().map(|(index, (spread, value))| {
        let half_width = mixture.half_width(&unit(index));
        Deviation { quantity: spread.quantity, value: *value, half_width, slipped: broad(index) }
    });
    let mut used = 0;
    let readings = readings.iter().zip(told).map(|(read, planned)| {
        if planned.is_none() || !read.value.is_finite() || !read.accuracy.is_finite() {
            return ReadingFit { reading: *read, more: None, wrong: 0.0 };
        }
        let wrong = broad(count + used);
        used += 1;
        let foretold = making.reading(&made, read.what);
        ReadingFit { reading: *read, more: foretold.map(|than| more(read.what, read.value, than)), wrong }
    });
    let readings = readings.collect();
    let deviations: Vec<Deviation> = deviations.collect();
    let (end, slopes) = end::error(making, &values, &made, &mixture);
    let contributions = end::contributions(&deviations, &end, &slopes);
    let line = made.laid_at(making.frame());
    let dominant = contributions.first().filter(|_| end.is_off()).copied();
    Estimate { deviations, made, line, readings, end, contributions, dominant, mixture }
}
