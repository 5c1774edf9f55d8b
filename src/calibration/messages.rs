//! A refusal in words.

use super::{Calibration, Implausible, LengthFit, Off, RadiusHeld, Refusal};
use crate::diagnostic::Diagnostic;
use crate::quantity::{Unit, percent};
use crate::spec::model::{Bender, Tube};

/// Why a bender's test bends are not used, at the piece it is about.
pub(super) fn refusal(
    bender: &Bender,
    tube: &Tube,
    calibration: &Calibration,
    unit: Unit,
) -> Option<Diagnostic> {
    let pieces = &calibration.pieces;
    let measured = pieces.iter().find(|piece| piece.worst_length().is_some()).or(pieces.first())?;
    let (code, message, hint, place) = match calibration.refusal? {
        Refusal::DoNotAgree { piece, off, told } => {
            let piece = pieces.get(piece)?;
            let (message, hint) = disagreement(bender, piece.number, (off, told), calibration, unit);
            ("bad-test-bends", message, hint, piece.place)
        }
        Refusal::Implausible(what) => {
            let (message, hint) = implausible(bender, what, calibration, unit);
            let angles = matches!(what, Implausible::Fixed(_) | Implausible::Rate(_));
            let place = if angles { pieces.first()?.place } else { measured.place };
            ("bad-test-bends", message, hint, place)
        }
        Refusal::InsideTube => {
            let message = format!(
                "the test bends of `{}` give a radius of {}, which is inside a tube of {}",
                bender.name,
                unit.length_to(calibration.clr.value, 2),
                unit.length(tube.od())
            );
            ("clr-too-small", message, legs_hint().to_owned(), measured.place)
        }
    };
    Some(Diagnostic::error(code, message).hint(hint).at(place))
}

fn disagreement(
    bender: &Bender,
    number: usize,
    (off, told): (Off, bool),
    calibration: &Calibration,
    unit: Unit,
) -> (String, String) {
    let name = &bender.name;
    let (by, limit, again) = match off {
        Off::Angle(angle) => (degrees(angle.abs()), "0.5°".to_owned(), "`pulled` and `got`"),
        Off::Length(LengthFit { off, limit }) => {
            (unit.length_with(off.abs(), 2), unit.length_to(limit, 1), "`cut`, legs and `measured`")
        }
    };
    if told {
        let others = calibration.pieces.len() - 1;
        let message = format!(
            "piece {number} of the test bends of `{name}` is {by} off what the other {others} say; a good \
             reading is at most {limit} off"
        );
        return (
            message,
            format!("check {again} of piece {number}, or leave the piece out and bend another"),
        );
    }
    let message = format!(
        "the test bends of `{name}` do not agree: piece {number} is {by} off their fit, more than {limit}; \
         which piece is wrong cannot be told"
    );
    let hint = format!(
        "measure all {} again, {again} first; with five or more, some of them alike, the wrong one can be told",
        calibration.pieces.len()
    );
    (message, hint)
}

fn implausible(
    bender: &Bender,
    what: Implausible,
    calibration: &Calibration,
    unit: Unit,
) -> (String, String) {
    let angles = "`pulled` is the angle held in the bender, `got` the angle after letting go, both counted from \
                  straight";
    let name = &bender.name;
    match what {
        Implausible::Fixed(fixed) => (
            format!(
                "the test bends of `{name}` give a springback of {} at an angle of 0, which no tube has",
                degrees(fixed)
            ),
            angles.to_owned(),
        ),
        Implausible::Rate(rate) => (
            format!(
                "the test bends of `{name}` give a springback of {} % of the bend, which no tube has",
                percent(rate)
            ),
            angles.to_owned(),
        ),
        Implausible::Radius(radius) => (
            format!(
                "the test bends of `{name}` give a radius of {} for a `clr` of {}",
                unit.length_to(radius, 1),
                unit.length(bender.clr)
            ),
            legs_hint().to_owned(),
        ),
        Implausible::Stretch(stretch) => {
            let held = if calibration.radius_held.is_some_and(|held| held != RadiusHeld::NoLengths) {
                format!(", with the radius held at {}", unit.length(bender.clr))
            } else {
                String::new()
            };
            let message =
                format!("the test bends of `{name}` say that arcs stretch by {} %{held}", percent(stretch));
            (message, legs_hint().to_owned())
        }
    }
}

fn legs_hint() -> &'static str {
    "check `measured` (centre, outside or inside), the unit of `cut` and legs, and `clr`"
}

/// An angle in degrees to a hundredth.
fn degrees(angle: f64) -> String {
    format!("{:.2}°", angle.to_degrees())
}
