//! Sets of pieces as numbers. Pieces of one size are alike, so a set is how many of each size it has.

use super::problem::Problem;

/// Most sets: all of 20 different pieces.
pub(super) const MOST_SETS: usize = 1 << 20;
/// Most kinds, then: each at least doubles the number of sets.
pub(super) const MOST_KINDS: usize = 20;

/// Pieces of one size, and where they count in the number of a set.
#[derive(Debug)]
pub(super) struct EqualPieces {
    /// Their size.
    pub(super) size: u64,
    /// The pieces.
    pub(super) pieces: Vec<usize>,
    /// The number that one of them adds to that of a set.
    pub(super) stride: usize,
}

/// All sets of a problem's pieces.
#[derive(Debug)]
pub(super) struct Sets {
    /// The kinds of piece, longest first.
    pub(super) kinds: Vec<EqualPieces>,
    /// How many sets there are.
    pub(super) count: usize,
}

impl Sets {
    /// `None` where there are more than [`MOST_SETS`].
    pub(super) fn new(problem: &Problem) -> Option<Sets> {
        let mut order: Vec<usize> = (0..problem.pieces.len()).collect();
        order.sort_by_key(|piece| std::cmp::Reverse(problem.pieces[*piece]));
        let mut kinds: Vec<EqualPieces> = Vec::new();
        for piece in order {
            let size = problem.pieces[piece];
            match kinds.last_mut() {
                Some(kind) if kind.size == size => kind.pieces.push(piece),
                _ => kinds.push(EqualPieces { size, pieces: vec![piece], stride: 0 }),
            }
        }
        let mut count = 1usize;
        for kind in &mut kinds {
            kind.stride = count;
            count = count.checked_mul(kind.pieces.len() + 1).filter(|count| *count <= MOST_SETS)?;
        }
        Some(Sets { kinds, count })
    }

    /// The set of all pieces.
    pub(super) fn all(&self) -> usize {
        self.count - 1
    }

    /// How many pieces of a kind a set has.
    pub(super) fn many(&self, set: usize, kind: usize) -> usize {
        self.kinds.get(kind).map_or(0, |kind| set / kind.stride % (kind.pieces.len() + 1))
    }

    /// Size of all pieces of a set.
    pub(super) fn size(&self, set: usize) -> u64 {
        self.size_from(set, 0)
    }

    /// Size of a set's pieces of one kind and all shorter ones.
    pub(super) fn size_from(&self, set: usize, kind: usize) -> u64 {
        (kind..self.kinds.len()).map(|kind| self.many(set, kind) as u64 * self.kinds[kind].size).sum()
    }

    /// Sizes of a set's pieces, longest first.
    pub(super) fn sizes(&self, set: usize) -> Vec<u64> {
        let of_kind = |kind: usize| std::iter::repeat_n(self.kinds[kind].size, self.many(set, kind));
        (0..self.kinds.len()).flat_map(of_kind).collect()
    }

    /// Calls `each` with every set but the empty one, in order, and with how many pieces of each kind
    /// it has.
    pub(super) fn each(&self, mut each: impl FnMut(usize, &[usize])) {
        let mut digits = vec![0; self.kinds.len()];
        for set in 1..self.count {
            for (digit, kind) in digits.iter_mut().zip(&self.kinds) {
                if *digit < kind.pieces.len() {
                    *digit += 1;
                    break;
                }
                *digit = 0;
            }
            each(set, &digits);
        }
    }
}
