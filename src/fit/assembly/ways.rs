//! The ways in which a tube comes out of its ports.

use super::motion::Leg;
use super::parts::{Held, Tube};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::Rotation;

/// A way out, from its place until both ends are free.
pub(super) struct Way {
    /// Its legs, each with whether the straight at either end slides in its port meanwhile.
    pub(super) legs: Vec<(Leg, [bool; 2])>,
    /// What is done.
    pub(super) drawn: Drawn,
}

/// What is done to draw a tube out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Drawn {
    /// Nothing holds it.
    Lifted,
    /// Straight along a unit vector, mm; which ends slide out of their ports.
    Straight { way: Vector3, travel: f64, ends: [bool; 2] },
    /// Deeper into the port at one end, `deeper` mm; turned about its axis; then out of it by `travel` mm.
    Turned { end: usize, deeper: f64, turn: Rotation, travel: f64 },
}

/// Turns about the axis of a port are tried in steps of so many degrees.
const TURN_STEP: i32 = 10;

/// The ways in which a tube comes out whose ends in `engaged` are in their ports, plain ones first.
pub(super) fn ways(tube: &Tube, engaged: [Option<&Held>; 2]) -> Vec<Way> {
    let slides = engaged.map(|end| end.is_some());
    let lead = engaged.into_iter().flatten().max_by(|a, b| a.hold.total_cmp(&b.hold));
    let Some(lead) = lead else {
        return vec![Way { legs: Vec::new(), drawn: Drawn::Lifted }];
    };
    let mut ways = Vec::new();
    let (way, travel) = (lead.facing, lead.hold);
    if engaged.into_iter().flatten().all(|end| end.lets_go(way, end.hold)) {
        let legs = vec![(Leg::Shift(way * travel), slides)];
        ways.push(Way { legs, drawn: Drawn::Straight { way, travel, ends: slides } });
    }
    for end in [0, 1] {
        if let Some(held) = engaged[end] {
            ways.extend(turned(tube, end, held, engaged[1 - end]));
        }
    }
    ways
}

/// The ways in which the tube goes deeper at one end, until the other is free, and is turned about that port's axis.
fn turned(tube: &Tube, end: usize, held: &Held, other: Option<&Held>) -> Vec<Way> {
    let deeper = other.map_or(0.0, |other| other.hold);
    let goes_in = held.goes_deeper(-held.facing, deeper);
    let lets_go = other.is_none_or(|other| other.lets_go(-held.facing, other.hold));
    let arm = tube.arm(held.face, held.facing);
    // A straight tube is turned in vain.
    if !goes_in || !lets_go || tube.is_straight() {
        return Vec::new();
    }
    let own = [end == 0, end == 1];
    let degrees = (1..=180 / TURN_STEP).flat_map(|step| [step * TURN_STEP, -step * TURN_STEP]);
    degrees
        .map(|degrees| {
            let turn = rotation(held.face, held.facing, f64::from(degrees).to_radians());
            let travel = held.hold + deeper;
            let legs = vec![
                (Leg::Shift(held.facing * -deeper), [true; 2]),
                (Leg::Turn(turn, arm), own),
                (Leg::Shift(held.facing * travel), own),
            ];
            Way { legs, drawn: Drawn::Turned { end, deeper, turn, travel } }
        })
        .collect()
}

fn rotation(about: Point3, axis: Vector3, angle: f64) -> Rotation {
    Rotation { axis, angle, about }
}
