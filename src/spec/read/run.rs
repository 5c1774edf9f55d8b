//! `runs:`: ends, corners, bend tables, routes.

use super::bender::{bender, clr};
use super::component::Ports;
use super::copy::{self, Copied};
use super::corner;
use super::parallel;
use super::route;
use super::tested::drop_tests_of_another_tube;
use super::tube::tube;
use super::turns::{self, Slip};
use super::{Defaults, Given};
use crate::diagnostic::{Span, listed};
use crate::geometry::{Point3, Vector3};
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys;
use crate::spec::model::{
    Anneal, BendFrom, BendRow, Bender, CopyOf, End, OwnClr, Parallel, Port, Route, Run, RunPath, Tube,
};
use crate::spec::node::{Key, Node, Value};
use crate::spec::words;
use crate::tolerance::SMALLEST_BEND;

/// A run as read. What could not be read is `None`.
#[derive(Debug, Clone, Default)]
pub(super) struct Sketch {
    name: String,
    place: Span,
    /// Its tube.
    pub(super) tube: Option<Tube>,
    /// Its bender.
    pub(super) bender: Option<Bender>,
    /// Its datum end.
    pub(super) from: MaybeEnd,
    /// Its other end.
    pub(super) to: MaybeEnd,
    /// Its path.
    pub(super) path: Option<RunPath>,
    /// Whose path that is, where it is another run's.
    pub(super) copy: Option<CopyOf>,
    /// Its corners that are parallel to another run.
    pub(super) parallels: Vec<Parallel>,
    anneal: Option<Anneal>,
    bend_from: Option<BendFrom>,
    clearance: Option<f64>,
    allowance: Option<(f64, f64)>,
}

impl Sketch {
    /// The run, if all of it could be read.
    pub(super) fn whole(self) -> Option<Run> {
        let (allowance_start, allowance_end) = self.allowance?;
        Some(Run {
            name: self.name,
            tube: self.tube?,
            bender: self.bender?,
            path: self.path?,
            copy: self.copy,
            parallels: self.parallels,
            from: self.from?,
            to: self.to?,
            anneal: self.anneal?,
            bend_from: self.bend_from?,
            clearance: self.clearance,
            allowance_start,
            allowance_end,
            place: self.place,
        })
    }
}

/// Reads one run. A run that is a copy of another has that one as its `source`, and takes from it what it does
/// not say itself.
pub(super) fn run<'n>(
    reader: &mut Reader,
    key: &Key,
    fields: &Fields<'n>,
    defaults: &mut Defaults<'n>,
    ports: &Ports,
    source: Option<(&Copied, &Sketch)>,
) -> Sketch {
    let other = |key| source.filter(|_| !fields.has(key)).map(|(_, sketch)| sketch);
    let of_standard = defaults.tube.is_of_standard();
    let tube = match other("tube") {
        Some(other) => other.tube.clone(),
        None => defaults.tube.merged(reader, fields, None).and_then(|f| tube(reader, &f, of_standard)),
    };
    let od = tube.as_ref().map(Tube::od);
    // Another run's bender is no bender for tube of another size, where the spec has one for each.
    let by_size = matches!(defaults.bender.given, Given::BySize(_));
    let other_bender = other("bender").filter(|other| !by_size || other.tube.as_ref().map(Tube::od) == od);
    let mut bender = match other_bender {
        Some(other) => other.bender.clone(),
        None => defaults.bender.merged(reader, fields, od).and_then(|f| bender(reader, &f)),
    };
    if let (Some(tube), Some(bender)) = (&tube, &mut bender) {
        let tested = other_bender.and_then(|other| other.tube.as_ref());
        drop_tests_of_another_tube(reader, defaults, fields, tested, tube, bender);
    }
    let [mut from, mut to] = ["from", "to"]
        .map(|key| reader.optional(fields, key, None, |reader| end(reader, fields, key, ports).map(Some)));
    let path = match source {
        Some((copied, sketch)) => copy::path(reader, fields, copied, sketch, (&mut from, &mut to)),
        None => path(reader, fields, &from, &to),
    };
    // Nothing that follows from it is told.
    let path = path.filter(|_| !is_one_port(reader, &from, &to, ports));
    let copy = source.and_then(|(copied, sketch)| copied.of(sketch, fields.has("allowance")));
    let allowance = match other("allowance") {
        Some(other) => other.allowance,
        None => allowance(reader, fields),
    };
    let anneal = match other("anneal") {
        Some(other) => other.anneal,
        None => reader.optional(fields, "anneal", defaults.anneal, |reader| anneal(reader, fields)),
    };
    let bend_from = match other("bend_from") {
        Some(other) => other.bend_from,
        None => reader.optional(fields, "bend_from", defaults.bend_from, |reader| bend_from(reader, fields)),
    };
    let clearance = match other("clearance") {
        Some(other) => other.clearance,
        None => clearance(reader, fields).or(defaults.clearance),
    };
    Sketch {
        name: key.text.clone(),
        place: key.place,
        tube,
        bender,
        from,
        to,
        path,
        copy,
        parallels: parallel::parallels(fields),
        anneal,
        bend_from,
        clearance,
        allowance,
    }
}

/// `None` where the end could not be read, `Some(None)` where there is none.
pub(super) type MaybeEnd = Option<Option<End>>;

fn end(reader: &mut Reader, fields: &Fields<'_>, key: &'static str, ports: &Ports) -> Option<End> {
    let (_, node) = reader.value(fields, key)?;
    let place = node.place;
    let bare = |at: Point3, facing: Option<Vector3>| End {
        at,
        face: at,
        facing,
        port: None,
        image_of: None,
        fitting: None,
        slip: None,
        place,
    };
    Some(match &node.value {
        Value::Scalar(scalar) => {
            End::in_port(find_port(reader, &scalar.text, place, ports)?, scalar.text.clone(), place)
        }
        Value::List(items) => {
            if let Some(port) = port_in_brackets(items) {
                let hint = format!("write `{key}: {port}`");
                reader.error("wrong-type", place, "a port is named without brackets", hint);
                return None;
            }
            bare(reader.point_at(node)?, None)
        }
        Value::Map(_) => {
            let fields = reader.fields(node, &keys::END_TABLE, fields.place_of(key))?;
            let at = reader.point(&fields, "at");
            let facing = reader.direction(&fields, "facing");
            bare(at?, Some(facing?))
        }
    })
}

/// The port of `[tank.out]`.
fn port_in_brackets(items: &[Node]) -> Option<&str> {
    let [only] = items else { return None };
    only.scalar().filter(|text| text.starts_with(char::is_alphabetic))
}

/// Notes a run both of whose ends are the same port; whether it is one.
fn is_one_port(reader: &mut Reader, from: &MaybeEnd, to: &MaybeEnd, ports: &Ports) -> bool {
    let (Some(Some(from)), Some(Some(to))) = (from, to) else { return false };
    let Some(port) = to.port.as_ref().filter(|port| from.port.as_ref() == Some(*port)) else { return false };
    let others: Vec<String> =
        ports.keys().filter(|other| *other != port).map(|other| format!("`{other}`")).collect();
    let hint = if others.is_empty() {
        "`to` is its other end: write another port, a point [x, y, z] or {at: [...], facing: [...]}"
            .to_owned()
    } else {
        format!("`to` is its other end; other ports are {}", listed(&others))
    };
    let message = format!("the run begins and ends in the same port, {port}");
    reader.error("same-port", to.place, message, hint);
    true
}

fn find_port<'p>(reader: &mut Reader, name: &str, place: Span, ports: &'p Ports) -> Option<&'p Port> {
    if let Some(found) = ports.get(name) {
        // The fault of one that could not be read is noted where it is defined.
        return found.as_ref();
    }
    if reader.no_ports {
        return None;
    }
    let (message, hint) = words::port(name, ports.keys().map(String::as_str));
    reader.error("unknown-port", place, message, hint);
    None
}

fn path(reader: &mut Reader, fields: &Fields<'_>, from: &MaybeEnd, to: &MaybeEnd) -> Option<RunPath> {
    if fields.has("end_length") && !fields.has("bends") && (fields.has("corners") || fields.has("route")) {
        let message = "`end_length` belongs to a bend table";
        reader.error("misplaced-key", fields.place_of("end_length"), message, "delete `end_length`");
    }
    // Of a run with two ways it is not known what it lacks.
    let is_one = ["corners", "bends", "route"].into_iter().filter(|key| fields.has(key)).count() == 1;
    let is_copy = fields.has("same_as") || fields.has("mirror");
    let needs_ends = is_one && !is_copy && !fields.has("bends");
    for (key, end) in [("from", from), ("to", to)] {
        if needs_ends && matches!(end, Some(None)) {
            reader.missing(fields, key);
        }
    }
    match (fields.has("corners"), fields.has("bends"), fields.has("route")) {
        (true, false, false) => corner::corners(reader, fields, from, to),
        (false, true, false) => bend_table(reader, fields),
        (false, false, true) => route::route(reader, fields),
        (false, false, false) if !is_copy => no_way(reader, fields, from, to),
        // Noted by the table's rule.
        _ => None,
    }
}

/// The way of a run that has both ends and says no more is found.
fn no_way(reader: &mut Reader, fields: &Fields<'_>, from: &MaybeEnd, to: &MaybeEnd) -> Option<RunPath> {
    if fields.has("from") && fields.has("to") {
        // Ends that could not be read are noted; a key that was meant for a way is, too.
        let is_whole = matches!((from, to), (Some(Some(_)), Some(Some(_))));
        let meant = ["corners", "bends", "route", "mirror", "same_as"];
        return (is_whole && !meant.iter().any(|key| fields.means(key)))
            .then(|| RunPath::Route(Route::default()));
    }
    let meant = ["corners", "bends", "route", "mirror", "same_as", "from", "to"];
    if !meant.iter().any(|key| fields.means(key)) {
        let message = "the run has no way: neither both ends nor `corners`, `bends`, `mirror` or `same_as`";
        let hint = "write `from` and `to` for a way that is found, `corners` beside them for one of your own, or `bends`";
        reader.error("missing-key", fields.place, message, hint);
    }
    None
}

/// A bend's own radius: `Some(None)` where it has none, `None` where it could not be read.
pub(super) fn own_clr(reader: &mut Reader, fields: &Fields<'_>) -> Option<Option<OwnClr>> {
    let place = fields.value_place("clr");
    reader.optional(fields, "clr", None, |reader| Some(Some(OwnClr { mm: clr(reader, fields)?, place })))
}

fn bend_table(reader: &mut Reader, fields: &Fields<'_>) -> Option<RunPath> {
    let end_length = reader.required(fields, "end_length", |reader| reader.length(fields, "end_length"));
    let (_, node) = reader.value(fields, "bends")?;
    let Value::List(items) = &node.value else {
        reader.wrong_type(node, "a list of bends {length: ..., rotation: ..., angle: ...}");
        return None;
    };
    let slips = turns::slips(reader, items);
    let rows: Vec<_> = items.iter().zip(slips).map(|(item, slip)| bend_row(reader, item, slip)).collect();
    let rows = rows.into_iter().collect::<Option<Vec<_>>>()?;
    Some(RunPath::Bends { rows, end_length: end_length? })
}

fn bend_row(reader: &mut Reader, node: &Node, slip: Option<Slip>) -> Option<BendRow> {
    let fields = reader.fields(node, &keys::BEND_ROW, node.place)?;
    let length = reader.length(&fields, "length");
    let rotation = reader.angle_or(&fields, "rotation", 0.0);
    let angle = match slip {
        None => reader.angle(&fields, "angle"),
        Some(Slip::Told(place, message, hint)) => {
            reader.error("out-of-range", place, message, hint);
            None
        }
        Some(Slip::Shared) => None,
    };
    let clr = own_clr(reader, &fields);
    let angle = angle?;
    if angle < SMALLEST_BEND {
        let message = format!("`angle` is less than {}°", trimmed(SMALLEST_BEND.to_degrees()));
        let hint = "that is no bend: delete the row, and add its length to the next";
        reader.error("out-of-range", fields.value_place("angle"), message, hint);
        return None;
    }
    Some(BendRow { length: length?, rotation: rotation?, angle, clr: clr?, place: node.place })
}

/// Reads `anneal:`, a run's own or the spec's.
pub(super) fn anneal(reader: &mut Reader, fields: &Fields<'_>) -> Option<Anneal> {
    reader.choice(fields, "anneal")
}

/// Reads `bend_from:`, a run's own or the spec's.
pub(super) fn bend_from(reader: &mut Reader, fields: &Fields<'_>) -> Option<BendFrom> {
    reader.choice(fields, "bend_from")
}

/// Reads `clearance:`, a run's own or the spec's; none where there is none, or none that could be read.
pub(super) fn clearance(reader: &mut Reader, fields: &Fields<'_>) -> Option<f64> {
    reader.length(fields, "clearance")
}

fn allowance(reader: &mut Reader, fields: &Fields<'_>) -> Option<(f64, f64)> {
    reader.optional(fields, "allowance", (0.0, 0.0), |reader| {
        let (_, node) = reader.value(fields, "allowance")?;
        let fields = reader.fields(node, &keys::ALLOWANCE, fields.place_of("allowance"))?;
        let start = reader.length_or(&fields, "start", 0.0);
        let end = reader.length_or(&fields, "end", 0.0);
        Some((start?, end?))
    })
}
