//! Where each set of pieces ends when stock is filled in a fixed order, one after the other.
//!
//! For each set the table holds the earliest stock that the set can end in, and there the smallest
//! fill. Nothing better can come of a later stock or a larger fill, so one entry a set is enough: the
//! dynamic programme over subsets of Held and Karp (1962), with stock in the place of their order of
//! visits.

use super::sets::{MOST_KINDS, Sets};

/// The stock's position stands above this bit, the fill below: 2⁴⁸ millionths of a mm are 281 km.
const STOCK_BIT: u32 = 48;
const FILL: u64 = (1 << STOCK_BIT) - 1;
/// A set that does not fit.
const NOWHERE: u64 = u64::MAX;

/// Most stock a table can tell apart.
pub(super) const MOST_STOCK: usize = 1 << (u64::BITS - STOCK_BIT - 1);

/// The table.
pub(super) struct Table<'s> {
    sets: &'s Sets,
    stock: Vec<u64>,
    /// For each kind and each stock that is full: where the piece ends on the next one that is long
    /// enough.
    jumps: Vec<Vec<u64>>,
    ends: Vec<u64>,
}

impl<'s> Table<'s> {
    /// Fills stock of these capacities.
    pub(super) fn new(sets: &'s Sets, mut stock: Vec<u64>) -> Self {
        // So that there is a stock to begin with.
        stock.push(0);
        let jumps: Vec<Vec<u64>> = sets.kinds.iter().map(|kind| jumps(kind.size, &stock)).collect();
        let mut table = Table { sets, stock, jumps, ends: vec![NOWHERE; sets.count] };
        table.ends[0] = 0;
        // Only one digit of a set's number changes most of the time: the kinds it has are kept as bits.
        let mut has = 0u32;
        let mut digits = [0usize; MOST_KINDS];
        for set in 1..sets.count {
            for (kind, of) in sets.kinds.iter().enumerate() {
                if digits[kind] < of.pieces.len() {
                    digits[kind] += 1;
                    has |= 1 << kind;
                    break;
                }
                digits[kind] = 0;
                has &= !(1 << kind);
            }
            table.ends[set] = table.end(set, has);
        }
        table
    }

    /// The least end of a set, over all pieces that could be its last.
    fn end(&self, set: usize, mut has: u32) -> u64 {
        let mut least = NOWHERE;
        // A bit less each time.
        while has != 0 {
            let kind = has.trailing_zeros() as usize;
            has &= has - 1;
            least = least.min(self.with(set - self.sets.kinds[kind].stride, kind));
        }
        least
    }

    /// Where a set ends when one piece more is cut.
    fn with(&self, set: usize, kind: usize) -> u64 {
        let end = self.ends[set];
        if end == NOWHERE {
            return NOWHERE;
        }
        let at = (end >> STOCK_BIT) as usize;
        let longer = end + self.sets.kinds[kind].size;
        if longer & FILL <= self.stock[at] { longer } else { self.jumps[kind][at] }
    }

    /// Where a set ends: sets that end earlier leave more.
    pub(super) fn order(&self, set: usize) -> u64 {
        self.ends[set]
    }

    /// How far a set that fits fills the last stock it needs.
    pub(super) fn fill(&self, set: usize) -> u64 {
        self.ends[set] & FILL
    }

    /// How many of the stock, from the first on, a set needs; `None` where all do not do.
    pub(super) fn needs(&self, set: usize) -> Option<usize> {
        match (set, self.ends[set]) {
            (0, _) => Some(0),
            (_, NOWHERE) => None,
            (_, end) => Some((end >> STOCK_BIT) as usize + 1),
        }
    }

    /// The pieces of a set, by the stock they are cut from.
    pub(super) fn cuts(&self, mut set: usize) -> Vec<Vec<usize>> {
        let mut cuts = vec![Vec::new(); self.stock.len() - 1];
        // A piece less each time.
        while let Some(needed) = self.needs(set).filter(|needed| *needed > 0) {
            let last = (0..self.sets.kinds.len()).find(|kind| {
                let stride = self.sets.kinds[*kind].stride;
                self.sets.many(set, *kind) > 0 && self.with(set - stride, *kind) == self.ends[set]
            });
            let Some(kind) = last else { break };
            let many = self.sets.many(set, kind);
            cuts[needed - 1].push(self.sets.kinds[kind].pieces[many - 1]);
            set -= self.sets.kinds[kind].stride;
        }
        cuts
    }
}

fn jumps(size: u64, stock: &[u64]) -> Vec<u64> {
    let mut jumps = vec![NOWHERE; stock.len()];
    for at in (0..stock.len().saturating_sub(1)).rev() {
        let next = at + 1;
        jumps[at] = if stock[next] >= size { ((next as u64) << STOCK_BIT) | size } else { jumps[next] };
    }
    jumps
}
