//! Whether pieces fit on given stock, decided by trying: stock by stock every set of pieces that
//! leaves no room for another and no more waste than there may be (bin completion after Martello and
//! Toth, 1990, and Korf, 2003).

use std::collections::BTreeSet;

use super::sets::Sets;

/// Deepest search, in kinds of piece times stock: what a thread's stack holds with room to spare.
const DEEPEST: usize = 4000;

/// A search on one selection of stock.
pub(super) struct Search<'s> {
    sets: &'s Sets,
    /// Capacities, smallest first: few sets fill these.
    stock: Vec<u64>,
    /// Dead ends: the first stock not filled, and the pieces left.
    failed: BTreeSet<(usize, usize)>,
    /// Steps it may still take.
    steps: usize,
}

/// A stock that is being filled.
#[derive(Clone, Copy)]
struct Filling {
    at: usize,
    /// The pieces left.
    set: usize,
    /// Waste allowed on this stock and all after it.
    slack: u64,
    /// Room left on this stock.
    room: u64,
    /// The next kind of piece to choose.
    kind: usize,
    /// Kinds before that, of which pieces are left, are all longer than this.
    left_over: u64,
}

impl<'s> Search<'s> {
    /// Whether a set of pieces fits; `None` where `steps` did not suffice. They are taken off.
    pub(super) fn fits(sets: &'s Sets, set: usize, mut stock: Vec<u64>, steps: &mut usize) -> Option<bool> {
        stock.sort_unstable();
        let room: u64 = stock.iter().sum();
        let Some(slack) = room.checked_sub(sets.size(set)) else { return Some(false) };
        if stock.len() * sets.kinds.len() > DEEPEST {
            return None;
        }
        let mut search = Search { sets, stock, failed: BTreeSet::new(), steps: *steps };
        let found = search.from(0, set, slack);
        *steps = search.steps;
        found
    }

    fn from(&mut self, at: usize, set: usize, slack: u64) -> Option<bool> {
        let Some(capacity) = self.stock.get(at).copied().filter(|_| set > 0) else { return Some(set == 0) };
        if at + 1 == self.stock.len() {
            return Some(self.sets.size(set) <= capacity);
        }
        if self.failed.contains(&(at, set)) {
            return Some(false);
        }
        let found = self.fill(Filling { at, set, slack, room: capacity, kind: 0, left_over: u64::MAX })?;
        if !found {
            self.failed.insert((at, set));
        }
        Some(found)
    }

    /// Fills a stock further, most of the longest pieces first.
    fn fill(&mut self, now: Filling) -> Option<bool> {
        self.steps = self.steps.checked_sub(1)?;
        let Some(kind) = self.sets.kinds.get(now.kind) else {
            // Full enough, and nothing left that would still go on.
            let done = now.room <= now.slack && now.left_over > now.room;
            return if done { self.from(now.at + 1, now.set, now.slack - now.room) } else { Some(false) };
        };
        // All pieces from here on would not fill it enough.
        if now.room > now.slack + self.sets.size_from(now.set, now.kind) {
            return Some(false);
        }
        let there = self.sets.many(now.set, now.kind);
        let most = there.min((now.room / kind.size) as usize);
        for many in (0..=most).rev() {
            let left_over = if many < there { now.left_over.min(kind.size) } else { now.left_over };
            let next = Filling {
                set: now.set - many * kind.stride,
                room: now.room - many as u64 * kind.size,
                kind: now.kind + 1,
                left_over,
                ..now
            };
            if self.fill(next)? {
                return Some(true);
            }
        }
        Some(false)
    }
}
