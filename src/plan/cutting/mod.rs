//! Which run is cut from which piece of stock.
//!
//! The best plan cuts as many runs as possible, of as much length as possible; from the fewest new pieces; so that
//! the longest rest stays in one piece, be it of a new piece that is cut or of a leftover, begun or whole; then it
//! begins the fewest leftovers, and of these the shortest. [`exact`] finds it for up to 20 runs of a tube, and for
//! more where many are alike; [`heuristic`] a good one for any number, [`bound`] how good at least. Test pieces are
//! cut from what the runs leave, by the same rules.

mod bound;
mod exact;
mod heuristic;
mod pieces;
mod problem;
mod search;
mod sets;
mod table;

#[cfg(test)]
mod tests;

use super::model::{CutPlan, MissingPiece, RunPlan, StockPiece, StockPlan, TrialPlan};
use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::Unit;
use crate::spec::model::{Stock, Tube};
use crate::tolerance::is_same_size;

use problem::{Packing, Problem, Score, whole};

/// The runs of one tube.
struct Group<'a> {
    tube: &'a Tube,
    runs: Vec<&'a RunPlan>,
}

/// Plans the cuts of `runs`, which are those of the layout, and of test pieces. Where the runs are not all, no finding says that the stock
/// is short.
pub(super) fn cut_plan(
    layout: &Layout,
    (runs, trials): (&[RunPlan], &[TrialPlan]),
    are_all: bool,
    findings: &mut Diagnostics,
) -> CutPlan {
    let groups = groups(layout, runs);
    let mut stocks = Vec::new();
    for group in &groups {
        let Some(stock) = stock_of(layout, group.tube) else { continue };
        let same = |other: &&Group<'_>| stock_of(layout, other.tube).is_some_and(|s| std::ptr::eq(s, stock));
        let tubes: Vec<&str> = groups.iter().filter(same).map(|other| other.tube.designation()).collect();
        // Whose they are cannot be told.
        let leftovers = if tubes.len() > 1 { &[][..] } else { &stock.leftovers };
        if tubes.len() > 1 && !stock.leftovers.is_empty() && tubes[0] == group.tube.designation() {
            let message = format!(
                "the leftovers could be of any of these tubes and are not used: {}",
                tubes.join(", ")
            );
            let hint = "give each tube a stock of its own, with `od:` and `wall:`";
            findings
                .push(Diagnostic::warning("leftovers-of-several-tubes", message).hint(hint).at(stock.place));
        }
        stocks.push(plan_group((layout, group, trials), stock, leftovers, are_all, findings));
    }
    CutPlan { stocks }
}

/// Runs by tube, in the order of first use.
fn groups<'a>(layout: &'a Layout, runs: &'a [RunPlan]) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for (laid, run) in layout.runs.iter().zip(runs) {
        let tube = &laid.run.tube;
        let same = groups.iter_mut().find(|group| {
            let other = group.tube;
            is_same_size(other.od(), tube.od())
                && is_same_size(other.wall(), tube.wall())
                && other.material() == tube.material()
                && other.temper() == tube.temper()
        });
        match same {
            Some(group) => group.runs.push(run),
            None => groups.push(Group { tube, runs: vec![run] }),
        }
    }
    groups
}

/// The stock that names the tube, else the one that names none.
fn stock_of<'a>(layout: &'a Layout, tube: &Tube) -> Option<&'a Stock> {
    let named = layout.stock.iter().find(|stock| stock.names(tube.od(), tube.wall()));
    named.or_else(|| layout.stock.iter().find(|stock| stock.section.is_none()))
}

fn plan_group(
    (layout, group, trials): (&Layout, &Group<'_>, &[TrialPlan]),
    stock: &Stock,
    leftovers: &[f64],
    are_all: bool,
    findings: &mut Diagnostics,
) -> StockPlan {
    let off = |run: &RunPlan| run.cut_length + stock.straighten.of(run.cut_length);
    let longest = leftovers.iter().copied().fold(stock.length, f64::max);
    let (runs, too_long): (Vec<&RunPlan>, Vec<&RunPlan>) =
        group.runs.iter().partition(|run| whole(off(run)) <= whole(longest));
    for run in &too_long {
        findings.push(longer_than_stock(layout, run, (off(run), longest)));
    }
    let lengths: Vec<f64> = runs.iter().map(|run| off(run)).collect();
    let problem = Problem::new(&lengths, leftovers, stock.length, stock.count, stock.kerf);
    let solved = solve(&problem);
    let unplaced: Vec<&RunPlan> = problem.unplaced(&solved.packing).iter().map(|at| runs[*at]).collect();
    if are_all && !unplaced.is_empty() {
        let more = solved.new_for_all.map(|new| new.saturating_sub(problem.new_count));
        let lacking: Vec<(&str, f64)> = unplaced.iter().map(|run| (run.name.as_str(), off(run))).collect();
        findings.push(stock_short((group.tube, stock), &lacking, more, layout.units));
    }
    let mut pieces = pieces::pieces(&solved.packing, &runs, stock, leftovers);
    let is_bent = |trial: &&TrialPlan| group.runs.iter().any(|run| trial.runs.contains(&run.name));
    let trials: Vec<&TrialPlan> = trials.iter().filter(is_bent).collect();
    let missing_tests = pieces::add_tests(&mut pieces, &trials, stock, leftovers);
    for (index, piece) in pieces.iter_mut().enumerate() {
        piece.number = index + 1;
    }
    let new_for_runs = solved.packing.new.len();
    StockPlan {
        tube: group.tube.designation().to_owned(),
        od: group.tube.od(),
        wall: group.tube.wall(),
        form: stock.form,
        new_length: stock.length,
        kerf: stock.kerf,
        straighten: stock.straighten,
        new_count: stock.count,
        new_used: new_for_runs,
        new_for_tests: pieces.iter().filter(|piece| !piece.leftover).count() - new_for_runs,
        longest_rest: longest_rest(&pieces, leftovers),
        pieces,
        new_lower_bound: solved.new_lower_bound,
        proven: solved.proven,
        missing: group
            .runs
            .iter()
            .filter(|run| unplaced.iter().chain(&too_long).any(|missing| missing.name == run.name))
            .map(|run| MissingPiece { run: run.name.clone(), length: run.cut_length })
            .collect(),
        missing_tests,
    }
}

/// The longest rest in one piece, mm: of a piece that is cut, or a leftover that is not begun.
fn longest_rest(pieces: &[StockPiece], leftovers: &[f64]) -> f64 {
    let spared = pieces::spared(pieces, leftovers);
    pieces.iter().map(|piece| piece.rest).chain(spared).fold(0.0, f64::max)
}

struct Solved {
    packing: Packing,
    new_for_all: Option<usize>,
    new_lower_bound: usize,
    proven: bool,
}

fn solve(problem: &Problem) -> Solved {
    if let Some(exact::Solution { packing, new_for_all, proven }) = exact::solve(problem) {
        // The number of new pieces is the least there is, whatever leftovers are chosen.
        let new_lower_bound = packing.new.len();
        return Solved { packing, new_for_all, new_lower_bound, proven };
    }
    let packing = heuristic::solve(problem);
    let placed = problem.pieces.len() - problem.unplaced(&packing).len();
    let new_lower_bound = bound::new_pieces(problem, placed);
    let Score { unplaced, new, longest_rest, begun, .. } = problem.score(&packing);
    let proven =
        unplaced == 0 && new == new_lower_bound && begun == 0 && longest_rest.0 >= most_rest(problem, new);
    let new_for_all = if unplaced == 0 { Some(new) } else { heuristic::new_for_all(problem) };
    Solved { packing, new_for_all, new_lower_bound, proven }
}

/// A rest in one piece that is never exceeded where all runs are cut from `new` new pieces and leftovers.
fn most_rest(problem: &Problem, new: usize) -> u64 {
    let all: Vec<usize> = (0..problem.pieces.len()).collect();
    let stock = problem.new * new as u64 + problem.leftovers.iter().sum::<u64>();
    let slack = problem.rest(stock, problem.size(&all));
    let of_new = if new > 0 { problem.rest(problem.new, 0) } else { 0 };
    let longest = problem.leftovers.iter().map(|leftover| problem.rest(*leftover, 0)).max().unwrap_or(0);
    slack.min(longest.max(of_new))
}

/// `off` is the length to cut off, mm, `longest` that of the longest piece of stock.
fn longer_than_stock(layout: &Layout, run: &RunPlan, (off, longest): (f64, f64)) -> Diagnostic {
    let straightened = if off > run.cut_length { ", with what straightening takes," } else { "" };
    let message = format!(
        "run {}: its cut length of {}{straightened} is {} longer than the longest piece of stock",
        run.name,
        layout.units.length_to(off, 1),
        layout.units.length_to(off - longest, 1)
    );
    let hint =
        "give `stock:` a longer `length:` if there is one to buy, or make two runs with a union between them";
    let found = Diagnostic::warning("longer-than-stock", message).hint(hint).run(&run.name);
    match layout.runs.iter().find(|laid| laid.run.name == run.name) {
        Some(laid) => found.at(laid.run.place),
        None => found,
    }
}

fn stock_short(
    (tube, stock): (&Tube, &Stock),
    unplaced: &[(&str, f64)],
    more: Option<usize>,
    unit: Unit,
) -> Diagnostic {
    let each: Vec<String> =
        unplaced.iter().map(|(name, length)| format!("{name} ({})", unit.length_to(*length, 1))).collect();
    let total: f64 = unplaced.iter().map(|(_, length)| length).sum();
    let (runs, lack) = if each.len() == 1 { ("run", "lacks") } else { ("runs", "lack") };
    let message = format!(
        "there is not enough {} tube: {runs} {} {lack} {}",
        tube.designation(),
        each.join(", "),
        unit.length_to(total, 1)
    );
    let length = unit.length(stock.length);
    let hint = match more {
        Some(1) => format!("1 more new piece of {length} would do: raise `count:`"),
        Some(more) => format!("{more} more new pieces of {length} would do: raise `count:`"),
        None => format!("new pieces of {length} are too short: add a longer piece to `leftovers:`"),
    };
    Diagnostic::warning("stock-short", message).hint(hint).at(stock.place)
}
