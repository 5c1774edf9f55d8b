//! The quantities that the bench sets, and how exactly.

use crate::centreline::{Bend, LaidRun};
use crate::plan::model::{FromEnd, Quantity, RunPlan};
use crate::spec::model::Uncertainty;

/// Two radii nearer than this are of one former, mm.
const ONE_FORMER_MM: f64 = 1e-6;

/// A quantity that the bench sets, and what 95 % of its errors stay within.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// The quantity.
    pub quantity: Quantity,
    /// Half the width of the range that holds 95 % of its errors, mm or rad.
    pub half_width: f64,
    /// The bends it is of, by their numbers from the datum end, in the order they are made; none for the cut length.
    pub bends: Vec<usize>,
}

/// Everything that the bench sets for a run bent from one of its ends: of each bend in the order they are made its mark,
/// its turn (not of the first) and its angle, then the radius of each former, then the cut length. Their errors are
/// independent and normal. A band of predicted springback counts for the angle where it is wider.
pub fn spreads(laid: &LaidRun, plan: &RunPlan, of: &Uncertainty, from: FromEnd) -> Vec<Spread> {
    let mut all: Vec<Spread> = Vec::new();
    let mut formers: Vec<(f64, Spread)> = Vec::new();
    for (index, (planned, _)) in plan.in_order(from).enumerate() {
        let number = planned.number;
        let bends = vec![number];
        let of_datum = number.checked_sub(1).and_then(|index| laid.centreline.bends().get(index));
        let is_tested = of_datum.is_some_and(|bend: &Bend| laid.formed_at(bend).is_some());
        let own = |quantity, half_width| Spread { quantity, half_width, bends: bends.clone() };
        all.push(own(Quantity::Mark(number), of.mark));
        if index > 0 {
            all.push(own(Quantity::Turn(number), of.turn));
        }
        let angle = of.angle(is_tested).max(planned.springback_band.unwrap_or(0.0));
        all.push(own(Quantity::Angle(number), angle));
        match formers.iter_mut().find(|(clr, _)| (clr - planned.clr).abs() < ONE_FORMER_MM) {
            Some((_, former)) => former.bends.push(number),
            None => {
                formers.push((planned.clr, own(Quantity::Radius(planned.clr), of.radius(is_tested))));
            }
        }
    }
    all.extend(formers.into_iter().map(|(_, former)| former));
    all.push(Spread { quantity: Quantity::Length, half_width: of.length, bends: Vec::new() });
    all
}
