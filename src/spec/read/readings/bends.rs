//! The readings of bends.

use super::number::{filled, numbered};
use super::{Tube, What};
use crate::diagnostic::{Span, listed};
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader, is_null};
use crate::spec::keys;
use crate::spec::model::{MOST_CROSSING, MadeBend, Measurable};
use crate::spec::node::{Node, Value};

/// Reads `bends:`.
pub(super) fn read(tube: &mut Tube<'_>, reader: &mut Reader, fields: &Fields<'_>) {
    let Some((_, node)) = filled(reader, fields, "bends") else { return };
    for (number, place, node) in numbered(reader, node, "bend") {
        if is_null(node) {
            continue;
        }
        let Some(position) = position(tube.run, reader, number, place) else { continue };
        let Some(fields) = reader.fields(node, &keys::READ_BEND, place) else { continue };
        if position >= tube.done {
            if says_something(node) {
                not_made(tube, reader, (number, position), place);
            }
            continue;
        }
        bend(tube, reader, position, &fields);
    }
}

/// Where a bend stands in the order they are made; noted where the run has no such bend.
fn position(run: &Measurable, reader: &mut Reader, number: usize, place: Span) -> Option<usize> {
    let position = run.bends.iter().position(|bend| bend.number == number);
    if position.is_none() {
        let hint = match run.bends.len() {
            0 => "it is straight: write `cut` alone".to_owned(),
            1 => "its only bend is 1".to_owned(),
            count => format!("its bends are 1 to {count}, counted from the datum end as on the worksheet"),
        };
        let message = format!("run {} has no bend {number}", run.run);
        reader.error("unknown-bend", place, message, hint);
    }
    position
}

/// Whether any value of a mapping is written.
pub(super) fn says_something(node: &Node) -> bool {
    match &node.value {
        Value::Scalar(scalar) => !scalar.null,
        Value::List(items) => !items.is_empty(),
        Value::Map(entries) => entries.iter().any(|(_, node)| says_something(node)),
    }
}

fn not_made(tube: &Tube<'_>, reader: &mut Reader, (number, position): (usize, usize), place: Span) {
    let order: Vec<String> = tube.run.bends.iter().map(|bend| bend.number.to_string()).collect();
    let message = format!(
        "bend {number} is not made yet: `bends_done` is {}, and the order is {}",
        tube.done,
        listed(&order).replace(" and ", ", ")
    );
    let hint = format!("write `bends_done: {}`, or delete the readings of this bend", position + 1);
    reader.error("not-made-yet", place, message, hint);
}

fn bend(tube: &mut Tube<'_>, reader: &mut Reader, position: usize, fields: &Fields<'_>) {
    let run = tube.run;
    let Some(bend) = run.bends.get(position) else { return };
    let before = position.checked_sub(1).and_then(|before| run.bends.get(before));
    let (number, to) = (bend.number, tube.measured);
    if filled(reader, fields, "pulled").is_some()
        && let Some(pulled) = reader.angle(fields, "pulled")
    {
        tube.pulled.push((number, pulled));
    }
    tube.take(reader, fields, "angle", What::Angle(number));
    if has_before(reader, fields, "turn", before, "its plane has nothing to turn from") {
        tube.take(reader, fields, "turn", What::Turn(number));
    }
    tube.take(reader, fields, "starts", What::Starts(number));
    tube.take(reader, fields, "ends", What::Ends(number));
    if filled(reader, fields, "leg").is_some() && crosses(reader, bend, "leg", fields.place_of("leg")) {
        tube.take(reader, fields, "leg", What::Leg(number, to));
    }
    if has_before(reader, fields, "between", before, "write `leg`, from the end of the tube")
        && [before, Some(bend)]
            .into_iter()
            .flatten()
            .all(|bend| crosses(reader, bend, "between", fields.place_of("between")))
    {
        tube.take(reader, fields, "between", What::Between(number, to));
    }
}

/// Whether a key is filled in, and a bend was made before this one; noted where there is none.
fn has_before(
    reader: &mut Reader,
    fields: &Fields<'_>,
    key: &'static str,
    before: Option<&MadeBend>,
    why: &str,
) -> bool {
    if filled(reader, fields, key).is_none() {
        return false;
    }
    if before.is_none() {
        let message = format!("`{key}` counts from the bend made before, and this one is made first");
        reader.error("first-bend", fields.place_of(key), message, format!("delete it: {why}"));
    }
    before.is_some()
}

/// Whether the lines of a bend's legs cross near enough to be measured to; noted where they do not.
pub(super) fn crosses(reader: &mut Reader, bend: &MadeBend, key: &str, place: Span) -> bool {
    if bend.angle <= MOST_CROSSING {
        return true;
    }
    let angle = trimmed(bend.angle.to_degrees());
    let message = format!(
        "`{key}` is to where the legs of bend {} cross, and at {angle}° that is far away",
        bend.number
    );
    let hint = "delete it; write `starts` or `ends`, or lay the tube on its template and write `end_to_end`";
    reader.error("no-crossing", place, message, hint);
    false
}
