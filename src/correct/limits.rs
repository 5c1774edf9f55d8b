//! How far a bend may be bent again.

/// The part of the elongation that bending may use up, as for bends made at once (see `anneal: auto`).
const USABLE: f64 = 0.75;

/// Furthest that a bend is opened or closed again, rad: beyond 10° the section folds (common practice, no source).
const FURTHEST: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// How far a bend may be opened and closed again, rad, each not less than nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Opened: its angle made smaller.
    pub open: f64,
    /// Closed: its angle made larger.
    pub close: f64,
}

/// The reach of a bend that is made, of this angle, rad. `elongation` is what the metal took before it was bent, as a
/// part of 1; `None` where it is not known.
///
/// Opening a bend of angle α by δ strains its back by ε·δ/α, against the ε of bending it. Together they may use up no
/// more than three quarters of the elongation A: δ ≤ α·(0.75·A/ε − 1). Closing it goes on over tube that is still
/// straight, which takes no more strain than before, up to the largest angle of the bender. Neither goes beyond 10°.
///
/// A bend of 90° with ε = 0.13 in metal of A = 0.20 opens by 90°·(0.15/0.13 − 1) = 13.8°, so by 10°; with ε = 0.145 by
/// 3.1°.
pub fn reach(angle: f64, outer_strain: f64, elongation: Option<f64>, most: f64) -> Reach {
    let open = match elongation {
        Some(elongation) if outer_strain > 0.0 => angle * (USABLE * elongation / outer_strain - 1.0),
        // Nothing tells how much is left.
        _ => 0.0,
    };
    Reach { open: open.clamp(0.0, FURTHEST.min(angle)), close: (most - angle).clamp(0.0, FURTHEST) }
}
