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
/// Tables made to find the longest rest, and to decide choices where a search is too long.
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
struct Goal<'s> {
    /// Sets of runs, each as good as the others.
    targets: Vec<usize>,
    /// New pieces they need beside all leftovers.
    new: usize,
    new_for_all: Option<usize>,
    /// All useful leftovers, then new pieces, filled in that order.
    table: Table<'s>,
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
    let mut choice = Choice {
        problem,
        sets: &sets,
        useful: &useful,
        goal: &goal,
        rest: 0,
        steps: ALL_STEPS,
        tables: TABLES,
    };
    let (fallback, rest_proven) = choice.longest_rest();
    let (stock, choice_proven) = choice.of_leftovers(&fallback);
    let proven = rest_proven && choice_proven && goal.targets.len() < MOST_TARGETS;
    let mut packing = choice.cut(&stock);
    // Where not everything was looked at, the rules may have found better.
    if !proven {
        let other = heuristic::solve(problem);
        if problem.score(&other) < problem.score(&packing) {
            packing = other;
        }
    }
    Some(Solution { packing, new_for_all: goal.new_for_all, proven })
}

/// Capacities of all useful leftovers, then of `new` new pieces.
fn capacities(problem: &Problem, useful: &[usize], new: usize) -> Vec<u64> {
    let leftovers = useful.iter().map(|at| problem.leftovers[*at]);
    leftovers.chain(std::iter::repeat_n(problem.new, new)).collect()
}

/// All runs on as few new pieces as the bound says, if a rule finds room: the usual case.
fn all_at_once<'s>(problem: &Problem, sets: &'s Sets, useful: &[usize]) -> Option<Goal<'s>> {
    let packing = heuristic::solve(problem);
    let least = bound::new_pieces(problem, problem.pieces.len());
    if !problem.unplaced(&packing).is_empty() || packing.new.len() > least {
        return None;
    }
    let table = Table::new(sets, capacities(problem, useful, least));
    Some(Goal { targets: vec![sets.all()], new: least, new_for_all: Some(least), table })
}

/// As many runs as possible, with all leftovers and then new pieces to cut.
fn by_table<'s>(problem: &Problem, sets: &'s Sets, useful: &[usize]) -> Goal<'s> {
    let table = Table::new(sets, capacities(problem, useful, problem.pieces.len()));
    let new = |set: usize| table.needs(set).map(|stock| stock.saturating_sub(useful.len()));
    let targets = targets(sets, |set| new(set).filter(|new| *new <= problem.new_count));
    let fewest = targets.first().and_then(|target| new(*target)).unwrap_or(0);
    Goal { new: fewest, new_for_all: new(sets.all()), targets, table }
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

/// A piece of stock to cut from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Piece {
    /// A useful leftover, by its position among them.
    Old(usize),
    /// A new piece.
    New,
}

/// Pieces of stock with the capacity that may be cut of each.
type Selection = Vec<(Piece, u64)>;

/// The choice of the leftovers to cut into, with the number of new pieces settled.
struct Choice<'p> {
    problem: &'p Problem,
    sets: &'p Sets,
    useful: &'p [usize],
    goal: &'p Goal<'p>,
    /// The longest rest in one piece that is to be kept.
    rest: u64,
    /// Steps left to search.
    steps: usize,
    /// Tables left to make.
    tables: usize,
}

impl Choice<'_> {
    /// Finds the longest rest there can be in one piece; leftovers that do for it, and whether no rest is longer.
    ///
    /// The piece that keeps it is the last to be filled: the least fill of it is what a table ends with.
    fn longest_rest(&mut self) -> (Vec<usize>, bool) {
        let all: Vec<usize> = (0..self.useful.len()).collect();
        let table = &self.goal.table;
        let target = self.earliest(table);
        let mut fallback = begun(&table.cuts(target), &all);
        let useless = (0..self.problem.leftovers.len()).filter(|at| !self.useful.contains(at));
        self.rest = useless.map(|at| self.problem.rest(self.problem.leftovers[at], 0)).max().unwrap_or(0);
        if self.goal.new > 0 {
            self.rest = self.rest.max(self.problem.rest(self.problem.new, table.fill(target)));
        }
        // Whatever is done, one of these is not begun.
        let spared = all.iter().filter(|at| !fallback.contains(at)).map(|at| self.whole(*at)).max();
        self.rest = self.rest.max(spared.unwrap_or(0));
        let room: u64 = capacities(self.problem, self.useful, self.goal.new).iter().sum();
        let room = self.problem.rest(room, self.least_size());
        for keeper in all.iter().rev().copied() {
            let longer = all.get(keeper + 1).is_some_and(|next| self.whole(*next) == self.whole(keeper));
            if longer || self.whole(keeper).min(room) <= self.rest {
                continue;
            }
            let others: Vec<usize> = all.iter().copied().filter(|at| *at != keeper).collect();
            let without = self.plain(&others);
            if self.heuristic_fits(&without) {
                (self.rest, fallback) = (self.whole(keeper), others);
                continue;
            }
            let Some(tables) = self.tables.checked_sub(1) else { return (fallback, false) };
            self.tables = tables;
            let capacity = self.problem.leftovers[self.useful[keeper]];
            let mut stock: Vec<u64> = without.iter().map(|(_, capacity)| *capacity).collect();
            stock.push(capacity);
            let table = Table::new(self.sets, stock);
            let target = self.earliest(&table);
            let is_begun = table.needs(target) == Some(without.len() + 1);
            let rest = self.problem.rest(capacity, if is_begun { table.fill(target) } else { 0 });
            if rest > self.rest {
                (self.rest, fallback) = (rest, if is_begun { all.clone() } else { others });
            }
        }
        (fallback, true)
    }

    /// The target that ends earliest in a table.
    fn earliest(&self, table: &Table<'_>) -> usize {
        self.goal.targets.iter().copied().min_by_key(|set| table.order(*set)).unwrap_or(0)
    }

    /// Length of a useful leftover.
    fn whole(&self, at: usize) -> u64 {
        self.problem.rest(self.problem.leftovers[self.useful[at]], 0)
    }

    /// The smallest size of a target: they are all of one, but for none at all.
    fn least_size(&self) -> u64 {
        self.goal.targets.iter().map(|target| self.sets.size(*target)).min().unwrap_or(0)
    }

    /// The fewest leftovers that do with the longest rest kept, of these the shortest; and whether none fewer do.
    fn of_leftovers(&mut self, fallback: &[usize]) -> (Selection, bool) {
        if self.useful.len() > MOST_LEFTOVERS {
            return (self.fewer(fallback), false);
        }
        let mut proven = true;
        for chosen in self.choices() {
            if self.steps == 0 && self.tables == 0 {
                break;
            }
            for selection in self.selections(&chosen) {
                match self.does(&selection) {
                    Some(true) => return (selection, proven),
                    Some(false) => {}
                    None => proven = false,
                }
            }
        }
        // Steps and tables did not suffice to find what is known to be there.
        (self.fewer(fallback), false)
    }

    /// Every choice of leftovers that is long enough: by how many they are, then by their length; of equal
    /// leftovers, the first ones.
    fn choices(&self) -> Vec<Vec<usize>> {
        let mut choices: Vec<(usize, u64, Vec<usize>)> = (0..1usize << self.useful.len())
            .map(|bits| (0..self.useful.len()).filter(|at| bits >> at & 1 == 1).collect())
            .filter(|chosen: &Vec<usize>| {
                let first = |at: &usize| {
                    *at == 0 || self.whole(*at) != self.whole(at - 1) || chosen.contains(&(at - 1))
                };
                chosen.iter().all(first)
            })
            .map(|chosen| (chosen.len(), chosen.iter().map(|at| self.whole(*at)).sum(), chosen))
            .collect();
        choices.sort();
        choices.into_iter().map(|(_, _, chosen)| chosen).collect()
    }

    /// These leftovers and all new pieces, whole.
    fn plain(&self, chosen: &[usize]) -> Selection {
        let old = chosen.iter().map(|at| (Piece::Old(*at), self.problem.leftovers[self.useful[*at]]));
        old.chain(std::iter::repeat_n((Piece::New, self.problem.new), self.goal.new)).collect()
    }

    /// The ways in which these leftovers and the new pieces keep the longest rest, and have room for a target.
    fn selections(&self, chosen: &[usize]) -> Vec<Selection> {
        let plain = self.plain(chosen);
        let spared = (0..self.problem.leftovers.len())
            .filter(|at| !chosen.iter().any(|chosen| self.useful[*chosen] == *at))
            .any(|at| self.problem.rest(self.problem.leftovers[at], 0) >= self.rest);
        let mut ways = Vec::new();
        if spared || self.rest == 0 {
            ways.push(plain);
        } else {
            // One piece keeps it, and is filled last. Of equal pieces it does not matter which.
            let mut tried = Vec::new();
            for (at, (_, capacity)) in plain.iter().enumerate().rev() {
                let less = self.rest + self.problem.kerf;
                if *capacity <= less || tried.contains(capacity) {
                    continue;
                }
                tried.push(*capacity);
                let mut way = plain.clone();
                let (piece, capacity) = way.remove(at);
                way.push((piece, capacity - less));
                ways.push(way);
            }
        }
        let least = self.least_size();
        ways.retain(|way| way.iter().map(|(_, capacity)| capacity).sum::<u64>() >= least);
        ways
    }

    fn heuristic_fits(&self, selection: &Selection) -> bool {
        let Some(target) = self.goal.targets.first() else { return true };
        heuristic::fits(&self.sets.sizes(*target), &stock(selection))
    }

    /// Whether a target fits; `None` where there are no steps left to find out.
    fn does(&mut self, selection: &Selection) -> Option<bool> {
        if self.heuristic_fits(selection) {
            return Some(true);
        }
        let mut steps = STEPS.min(self.steps);
        self.steps -= steps;
        let mut decided = Some(false);
        for target in &self.goal.targets {
            decided = Search::fits(self.sets, *target, stock(selection), &mut steps);
            if decided != Some(false) {
                break;
            }
        }
        self.steps += steps;
        if decided.is_none() {
            self.tables = self.tables.checked_sub(1)?;
            let table = Table::new(self.sets, stock(selection));
            decided = Some(self.goal.targets.iter().any(|target| table.needs(*target).is_some()));
        }
        decided
    }

    /// A choice that does, without what is not needed as far as the rules can tell; longest tried first.
    fn fewer(&self, fallback: &[usize]) -> Selection {
        let fitting = |chosen: &[usize]| {
            self.selections(chosen).into_iter().find(|selection| self.heuristic_fits(selection))
        };
        let mut chosen = fallback.to_vec();
        let mut found = fitting(&chosen);
        for at in fallback.iter().rev() {
            let without: Vec<usize> = chosen.iter().copied().filter(|other| other != at).collect();
            if let Some(selection) = fitting(&without) {
                (found, chosen) = (Some(selection), without);
            }
        }
        found.unwrap_or_else(|| self.plain(&(0..self.useful.len()).collect::<Vec<_>>()))
    }

    /// A target cut from a selection: the last piece is filled as little as can be.
    fn cut(&self, selection: &Selection) -> Packing {
        let table = Table::new(self.sets, stock(selection));
        let cuts = table.cuts(self.earliest(&table));
        let mut packing =
            Packing { leftovers: vec![Vec::new(); self.problem.leftovers.len()], new: Vec::new() };
        for ((piece, _), cut) in selection.iter().zip(cuts).filter(|(_, cut)| !cut.is_empty()) {
            match piece {
                Piece::Old(at) => packing.leftovers[self.useful[*at]] = cut,
                Piece::New => packing.new.push(cut),
            }
        }
        packing
    }
}

/// Capacities of a selection.
fn stock(selection: &Selection) -> Vec<u64> {
    selection.iter().map(|(_, capacity)| *capacity).collect()
}

/// The leftovers that are cut, of those that stand first among the stock.
fn begun(cuts: &[Vec<usize>], leftovers: &[usize]) -> Vec<usize> {
    leftovers.iter().zip(cuts).filter(|(_, cut)| !cut.is_empty()).map(|(at, _)| *at).collect()
}
