//! The next thing to do with a bent tube, and how sure it is that the tube then goes in.

use super::estimate::{Estimate, estimate};
use super::limits::{Reach, reach};
use super::made::Making;
use super::onwards::{Begun, Left, Onwards};
use super::replan::{Replanned, replan};
use super::rework::{Change, Finished, Rework};
use super::seat::{BentTube, Miss, Seat};
use super::tube::Made;
use crate::centreline::{LaidRun, Layout};
use crate::chance::Chance;
use crate::formula::normal::REACH_95;
use crate::plan::{BendPlan, Plan, RunPlan};
use crate::spec::model::{Fitting, Readings, Uncertainty};

/// Tubes drawn for how likely one goes in.
const TRIED: usize = 400;

/// A tube that goes in with this probability needs nothing more.
const SURE: f64 = 0.8;

/// A way with more changes must make it so much more likely that the tube goes in.
const WORTH: f64 = 0.15;

/// Straight tube that is kept clear of a bend where the rest is cut off for another run, in outside diameters (common
/// practice, no source).
const CLEAR_OF_BEND: f64 = 1.0;

/// A bent tube beside its plan, and the next thing to do with it.
#[derive(Debug, Clone)]
pub struct Correction {
    /// How its bends were to be made.
    pub making: Making,
    /// The most likely tube.
    pub estimate: Estimate,
    /// The advice.
    pub advice: Advice,
}

/// The next thing to do.
#[derive(Debug, Clone)]
pub enum Advice {
    /// An end of the run has no port: nothing says where it should be.
    NoPorts,
    /// Of a tube all of whose bends are made.
    Finished(Mending),
    /// Of a tube with bends that are still to be made.
    Begun(GoingOn),
}

/// A finished tube and the ways to make it fit.
#[derive(Debug, Clone)]
pub struct Mending {
    /// The seat of the run.
    pub seat: Seat,
    /// The tube as it is with its ends cut, then the ways with one change and more, each better than the one before.
    pub ways: Vec<Mended>,
    /// The one to take, by its position; none where the tube is scrap.
    pub take: Option<usize>,
    /// The tube after it, planned and held against its surroundings.
    pub taken: Option<Replanned>,
    /// How far the tube's last end is off as it was bent, its ends cut as planned.
    pub as_made: Miss,
    /// Straight tube that can be used again where it is scrap.
    pub rest: Rest,
}

/// A finished tube after some changes.
#[derive(Debug, Clone)]
pub struct Mended {
    /// The changes and the tube.
    pub rework: Rework,
    /// How likely it goes in then, 0 to 1.
    pub goes_in: f64,
}

/// A half-bent tube and the way on.
#[derive(Debug, Clone)]
pub struct GoingOn {
    /// The seat of the run.
    pub seat: Seat,
    /// The way on.
    pub onwards: Onwards,
    /// How likely the tube goes in then, 0 to 1.
    pub goes_in: f64,
    /// Whether what fittings forgive is enough.
    pub fits: bool,
    /// The tube as it is then to be, planned and held against its surroundings: the operations of the bends that are
    /// left are the new ones.
    pub planned: Option<Replanned>,
    /// Straight tube that can be used again where it does not.
    pub rest: Rest,
}

/// Straight tube that is left of a scrapped one.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Its length, mm.
    pub length: f64,
    /// The other runs of the same tube that can be cut from it, the longest first.
    pub runs: Vec<String>,
}

/// Corrects the tube of a run. `may_twist` lets straights be twisted; `None` where there is no such run.
pub fn correct(
    layout: &Layout,
    plan: &Plan,
    run: &str,
    readings: &Readings,
    may_twist: bool,
) -> Option<Correction> {
    let laid = layout.runs.iter().find(|laid| laid.run.name == run)?;
    let run = plan.run(run)?;
    let making = Making::new(laid, run, &layout.uncertainty, readings);
    let estimate = estimate(&making, &readings.all);
    let case = Case {
        layout,
        laid,
        run,
        plan,
        uncertainty: &layout.uncertainty,
        making: &making,
        estimate: &estimate,
    };
    let advice = match Seat::of(laid, run) {
        None => Advice::NoPorts,
        Some(seat) if making.is_whole() => Advice::Finished(case.mending(seat, may_twist)),
        Some(seat) => Advice::Begun(case.going_on(seat)),
    };
    Some(Correction { making, estimate, advice })
}

struct Case<'c> {
    layout: &'c Layout,
    laid: &'c LaidRun,
    run: &'c RunPlan,
    plan: &'c Plan,
    uncertainty: &'c Uncertainty,
    making: &'c Making,
    estimate: &'c Estimate,
}

impl Case<'_> {
    /// The plans of the bends in the order they are made.
    fn bends(&self) -> impl Iterator<Item = &BendPlan> {
        self.run.in_order(self.making.from()).map(|(bend, _)| bend)
    }

    /// The least straight at the first and the last end, mm: in the fitting and where its seal lies.
    fn least_straights(&self) -> [f64; 2] {
        let ends = [&self.laid.run.from, &self.laid.run.to];
        let least = ends.map(|end| {
            end.as_ref()
                .map_or(0.0, |end| end.insert() + end.fitting.as_ref().map_or(0.0, Fitting::straight_outside))
        });
        if self.making.from() == crate::plan::FromEnd::Datum { least } else { [least[1], least[0]] }
    }

    fn mending(&self, seat: Seat, may_twist: bool) -> Mending {
        let made = &self.estimate.made;
        let most = self.laid.run.bender.max_angle;
        let reaches: Vec<Reach> = (self.bends().zip(&made.rows))
            .map(|(bend, row)| reach(row.angle, bend.outer_strain, bend.elongation, most))
            .collect();
        let least = self.least_straights();
        let first = made.rows.first().map_or(made.rest - least[1], |row| row.length);
        let cuts = [(first - least[0]).max(0.0), (made.rest - least[1]).max(0.0)];
        let finished = Finished { seat: &seat, tube: self.tube(made), reaches, cuts, may_twist };
        let ways: Vec<Mended> = finished
            .ways()
            .into_iter()
            .map(|rework| Mended { goes_in: self.mended_goes_in(&seat, &rework), rework })
            .collect();
        let take = taken(&ways);
        let planned = |way: &Mended| {
            let rework = &way.rework;
            replan(self.layout, self.laid, self.making.from(), (&seat, &rework.tube, rework.roll))
        };
        let taken = take.and_then(|take| planned(ways.get(take)?));
        let as_made = seat.miss(&self.tube(made), 0.0);
        let rest = self.rest(made);
        Mending { seat, ways, take, taken, as_made, rest }
    }

    /// A tube before its ends are cut as planned.
    fn tube(&self, made: &Made) -> BentTube {
        let trimmed = self.run.allowances(self.making.from());
        BentTube { rows: made.rows.clone(), rest: made.rest, trimmed }
    }

    /// How likely a tube goes in after these changes, which are made as exactly as anything at the bench.
    fn mended_goes_in(&self, seat: &Seat, rework: &Rework) -> f64 {
        let mut chance = Chance::new(SEED);
        let of_angle = self.uncertainty.angle(self.run.bender.calibrated) / REACH_95;
        let of_turn = self.uncertainty.turn / REACH_95;
        let mut is_in = |deviations: &Vec<f64>| {
            let made = self.making.made(deviations);
            let mut tube = BentTube { rows: made.rows, rest: made.rest, trimmed: rework.tube.trimmed };
            for change in &rework.changes {
                let off = chance.normal();
                match *change {
                    Change::Bend(index, by) => {
                        super::rework::rebend(&mut tube, index, by);
                        if let Some(row) = tube.rows.get_mut(index) {
                            row.angle += off * of_angle;
                        }
                    }
                    Change::Twist(index, by) => {
                        if let Some(row) = tube.rows.get_mut(index) {
                            row.rotation += by + off * of_turn;
                        }
                    }
                }
            }
            seat.takes(&seat.miss(&tube, rework.roll))
        };
        let draws = self.estimate.draws(TRIED);
        let count = draws.len().max(1) as f64;
        draws.iter().filter(|deviations| is_in(deviations)).count() as f64 / count
    }

    fn going_on(&self, seat: Seat) -> GoingOn {
        let made = &self.estimate.made;
        let done = made.rows.len();
        let from = self.making.from();
        let line = match from {
            crate::plan::FromEnd::Datum => self.laid.centreline.clone(),
            crate::plan::FromEnd::Other => self.laid.centreline.reversed(),
        };
        let stretches = crate::bench::Tool::as_planned(self.run);
        let bender = &self.laid.run.bender;
        let planned = line.table();
        let left: Vec<Left> = (self.bends().zip(&planned).skip(done))
            .map(|(bend, row)| {
                let stretch = bend
                    .number
                    .checked_sub(1)
                    .and_then(|at| stretches.forms.get(at))
                    .map_or(0.0, |f| f.stretch);
                // The plan may itself have less than the bender grips, where it said so.
                Left { planned: *row, least: bender.grip.min(row.length), most: bender.max_angle, stretch }
            })
            .collect();
        let [first_least, last_least] = self.least_straights();
        let first = made.rows.first().map_or(0.0, |row| row.length);
        let end = line.end_straight();
        let begun = Begun {
            seat: &seat,
            made: made.rows.clone(),
            behind: made.rest,
            first_cut: self.run.allowances(from)[0],
            most_cut: (first - first_least).max(0.0),
            left,
            last: [end, last_least.max(bender.lead_out.min(end))],
        };
        let onwards = begun.onwards();
        let goes_in = self.onwards_goes_in(&seat, &onwards);
        let fits = onwards.needs <= 1.0;
        let planned = replan(self.layout, self.laid, from, (&seat, &onwards.tube, onwards.roll));
        let rest = self.rest(made);
        GoingOn { seat, onwards, goes_in, fits, planned: planned.filter(|_| fits), rest }
    }

    /// How likely a half-bent tube goes in once the other bends are made, as exactly as anything at the bench.
    fn onwards_goes_in(&self, seat: &Seat, onwards: &Onwards) -> f64 {
        let mut chance = Chance::new(SEED);
        let done = self.estimate.made.rows.len();
        let bands: Vec<f64> = self
            .bends()
            .map(|bend| {
                let angle = self.uncertainty.angle(self.run.bender.calibrated);
                angle.max(bend.springback_band.unwrap_or(0.0)) / REACH_95
            })
            .collect();
        let (mark, turn) = (self.uncertainty.mark / REACH_95, self.uncertainty.turn / REACH_95);
        let mut is_in = |deviations: &Vec<f64>| {
            let mut tube = onwards.tube.clone();
            let made = self.making.made(deviations);
            tube.rows.iter_mut().zip(&made.rows).for_each(|(row, real)| *row = *real);
            let mut last = 0.0;
            for (row, band) in tube.rows.iter_mut().zip(&bands).skip(done) {
                let marked = chance.normal() * mark;
                row.length += marked - last;
                row.rotation += chance.normal() * turn;
                row.angle += chance.normal() * band;
                last = marked;
            }
            seat.takes(&seat.miss(&tube, onwards.roll))
        };
        let draws = self.estimate.draws(TRIED);
        let count = draws.len().max(1) as f64;
        draws.iter().filter(|deviations| is_in(deviations)).count() as f64 / count
    }

    /// The straight behind the last bend, and the runs that can be cut from it.
    fn rest(&self, made: &Made) -> Rest {
        let length = (made.rest - CLEAR_OF_BEND * self.run.tube.od).max(0.0);
        let is_alike = |other: &&RunPlan| {
            other.name != self.run.name && other.tube == self.run.tube && other.cut_length <= length
        };
        let mut fitting: Vec<&RunPlan> = self.plan.runs.iter().filter(is_alike).collect();
        fitting.sort_by(|a, b| b.cut_length.total_cmp(&a.cut_length));
        Rest { length, runs: fitting.into_iter().map(|run| run.name.clone()).collect() }
    }
}

/// Tubes are drawn alike each time.
const SEED: u64 = 0x7E57_B3D5;

/// The way to take: the first that is sure; else the likeliest of those that go in, unless fewer changes are nearly as
/// likely.
fn taken(ways: &[Mended]) -> Option<usize> {
    let go_in: Vec<(usize, &Mended)> =
        ways.iter().enumerate().filter(|(_, way)| way.rework.needs <= 1.0).collect();
    if let Some((index, _)) = go_in.iter().find(|(_, way)| way.goes_in >= SURE) {
        return Some(*index);
    }
    let mut best: Option<(usize, f64)> = None;
    for (index, way) in go_in {
        if best.is_none_or(|(_, known)| way.goes_in > known + WORTH) {
            best = Some((index, way.goes_in));
        }
    }
    best.map(|(index, _)| index)
}
