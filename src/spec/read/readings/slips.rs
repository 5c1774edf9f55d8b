//! Readings that are far from the plan, and the slip that most likely made them so. All of them are warnings: a tube may
//! be as bad as that.

use strum::VariantArray;

use super::number::Number;
use super::{Reader, Tube};
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

/// A reading as it is written.
struct Words<'w> {
    key: &'static str,
    /// The number behind it.
    text: &'w str,
    /// The quantity, as options name it.
    name: String,
}

/// Warns of a reading that is far from the plan.
pub(super) fn check(
    tube: &Tube<'_>,
    reader: &mut Reader,
    (key, text): (&'static str, &str),
    (what, number): (What, Number),
) {
    let words = &Words { key, text, name: tube.run.name(what) };
    let planned = tube.run.planned(what, tube.done);
    let Some(planned) = planned else { return };
    let told = match what {
        What::Angle(_) => angle(words, number.value.to_degrees(), planned.to_degrees()),
        What::Turn(_) => turn(words, number.value.to_degrees(), planned.to_degrees()),
        What::FarEnd(..) | What::OnTemplate(..) => None,
        _ => length(tube, reader.unit, (words, what), (number.value, planned)),
    };
    if let Some((code, message, hint)) = told {
        reader.warning(code, number.place, message, hint);
    }
}

/// A warning: its code, its message and what to write.
type Told = Option<(&'static str, String, String)>;

fn angle(Words { key, text, name }: &Words<'_>, got: f64, planned: f64) -> Told {
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

fn turn(Words { key, name, .. }: &Words<'_>, got: f64, planned: f64) -> Told {
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

fn length(
    tube: &Tube<'_>,
    unit: Unit,
    (Words { text, name, .. }, what): (&Words<'_>, What),
    (got, planned): (f64, f64),
) -> Told {
    let shown = |mm: f64| tube.run.unit.length_to(mm, 1);
    if let Some(other) = other_face(tube, what, got, planned) {
        let (told, face) = (other.1, word(other.0));
        let message = format!(
            "{name} is {}; the plan has {} to the {}, and {} to the {face}",
            shown(got),
            shown(planned),
            word(tube.measured),
            shown(told)
        );
        return Some((
            "measured-elsewhere",
            message,
            format!("write `measured: {face}` if that is where it was measured to"),
        ));
    }
    let near = NEAR_LENGTH.0.max(NEAR_LENGTH.1 * planned);
    // A tube half as long as it should be is no slip of its own.
    let far_from = (got - planned).abs() > near || !(0.5..2.0).contains(&(got / planned));
    if !far_from || planned < 1.0 {
        return None;
    }
    let message = format!("{name} is {}, and the plan has {}", shown(got), shown(planned));
    let explains = |other: &Unit| {
        let number = bare_number(text)?;
        (*other != unit && (number * other.millimetres() / planned - 1.0).abs() <= EXPLAINED_LENGTH)
            .then_some(*other)
    };
    let units = [Unit::Millimetre, Unit::Centimetre, Unit::Inch];
    if let Some(other) = units.iter().find_map(explains) {
        let hint = format!(
            "did you mean `{text} {}`? Numbers without a unit are {} here",
            other.name(),
            unit.name()
        );
        return Some(("reading-unit", message, hint));
    }
    Some(("reading-far-off", message, "check the reading, its unit and what it is measured from".to_owned()))
}

/// Another face of the legs that a length was most likely measured to, with the planned length there, mm.
fn other_face(tube: &Tube<'_>, what: What, got: f64, planned: f64) -> Option<(LegMeasure, f64)> {
    if (got - planned).abs() < EXPLAINED_LEG.1 {
        return None;
    }
    let to = |face| match what {
        What::Leg(bend, _) => Some(What::Leg(bend, face)),
        What::Between(bend, _) => Some(What::Between(bend, face)),
        What::LastLeg(_) => Some(What::LastLeg(face)),
        _ => None,
    };
    let other = |face: &LegMeasure| Some((*face, tube.run.planned(to(*face)?, tube.done)?));
    LegMeasure::VARIANTS
        .iter()
        .filter_map(other)
        .find(|(_, planned)| (got - planned).abs() <= EXPLAINED_LEG.0)
}

fn word(face: LegMeasure) -> &'static str {
    face.into()
}
