//! The two fits of a bender's test bends.

use super::least_squares::{Free, Row, Solution, residual, solve};
use super::{
    ANGLE_READING, APART, Calibration, Constant, Implausible, LENGTH_READING_MM, LengthFit, PieceFit,
    RadiusHeld, Refusal, WORST_MM, suspect,
};
use crate::formula::calibration as formula;
use crate::spec::model::{Bender, LegMeasure, TestBend};

/// Readings that leave the radius more uncertain than this part of it do not tell it.
const RADIUS_TOLD: f64 = 0.05;

/// A length this many times further off than its readings make likely is no reading.
const READINGS: f64 = 2.5;

/// Fits a bender to its test bends; none without any. `od` of the tube, mm.
pub fn calibrate(bender: &Bender, od: f64) -> Option<Calibration> {
    let bends = &bender.test_bends;
    if bends.is_empty() {
        return None;
    }
    let angles = Angles::fit(bends);
    let lengths = Lengths::fit(bends, bender.clr, od);
    let pieces: Vec<PieceFit> = bends
        .iter()
        .enumerate()
        .map(|(index, bend)| PieceFit {
            number: index + 1,
            place: bend.place,
            pulled: bend.pulled,
            got: bend.got,
            angle_off: -residual(&angle_row(bend), angles.values),
            leg_sum: leg_sum(bend, od),
            legs: leg_row(bend, bender.clr, od).map(|row| lengths.beside(&row)),
            across: across_row(bend, od).map(|row| lengths.beside(&row)),
        })
        .collect();
    let [fixed, rate] = angles.constants();
    let [clr, stretch] = lengths.constants();
    let mut calibration = Calibration {
        pieces,
        fixed,
        rate,
        clr,
        stretch,
        radius_held: lengths.radius_held,
        angles_to_spare: angles.spare,
        lengths_to_spare: lengths.spare,
        refusal: None,
    };
    calibration.refusal = suspect::disagreement(bends, bender.clr, od, &calibration)
        .or_else(|| implausible(&calibration, bender.clr, od));
    Some(calibration)
}

/// Springback: constants are its value at 0, rad, and its rate, 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Angles {
    pub(super) values: [f64; 2],
    pub(super) spare: usize,
    solution: Option<Solution>,
    one_angle: bool,
}

impl Angles {
    pub(super) fn fit(bends: &[TestBend]) -> Angles {
        let rows: Vec<Row> = bends.iter().map(angle_row).collect();
        let one_angle = spread(bends.iter().map(|bend| bend.pulled)) < APART;
        let solution = solve(&rows, if one_angle { Free::Second(0.0) } else { Free::Both });
        Angles {
            values: solution.map_or([0.0; 2], |solution| solution.values),
            spare: rows.len().saturating_sub(if one_angle { 1 } else { 2 }),
            solution,
            one_angle,
        }
    }

    fn constants(&self) -> [Constant; 2] {
        let held = [self.one_angle, false];
        [0, 1].map(|index| {
            let slope = [0, 1].map(|other| if other == index { 1.0 } else { 0.0 });
            constant(self.values[index], self.solution.filter(|_| !held[index]), slope)
        })
    }
}

/// Radius and what arcs of it gain: constants are R, mm, and q = s·R, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lengths {
    pub(super) values: [f64; 2],
    pub(super) spare: usize,
    pub(super) radius_held: Option<RadiusHeld>,
    solution: Option<Solution>,
    has_legs: bool,
}

impl Lengths {
    /// `clr` as written, mm.
    pub(super) fn fit(bends: &[TestBend], clr: f64, od: f64) -> Lengths {
        let rows = length_rows(bends, clr, od);
        let has_legs = bends.iter().any(|bend| leg_sum(bend, od).is_some());
        let both = solve(&rows, Free::Both);
        let held = if rows.is_empty() {
            Some(RadiusHeld::NoLengths)
        } else if has_legs {
            both_told(bends, both.as_ref(), clr, od)
        } else {
            None
        };
        let (solution, unknowns) = match held {
            _ if !has_legs => (solve(&rows.iter().map(swapped).collect::<Vec<_>>(), Free::Second(0.0)), 1),
            Some(_) => (solve(&rows, Free::Second(clr)), 1),
            None => (both, 2),
        };
        let values = match solution {
            None => [clr, 0.0],
            Some(solution) if has_legs => solution.values,
            Some(solution) => [solution.values[1], 0.0],
        };
        Lengths { values, spare: rows.len().saturating_sub(unknowns), radius_held: held, solution, has_legs }
    }

    /// A length that is part of the fit.
    pub(super) fn beside(&self, row: &Row) -> LengthFit {
        self.judged(row, -1.0)
    }

    /// A length that is not part of the fit.
    pub(super) fn apart(&self, row: &Row) -> LengthFit {
        self.judged(row, 1.0)
    }

    /// The fit follows its own lengths, so they lie nearer to it than others would.
    fn judged(&self, row: &Row, own: f64) -> LengthFit {
        let row = &if self.has_legs { *row } else { swapped(row) };
        let values = if self.has_legs { self.values } else { [0.0, self.values[0]] };
        let fitted = self.solution.map_or(0.0, |solution| solution.variance(row.x));
        let expected = (row.sigma * row.sigma + own * fitted).max(0.0).sqrt();
        LengthFit { off: residual(row, values), limit: WORST_MM.max(READINGS * expected) }
    }

    /// Radius and stretch.
    fn constants(&self) -> [Constant; 2] {
        let [radius, gained] = self.values;
        let stretch = gained / radius;
        if !self.has_legs {
            let clr = constant(radius, self.solution, [0.0, 1.0]);
            return [clr, constant(0.0, None, [0.0; 2])];
        }
        let told = self.solution.filter(|_| self.radius_held.is_none());
        // s = q/R: its slope in R is −s/R, in q 1/R.
        let slope = [-stretch / radius, 1.0 / radius];
        [constant(radius, told, [1.0, 0.0]), constant(stretch, self.solution, slope)]
    }
}

/// Why legs cannot tell radius from stretch, if they cannot.
fn both_told(bends: &[TestBend], both: Option<&Solution>, clr: f64, od: f64) -> Option<RadiusHeld> {
    let across = bends.iter().any(|bend| bend.across.is_some());
    let legs = || bends.iter().filter(|bend| leg_sum(bend, od).is_some()).map(|bend| bend.got);
    if !across && spread(legs()) < APART {
        let count = legs().count().max(1) as f64;
        return Some(RadiusHeld::OneAngle(legs().sum::<f64>() / count));
    }
    match both.map(|solution| solution.variance([1.0, 0.0]).sqrt()) {
        Some(uncertain) if uncertain > RADIUS_TOLD * clr => Some(RadiusHeld::Uncertain(uncertain)),
        Some(_) => None,
        None => Some(RadiusHeld::Uncertain(clr)),
    }
}

/// Widths alone tell the radius only: then it is the constant that is not held.
fn swapped(row: &Row) -> Row {
    Row { x: [row.x[1], row.x[0]], ..*row }
}

fn constant(value: f64, solution: Option<Solution>, slope: [f64; 2]) -> Constant {
    Constant {
        value,
        held: solution.is_none(),
        standard_error: solution
            .and_then(|solution| solution.variance_by_scatter(slope))
            .map(|variance| variance.max(0.0).sqrt()),
        reading_error: solution.map(|solution| solution.variance(slope).max(0.0).sqrt()),
    }
}

/// Largest less smallest.
fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    (most - least).max(0.0)
}

/// a + b·pulled = pulled − got.
pub(super) fn angle_row(bend: &TestBend) -> Row {
    Row { x: [1.0, bend.pulled], y: bend.pulled - bend.got, sigma: ANGLE_READING }
}

/// Everything the pieces say of R and q.
pub(super) fn length_rows(bends: &[TestBend], clr: f64, od: f64) -> Vec<Row> {
    bends.iter().flat_map(|bend| [leg_row(bend, clr, od), across_row(bend, od)]).flatten().collect()
}

/// R·(2·tan(a/2) − a) + q·a = A + B − cut, with the three lengths and the angle off by a reading each.
fn leg_row(bend: &TestBend, clr: f64, od: f64) -> Option<Row> {
    let gained = leg_sum(bend, od)? - bend.cut?;
    let back = od / 2.0 * (1.0 + (bend.got / 2.0).tan().powi(2));
    let per_rad = formula::gain_slope(clr, bend.got) + back * side(bend.measured);
    let sigma = (3.0 * LENGTH_READING_MM.powi(2) + (per_rad * ANGLE_READING).powi(2)).sqrt();
    Some(Row { x: [formula::gain_factor(bend.got), bend.got], y: gained, sigma })
}

/// R = what the width says; the width is twice the radius and one OD.
fn across_row(bend: &TestBend, od: f64) -> Option<Row> {
    let radius = formula::radius_across(bend.across?, od, bend.got);
    Some(Row { x: [1.0, 0.0], y: radius, sigma: LENGTH_READING_MM / 2.0 })
}

/// Legs to the corner of the centrelines, mm; none unless all lengths are there and the legs cross.
fn leg_sum(bend: &TestBend, od: f64) -> Option<f64> {
    let (Some(_), Some(a), Some(b)) = (bend.cut, bend.leg_a, bend.leg_b) else { return None };
    let crosses = bend.got < std::f64::consts::PI - crate::tolerance::SMALLEST_BEND;
    crosses.then(|| a + b - 2.0 * side(bend.measured) * formula::back_of_leg(od, bend.got))
}

/// 1 for legs measured to the outside, −1 to the inside, 0 to the centre.
fn side(measured: LegMeasure) -> f64 {
    match measured {
        LegMeasure::Centre => 0.0,
        LegMeasure::Outside => 1.0,
        LegMeasure::Inside => -1.0,
    }
}

/// Constants that no bender has: then a reading, a unit or a key is wrong, not the bender.
fn implausible(calibration: &Calibration, clr: f64, od: f64) -> Option<Refusal> {
    let Calibration { fixed, rate, clr: radius, stretch, .. } = calibration;
    // Springback of hand-bent tube is a few per cent; half of the bend is none.
    let found = if !(-0.05..0.5).contains(&rate.value) {
        Implausible::Rate(rate.value)
    } else if !(-5.0..=20.0).contains(&fixed.value.to_degrees()) {
        Implausible::Fixed(fixed.value)
    } else if !(0.7..=1.5).contains(&(radius.value / clr)) {
        Implausible::Radius(radius.value)
    } else if !(-0.05..=0.15).contains(&stretch.value) {
        Implausible::Stretch(stretch.value)
    } else if radius.value <= od / 2.0 {
        return Some(Refusal::InsideTube);
    } else {
        return None;
    };
    Some(Refusal::Implausible(found))
}
