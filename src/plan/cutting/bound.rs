//! A number of new pieces that no plan does without.
//!
//! The bound L2 of Martello and Toth (1990, "Knapsack Problems", section 8.3.3), with what leftovers
//! can take of it: for a threshold α ≤ half a new piece, every piece longer than a whole one less α
//! is alone on its stock, every piece shorter than α is left out, and what remains fills stock at
//! best to the brim; and no two pieces longer than half a stock share it.

use super::problem::Problem;

/// Fewest new pieces that the `placed` shortest pieces can be cut from. Whatever a plan places, as
/// many of the shortest fit on the same stock.
pub(super) fn new_pieces(problem: &Problem, placed: usize) -> usize {
    let mut sizes = problem.pieces.clone();
    sizes.sort_unstable();
    sizes.truncate(placed);
    // Pieces longer than a new one come from leftovers.
    sizes.retain(|size| *size <= problem.new);
    let half = problem.new / 2;
    let thresholds = std::iter::once(0).chain(sizes.iter().copied().filter(|size| *size <= half));
    let filled = thresholds.map(|alpha| by_fill(problem, &sizes, alpha)).max().unwrap_or(0);
    filled.max(by_halves(problem, &sizes))
}

/// The bound for one threshold.
fn by_fill(problem: &Problem, sizes: &[u64], alpha: u64) -> usize {
    let new = problem.new;
    let alone = new - alpha;
    let weight = |size: &u64| match *size {
        size if size > alone => new,
        size if size >= alpha => size,
        _ => 0,
    };
    let wanted: u64 = sizes.iter().map(weight).sum();
    let taken: u64 = problem.leftovers.iter().map(|leftover| most_weight(*leftover, new, alpha)).sum();
    wanted.saturating_sub(taken).div_ceil(new) as usize
}

/// The most that a leftover can take of the weights for a threshold.
fn most_weight(leftover: u64, new: u64, alpha: u64) -> u64 {
    let alone = new - alpha;
    if leftover < alpha {
        return 0;
    }
    if leftover <= new {
        // One piece that would be alone leaves no room for another that counts.
        return if leftover > alone { new } else { leftover };
    }
    // Each of the long pieces counts up to α more than its length.
    let long = leftover / (alone + 1);
    leftover + long * alpha
}

/// Pieces longer than half a new one, less those that leftovers can take.
fn by_halves(problem: &Problem, sizes: &[u64]) -> usize {
    let long = || sizes.iter().filter(|size| **size > problem.new / 2);
    let Some(shortest) = long().min() else { return 0 };
    let taken: usize = problem.leftovers.iter().map(|leftover| (leftover / shortest) as usize).sum();
    long().count().saturating_sub(taken)
}
