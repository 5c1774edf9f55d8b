//! Constants that a calibration cannot tell, the reason, and the pieces to bend next.

use std::f64::consts::PI;

use super::{APART, Calibration, RadiusHeld};
use crate::quantity::Unit;

/// A radius known worse than this is worth a better measurement, mm.
const RADIUS_WANTED_MM: f64 = 0.2;

/// The constants that are held, and why, one sentence each, for a bender with this `clr`, mm. Lengths are in a
/// spec's unit.
pub fn held(calibration: &Calibration, clr: f64, unit: Unit) -> Vec<String> {
    let mut held = Vec::new();
    if calibration.fixed.held {
        held.push(format!(
            "all pieces were pulled to about {}, so springback is taken to grow with the angle from 0",
            about(mean(calibration.pieces.iter().map(|piece| piece.pulled)))
        ));
    }
    let clr = unit.length_to(clr, 2);
    match calibration.radius_held {
        None if calibration.stretch.held => {
            held.push("no piece has legs, so stretch is taken as 0".to_owned());
        }
        None => {}
        Some(RadiusHeld::NoLengths) => {
            held.push(format!(
                "no piece has lengths, so the radius stays {clr} as written and stretch is taken as 0"
            ));
        }
        Some(RadiusHeld::OneAngle(angle)) => held.push(format!(
            "all legs are of bends of about {}, which cannot tell radius from stretch: the radius stays \
             {clr} as written, and what the legs say counts as stretch",
            about(angle)
        )),
        Some(RadiusHeld::Uncertain(error)) => held.push(format!(
            "these legs would leave the radius uncertain by {}: it stays {clr} as written, and what \
             the legs say counts as stretch",
            unit.length_to(error, 1)
        )),
    }
    held
}

/// The pieces to measure next, one sentence each; nothing where all is known well.
pub fn next(calibration: &Calibration, unit: Unit) -> Vec<String> {
    let mut next = Vec::new();
    if calibration.fixed.held {
        let far = other_angle(mean(calibration.pieces.iter().map(|piece| piece.pulled)));
        next.push(format!("bend a piece to {far}° as well: springback at other angles is a guess so far"));
    } else if calibration.angles_to_spare == 0 {
        next.push("bend one more piece: as many pieces as unknowns cannot show a misreading".to_owned());
    }
    let u_bend = "bend a U, 170 to 190° after letting go, and write `across`, its width over the backs of its legs where \
                  the bend ends";
    match calibration.radius_held {
        Some(RadiusHeld::NoLengths) => next.push(format!(
            "cut a piece to a known length, bend it to 90° and write `cut`, `leg_a`, `leg_b` and `measured`; \
             {u_bend}: they give stretch and radius"
        )),
        Some(RadiusHeld::OneAngle(angle)) => next.push(format!(
            "to tell radius from stretch, bend a piece with known length to {}°, or {u_bend}",
            other_angle(angle)
        )),
        Some(RadiusHeld::Uncertain(_)) => {
            next.push(format!("to tell radius from stretch, bend a piece with known length to 120°, or {u_bend}"));
        }
        None if calibration.stretch.held => next.push(
            "cut a piece to a known length, bend it to 90° and write `cut`, `leg_a`, `leg_b` and `measured`: \
             it gives the stretch"
                .to_owned(),
        ),
        None => {
            let known = calibration.clr.reading_error.filter(|error| *error > RADIUS_WANTED_MM);
            if let Some(error) = known {
                let error = unit.length_to(error, 1);
                next.push(format!("the radius is known to about {error}; to know it better, {u_bend}"));
            }
            if calibration.lengths_to_spare == 0 {
                let more = "measure the legs of one more piece: as many lengths as unknowns cannot show a misreading";
                next.push(more.to_owned());
            }
        }
    }
    next
}

/// An angle far enough from this one, degrees.
fn other_angle(angle: f64) -> u32 {
    if angle < PI / 2.0 - APART {
        120
    } else if angle > PI / 2.0 + APART {
        60
    } else {
        45
    }
}

/// "92°": to the nearest degree.
fn about(angle: f64) -> String {
    format!("{:.0}°", angle.to_degrees())
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0usize), |(sum, count), value| (sum + value, count + 1));
    sum / count.max(1) as f64
}

/// How test bends are written, with numbers of 15 mm tube bent over a radius of 55 mm.
pub const EXAMPLE: &str = "\
bender:
  clr: 55
  test_bends:
    # pulled: the angle held in the bender; got: the angle after letting go; straight is 0. temper: how hard the
    # piece was when it was bent (soft where it was annealed); left out: as the bends of the runs are
    - {pulled: 45, got: 43.6}
    # cut: length before bending; legs: from either end to where the outsides of the legs cross
    - {pulled: 92, got: 89.5, cut: 300, leg_a: 160, leg_b: 180.1, measured: outside}
    # a U, 170 to 190 after letting go. across: its width over the backs of its legs where the bend ends
    - {pulled: 184.5, got: 179.7, across: 126.6}
";
