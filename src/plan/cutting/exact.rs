//! The best packing of few pieces, or of many that are of few sizes.

use super::problem::{Packing, Problem};
use super::search::Search;
use super::sets::Sets;
use super::table::{MOST_STOCK, Table};
use super::{bound, heuristic};

/// Most leftovers of which every choice is tried.
const MOST_LEFTOVERS: usize = 14;
/// Steps to search whether one choice of leftovers will do, and for all of them together.
const STEPS: usize = 200_000;
const ALL_STEPS: usize = 4_000_000;
/// Choices that are decided by a table where a search is too long: all there are of three leftovers.
const TABLES: usize = 8;
/// Most equally good sets of runs that are looked at.
const MOST_TARGETS: usize = 1000;

/// A best packing.
#[derive(Debug)]
pub(super) struct Solution {
    pub(super) packing: Packing,
    /// New pieces that all runs would need, if new pieces are long enough.
    pub(super) new_for_all: Option<usize>,
    /// Whether no better one is possible.
    pub(super) proven: bool,
}

/// What to place, before it is settled which leftovers to cut into.
struct Goal {
    /// Sets of runs, each as good as the others.
    targets: Vec<usize>,
    /// New pieces they need beside all leftovers.
    new: usize,
    /// Leftovers, by position among the useful ones, that do beside these.
    leftovers: Vec<usize>,
    new_for_all: Option<usize>,
}

/// Solves a problem; `None` where it has too many different pieces.
pub(super) fn solve(problem: &Problem) -> Option<Solution> {
    let sets = Sets::new(problem)?;
    // Useful leftovers, shortest first.
    let shortest = problem.pieces.iter().min().copied().unwrap_or(0);
    let mut useful: Vec<usize> =
        (0..problem.leftovers.len()).filter(|at| problem.leftovers[*at] >= shortest).collect();
    useful.sort_by_key(|at| problem.leftovers[*at]);
    if useful.len() + problem.pieces.len() > MOST_STOCK {
        return None;
    }
    let goal = all_at_once(problem, &sets, &useful).unwrap_or_else(|| by_table(problem, &sets, &useful));
    let mut choice =
        Choice { problem, sets: &sets, useful: &useful, goal: &goal, steps: ALL_STEPS, tables: TABLES };
    let (chosen, proven) = choice.of_leftovers();
    let chosen: Vec<usize> = chosen.into_iter().map(|at| useful[at]).collect();
    // With the stock settled, the end of the last one that is as early as can be.
    let table = Table::new(&sets, capacities(problem, &chosen, goal.new));
    let target = goal.targets.iter().copied().min_by_key(|set| table.order(*set)).unwrap_or(0);
    let mut cuts = table.cuts(target);
    let mut packing = Packing { leftovers: vec![Vec::new(); problem.leftovers.len()], new: Vec::new() };
    packing.new = cuts.split_off(chosen.len());
    for (at, cuts) in chosen.into_iter().zip(cuts) {
        packing.leftovers[at] = cuts;
    }
    let proven = proven && goal.targets.len() < MOST_TARGETS;
    // Where not every choice of leftovers was looked at, the rules may have found a better one.
    if !proven {
        let other = heuristic::solve(problem);
        if problem.score(&other) < problem.score(&packing) {
            packing = other;
        }
    }
    Some(Solution { packing, new_for_all: goal.new_for_all, proven })
}

/// Capacities of these leftovers, then of `new` new pieces.
fn capacities(problem: &Problem, leftovers: &[usize], new: usize) -> Vec<u64> {
    let leftovers = leftovers.iter().map(|at| problem.leftovers[*at]);
    leftovers.chain(std::iter::repeat_n(problem.new, new)).collect()
}

/// All runs on as few new pieces as the bound says, if a rule finds room: the usual case.
fn all_at_once(problem: &Problem, sets: &Sets, useful: &[usize]) -> Option<Goal> {
    let packing = heuristic::solve(problem);
    let least = bound::new_pieces(problem, problem.pieces.len());
    if !problem.unplaced(&packing).is_empty() || packing.new.len() > least {
        return None;
    }
    let leftovers = (0..useful.len()).filter(|at| !packing.leftovers[useful[*at]].is_empty()).collect();
    Some(Goal { targets: vec![sets.all()], new: least, leftovers, new_for_all: Some(least) })
}

/// As many runs as possible, with all leftovers and then new pieces to cut.
fn by_table(problem: &Problem, sets: &Sets, useful: &[usize]) -> Goal {
    let table = Table::new(sets, capacities(problem, useful, problem.pieces.len()));
    let new = |set: usize| table.needs(set).map(|stock| stock.saturating_sub(useful.len()));
    let targets = targets(sets, |set| new(set).filter(|new| *new <= problem.new_count));
    let cuts = table.cuts(targets[0]);
    Goal {
        new: new(targets[0]).unwrap_or(0),
        leftovers: (0..useful.len()).filter(|at| !cuts[*at].is_empty()).collect(),
        new_for_all: new(sets.all()),
        targets,
    }
}

/// The sets with the most pieces, of these the longest, of these those that need the fewest new
/// pieces; `new` tells how many, `None` for a set there is not enough stock for.
fn targets(sets: &Sets, new: impl Fn(usize) -> Option<usize>) -> Vec<usize> {
    let mut best = (0, 0, 0);
    let mut found = vec![0];
    sets.each(|set, digits| {
        let pieces = digits.iter().sum::<usize>();
        if pieces < best.0 {
            return;
        }
        let Some(new) = new(set) else { return };
        let score = (pieces, sets.size(set), usize::MAX - new);
        if score > best {
            best = score;
            found.clear();
        }
        if score == best && found.len() < MOST_TARGETS {
            found.push(set);
        }
    });
    found
}

/// The choice of the leftovers to cut into, with the number of new pieces settled.
struct Choice<'p> {
    problem: &'p Problem,
    sets: &'p Sets,
    useful: &'p [usize],
    goal: &'p Goal,
    /// Steps left to search.
    steps: usize,
    /// Tables left to make.
    tables: usize,
}

impl Choice<'_> {
    /// The leftovers of the least length that do, and whether none less do.
    fn of_leftovers(&mut self) -> (Vec<usize>, bool) {
        let fallback = &self.goal.leftovers;
        if fallback.is_empty() {
            return (Vec::new(), true);
        }
        if self.useful.len() > MOST_LEFTOVERS {
            return (self.fewer(), false);
        }
        let mut proven = true;
        for chosen in self.choices() {
            if chosen == *fallback {
                return (chosen, proven);
            }
            match self.does(&chosen) {
                Some(true) => return (chosen, proven),
                Some(false) => {}
                None => proven = false,
            }
        }
        (fallback.clone(), proven)
    }

    /// Every choice of leftovers that is long enough, by its length; of equal leftovers, the first ones.
    fn choices(&self) -> Vec<Vec<usize>> {
        let length = |at: usize| self.problem.leftovers[self.useful[at]] - self.problem.kerf;
        let least = self.goal.targets.iter().map(|target| self.sets.size(*target)).min().unwrap_or(0);
        let mut choices: Vec<(u64, Vec<usize>)> = (0..1usize << self.useful.len())
            .map(|bits| (0..self.useful.len()).filter(|at| bits >> at & 1 == 1).collect())
            .filter(|chosen: &Vec<usize>| {
                let first =
                    |at: &usize| *at == 0 || length(*at) != length(at - 1) || chosen.contains(&(at - 1));
                chosen.iter().all(first) && self.stock(chosen).iter().sum::<u64>() >= least
            })
            .map(|chosen| (chosen.iter().map(|at| length(*at)).sum(), chosen))
            .collect();
        choices.sort();
        choices.into_iter().map(|(_, chosen)| chosen).collect()
    }

    /// Whether a target fits; `None` where there are no steps left to find out.
    fn does(&mut self, chosen: &[usize]) -> Option<bool> {
        let stock = self.stock(chosen);
        if heuristic::fits(&self.sets.sizes(self.goal.targets[0]), &stock) {
            return Some(true);
        }
        let mut steps = STEPS.min(self.steps);
        self.steps -= steps;
        let mut decided = Some(false);
        for target in &self.goal.targets {
            decided = Search::fits(self.sets, *target, stock.clone(), &mut steps);
            if decided != Some(false) {
                break;
            }
        }
        self.steps += steps;
        if decided.is_none() {
            self.tables = self.tables.checked_sub(1)?;
            let table = Table::new(self.sets, stock);
            decided = Some(self.goal.targets.iter().any(|target| table.needs(*target).is_some()));
        }
        decided
    }

    /// The choice that does, without what is not needed; longest tried first.
    fn fewer(&self) -> Vec<usize> {
        let mut chosen = self.goal.leftovers.clone();
        for at in self.goal.leftovers.iter().rev() {
            let without: Vec<usize> = chosen.iter().copied().filter(|other| other != at).collect();
            if heuristic::fits(&self.sets.sizes(self.goal.targets[0]), &self.stock(&without)) {
                chosen = without;
            }
        }
        chosen
    }

    fn stock(&self, chosen: &[usize]) -> Vec<u64> {
        let chosen: Vec<usize> = chosen.iter().map(|at| self.useful[*at]).collect();
        capacities(self.problem, &chosen, self.goal.new)
    }
}
