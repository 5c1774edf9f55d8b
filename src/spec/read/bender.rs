//! `bender:`, the spec's and a run's own.

use std::f64::consts::PI;

use super::FURTHEST_PULL;
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys;
use crate::spec::model::{Bender, TestBend};
use crate::spec::node::{Node, Value};

/// Largest centreline radius, mm (100 m): a larger one is a slip of the unit.
const LARGEST_CLR_MM: f64 = 1e5;

/// How far two readings of one angle differ, rad (0.5°): a soft tube may seem to bend on by as much.
const ANGLE_READING: f64 = 0.5 * PI / 180.0;

/// From here on the legs of a bend are side by side, rad (170°): their corner is 11 radii away, and
/// their distance hardly depends on the angle.
const U_BEND: f64 = 170f64.to_radians();

/// Reads a bender from keys already merged.
pub(super) fn bender(reader: &mut Reader, fields: &Fields<'_>) -> Option<Bender> {
    let name = reader.optional(fields, "name", "bender".to_owned(), |reader| reader.words(fields, "name"));
    let clr = reader.required(fields, "clr", |reader| clr(reader, fields));
    let grip = reader.length_or(fields, "grip", 0.0);
    let lead_out = reader.length_or(fields, "lead_out", 0.0);
    let mark = reader.choice_or_usual(fields, "mark");
    let datum = reader.length_or(fields, "datum", 0.0);
    let max_angle = reader.angle_or(fields, "max_angle", FURTHEST_PULL);
    let before = reader.errors();
    let lever = reader.length(fields, "lever");
    let lever = (reader.errors() == before).then_some(lever);
    let test_bends = test_bends(reader, fields);
    if let Some(name) = &name {
        reader.check_characters(name, fields.value_place("name"));
    }
    Some(Bender {
        name: name?,
        clr: clr?,
        clr_place: fields.value_place("clr"),
        grip: grip?,
        lead_out: lead_out?,
        mark: mark?,
        datum: datum?,
        max_angle: max_angle?,
        lever: lever?,
        test_bends: test_bends?,
    })
}

/// Reads a centreline radius.
pub(super) fn clr(reader: &mut Reader, fields: &Fields<'_>) -> Option<f64> {
    let clr = reader.length(fields, "clr")?;
    if clr <= LARGEST_CLR_MM {
        return Some(clr);
    }
    let message = format!("a centreline radius of {} is more than 100 m", reader.unit.length(clr));
    reader.error("out-of-range", fields.value_place("clr"), message, "check the unit");
    None
}

/// Reads the bender's trial pieces; without any, none.
pub(super) fn test_bends(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<TestBend>> {
    reader.optional(fields, "test_bends", Vec::new(), |reader| {
        let (_, node) = reader.value(fields, "test_bends")?;
        let Value::List(items) = &node.value else {
            reader.wrong_type(node, "a list of test bends");
            return None;
        };
        let bends: Vec<Option<TestBend>> = items.iter().map(|item| test_bend(reader, item)).collect();
        bends.into_iter().collect()
    })
}

fn test_bend(reader: &mut Reader, node: &Node) -> Option<TestBend> {
    let fields = reader.fields(node, &keys::TEST_BEND, node.place)?;
    let before = reader.errors();
    let pulled = reader.angle(&fields, "pulled");
    let got = reader.angle(&fields, "got");
    let measured = reader.choice_or_usual(&fields, "measured");
    let bend = TestBend {
        pulled: pulled.unwrap_or_default(),
        got: got.unwrap_or_default(),
        cut: reader.length(&fields, "cut"),
        leg_a: reader.length(&fields, "leg_a"),
        leg_b: reader.length(&fields, "leg_b"),
        measured: measured.unwrap_or_default(),
        across: reader.length(&fields, "across"),
        temper: if fields.has("temper") { reader.choice(&fields, "temper") } else { None },
        place: node.place,
    };
    let (pulled, got) = (pulled?, got?);
    if got > pulled + ANGLE_READING {
        let (pulled, got) = (trimmed(pulled.to_degrees()), trimmed(got.to_degrees()));
        let message = format!("a bend pulled to {pulled}° cannot be {got}° after letting go");
        let hint = "springback opens a bend: `got` is at most `pulled`";
        reader.error("out-of-range", fields.value_place("got"), message, hint);
    }
    legs_are_whole(reader, &fields);
    can_be_measured(reader, &fields, got);
    (reader.errors() == before).then_some(bend)
}

/// One length of a piece says nothing without the others.
fn legs_are_whole(reader: &mut Reader, fields: &Fields<'_>) {
    const LEGS: [&str; 3] = ["cut", "leg_a", "leg_b"];
    if LEGS.iter().any(|key| fields.has(key)) {
        for key in LEGS.into_iter().filter(|key| !fields.has(key)) {
            reader.missing(fields, key);
        }
    }
}

/// Whether a bend of this angle has what was measured on it.
fn can_be_measured(reader: &mut Reader, fields: &Fields<'_>, got: f64) {
    let angle = trimmed(got.to_degrees());
    if got > U_BEND && fields.has("leg_a") {
        let message = format!("the legs of a bend of {angle}° do not cross near it");
        let hint =
            "leave out `cut`, `leg_a` and `leg_b`; write `across`, its width over the backs of its legs";
        reader.error("out-of-range", fields.place_of("leg_a"), message, hint);
    }
    if got < U_BEND && fields.has("across") {
        let message = format!("a bend of {angle}° has no width: its legs are not side by side");
        let hint = "leave out `across`; write `cut`, `leg_a` and `leg_b`";
        reader.error("out-of-range", fields.place_of("across"), message, hint);
    }
}
