//! Which run is cut from which piece of stock.
//!
//! The best plan leaves the fewest runs without tube, of these the shortest; then it cuts into the
//! fewest new pieces, then into the least length of leftovers; then, with the pieces settled, it
//! leaves the longest rest on one of them. [`exact`] finds it for up to 20 runs of a tube, and for
//! more where many are alike; [`heuristic`] a good one for any number, [`bound`] how good at least.

mod bound;
mod exact;
mod heuristic;
mod problem;
mod search;
mod sets;
mod table;

#[cfg(test)]
mod tests;

use super::model::{Cut, CutPlan, MissingPiece, RunPlan, StockPiece, StockPlan};
use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::Unit;
use crate::spec::model::{Stock, Tube};
use crate::tolerance::SAME_SIZE_MM;

use problem::{Packing, Problem, whole};

/// The runs of one tube.
struct Group<'a> {
    tube: &'a Tube,
    runs: Vec<&'a RunPlan>,
}

/// Plans the cuts of `runs`, which are those of the layout. Where these are not all, no finding says that the stock
/// is short.
pub(super) fn cut_plan(
    layout: &Layout,
    runs: &[RunPlan],
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
        stocks.push(plan_group((layout, group), stock, leftovers, are_all, findings));
    }
    CutPlan { stocks }
}

/// Runs by tube, in the order of first use.
fn groups<'a>(layout: &'a Layout, runs: &'a [RunPlan]) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for (laid, run) in layout.runs.iter().zip(runs) {
        let tube = &laid.run.tube;
        let near = |a: f64, b: f64| (a - b).abs() < SAME_SIZE_MM;
        let same = groups.iter_mut().find(|group| {
            let other = group.tube;
            near(other.od(), tube.od())
                && near(other.wall(), tube.wall())
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
    (layout, group): (&Layout, &Group<'_>),
    stock: &Stock,
    leftovers: &[f64],
    are_all: bool,
    findings: &mut Diagnostics,
) -> StockPlan {
    let longest = leftovers.iter().copied().fold(stock.length, f64::max);
    let (runs, too_long): (Vec<&RunPlan>, Vec<&RunPlan>) =
        group.runs.iter().partition(|run| whole(run.cut_length) <= whole(longest));
    for run in &too_long {
        findings.push(longer_than_stock(layout, run, longest));
    }
    let lengths: Vec<f64> = runs.iter().map(|run| run.cut_length).collect();
    let problem = Problem::new(&lengths, leftovers, stock.length, stock.count, stock.kerf);
    let solved = solve(&problem);
    let unplaced: Vec<&RunPlan> = problem.unplaced(&solved.packing).iter().map(|at| runs[*at]).collect();
    if are_all && !unplaced.is_empty() {
        let more = solved.new_for_all.map(|new| new.saturating_sub(problem.new_count));
        findings.push(stock_short((group.tube, stock), &unplaced, more, layout.units));
    }
    StockPlan {
        tube: group.tube.designation().to_owned(),
        od: group.tube.od(),
        wall: group.tube.wall(),
        form: stock.form,
        new_length: stock.length,
        kerf: stock.kerf,
        new_count: stock.count,
        pieces: pieces(&solved.packing, &runs, stock, leftovers),
        new_used: solved.packing.new.len(),
        new_lower_bound: solved.new_lower_bound,
        proven: solved.proven,
        missing: group
            .runs
            .iter()
            .filter(|run| unplaced.iter().chain(&too_long).any(|missing| missing.name == run.name))
            .map(|run| MissingPiece { run: run.name.clone(), length: run.cut_length })
            .collect(),
    }
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
    let (unplaced, _, new, opened, _) = problem.score(&packing);
    let proven = unplaced == 0 && new == new_lower_bound && opened == 0;
    let new_for_all = if unplaced == 0 { Some(new) } else { heuristic::new_for_all(problem) };
    Solved { packing, new_for_all, new_lower_bound, proven }
}

/// The pieces that are cut: leftovers in the order of the spec, then new ones, fullest first. On each
/// the longest run is cut first: if a cut goes wrong, the piece still does for a shorter one.
fn pieces(packing: &Packing, runs: &[&RunPlan], stock: &Stock, leftovers: &[f64]) -> Vec<StockPiece> {
    let mut new = packing.new.clone();
    new.sort_by_key(|cut| cut.iter().min().copied());
    let mut new: Vec<StockPiece> =
        new.iter().map(|cut| piece(cut, runs, stock.length, stock.kerf, false)).collect();
    new.sort_by(|a, b| a.rest.total_cmp(&b.rest));
    let old = leftovers.iter().zip(&packing.leftovers).filter(|(_, cut)| !cut.is_empty());
    let old = old.map(|(length, cut)| piece(cut, runs, *length, stock.kerf, true));
    let mut pieces: Vec<StockPiece> = old.chain(new).collect();
    for (index, piece) in pieces.iter_mut().enumerate() {
        piece.number = index + 1;
    }
    pieces
}

fn piece(cut: &[usize], runs: &[&RunPlan], length: f64, kerf: f64, leftover: bool) -> StockPiece {
    let mut cut = cut.to_vec();
    cut.sort_by(|a, b| runs[*b].cut_length.total_cmp(&runs[*a].cut_length).then(a.cmp(b)));
    let mut at = 0.0;
    let cuts = cut
        .iter()
        .map(|index| {
            let run = runs[*index];
            let from = at;
            at = from + run.cut_length + kerf;
            Cut {
                run: run.name.clone(),
                from,
                to: from + run.cut_length,
                allowance_start: run.allowance_start,
                allowance_end: run.allowance_end,
            }
        })
        .collect();
    // A piece used to its end needs no last cut; a sliver thinner than the cut goes with it.
    StockPiece { number: 0, leftover, length, cuts, rest: (length - at).max(0.0) }
}

fn longer_than_stock(layout: &Layout, run: &RunPlan, longest: f64) -> Diagnostic {
    let message = format!(
        "run {}: its cut length of {} is {} longer than the longest piece of stock",
        run.name,
        layout.units.length_to(run.cut_length, 1),
        layout.units.length_to(run.cut_length - longest, 1)
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
    unplaced: &[&RunPlan],
    more: Option<usize>,
    unit: Unit,
) -> Diagnostic {
    let each: Vec<String> =
        unplaced.iter().map(|run| format!("{} ({})", run.name, unit.length_to(run.cut_length, 1))).collect();
    let total: f64 = unplaced.iter().map(|run| run.cut_length).sum();
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
