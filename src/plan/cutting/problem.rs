//! The cutting of one tube as a packing problem in whole numbers.
//!
//! Lengths are whole millionths of a millimetre, so that sums are exact. m pieces and the kerfs
//! between them fit a stock of length L when Σ lengths + (m − 1) × kerf ≤ L: with a kerf added to
//! every piece and to the stock, that is a plain sum against a capacity.

use std::cmp::Reverse;

/// Millionths of a mm in one mm: far finer than any cut, and a kilometre still fits 2⁴⁸.
const PER_MM: f64 = 1e6;

/// Pieces to be cut, and the stock to cut them from. All sizes and capacities have a kerf added.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Problem {
    /// Sizes of the pieces to cut, in the order of the runs. Each fits a leftover or a new piece.
    pub(super) pieces: Vec<u64>,
    /// Capacities of the leftovers.
    pub(super) leftovers: Vec<u64>,
    /// Capacity of a new piece.
    pub(super) new: u64,
    /// How many new pieces there are.
    pub(super) new_count: usize,
    /// The kerf that was added to each.
    pub(super) kerf: u64,
}

/// Which pieces are cut from which stock, by their position in the problem.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Packing {
    /// For each leftover.
    pub(super) leftovers: Vec<Vec<usize>>,
    /// For each new piece that is cut.
    pub(super) new: Vec<Vec<usize>>,
}

/// The merit of a packing: the first field that differs decides, and less is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    /// Runs without tube.
    pub(super) unplaced: usize,
    /// Their size.
    pub(super) unplaced_size: u64,
    /// New pieces cut into.
    pub(super) new: usize,
    /// The longest rest there is in one piece.
    pub(super) longest_rest: Reverse<u64>,
    /// Leftovers begun.
    pub(super) begun: usize,
    /// Their length.
    pub(super) begun_length: u64,
}

/// A length in mm as a whole number.
pub(super) fn whole(length: f64) -> u64 {
    // No length of a spec is negative or over a kilometre; `as` would keep any other within bounds.
    (length * PER_MM).round() as u64
}

impl Problem {
    /// The problem for lengths in mm.
    pub(super) fn new(
        pieces: &[f64],
        leftovers: &[f64],
        new: f64,
        new_count: Option<usize>,
        kerf: f64,
    ) -> Self {
        let kerf = whole(kerf);
        let with_kerf = |lengths: &[f64]| lengths.iter().map(|length| whole(*length) + kerf).collect();
        Problem {
            pieces: with_kerf(pieces),
            leftovers: with_kerf(leftovers),
            new: whole(new) + kerf,
            // No plan cuts into more new pieces than there are runs.
            new_count: new_count.map_or(pieces.len(), |count| count.min(pieces.len())),
            kerf,
        }
    }

    /// Size of some of the pieces.
    pub(super) fn size(&self, pieces: &[usize]) -> u64 {
        pieces.iter().map(|piece| self.pieces[*piece]).sum()
    }

    /// The pieces that a packing leaves without tube.
    pub(super) fn unplaced(&self, packing: &Packing) -> Vec<usize> {
        let mut left = vec![true; self.pieces.len()];
        for piece in packing.leftovers.iter().chain(&packing.new).flatten() {
            left[*piece] = false;
        }
        (0..self.pieces.len()).filter(|piece| left[*piece]).collect()
    }

    /// What is left of stock of this capacity that is filled so far. The cut behind the last piece is taken off,
    /// as far as there is tube for it.
    pub(super) fn rest(&self, capacity: u64, fill: u64) -> u64 {
        capacity.saturating_sub(fill).saturating_sub(self.kerf)
    }

    /// The longest rest in one piece: of a new piece that is cut, or of a leftover, whole where it is not begun.
    pub(super) fn longest_rest(&self, packing: &Packing) -> u64 {
        let old = self.leftovers.iter().zip(&packing.leftovers);
        let new = packing.new.iter().map(|cut| (&self.new, cut));
        old.chain(new).map(|(capacity, cut)| self.rest(*capacity, self.size(cut))).max().unwrap_or(0)
    }

    /// The merit of a packing.
    pub(super) fn score(&self, packing: &Packing) -> Score {
        let unplaced = self.unplaced(packing);
        let begun = self.leftovers.iter().zip(&packing.leftovers).filter(|(_, cut)| !cut.is_empty());
        Score {
            unplaced: unplaced.len(),
            unplaced_size: self.size(&unplaced),
            new: packing.new.len(),
            longest_rest: Reverse(self.longest_rest(packing)),
            begun: begun.clone().count(),
            begun_length: begun.map(|(capacity, _)| capacity - self.kerf).sum(),
        }
    }
}
