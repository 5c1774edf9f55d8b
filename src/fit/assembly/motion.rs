//! The ways parts are moved, and whether they meet others on the way.

use super::super::motion::Motion;
use crate::geometry::Vector3;
use crate::spec::model::Rotation;

/// A part of a way.
#[derive(Debug, Clone, Copy)]
pub(super) enum Leg {
    /// Along a line, mm.
    Shift(Vector3),
    /// About a line, with the largest distance of the part from it, mm.
    Turn(Rotation, f64),
}

impl Leg {
    /// A motion and so much of this leg.
    pub(super) fn after(&self, before: Motion, share: f64) -> Motion {
        match self {
            Leg::Shift(way) => before.shifted(*way * share),
            // All shifts of a path with a turn go along its line, so their order does not matter.
            Leg::Turn(turn, _) => before.turned(Rotation { angle: turn.angle * share, ..*turn }),
        }
    }

    /// The most that a point of the part moves, mm.
    fn travel(&self) -> f64 {
        match self {
            Leg::Shift(way) => way.x.hypot(way.y).hypot(way.z),
            Leg::Turn(turn, arm) => turn.angle.abs() * arm,
        }
    }
}

/// Parts may overlap by this much without being in each other's way, mm: what fittings forgive. Deeper ones are told as
/// clashes, and not again.
pub(super) const SLIGHT_MM: f64 = 0.5;

/// Parts that slide along each other overlap by rounding, mm.
pub(super) const TOUCH_MM: f64 = 0.05;

/// Distances may be told too large by this part.
pub(super) const PART_OF_WAY: f64 = 0.05;

/// The shortest step along a way, mm.
const STEP_MM: f64 = 0.25;

/// Whether a part that goes along these legs stays clear of another. `apart` is their distance after a motion, mm,
/// negative by the depth of an overlap, and no more than [`PART_OF_WAY`] too large; of no matter where it is more than the number it is given, or deeper than by
/// [`SLIGHT_MM`] and [`TOUCH_MM`] together.
pub(super) fn is_clear(start: Motion, legs: &[Leg], apart: &mut dyn FnMut(&Motion, f64) -> f64) -> bool {
    let whole: f64 = legs.iter().map(Leg::travel).sum();
    let first = apart(&start, whole + 1.0);
    if first < -SLIGHT_MM {
        return true;
    }
    let least = first.min(0.0) - TOUCH_MM;
    let mut before = start;
    for leg in legs {
        let travel = leg.travel();
        let mut done = 0.0;
        // Every step is at least STEP_MM long. No point of the part moves further than the step.
        while done < travel {
            let near = apart(&leg.after(before, done / travel), whole + 1.0);
            if near < least {
                return false;
            }
            done += (near * (1.0 - PART_OF_WAY) - least).max(STEP_MM);
        }
        before = leg.after(before, 1.0);
        if apart(&before, whole + 1.0) < least {
            return false;
        }
    }
    true
}
