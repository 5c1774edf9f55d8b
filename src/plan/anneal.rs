//! Which bends are made soft with the torch first, and over what length.

use super::model::Marks;
use crate::centreline::{Bend, LaidRun};
use crate::spec::model::Anneal;

/// Whether a bend of a run is annealed.
pub(super) fn is_annealed(laid: &LaidRun, _bend: &Bend) -> bool {
    laid.run.anneal == Anneal::Always
}

/// The anneal zone of a bend on a cut tube, mm from its datum end.
pub(super) fn zone(laid: &LaidRun, marks: &Marks, cut_length: f64) -> (f64, f64) {
    let margin = laid.run.tube.od();
    ((marks.start_mm - margin).max(0.0), (marks.end_mm + margin).min(cut_length))
}
