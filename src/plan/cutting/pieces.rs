//! A packing as pieces of stock with their cuts, and test pieces out of what the runs leave.

use super::problem::{Packing, Problem, whole};
use super::solve;
use crate::plan::model::{Cut, RunPlan, StockPiece, TestCut, TrialPlan};
use crate::spec::model::Stock;

/// A test piece that is to be cut.
struct Wanted<'a> {
    trial: &'a TrialPlan,
    number: usize,
    pull: f64,
    cut: f64,
    /// Length to cut off the stock, mm.
    off: f64,
}

impl Wanted<'_> {
    fn at(&self, from: f64) -> TestCut {
        TestCut {
            bender: self.trial.bender.clone(),
            tube: self.trial.tube.clone(),
            clr: self.trial.clr,
            number: self.number,
            pull: self.pull,
            length: self.cut,
            from,
            to: from + self.off,
        }
    }
}

/// The pieces that are cut: leftovers in the order of the spec, then new ones, fullest first. On each
/// the longest run is cut first: if a cut goes wrong, the piece still does for a shorter one.
pub(super) fn pieces(
    packing: &Packing,
    runs: &[&RunPlan],
    stock: &Stock,
    leftovers: &[f64],
) -> Vec<StockPiece> {
    let mut new = packing.new.clone();
    new.sort_by_key(|cut| cut.iter().min().copied());
    let mut new: Vec<StockPiece> =
        new.iter().map(|cut| piece(cut, runs, (stock.length, false), stock)).collect();
    new.sort_by(|a, b| a.rest.total_cmp(&b.rest));
    let old = leftovers.iter().zip(&packing.leftovers).filter(|(_, cut)| !cut.is_empty());
    old.map(|(length, cut)| piece(cut, runs, (*length, true), stock)).chain(new).collect()
}

fn piece(cut: &[usize], runs: &[&RunPlan], (length, leftover): (f64, bool), stock: &Stock) -> StockPiece {
    let mut cut = cut.to_vec();
    cut.sort_by(|a, b| runs[*b].cut_length.total_cmp(&runs[*a].cut_length).then(a.cmp(b)));
    let cuts = cut
        .iter()
        .map(|index| {
            let run = runs[*index];
            let straighten = stock.straighten.of(run.cut_length);
            Cut {
                run: run.name.clone(),
                from: 0.0,
                to: run.cut_length + straighten,
                straighten,
                allowance_start: run.allowance_start,
                allowance_end: run.allowance_end,
            }
        })
        .collect();
    let mut piece = StockPiece { number: 0, leftover, length, tests: Vec::new(), cuts, rest: 0.0 };
    lay_out(&mut piece, stock.kerf);
    piece
}

/// Lays the cuts of a piece one behind the other, test pieces first: bent first, they may change the lengths of runs.
fn lay_out(piece: &mut StockPiece, kerf: f64) {
    let mut at = 0.0;
    let tests = piece.tests.iter_mut().map(|test| (&mut test.from, &mut test.to));
    for (from, to) in tests.chain(piece.cuts.iter_mut().map(|cut| (&mut cut.from, &mut cut.to))) {
        let length = *to - *from;
        (*from, *to) = (at, at + length);
        at += length + kerf;
    }
    // A piece used to its end needs no last cut; a sliver thinner than the cut goes with it.
    piece.rest = (piece.length - at).max(0.0);
}

/// Cuts the pieces of `trials` from the rests of `pieces`, which the runs are cut from, from leftovers that are not
/// begun and from new pieces that are there: by the rules that runs are cut by, and without changing their plan.
/// Returns those there is no tube for.
pub(super) fn add_tests(
    pieces: &mut Vec<StockPiece>,
    trials: &[&TrialPlan],
    stock: &Stock,
    leftovers: &[f64],
) -> Vec<TestCut> {
    let spared = spared(pieces, leftovers);
    let rests: Vec<f64> = pieces.iter().map(|piece| piece.rest).chain(spared.iter().copied()).collect();
    let new = pieces.iter().filter(|piece| !piece.leftover).count();
    let count = stock.count.map(|count| count.saturating_sub(new));
    let longest = if count == Some(0) { 0.0 } else { stock.length };
    let longest = rests.iter().copied().fold(longest, f64::max);
    let (wanted, too_long): (Vec<Wanted<'_>>, Vec<Wanted<'_>>) =
        wanted(trials, stock).partition(|test| whole(test.off) <= whole(longest));
    let lengths: Vec<f64> = wanted.iter().map(|test| test.off).collect();
    let problem = Problem::new(&lengths, &rests, stock.length, count, stock.kerf);
    let packing = solve(&problem).packing;
    let missing = problem.unplaced(&packing).into_iter().map(|at| &wanted[at]).chain(&too_long);
    let missing = missing.map(|test| test.at(0.0)).collect();
    let tests = |cut: &[usize]| {
        let mut cut = cut.to_vec();
        cut.sort_unstable();
        cut.into_iter().map(|at| wanted[at].at(0.0)).collect::<Vec<_>>()
    };
    let fresh = |length, leftover| StockPiece {
        number: 0,
        leftover,
        length,
        tests: Vec::new(),
        cuts: Vec::new(),
        rest: length,
    };
    let old_end = pieces.iter().filter(|piece| piece.leftover).count();
    let mut added_old = Vec::new();
    for (at, cut) in packing.leftovers.iter().enumerate().filter(|(_, cut)| !cut.is_empty()) {
        match pieces.get_mut(at) {
            Some(piece) => piece.tests = tests(cut),
            None => added_old.push(StockPiece { tests: tests(cut), ..fresh(rests[at], true) }),
        }
    }
    pieces.splice(old_end..old_end, added_old);
    pieces
        .extend(packing.new.iter().map(|cut| StockPiece { tests: tests(cut), ..fresh(stock.length, false) }));
    pieces.iter_mut().for_each(|piece| lay_out(piece, stock.kerf));
    missing
}

/// Leftovers that are not begun.
pub(super) fn spared(pieces: &[StockPiece], leftovers: &[f64]) -> Vec<f64> {
    let mut spared = leftovers.to_vec();
    for begun in pieces.iter().filter(|piece| piece.leftover) {
        if let Some(at) = spared.iter().position(|length| *length == begun.length) {
            spared.remove(at);
        }
    }
    spared
}

fn wanted<'a>(trials: &[&'a TrialPlan], stock: &Stock) -> impl Iterator<Item = Wanted<'a>> {
    let straighten = stock.straighten;
    trials.iter().copied().flat_map(move |trial| {
        trial.pieces.iter().enumerate().map(move |(index, piece)| Wanted {
            trial,
            number: index + 1,
            pull: piece.pull,
            cut: piece.cut,
            off: piece.cut + straighten.of(piece.cut),
        })
    })
}
