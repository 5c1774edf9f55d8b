//! The least errors of a tube that a jig shows.

use super::Duty;
use super::quad::length;
use super::stand::{Stand, section_reach};
use super::tube::{TubeInJig, Wrong};
use crate::geometry::InnerSpace;

/// How deep a wrong tube must be in an upright to count as stopped by it, mm: a hair, so that a touch by
/// rounding is none.
const FELT_MM: f64 = 0.03;

/// Below this cosine of its slope (about 5°) a straight's section by a plumb plate is no circle.
const SLOPING: f64 = 0.996;

/// Errors of a bend that are looked for, degrees: the smallest of interest and the largest by which a tube
/// could still be meant to be right.
const LEAST_DEG: f64 = 0.05;
const MOST_DEG: f64 = 10.0;

/// The error of a bend that a jig ought to show, degrees (bending by hand is good for 1° to 2°: common
/// practice, no source).
pub(super) const SHOWN_DEG: f64 = 2.0;

/// The error of a straight's length that a jig ought to show, mm (twice what marking and cutting by hand
/// are good for: common practice, no source).
pub(super) const SHOWN_MM: f64 = 2.0;

/// Whether a tube that is wrong beyond a piece is stopped by an upright further on.
fn stopped(tube: &TubeInJig, stands: &[Stand], after: usize, wrong: &Wrong, rim: &[(f64, f64); RIM]) -> bool {
    // The furthest first: an error moves them most.
    stands.iter().rev().any(|stand| {
        if stand.duty == Duty::Guard && stand.piece > after {
            return past_guard(stand, tube, wrong);
        }
        let Some(leg) = tube.leg(stand.piece) else { return false };
        match stand.duty {
            Duty::Cradle if stand.piece > after => held_off(stand, leg, tube.radius, wrong, rim),
            Duty::Gate if stand.piece >= after => {
                let end = wrong.point(leg.point(leg.length));
                let direction = wrong.vector(leg.direction);
                let (u, n, z) = stand.local(end);
                let reach = section_reach(direction, stand.ahead, tube.radius);
                // The foremost point lies above or below the end's middle.
                let z = z - direction.z.signum() * tube.radius * length(direction.x, direction.y);
                n + reach > FELT_MM - stand.thickness / 2.0
                    && n - reach < stand.thickness / 2.0
                    && u > -stand.arms[0]
                    && u < stand.arms[1]
                    && z < stand.top
            }
            _ => false,
        }
    })
}

/// Whether a guard is in the way of its bend, gone wrong.
fn past_guard(stand: &Stand, tube: &TubeInJig, wrong: &Wrong) -> bool {
    tube.samples_of(stand.piece).iter().any(|sample| {
        let (u, n, z) = stand.local(wrong.point(sample.at));
        let direction = wrong.vector(sample.direction);
        let reach = section_reach(direction, stand.ahead, tube.radius);
        // The section's foremost point is off its middle by the part of `ahead` that is square to the tube.
        let square = stand.ahead - direction * direction.dot(stand.ahead);
        let off = if reach > 0.0 { square * (tube.radius * tube.radius / reach) } else { square };
        let (u, z) = (u + off.dot(stand.across), z + off.z);
        n + reach > FELT_MM - stand.thickness / 2.0
            && n < stand.thickness / 2.0
            && u > -stand.arms[0]
            && u < stand.arms[1]
            && z < stand.top
    })
}

/// Points of a section's rim that are looked at on a slope.
const RIM: usize = 24;

/// Sines and cosines round the rim.
fn rim() -> [(f64, f64); RIM] {
    // As many as the array has.
    std::array::from_fn(|k| (std::f64::consts::TAU * k as f64 / RIM as f64).sin_cos())
}

/// Whether a cradle is in the way of its own straight, gone wrong. A plate's sides, where the straight is
/// farthest off, cut it in an ellipse of its radius and, upwards, that over the cosine of its slope: a circle of
/// its radius at least, and on a slope the points of the ellipse's rim.
fn held_off(
    stand: &Stand,
    leg: &super::tube::Leg,
    radius: f64,
    wrong: &Wrong,
    rim: &[(f64, f64); RIM],
) -> bool {
    let (from, direction) = (wrong.point(leg.from), wrong.vector(leg.direction));
    let step = direction.dot(stand.ahead);
    if step < 0.1 {
        return false;
    }
    let (_, start, _) = stand.local(from);
    let level = length(direction.x, direction.y);
    let walls = stand.top - stand.saddle.map_or(0.0, |saddle| saddle.chamfer);
    [-0.5, 0.0, 0.5].iter().any(|side| {
        let along = ((side * stand.thickness - start) / step).clamp(0.0, leg.length);
        let (u, n, z) = stand.local(from + direction * along);
        if n.abs() > stand.thickness / 2.0 + 1e-9 {
            return false;
        }
        let radius = radius - FELT_MM;
        let met = |(sin, cos): &(f64, f64)| stand.covers(u + radius * cos, z + radius / level * sin, walls);
        stand.flat_distance(u, z, walls) < radius || (level < SLOPING && rim.iter().any(met))
    })
}

/// Whether an error of a bend, either way, is felt; `by` in rad.
fn both_felt(tube: &TubeInJig, stands: &[Stand], bend: usize, by: f64, rim: &[(f64, f64); RIM]) -> bool {
    let (Some(&piece), Some(b)) = (tube.arcs.get(bend), tube.bends.get(bend)) else { return false };
    [by, -by]
        .iter()
        .map(|by| Wrong::Turned { centre: b.centre, axis: b.axis, by: by.sin_cos() })
        .all(|wrong| stopped(tube, stands, piece, &wrong, rim))
}

/// Smallest error (rad) of each bend's angle that is felt whichever way it goes; none where it is not.
pub(super) fn least_errors(tube: &TubeInJig, stands: &[Stand]) -> Vec<Option<f64>> {
    let rim = rim();
    let felt = |bend: usize, degrees: f64| both_felt(tube, stands, bend, degrees.to_radians(), &rim);
    let least = |bend: usize| {
        let mut low = 0.0;
        let mut high = LEAST_DEG;
        // By half more each time, up to MOST_DEG.
        while !felt(bend, high) {
            low = high;
            high *= 1.5;
            if low >= MOST_DEG {
                return None;
            }
        }
        for _ in 0..12 {
            let middle = (low + high) / 2.0;
            if felt(bend, middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        // A larger error must not slip by where a smaller one is felt.
        let larger = (1..=6).map(|step| high + (SHOWN_DEG - high).max(0.0) * f64::from(step) / 6.0);
        let sure = larger.fold(high, |least, by| if felt(bend, by) { least } else { by });
        if sure > high { None } else { Some(high.to_radians()) }
    };
    (0..tube.bends.len()).map(least).collect()
}

/// The straights of which the jig does not show that they are too long by [`SHOWN_MM`]: numbers of the bends they lead
/// to, from 1; one more for the last.
pub(super) fn unfelt_straights(tube: &TubeInJig, stands: &[Stand]) -> Vec<usize> {
    let rim = rim();
    let longer = |leg: &super::tube::Leg| Wrong::Longer(leg.direction * SHOWN_MM);
    let unfelt = |leg: &&super::tube::Leg| !stopped(tube, stands, leg.piece, &longer(leg), &rim);
    let number = |leg: &super::tube::Leg| tube.arcs.iter().filter(|&&arc| arc < leg.piece).count() + 1;
    tube.legs.iter().filter(unfelt).map(number).collect()
}
