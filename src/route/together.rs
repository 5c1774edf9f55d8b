//! Several runs whose ways are to be found: they share the room.
//!
//! Each run first takes its best way as if the others were not there. Where two clash, the one that loses less by it
//! goes round the other, and keeps to that from then on: room that is asked for by many gets dearer. Only where this
//! does not settle are the runs taken one after the other. At the end each run looks for a better way among the
//! others as they are.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::answer::{Answer, Asked, Proof, Way};
use super::merit::Rank;
use super::problem::Problem;
use super::roots::Roots;
use crate::centreline::LaidRun;
use crate::fit::Surroundings;
use crate::geometry::Vector3;
use crate::spec::model::{Component, Criterion, RunPath};

/// Rounds of going round each other, for each run.
const ROUNDS: usize = 4;

/// Most rounds in which every run looks for something better. Each change makes one run better and none worse, so they
/// come to an end by themselves; mostly in the second.
const BETTER_ROUNDS: usize = 8;

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
    /// Whether it has no way among the others, though it would have one alone.
    pub(super) shut_out: bool,
}

/// The best ways of all runs together, in their order. `orders` are those of merit.
pub(super) fn together(problems: &[Problem<'_>], orders: &[&[Criterion]], room: &Room<'_>) -> Vec<Outcome> {
    let roots = problems.iter().map(Roots::of).collect();
    let table = Table { roots, orders, room, kin: directions(room.fixed).collect() };
    let ways = if problems.len() == 1 { room.ways } else { 1 };
    let alone: Vec<Answer> =
        (0..problems.len()).into_par_iter().map(|run| table.find(run, &[], (ways, None))).collect();
    if problems.len() == 1 {
        return alone.into_iter().map(|answer| Outcome { answer, shut_out: false }).collect();
    }
    let mut taken: Vec<Option<Way>> = alone.iter().map(|answer| answer.ways.first().cloned()).collect();
    let has_way: Vec<bool> = taken.iter().map(Option::is_some).collect();
    if !table.settle(&mut taken) {
        taken = table.one_by_one(&has_way);
    }
    let mut answers = table.better(&mut taken, &alone);
    if room.ways > 1 {
        answers.par_iter_mut().enumerate().for_each(|(run, answer)| table.add_others(run, &taken, answer));
    }
    let outcome = |(answer, had): (Answer, bool)| Outcome { shut_out: had && answer.ways.is_empty(), answer };
    answers.into_iter().zip(has_way).map(outcome).collect()
}

struct Table<'a> {
    roots: Vec<Roots<'a>>,
    orders: &'a [&'a [Criterion]],
    room: &'a Room<'a>,
    /// Directions of the fixed lines.
    kin: Vec<Vector3>,
}

impl Table<'_> {
    /// So many best ways of a run among the fixed ones and these, better than the given rank.
    fn find(&self, run: usize, among: &[LaidRun], (ways, below): (usize, Option<Rank>)) -> Answer {
        let all: Vec<LaidRun> = self.room.fixed.iter().chain(among).cloned().collect();
        let kin: Vec<Vector3> = self.kin.iter().copied().chain(directions(among)).collect();
        let roots = &self.roots[run];
        let components = roots.problem.all_of(self.room.components);
        let surroundings = Surroundings::new(&components, &all);
        let order = self.orders.get(run).copied().unwrap_or_default();
        let asked = Asked { ways, effort: self.room.effort, order, kin: &kin, below };
        roots.search(&surroundings, &asked)
    }

    /// The best ways of a run among those that the others take.
    fn among(&self, run: usize, taken: &[Option<Way>], ways: usize) -> Answer {
        self.find(run, &self.others(taken, |other| other != run), (ways, None))
    }

    /// Adds further ways, among those that the others take, to the one that a run takes.
    fn add_others(&self, run: usize, taken: &[Option<Way>], answer: &mut Answer) {
        let Some(first) = answer.ways.first().cloned() else { return };
        let alike = self.roots[run].problem.alike();
        let more = self.among(run, taken, self.room.ways).ways;
        answer.ways.extend(more.into_iter().filter(|way| !way.is_like(&first.corners, alike)));
        answer.ways.truncate(self.room.ways);
    }

    /// The runs that have a way and are wanted, as tubes in their places.
    fn others(&self, taken: &[Option<Way>], wanted: impl Fn(usize) -> bool) -> Vec<LaidRun> {
        let all = self.roots.iter().zip(taken).enumerate();
        all.filter(|(run, _)| wanted(*run))
            .filter_map(|(_, (roots, way))| Some(laid(&roots.problem, way.as_ref()?)))
            .collect()
    }

    /// Whether two ways come too near to each other.
    fn clash(&self, taken: &[Option<Way>], first: usize, second: usize) -> bool {
        let (Some(Some(way)), Some(Some(other))) = (taken.get(first), taken.get(second)) else {
            return false;
        };
        let [one, two] = [first, second].map(|run| &*self.roots[run].problem);
        let surroundings = Surroundings::new(&[], &[laid(two, other)]);
        let wanted = one.wishes.clearance.max(two.wishes.clearance);
        !surroundings.breaches(one.run, &way.line, &[], wanted).is_empty()
    }

    fn first_clash(&self, taken: &[Option<Way>]) -> Option<(usize, usize)> {
        let count = self.roots.len();
        (0..count)
            .flat_map(|first| (first + 1..count).map(move |second| (first, second)))
            .find(|(first, second)| self.clash(taken, *first, *second))
    }

    /// Lets runs that clash go round each other; whether no clash is left.
    fn settle(&self, taken: &mut [Option<Way>]) -> bool {
        let count = self.roots.len();
        let mut kept_to: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); count];
        for _ in 0..ROUNDS * count {
            let Some((first, second)) = self.first_clash(taken) else { return true };
            let round = |run: usize, other: usize| {
                let mut keeps = kept_to.get(run).cloned().unwrap_or_default();
                keeps.insert(other);
                let among = self.others(taken, |other| keeps.contains(&other));
                let way = self.find(run, &among, (1, None)).ways.into_iter().next()?;
                let loss = way.loss_to(taken.get(run)?.as_ref()?);
                Some((loss, run, other, way))
            };
            let (one, two) = rayon::join(|| round(first, second), || round(second, first));
            // The later of two that lose as much goes round.
            let best = [one, two].into_iter().flatten().min_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1)));
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
        let count = self.roots.len();
        let wanted = has_way.iter().filter(|has| **has).count();
        let found = |taken: &Vec<Option<Way>>| taken.iter().flatten().count();
        // Mostly the order of the spec will do.
        let first = self.in_order(0, has_way);
        if found(&first) == wanted {
            return first;
        }
        let others: Vec<Vec<Option<Way>>> =
            (1..count).into_par_iter().map(|begin| self.in_order(begin, has_way)).collect();
        // Of several that leave as few without, the earliest: an order that leaves none is among the best.
        std::iter::once(&first)
            .chain(&others)
            .rev()
            .max_by_key(|taken| found(taken))
            .cloned()
            .unwrap_or_default()
    }

    /// Runs one after the other, each among those before: one of them first, then the others in the order of the spec.
    fn in_order(&self, begin: usize, has_way: &[bool]) -> Vec<Option<Way>> {
        let count = self.roots.len();
        let mut taken: Vec<Option<Way>> = vec![None; count];
        for run in std::iter::once(begin).chain((0..count).filter(|run| *run != begin)) {
            if has_way.get(run) == Some(&true) {
                let way = self.among(run, &taken, 1).ways.into_iter().next();
                if let Some(place) = taken.get_mut(run) {
                    *place = way;
                }
            }
        }
        taken
    }

    /// Lets every run look for a better way among the others, as long as one finds it; the ways in the end, and how
    /// sure each of them is.
    fn better(&self, taken: &mut [Option<Way>], alone: &[Answer]) -> Vec<Answer> {
        let mut answers = alone.to_vec();
        // Runs one after the other that found nothing better among ways that did not change since.
        let mut settled = 0;
        for turn in 0..BETTER_ROUNDS * taken.len() {
            let run = turn % taken.len();
            let Some(alone) = alone.get(run) else { break };
            settled += 1;
            let old = taken.get(run).cloned().flatten();
            // Nothing is better than what a run takes without the others.
            let is_best = match (&old, alone.ways.first()) {
                (Some(way), Some(best)) => !best.is_better_than(way),
                (_, best) => best.is_none(),
            };
            let found = if is_best {
                alone.clone()
            } else {
                let among = self.others(taken, |other| other != run);
                self.find(run, &among, (1, old.as_ref().map(Way::rank)))
            };
            let is_better = |way: &&Way| old.as_ref().is_none_or(|old| way.is_better_than(old));
            let better = found.ways.first().filter(is_better).filter(|_| !is_best).cloned();
            if better.is_some() {
                settled = 1;
            }
            let way = better.or(old);
            if let (Some(place), Some(answer)) = (taken.get_mut(run), answers.get_mut(run)) {
                *answer = Answer { ways: way.clone().into_iter().collect(), ..found };
                *place = way;
            }
            if settled == taken.len() {
                return answers;
            }
        }
        // Answers from before the last change are not proven.
        for (answer, alone) in answers.iter_mut().zip(alone) {
            if let Some(best) = alone.ways.first() {
                answer.proof = Proof::Open { bends: best.corners.len(), length: best.line.length() };
            }
        }
        answers
    }
}

/// The directions of all straights of these runs.
fn directions(runs: &[LaidRun]) -> impl Iterator<Item = Vector3> {
    runs.iter().flat_map(|laid| laid.centreline.directions())
}

/// The run of a problem along a way.
pub(super) fn laid(problem: &Problem<'_>, way: &Way) -> LaidRun {
    let mut run = problem.run.clone();
    run.path = RunPath::Corners(Vec::new());
    LaidRun { index: 0, run, formed: None, centreline: way.line.clone() }
}
