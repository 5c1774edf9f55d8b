//! A run against itself.

use super::distance::{Bounds, MEASURED, Near};
use super::stretch::Stretch;
use super::world::World;
use crate::centreline::{Bend, Centreline, LaidRun};
use crate::tolerance::CLEARANCE_MM;

/// Distance between two parts of one tube, where they come nearer to each other than the legs of
/// the tightest U its bends allow would stand apart; none where none do.
///
/// A curve bent no tighter than R has a chord of at least 2R·sin(s/2R) over a length s ≤ π·R (Schur's
/// comparison theorem), so places less than π·R apart along the tube cannot touch unless the bend
/// itself folds; they are left out. At s = π·R the chord is at least 2R, so whatever is nearer than
/// that is a place where the tube comes back to itself.
pub(super) fn distance(laid: &LaidRun, tube: &[Stretch]) -> Option<Near> {
    distance_of(&laid.centreline, laid.run.tube.od(), tube)
}

/// The same of the tube of diameter `od`, mm, along a line.
pub(super) fn distance_of(line: &Centreline, od: f64, tube: &[Stretch]) -> Option<Near> {
    let tightest = line.bends().iter().map(|bend: &Bend| bend.radius).reduce(f64::min)?;
    let around = std::f64::consts::PI * tightest;
    let margin = 2.0 * tightest - od - CLEARANCE_MM;
    let mut best = Near::within(margin);
    let alone = World::alone(tube);
    for stretch in tube {
        for other in alone.tubes_near(stretch, margin.max(0.0)) {
            // Places of one straight are as far apart as they are along it: no nearer than `around`.
            let one_straight = stretch.is_straight() && other.is_straight() && other.from() <= stretch.from();
            if other.from() >= stretch.from() && !one_straight {
                lower(&mut best, stretch, &other, around);
            }
        }
    }
    (best.distance < margin).then_some(best)
}

/// Lowers `best` to the distance between two stretches, the first before the second, counting only
/// places at least `around` apart along the tube.
fn lower(best: &mut Near, first: &Stretch, second: &Stretch, around: f64) {
    if second.to() - first.from() < around {
        return;
    }
    let Some(bounds) = Bounds::below(best.distance - MEASURED, first, second) else { return };
    let counts = second.from() - first.to() >= around;
    if counts {
        bounds.lower(best, first, second);
        if first.slack() + second.slack() <= MEASURED {
            return;
        }
    }
    if !counts && first.length().max(second.length()) < CLEARANCE_MM {
        // A hundredth of tube astride the limit is as good as outside it.
        return;
    }
    if first.length() >= second.length() {
        first.halves().iter().for_each(|half| lower(best, half, second, around));
    } else {
        second.halves().iter().for_each(|half| lower(best, first, half, around));
    }
}
