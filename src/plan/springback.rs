//! What each bend springs back by.

use crate::centreline::{Bend, LaidRun};

/// What a bend does when it is let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Springback {
    /// Angle to pull to, rad.
    pub(super) pull_to: f64,
    /// Centreline radius while held there, mm.
    pub(super) radius_under_load: f64,
    /// "test bends", "predicted" or "unknown".
    pub(super) source: &'static str,
}

/// What one bend of a run springs back by, made soft first or not.
pub(super) fn springback(laid: &LaidRun, bend: &Bend, _annealed: bool) -> Springback {
    let own = laid.run.path.own_clr(bend.number);
    if let (Some(formed), false) = (&laid.run.bender.formed, own) {
        let pull_to = (bend.angle + formed.springback_fixed) / (1.0 - formed.springback_rate);
        let radius_under_load = bend.radius * bend.angle / pull_to;
        return Springback { pull_to, radius_under_load, source: "test bends" };
    }
    Springback { pull_to: bend.angle, radius_under_load: bend.radius, source: "unknown" }
}
