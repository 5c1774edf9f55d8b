//! Paper wrapped round a tube (elementary geometry).

use std::f64::consts::PI;

/// Length of paper that goes once round a tube, mm: π·(D + s).
///
/// D outside diameter of the tube, mm; s thickness of the paper, mm, s ≥ 0. Paper that is bent keeps its
/// length in the middle of its thickness, which lies s/2 outside the tube. Valid for one layer, pulled tight.
///
/// ```
/// # use tubewright::formula::wrap::once_round;
/// assert!((once_round(15.0, 0.1) - 47.438).abs() < 5e-4);
/// ```
pub fn once_round(od: f64, paper: f64) -> f64 {
    PI * (od + paper)
}
