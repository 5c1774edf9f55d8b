//! Several runs whose ways are to be found: they share the room.
//!
//! Each run first takes its best way as if the others were not there. Where two clash, the one that loses less by it
//! goes round the other, and keeps to that from then on: room that is asked for by many gets dearer. Only where this
//! does not settle are the runs taken one after the other. At the end each run looks for a better way among the
//! others as they are.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::problem::Problem;
use super::search::{Answer, Asked, Way, search};
use crate::centreline::LaidRun;
use crate::fit::Surroundings;
use crate::geometry::Vector3;
use crate::spec::model::{Component, Criterion, RunPath};

/// Rounds of going round each other, for each run.
const ROUNDS: usize = 4;

/// Most rounds in which every run looks for something better.
const BETTER_ROUNDS: usize = 3;

/// The room that runs share.
pub(super) struct Room<'a> {
    pub(super) components: &'a [Component],
    /// Runs that have their ways.
    pub(super) fixed: &'a [LaidRun],
    /// Linear programmes for each search.
    pub(super) effort: usize,
    /// Ways to find for each run.
    pub(super) ways: usize,
}

/// The outcome for one run.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    /// The search among the ways that the others took, or among none where it has no way.
    pub(super) answer: Answer,
    /// The others, by their positions, that are in its way where it has none, though it would have one alone.
    pub(super) shut_out: bool,
}

/// The best ways of all runs together, in their order. `orders` are those of merit.
pub(super) fn together(problems: &[Problem<'_>], orders: &[&[Criterion]], room: &Room<'_>) -> Vec<Outcome> {
    let table = Table { problems, orders, room };
    let alone: Vec<Answer> = (0..problems.len()).into_par_iter().map(|run| table.find(run, &[])).collect();
    let has_way: Vec<bool> = alone.iter().map(|answer| !answer.ways.is_empty()).collect();
    let mut taken: Vec<Option<Way>> = alone.iter().map(|answer| answer.ways.first().cloned()).collect();
    if !table.settle(&mut taken) {
        taken = table.one_by_one(&has_way);
    }
    table.better(&mut taken);
    (0..problems.len())
        .into_par_iter()
        .zip(alone)
        .map(|(run, alone)| {
            let among = table.others(&taken, |other| other != run);
            let answer = if among.is_empty() { alone } else { table.find(run, &among) };
            Outcome { shut_out: has_way.get(run) == Some(&true) && answer.ways.is_empty(), answer }
        })
        .collect()
}

struct Table<'a> {
    problems: &'a [Problem<'a>],
    orders: &'a [&'a [Criterion]],
    room: &'a Room<'a>,
}

impl Table<'_> {
    /// The best ways of a run among the fixed ones and these.
    fn find(&self, run: usize, among: &[LaidRun]) -> Answer {
        let problem = &self.problems[run];
        let all: Vec<LaidRun> = self.room.fixed.iter().chain(among).cloned().collect();
        let kin: Vec<Vector3> = all.iter().flat_map(legs).collect();
        let surroundings = Surroundings::new(self.room.components, &all);
        let order = self.orders.get(run).copied().unwrap_or_default();
        search(
            problem,
            &surroundings,
            &Asked { ways: self.room.ways, effort: self.room.effort, order, kin: &kin },
        )
    }

    /// The runs that have a way and are wanted, as tubes in their places.
    fn others(&self, taken: &[Option<Way>], wanted: impl Fn(usize) -> bool) -> Vec<LaidRun> {
        let all = self.problems.iter().zip(taken).enumerate();
        all.filter(|(run, _)| wanted(*run))
            .filter_map(|(_, (problem, way))| Some(laid(problem, way.as_ref()?)))
            .collect()
    }

    /// Whether two ways come too near to each other.
    fn clash(&self, taken: &[Option<Way>], first: usize, second: usize) -> bool {
        let (Some(Some(way)), Some(Some(other))) = (taken.get(first), taken.get(second)) else {
            return false;
        };
        let wanted = |run: usize| self.problems[run].wishes.clearance;
        let there = [laid(&self.problems[second], other)];
        let surroundings = Surroundings::new(&[], &there);
        let wanted = wanted(first).max(wanted(second));
        !surroundings.breaches(self.problems[first].run, &way.line, &[], wanted).is_empty()
    }

    fn first_clash(&self, taken: &[Option<Way>]) -> Option<(usize, usize)> {
        let count = self.problems.len();
        (0..count)
            .flat_map(|first| (first + 1..count).map(move |second| (first, second)))
            .find(|(first, second)| self.clash(taken, *first, *second))
    }

    /// Lets runs that clash go round each other; whether no clash is left.
    fn settle(&self, taken: &mut [Option<Way>]) -> bool {
        let count = self.problems.len();
        let mut kept_to: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); count];
        for _ in 0..ROUNDS * count {
            let Some((first, second)) = self.first_clash(taken) else { return true };
            let round = |run: usize, other: usize| {
                let mut keeps = kept_to.get(run).cloned().unwrap_or_default();
                keeps.insert(other);
                let among = self.others(taken, |other| keeps.contains(&other));
                let way = self.find(run, &among).ways.into_iter().next()?;
                let loss = way.loss_to(taken.get(run)?.as_ref()?);
                Some((loss, run, other, way))
            };
            let yields = [round(first, second), round(second, first)];
            // The later of two that lose as much goes round.
            let best = yields.into_iter().flatten().min_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1)));
            let Some((_, run, other, way)) = best else { return false };
            if let (Some(keeps), Some(place)) = (kept_to.get_mut(run), taken.get_mut(run)) {
                keeps.insert(other);
                *place = Some(way);
            }
        }
        self.first_clash(taken).is_none()
    }

    /// Runs one after the other, each among those before: the order of the spec, then with another one first, until
    /// all have a way; else the order that leaves the fewest without.
    fn one_by_one(&self, has_way: &[bool]) -> Vec<Option<Way>> {
        let count = self.problems.len();
        let wanted = has_way.iter().filter(|has| **has).count();
        let mut best: Vec<Option<Way>> = vec![None; count];
        let mut most = 0;
        for begin in 0..count {
            let mut taken: Vec<Option<Way>> = vec![None; count];
            for run in std::iter::once(begin).chain((0..count).filter(|run| *run != begin)) {
                if has_way.get(run) == Some(&true) {
                    let among = self.others(&taken, |_| true);
                    let way = self.find(run, &among).ways.into_iter().next();
                    if let Some(place) = taken.get_mut(run) {
                        *place = way;
                    }
                }
            }
            let found = taken.iter().flatten().count();
            if found > most {
                (best, most) = (taken, found);
            }
            if most == wanted {
                break;
            }
        }
        best
    }

    /// Lets every run look for a better way among the others, as long as one finds it.
    fn better(&self, taken: &mut [Option<Way>]) {
        if self.problems.len() < 2 {
            return;
        }
        for _ in 0..BETTER_ROUNDS {
            let mut changed = false;
            for run in 0..self.problems.len() {
                let among = self.others(taken, |other| other != run);
                let Some(way) = self.find(run, &among).ways.into_iter().next() else { continue };
                let Some(place) = taken.get_mut(run) else { continue };
                if place.as_ref().is_none_or(|old| way.is_better_than(old)) {
                    *place = Some(way);
                    changed = true;
                }
            }
            if !changed {
                return;
            }
        }
    }
}

/// The run of a problem along a way.
fn laid(problem: &Problem<'_>, way: &Way) -> LaidRun {
    let mut run = problem.run.clone();
    run.path = RunPath::Corners(Vec::new());
    LaidRun { index: 0, run, formed: None, centreline: way.line.clone() }
}

fn legs(laid: &LaidRun) -> Vec<Vector3> {
    let line = &laid.centreline;
    std::iter::once(line.start_direction())
        .chain(line.bends().iter().map(|bend| bend.direction_out))
        .collect()
}
