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
