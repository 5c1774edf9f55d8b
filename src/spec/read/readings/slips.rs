//! Readings that are far from the plan, and the slip that most likely made them so. All of them are warnings: a tube may
//! be as bad as that.

use strum::VariantArray;

use super::{Taken, Tube};
use crate::quantity::{Unit, bare_number, trimmed};
use crate::spec::model::{LegMeasure, What};
use crate::spec::values::half_turn;

/// Nearer to the plan than this an angle needs no explanation, degrees.
const NEAR_ANGLE: f64 = 12.0;
/// The same of a turn, degrees.
const NEAR_TURN: f64 = 30.0;
/// The same of a length, mm, and as a part of the planned one.
const NEAR_LENGTH: (f64, f64) = (25.0, 0.15);
/// As near as this, degrees, an angle is explained by a slip.
const EXPLAINED_ANGLE: f64 = 6.0;
/// As near as this, a part, a length is explained by another unit.
const EXPLAINED_LENGTH: f64 = 0.04;
/// As near as this, mm, a leg is explained by another face that it was measured to; and as far from its own.
const EXPLAINED_LEG: (f64, f64) = (1.2, 3.0);

/// A warning: its code, its message and what to write.
pub(super) type Told = Option<(&'static str, String, String)>;

/// The code of a reading that is as planned in another unit.
pub(super) const UNIT: &str = "reading-unit";

/// The warning of a reading that is far from the plan. `unit` is that of bare numbers.
pub(super) fn explain(tube: &Tube<'_>, unit: Unit, taken: &Taken) -> Told {
    let (what, got) = (taken.what, taken.number.value);
    let planned = tube.run.planned(what, tube.done)?;
    let name = tube.run.name(what);
    match what {
        What::Angle(_) => angle(taken, &name, planned.to_degrees()),
        What::Turn(_) => turn(taken, &name, planned.to_degrees()),
        What::FarEnd(..) | What::OnTemplate(..) => None,
        _ => other_face(tube, &name, taken, planned)
            .or_else(|| length(tube, unit, (&name, taken), (got, planned))),
    }
}

fn angle(Taken { key, text, number, .. }: &Taken, name: &str, planned: f64) -> Told {
    let got = number.value.to_degrees();
    if (got - planned).abs() <= NEAR_ANGLE {
        return None;
    }
    let message = format!("{name} is {}°, and the plan has {}°", trimmed(got), trimmed(planned));
    let is_bare = text.ends_with(|c: char| c.is_ascii_digit());
    let degrees = got.to_degrees();
    if is_bare && (degrees - planned).abs() <= EXPLAINED_ANGLE {
        let degrees = trimmed((degrees * 10.0).round() / 10.0);
        let hint = format!(
            "angles are degrees: did you mean `{key}: {degrees}`, which is {text} radians? If not, write `{text} deg`"
        );
        return Some(("radians", message, hint));
    }
    let included = 180.0 - got;
    if (included - planned).abs() <= EXPLAINED_ANGLE {
        let hint = format!(
            "an angle counts from the straight tube: did you mean `{key}: {}`, with {} between the legs?",
            trimmed(included),
            trimmed(got)
        );
        return Some(("included-angle", message, hint));
    }
    Some(("reading-far-off", message, "check the reading, and the number of the bend".to_owned()))
}

fn turn(Taken { key, number, .. }: &Taken, name: &str, planned: f64) -> Told {
    let got = number.value.to_degrees();
    let off = |got: f64| half_turn(got - planned).abs();
    if off(got) <= NEAR_TURN {
        return None;
    }
    let message = format!("{name} is {}°, and the plan has {}°", trimmed(got), trimmed(planned));
    if off(-got) <= NEAR_TURN {
        let hint = format!(
            "a turn counts clockwise when you look along the tube, from either end: did you mean `{key}: {}`?",
            trimmed(-got)
        );
        return Some(("turn-other-way", message, hint));
    }
    Some(("reading-far-off", message, "check the reading, and the number of the bend".to_owned()))
}

/// A leg that is as planned to another face than the one it was most likely measured to.
fn other_face(tube: &Tube<'_>, name: &str, taken: &Taken, planned: f64) -> Told {
    let got = taken.number.value;
    if (got - planned).abs() < EXPLAINED_LEG.1 {
        return None;
    }
    let to = |face| match taken.what {
        What::Leg(bend, _) => Some(What::Leg(bend, face)),
        What::Between(bend, _) => Some(What::Between(bend, face)),
        What::LastLeg(_) => Some(What::LastLeg(face)),
        _ => None,
    };
    let other = |face: &LegMeasure| Some((word(*face), tube.run.planned(to(*face)?, tube.done)?));
    let is_near = |(_, there): &(&str, f64)| (got - there).abs() <= EXPLAINED_LEG.0;
    let (face, there) = LegMeasure::VARIANTS.iter().filter_map(other).find(is_near)?;
    let shown = |mm: f64| tube.run.unit.length_to(mm, 1);
    let message = format!(
        "{name} is {}; the plan has {} to the {}, and {} to the {face}",
        shown(got),
        shown(planned),
        word(tube.measured),
        shown(there)
    );
    let hint = format!("write `measured: {face}` if that is where it was measured to");
    Some(("measured-elsewhere", message, hint))
}

fn length(tube: &Tube<'_>, unit: Unit, (name, taken): (&str, &Taken), (got, planned): (f64, f64)) -> Told {
    let near = NEAR_LENGTH.0.max(NEAR_LENGTH.1 * planned);
    // A short length may be near in mm, and a slip of the unit all the same.
    let is_near = (got - planned).abs() <= near && (0.5..2.0).contains(&(got / planned));
    if is_near || planned < 1.0 {
        return None;
    }
    let of_run = tube.run.unit;
    let message =
        format!("{name} is {}, and the plan has {}", of_run.length(got), of_run.length_to(planned, 1));
    let text = &taken.text;
    let explains = |other: &Unit| {
        let number = bare_number(text)?;
        let there = number * other.millimetres() / planned - 1.0;
        (*other != unit && there.abs() <= EXPLAINED_LENGTH).then_some(*other)
    };
    let units = [Unit::Millimetre, Unit::Centimetre, Unit::Inch];
    if let Some(other) = units.iter().find_map(explains) {
        let (other, unit) = (other.name(), unit.name());
        let hint = format!("did you mean `{text} {other}`? Numbers without a unit are `{unit}` here");
        return Some((UNIT, message, hint));
    }
    Some(("reading-far-off", message, "check the reading, its unit and what it is measured from".to_owned()))
}

fn word(face: LegMeasure) -> &'static str {
    face.into()
}
