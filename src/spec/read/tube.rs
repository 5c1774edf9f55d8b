//! `tube:`, the spec's and a run's own.

use crate::quantity::{MM_PER_INCH, Unit, bare_number, trimmed};
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys;
use crate::spec::model::{GivenMetal, Hardening, Temper, Tube, TubeFault};
use crate::spec::node::{Node, Value};
use crate::stock::{self, Asked, StockFault, Subject};

/// Largest outside diameter, mm (1 m): a larger one is a slip of the unit, and drawings of it would be
/// of no use to anybody.
const LARGEST_OD_MM: f64 = 1000.0;

/// Reads a tube from keys already merged. `copper`: it is laid over a tube of a standard, so its metal
/// is copper where it names none.
pub(super) fn tube(reader: &mut Reader, fields: &Fields<'_>, copper: bool) -> Option<Tube> {
    let temper = reader.required(fields, "temper", |reader| reader.choice(fields, "temper"));
    let metal = metal(reader, fields);
    let tube = match (fields.has("standard"), fields.has("od")) {
        (true, false) => {
            let misplaced = misplaced(reader, fields, &["wall", "material", "density"], "of a standard");
            of_standard(reader, fields, temper).filter(|_| !misplaced)
        }
        (false, true) => {
            let misplaced = misplaced(reader, fields, &["size", "type"], "given by `od` and `wall`");
            outright(reader, fields, temper, copper).filter(|_| !misplaced)
        }
        (true, true) => {
            let message = "the tube has both `standard` and `od`";
            reader.error(
                "tube-forms",
                fields.place_of("od"),
                message,
                "keep one of the two ways to name a tube",
            );
            None
        }
        (false, false) => {
            let hint = "write `standard:` and `size:`, or `od:`, `wall:` and `material:`";
            reader.error("missing-key", fields.place, "the tube has neither `standard` nor `od`", hint);
            None
        }
    };
    Some(tube?.with_metal(metal?))
}

/// Properties of the metal that a spec gives; `None` where they could not be read.
fn metal(reader: &mut Reader, fields: &Fields<'_>) -> Option<GivenMetal> {
    const MPA_PER_GPA: f64 = 1000.0;
    let before = reader.errors();
    let metal = GivenMetal {
        modulus: reader.number(fields, "modulus").map(|modulus| modulus * MPA_PER_GPA),
        yield_strength: reader.number(fields, "yield_strength"),
        elongation: reader.number(fields, "elongation").map(|percent| percent / 100.0),
        hardening: hardening(reader, fields),
    };
    (reader.errors() == before).then_some(metal)
}

/// Reads the hardening law.
pub(super) fn hardening(reader: &mut Reader, fields: &Fields<'_>) -> Option<Hardening> {
    let (_, node) = reader.value(fields, "hardening")?;
    let law = reader.fields(node, &keys::HARDENING, fields.place_of("hardening"))?;
    let strength = reader.number(&law, "strength");
    let exponent = reader.number(&law, "exponent");
    Some(Hardening { strength: strength?, exponent: exponent? })
}

fn misplaced(reader: &mut Reader, fields: &Fields<'_>, keys: &[&str], what: &str) -> bool {
    let mut any = false;
    for key in keys.iter().filter(|key| fields.has(key)) {
        let message = format!("`{key}` has no place in a tube {what}");
        reader.error("tube-forms", fields.place_of(key), message, format!("delete `{key}`"));
        any = true;
    }
    any
}

fn of_standard(reader: &mut Reader, fields: &Fields<'_>, temper: Option<Temper>) -> Option<Tube> {
    let standard = match stock::find_standard(&line(reader, fields, "standard")?) {
        Ok(standard) => Some(standard),
        Err(fault) => {
            note(reader, fields, &fault);
            None
        }
    };
    let size = reader.required(fields, "size", |reader| line(reader, fields, "size"));
    let kind = fields.has("type").then(|| reader.words(fields, "type"));
    // A type that could not be read is noted already; do not ask for it again.
    let kind = match kind {
        Some(None) => return None,
        Some(kind) => kind,
        None => None,
    };
    let (standard, size) = (standard?, size?);
    let drawn = temper.is_some_and(|t| t != Temper::Soft);
    let unit = reader.unit;
    match stock::find(standard, Asked { size: &size, kind: kind.as_deref(), drawn, unit }) {
        Ok(size) => {
            let temper = temper?;
            let designation = format!("{} {}", size.designation(), temper.name());
            let copper = stock::COPPER;
            let tube = Tube::new(size.od, size.wall, copper.name, Some(copper.density), temper, designation);
            Some(tube.ok()?.of_standard(standard.name))
        }
        Err(faults) => {
            faults.iter().for_each(|fault| note(reader, fields, fault));
            None
        }
    }
}

/// A value as written, with a friendlier word for a list: `size: [15, 1]`.
fn line(reader: &mut Reader, fields: &Fields<'_>, key: &'static str) -> Option<String> {
    match fields.node(key) {
        Some(Node { value: Value::List(_) | Value::Map(_), place }) => {
            let message = format!("`{key}` is not one line of words");
            reader.error("wrong-type", *place, message, "write it as `15 x 1.0` or `1/2`");
            None
        }
        _ => reader.words(fields, key),
    }
}

fn note(reader: &mut Reader, fields: &Fields<'_>, fault: &StockFault) {
    let (code, key) = match fault.subject {
        Subject::Standard => ("unknown-standard", "standard"),
        Subject::Size => ("unknown-size", "size"),
        Subject::Type if fields.has("type") => ("unknown-type", "type"),
        Subject::Type => ("unknown-type", "size"),
    };
    reader.error(code, fields.value_place(key), fault.message.clone(), fault.hint.clone());
}

fn outright(reader: &mut Reader, fields: &Fields<'_>, temper: Option<Temper>, copper: bool) -> Option<Tube> {
    let od = outside_diameter(reader, fields);
    let wall = reader.required(fields, "wall", |reader| reader.length(fields, "wall"));
    let material = if copper && !fields.has("material") {
        Some(stock::COPPER.name.to_owned())
    } else {
        reader.required(fields, "material", |reader| reader.words(fields, "material"))
    };
    let given = reader.number(fields, "density");
    let material = material?;
    reader.check_characters(&material, fields.value_place("material"));
    let known = stock::material(&material);
    if known.is_none() && given.is_none() && !fields.has("density") {
        let message = format!("the density of `{material}` is not known, so masses are left out");
        let hint = match stock::material_meant(&material) {
            // One warning covers all that is not known of such a metal.
            Some(meant) => format!(
                "did you mean `{meant}`? For another metal add `density:` in kg/m3, and what the `tube` lacks of \
                 `modulus:`, `yield_strength:` and `elongation:`: springback and stretch go by them"
            ),
            None => {
                let names: Vec<&str> = stock::materials().iter().map(|m| m.name).collect();
                format!("add `density:` in kg/m3; known are {}", names.join(", "))
            }
        };
        reader.warning("unknown-density", fields.value_place("material"), message, hint);
    }
    let (od, wall, temper) = (od?, wall?, temper?);
    let designation = format!("{} x {} mm {material} {}", trimmed(od), trimmed(wall), temper.name());
    let name = known.map_or(material.as_str(), |m| m.name);
    match Tube::new(od, wall, name, given.or(known.map(|m| m.density)), temper, designation) {
        Ok(tube) => Some(tube),
        Err(_) if reader.unit_from == UnitFrom::Unreadable => None,
        Err(fault) => {
            let (code, key) = match fault {
                TubeFault::Od(_) => ("out-of-range", "od"),
                TubeFault::Wall { .. } => ("wall-too-thick", "wall"),
            };
            let hint = match slip_of_wall(reader, fields, od, wall) {
                Some(slip) => slip,
                None => format!("the wall must be less than half of {}", reader.unit.length(od)),
            };
            reader.error(code, fields.value_place(key), fault.message(reader.unit), hint);
            None
        }
    }
}

/// The wall that was probably meant by one that is too thick for its tube.
fn slip_of_wall(reader: &Reader, fields: &Fields<'_>, od: f64, wall: f64) -> Option<String> {
    let text = |key: &str| fields.node(key).and_then(Node::scalar);
    let (od_text, wall_text) = (text("od")?, text("wall")?);
    if 2.0 * od < wall {
        return Some(format!("did you swap the two? Write `od: {wall_text}, wall: {od_text}`"));
    }
    let inches = reader.unit != Unit::Inch && 2.0 * wall < od * MM_PER_INCH;
    (inches && bare_number(od_text).is_some())
        .then(|| format!("if the outside diameter is in inches, write `od: {od_text} in`"))
}

fn outside_diameter(reader: &mut Reader, fields: &Fields<'_>) -> Option<f64> {
    let od = reader.length(fields, "od")?;
    if od <= LARGEST_OD_MM {
        return Some(od);
    }
    let message = format!("an outside diameter of {} is more than 1 m", reader.unit.length(od));
    reader.error("out-of-range", fields.value_place("od"), message, "check the unit");
    None
}
