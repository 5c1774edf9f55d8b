//! The error at the far end of a run, to first order.
//!
//! # The tube
//!
//! The tube is laid from the end that bending begins at, its first bend's plane as drawn. With u₀ … uₙ the directions of
//! its straights, the far end's place P and direction d change with what the bench sets (`bench` follows the same
//! operations):
//!
//! * the straight before bend i, by δs: P by u·δs;
//! * the turn to bend i, by δt: as a rotation about that straight, P by u × (P − b)·δt and d by u × d·δt, with b the
//!   bend's start;
//! * the angle of bend i, by δa: as a rotation about its axis k through its centre c, P by k × (P − c)·δa, d by k × d·δa;
//! * its radius R, by δR: P by (u·sin a + (k × u)·(1 − cos a))·δR.
//!
//! A mark δm further on makes the straight before its bend longer and the one behind it shorter. A bend of arc R·a takes
//! (1 − stretch)·R·a of tube; what an error of R or a takes more is missing behind the bend, or before it for the part of
//! the bend that lies before the tool's mark (none of it for `start`, half for `middle`, all for `end`). A longer cut
//! lengthens the last straight. All errors are independent and normal, but for the radius, which is one for all bends of
//! one radius; a half-width of 95 % is [`REACH_95`] standard deviations. Ports are off by the same on each axis.
//!
//! Variances add up: along d, square to it (the circle of 95 %), and of the direction.
//!
//! # Whether it goes in
//!
//! See [`mod@goes_in`] and [`mod@seating`]: errors drawn by the hundred, each time with the rigid tube moved as its
//! fittings allow.

mod causes;
mod goes_in;
mod seating;
mod spreads;

pub use self::spreads::{Spread, spreads};

use self::causes::{Cause, Chain};
use self::goes_in::goes_in;
pub(crate) use self::seating::Seating;
use super::model::{Dominant, Early, FarEnd, FromEnd, Quantity, Reach, RunPlan};
use crate::centreline::LaidRun;
use crate::formula::normal::{REACH_95, circle_95};
use crate::geometry::{InnerSpace, Point3, Vector3, Zero, reference_normal};
use crate::spec::model::{End, Uncertainty};
use crate::tolerance::COINCIDENT_MM;

/// Largest sideways misfit at an end without a fitting, mm: common practice, no source.
const MAX_SIDE: f64 = 0.5;

/// The part of its depth that a tube may lack in a fitting, or go deeper: common practice, no source.
const INSERT_PLAY: f64 = 0.25;

/// Tubes tried in one run, and at most in all runs together.
const TRIED: usize = 1000;
const TRIED_IN_ALL: usize = 20_000;

/// Fewest tubes tried in one run.
const LEAST_TRIED: usize = 50;

/// How many tubes are tried in each of so many runs.
pub(super) fn tried(runs: usize) -> usize {
    TRIED.min(TRIED_IN_ALL / runs.max(1)).max(LEAST_TRIED)
}

/// The error at the far end of a run that has a port, or a point that faces somewhere, at both ends.
pub(super) fn far_end(
    laid: &LaidRun,
    plan: &RunPlan,
    uncertainty: &Uncertainty,
    tried: usize,
) -> Option<FarEnd> {
    let ends = [laid.run.from.as_ref()?, laid.run.to.as_ref()?];
    if ends.iter().any(|end| end.facing.is_none()) {
        return None;
    }
    let first = plan.begins_at();
    let chain = Chain::new(laid, plan, first);
    let (place, way) = chain.far_end();
    let causes = causes::causes(&chain, laid, plan, uncertainty);
    let port = uncertainty.port / REACH_95;
    let error = spread(&causes, port, way);
    let forgiven = ends.map(forgiven);
    // Trimmed at the far end, the tube is as long as it has to be.
    let has = plan.allowances(first)[1];
    let forgiven_along = forgiven[0].along + forgiven[1].along;
    let leave = if error.along > forgiven_along { error.along.ceil() } else { 0.0 };
    let order = |pair: [Reach; 2]| match first {
        FromEnd::Datum => pair,
        FromEnd::Other => [pair[1], pair[0]],
    };
    let seating = Seating::new(chain.near_end(), (place, way), order(forgiven), has > 0.0 && has >= leave);
    let dominant = dominant(&causes, port);
    Some(FarEnd {
        first,
        error,
        forgiven,
        dominant,
        goes_in: goes_in(&seating, &causes, (port, drawn_off(laid, ends, first)), tried),
        leave,
        early: dominant.and_then(|dominant| early(laid, &chain, &causes, dominant.quantity)),
    })
}

/// How far the far end is off as it is drawn: its place, with that of the other end taken away, and its direction. A bend
/// table need not end in its port.
fn drawn_off(laid: &LaidRun, [from, to]: [&End; 2], first: FromEnd) -> (Vector3, Vector3) {
    let line = &laid.centreline;
    let places = [line.start() - from.at, line.end() - to.at];
    // Out of the tube at either end is into the port.
    let turns = [
        from.facing.map(|facing| facing - line.start_direction()),
        to.facing.map(|facing| facing + line.end_direction()),
    ];
    let [moved, turned] = match first {
        FromEnd::Datum => [places[1] - places[0], turns[1].unwrap_or_else(Vector3::zero)],
        FromEnd::Other => [places[0] - places[1], turns[0].unwrap_or_else(Vector3::zero)],
    };
    (moved, turned)
}

/// What a fitting forgives.
pub(crate) fn forgiven(end: &End) -> Reach {
    let across = end.fitting.as_ref().map_or(MAX_SIDE, |fitting| fitting.max_side);
    let along = (INSERT_PLAY * end.insert()).max(across);
    Reach { along, across, angle: end.max_angle() }
}

/// The 95 % of the far end's error.
fn spread(causes: &[Cause], port: f64, way: Vector3) -> Reach {
    let side = reference_normal(way);
    let axes = [side, way.cross(side)];
    let along: f64 = causes.iter().map(|cause| (cause.deviation * cause.moves.dot(way)).powi(2)).sum();
    let plane = |of: &dyn Fn(&Cause) -> Vector3, more: f64| {
        let sum = |a: usize, b: usize| -> f64 {
            causes.iter().map(|c| c.deviation.powi(2) * of(c).dot(axes[a]) * of(c).dot(axes[b])).sum()
        };
        circle_95(deviations([[sum(0, 0) + more, sum(0, 1)], [sum(0, 1), sum(1, 1) + more]]))
    };
    // Both ports are off.
    let ports = 2.0 * port * port;
    Reach {
        along: REACH_95 * (along + ports).sqrt(),
        across: plane(&|cause| cause.moves, ports),
        angle: plane(&|cause| cause.turns, 0.0),
    }
}

/// The standard deviations along the axes of a covariance.
fn deviations(of: [[f64; 2]; 2]) -> [f64; 2] {
    let (middle, half) = ((of[0][0] + of[1][1]) / 2.0, (of[0][0] - of[1][1]) / 2.0);
    let apart = half.hypot(of[0][1]);
    [middle + apart, middle - apart].map(|variance| variance.max(0.0).sqrt())
}

/// The quantity with the largest part of the variance of the far end's place.
fn dominant(causes: &[Cause], port: f64) -> Option<Dominant> {
    let of = |cause: &Cause| (cause.quantity, cause.deviation.powi(2) * cause.moves.magnitude2());
    let all: Vec<(Quantity, f64)> =
        causes.iter().map(of).chain([(Quantity::Ports, 6.0 * port * port)]).collect();
    let whole: f64 = all.iter().map(|(_, variance)| variance).sum();
    let (quantity, variance) = all.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (variance > 0.0).then(|| Dominant { quantity, share: variance / whole })
}

/// What shows 95 % of a quantity's error before the tube is tried: the template whose ends it moves most.
fn early(laid: &LaidRun, chain: &Chain<'_>, causes: &[Cause], quantity: Quantity) -> Option<Early> {
    match quantity {
        Quantity::Ports => return Some(Early::Ports),
        Quantity::Turn(bend) => return Some(Early::Turn { bend }),
        Quantity::Mark(_) | Quantity::Angle(_) | Quantity::Radius(_) | Quantity::Length => {}
    }
    let cause = causes.iter().find(|cause| cause.quantity == quantity)?;
    let groups = laid.centreline.plane_groups();
    let of = groups.len();
    let sizes = groups.into_iter().enumerate().filter_map(|(index, group)| {
        let (from, to) = chain.ends_of(&group)?;
        let apart = to - from;
        let mm = apart.magnitude();
        if mm < COINCIDENT_MM {
            return None;
        }
        let moved = chain.moves_within(&cause.parts, &group, to);
        let off = (moved.dot(apart) / mm * cause.deviation * REACH_95).abs();
        Some(Early::EndToEnd { plane: index + 1, of, mm, off })
    });
    let change = |size: &Early| if let Early::EndToEnd { off, .. } = size { *off } else { 0.0 };
    sizes.max_by(|a, b| change(a).total_cmp(&change(b)))
}

/// A place and the direction of the tube there.
type Pose = (Point3, Vector3);

#[cfg(test)]
mod tests;
