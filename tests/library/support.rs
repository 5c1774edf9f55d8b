//! What several test programs and benchmarks share.

#![allow(dead_code, reason = "each test crate takes what it needs")]
#[path = "../../src/testing.rs"]
pub(crate) mod testing;

use tubewright::centreline::{Centreline, LaidRun, Layout};
use tubewright::spec::model::{Temper, Tube};

/// A soft copper tube, mm.
pub(crate) fn copper(od: f64, wall: f64) -> Tube {
    Tube::new(od, wall, "copper", Some(8940.0), Temper::Soft, "test").expect("the wall leaves a bore")
}

/// A run along `centreline` at a place among the spec's runs.
pub(crate) fn laid(index: usize, name: &str, centreline: Centreline, tube: Tube) -> LaidRun {
    LaidRun { index, ..testing::along(name, centreline, tube) }
}

/// A layout of runs alone, which keep their places among the spec's.
pub(crate) fn layout(runs: Vec<LaidRun>) -> Layout {
    Layout { runs, ..testing::layout(Vec::new(), Vec::new()) }
}

/// Numbers that look random and are the same every time.
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    /// Between 0 and 1.
    pub(crate) fn next(&mut self) -> f64 {
        // Knuth's linear congruential generator of 64 bits; its upper bits.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    pub(crate) fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[((self.next() * all.len() as f64) as usize).min(all.len() - 1)]
    }
}
