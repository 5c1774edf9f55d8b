//! The order of merit of ways.

use strum::VariantArray;

use crate::spec::model::Criterion;

/// Lengths nearer to each other than this are the same, mm.
const SAME_MM: f64 = 1e-5;

/// What a way is worth: less is better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Merit {
    /// Whether it is one that was looked for only because angles of 45° and 90° reached nothing.
    pub(super) last_resort: bool,
    /// Bends.
    pub(super) bends: usize,
    /// Planes that they lie in.
    pub(super) planes: usize,
    /// Bends at unusual angles.
    pub(super) unusual: usize,
    /// Length of the tube, mm.
    pub(super) length: f64,
    /// Directions that nothing near has.
    pub(super) strange: usize,
}

/// A merit as numbers of which the first that differs decides.
pub(super) type Rank = [i64; 6];

impl Merit {
    /// The numbers: a last resort comes behind everything else, then the criteria in this order, the others in theirs,
    /// and the strange directions last.
    pub(super) fn rank(&self, order: &[Criterion]) -> Rank {
        let others = Criterion::VARIANTS.iter().filter(|criterion| !order.contains(criterion));
        let mut rank = [0; 6];
        rank[0] = i64::from(self.last_resort);
        for (number, criterion) in rank.iter_mut().skip(1).zip(order.iter().chain(others)) {
            *number = match criterion {
                Criterion::Bends => count(self.bends),
                Criterion::Planes => count(self.planes),
                Criterion::Angles => count(self.unusual),
                // Below any reach of a spec this is exact.
                Criterion::Length => (self.length / SAME_MM).round() as i64,
            };
        }
        rank[5] = count(self.strange);
        rank
    }
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}
