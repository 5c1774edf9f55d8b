//! What is known beforehand: of the bench, and of readings.
//!
//! A deviation is as small as the plan expects it, or, with a small probability, somebody slipped. A reading is as
//! accurate as it is said to be, or, with a smaller one, wrong. All sizes here are common practice, no source.

use crate::correct::made::Making;
use crate::correct::readings::{is_angle, more};
use crate::formula::normal::REACH_95;
use crate::plan::{Quantity, Spread};
use crate::spec::model::{Reading, What};

/// The probability of a slip in one quantity: of ten settings at the bench one is not as good as the others.
const SLIP: f64 = 0.1;

/// The probability that a reading is wrong: what surprises is read again before it is written down. With ten times as many,
/// a lone reading of a slip of 3° was taken for wrong in one of three cases; with this many, in one of twenty.
const WRONG: f64 = 0.003;

/// 95 % of slipped marks and cuts are off by no more than this, mm: beside the line, not on it.
const SLIPPED_MM: f64 = 3.0;

/// Of slipped angles, rad: a pull that was let go early, or went too far.
const SLIPPED_ANGLE: f64 = 3.0 * std::f64::consts::PI / 180.0;

/// Of slipped turns, rad: a tube that rolled in the clamp.
const SLIPPED_TURN: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// 95 % of wrong lengths are off by no more than this, mm: a misread centimetre.
const WRONG_MM: f64 = 10.0;

/// Of wrong angles, rad: a misread ten.
const WRONG_ANGLE: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// A slip is at least so many times as far as the plan expects.
const BROADER: f64 = 2.0;

/// Where a reading is so many times as far from the plan as slips and wrong readings go, they go as far as it.
const FAR: f64 = 2.0;

/// Accuracies better than this are not believed, mm and rad: nothing divides by nothing.
const FINEST: f64 = 1e-4;

/// What may be off, how far, and how likely: half-widths of 95 %.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prior {
    pub(super) narrow: f64,
    pub(super) broad: f64,
    pub(super) chance: f64,
}

impl Prior {
    pub(super) fn variances(&self) -> (f64, f64) {
        ((self.narrow / REACH_95).powi(2), (self.broad / REACH_95).powi(2))
    }
}

/// Of the deviations. `readings` that are far off the plan, and tell of one quantity, make its slips as large.
pub(super) fn of_deviations(making: &Making, readings: &[(Reading, f64)]) -> Vec<Prior> {
    let of = |spread: &Spread| {
        let slip = match spread.quantity {
            Quantity::Mark(_) | Quantity::Length => Some(SLIPPED_MM),
            Quantity::Angle(_) => Some(SLIPPED_ANGLE),
            Quantity::Turn(_) => Some(SLIPPED_TURN),
            Quantity::Radius(_) | Quantity::Ports => None,
        };
        let narrow = spread.half_width;
        let Some(slip) = slip else { return Prior { narrow, broad: narrow, chance: 0.0 } };
        let broad = slip.max(BROADER * narrow);
        let direct = readings.iter().filter(|(reading, _)| tells_of(reading.what) == Some(spread.quantity));
        let far = direct.map(|(reading, planned)| more(reading.what, reading.value, *planned).abs());
        Prior { narrow, broad: reached(broad, far), chance: SLIP }
    };
    making.spreads().iter().map(of).collect()
}

/// Of a reading whose planned value is given.
pub(super) fn of_reading(reading: &Reading, planned: f64) -> Prior {
    let narrow = reading.accuracy.abs().max(FINEST);
    let wrong = if is_angle(reading.what) { WRONG_ANGLE } else { WRONG_MM };
    let far = more(reading.what, reading.value, planned).abs();
    Prior { narrow, broad: reached(wrong.max(BROADER * narrow), [far].into_iter()), chance: WRONG }
}

/// A half-width, or the farthest of what it must hold.
fn reached(broad: f64, far: impl Iterator<Item = f64>) -> f64 {
    far.filter(|far| *far > FAR * broad).fold(broad, f64::max)
}

/// The quantity that a reading tells of, and little else.
pub(super) fn tells_of(what: What) -> Option<Quantity> {
    match what {
        What::Angle(bend) => Some(Quantity::Angle(bend)),
        What::Turn(bend) => Some(Quantity::Turn(bend)),
        What::Starts(bend) | What::Ends(bend) | What::Leg(bend, _) | What::Between(bend, _) => {
            Some(Quantity::Mark(bend))
        }
        What::Cut => Some(Quantity::Length),
        What::LastLeg(_) | What::EndToEnd(_) | What::FarEnd(..) | What::OnTemplate(..) => None,
    }
}

/// Deviations as the readings that tell of one quantity have it, wherever they are far off the plan.
pub(super) fn face_value(making: &Making, readings: &[(Reading, f64)]) -> Vec<f64> {
    let priors = of_deviations(making, readings);
    let of = |(spread, prior): (&Spread, &Prior)| {
        let direct = readings.iter().filter(|(reading, _)| tells_of(reading.what) == Some(spread.quantity));
        let off = direct.map(|(reading, planned)| more(reading.what, reading.value, *planned));
        let furthest = off.max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        // Beyond a usual slip the range was made to reach just so far.
        if furthest.abs() >= prior.broad { furthest } else { 0.0 }
    };
    making.spreads().iter().zip(&priors).map(of).collect()
}
