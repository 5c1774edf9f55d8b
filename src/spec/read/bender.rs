//! `bender:`, the spec's and a run's own.

use std::f64::consts::PI;

use super::{FURTHEST_PULL, Given};
use crate::diagnostic::{Span, listed};
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys::{self, Sign};
use crate::spec::model::{Bender, TestBend};
use crate::spec::node::{Node, Value};
use crate::tolerance::is_same_size;

/// Largest centreline radius, mm (100 m): a larger one is a slip of the unit.
const LARGEST_CLR_MM: f64 = 1e5;

/// How far two readings of one angle differ, rad (0.5°): a soft tube may seem to bend on by as much.
const ANGLE_READING: f64 = 0.5 * PI / 180.0;

/// From here on the legs of a bend are side by side, rad (170°): their corner is 11 radii away, and
/// their distance hardly depends on the angle.
const U_BEND: f64 = 170f64.to_radians();

/// A bender that says which tube it is for.
pub(super) struct Sized<'n> {
    /// Outside diameter of its tube, mm.
    od: f64,
    /// Its keys.
    pub(super) fields: Fields<'n>,
}

/// Reads the keys of the spec's `bender:`, one mapping or a list of them.
pub(super) fn given<'n>(reader: &mut Reader, node: &'n Node, place: Span) -> Given<'n> {
    let Value::List(items) = &node.value else {
        let Some(fields) = reader.fields(node, &keys::BENDER, place) else { return Given::Broken };
        if !fields.has("od") {
            return Given::Fields(fields);
        }
        return reader
            .length(&fields, "od")
            .map_or(Given::Broken, |od| Given::BySize(vec![Sized { od, fields }]));
    };
    if let [only] = items.as_slice()
        && only.get("od").is_none()
    {
        return reader.fields(only, &keys::BENDER, only.place).map_or(Given::Broken, Given::Fields);
    }
    let before = reader.errors();
    let mut benders: Vec<Sized<'n>> = Vec::new();
    for item in items {
        let Some(fields) = reader.fields(item, &keys::BENDER, item.place) else { continue };
        let Some(od) = reader.required(&fields, "od", |reader| reader.length(&fields, "od")) else {
            continue;
        };
        match benders.iter().find(|first| is_same_size(first.od, od)) {
            Some(first) => {
                let line = first.fields.place.line;
                let message = format!(
                    "there are two benders for {} tube; the first is on line {line}",
                    reader.unit.length(od)
                );
                let hint = "keep one; a run that is bent by the other has a `bender` of its own";
                reader.error("duplicate-bender", fields.value_place("od"), message, hint);
            }
            None => benders.push(Sized { od, fields }),
        }
    }
    if items.is_empty() {
        reader.error(
            "missing-value",
            node.place,
            "`bender` is an empty list",
            "write {clr: ...} for the bender",
        );
    }
    if reader.errors() > before { Given::Broken } else { Given::BySize(benders) }
}

/// Notes a run's own bender that is for tube of another size than the run's; whether it is none.
pub(super) fn own_fits(reader: &mut Reader, own: &Fields<'_>, od: f64) -> bool {
    if !own.has("od") || reader.unit_from == UnitFrom::Unreadable {
        return true;
    }
    let Some(of) = reader.length(own, "od").filter(|of| !is_same_size(*of, od)) else { return true };
    let unit = reader.unit;
    let message =
        format!("this bender is for {} tube, and the run's tube has {}", unit.length(of), unit.length(od));
    reader.error("no-bender-for-tube", own.value_place("od"), message, "correct `od`, or delete it");
    false
}

/// Which of the spec's benders is for tube of this outside diameter, mm. `Some(None)` where none is and the run's own
/// bender does without, as it has a radius; `None` where that is a fault.
pub(super) fn for_tube(
    reader: &mut Reader,
    benders: &[Sized<'_>],
    run: &Fields<'_>,
    own: Option<&Fields<'_>>,
    od: f64,
) -> Option<Option<usize>> {
    let found = benders.iter().position(|bender| is_same_size(bender.od, od));
    if found.is_some() || own.is_some_and(|own| own.has("clr")) || reader.unit_from == UnitFrom::Unreadable {
        return Some(found);
    }
    let sizes: Vec<String> = benders.iter().map(|bender| reader.unit.length(bender.od)).collect();
    let (benders, are) = if sizes.len() == 1 { ("bender", "is") } else { ("benders", "are") };
    let message = format!("no bender is for this run's tube of {}", reader.unit.length(od));
    let number = reader.unit.number(od);
    let hint = format!(
        "the {benders} there {are} for {}: add one with `od: {number}` to the spec's `bender` list, or give the run a \
         `bender` with a `clr`",
        listed(&sizes)
    );
    reader.error("no-bender-for-tube", run.place_of("tube"), message, hint);
    None
}

/// Reads a bender from keys already merged.
pub(super) fn bender(reader: &mut Reader, fields: &Fields<'_>) -> Option<Bender> {
    let od = reader.optional(fields, "od", None, |reader| reader.length(fields, "od").map(Some));
    let name = reader.optional(fields, "name", "bender".to_owned(), |reader| reader.words(fields, "name"));
    let clr = reader.required(fields, "clr", |reader| clr(reader, fields));
    let grip = reader.length_or(fields, "grip", 0.0);
    let lead_out = reader.length_or(fields, "lead_out", 0.0);
    let mark = reader.choice_or_usual(fields, "mark");
    let datum = reader.length_or(fields, "datum", 0.0);
    let max_angle = reader.angle_or(fields, "max_angle", FURTHEST_PULL);
    let lever = reader.optional(fields, "lever", None, |reader| reader.length(fields, "lever").map(Some));
    let test_bends = test_bends(reader, fields);
    if let Some(name) = &name {
        reader.check_characters(name, fields.value_place("name"));
    }
    od?;
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
    // A corner's may be words as well.
    let (_, node) = reader.value(fields, "clr")?;
    let clr = reader.length_at(node, "clr", Sign::Positive)?;
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
        are_alike(reader, &bends)?;
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

/// Notes pieces that were not all as hard as each other: one fit does not hold for both. `None` for some.
fn are_alike(reader: &mut Reader, bends: &[Option<TestBend>]) -> Option<()> {
    let mut told = bends.iter().flatten().filter_map(|bend| Some((bend.temper?, bend.place)));
    let Some((first, _)) = told.next() else { return Some(()) };
    let Some((other, place)) = told.find(|(temper, _)| *temper != first) else { return Some(()) };
    let message = format!("test bends of {} and of {} tube stand in one list", first.name(), other.name());
    let hint = "keep those that are as hard as most bends of the runs; springback of the others is predicted";
    reader.error("mixed-tempers", place, message, hint);
    None
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
