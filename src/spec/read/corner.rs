//! `corners:`: where they are, by coordinates or from the ports of the run.

use super::parallel;
use super::run::{MaybeEnd, own_clr};
use crate::diagnostic::Span;
use crate::geometry::{Point3, Vector3};
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys::{self, Sign};
use crate::spec::model::{Corner, End, OwnClr, Placed, RunPath};
use crate::spec::node::{Node, Value};

/// The keys that say where a corner is.
pub(super) const PLACES: [&str; 6] = ["at", "out", "in", "x", "y", "z"];

/// The steps along the axes among them.
const STEPS: [&str; 3] = ["x", "y", "z"];

/// The word for a step that goes on until it is level with the next corner that has a place of its own.
const LEVEL: &str = "level";

/// A corner as written.
struct Written {
    place: Span,
    clr: Option<OwnClr>,
    from: Base,
    steps: [Step; 3],
}

/// The place that a corner's steps begin at.
#[derive(Clone, Copy)]
enum Base {
    /// A point.
    At(Point3),
    /// So many mm in front of the face of the `from` end.
    Out(f64),
    /// So many mm in front of the face of the `to` end.
    In(f64),
    /// The corner before, or the face of the `from` end.
    Before,
}

/// A step along an axis.
#[derive(Clone, Copy)]
enum Step {
    /// So many mm.
    By(f64),
    /// Until it is level with the next corner that has a place of its own, or with the face of the `to` end.
    Level,
}

/// Reads `corners:` of a run between these ends.
pub(super) fn corners(
    reader: &mut Reader,
    fields: &Fields<'_>,
    from: &MaybeEnd,
    to: &MaybeEnd,
) -> Option<RunPath> {
    let (_, node) = reader.value(fields, "corners")?;
    let Value::List(items) = &node.value else {
        reader.wrong_type(node, "a list of corners [[x, y, z], ...]");
        return None;
    };
    if let Some((place, message, hint)) = stray_radius(items) {
        reader.error("misplaced-key", place, message, hint);
        return None;
    }
    // `corners: [40, 140, 20]`: one corner without its own brackets.
    if !items.is_empty() && items.iter().all(|item| matches!(item.value, Value::Scalar(_))) {
        let message = "`corners` is a list of numbers, not of corners";
        reader.error("wrong-type", node.place, message, "write one pair of brackets more: [[x, y, z]]");
        return None;
    }
    let corners: Vec<_> = items.iter().map(|item| corner(reader, item)).collect();
    let corners = corners.into_iter().collect::<Option<Vec<_>>>()?;
    placed(reader, &corners, from, to).map(RunPath::Corners)
}

/// A `clr` that stands beside the corners, or within a corner's coordinates, instead of beside its `at`: where, the
/// message and what to write.
fn stray_radius(items: &[Node]) -> Option<(Span, String, String)> {
    let radius = |node: &Node| match &node.value {
        Value::Map(entries) if node.get("at").is_none() && entries.len() == 1 => {
            let radius = node.get("clr")?.scalar()?.to_owned();
            Some((node.place, radius))
        }
        _ => None,
    };
    let numbers = |items: &[Node]| {
        let numbers: Option<Vec<&str>> = items.iter().map(Node::scalar).collect();
        numbers.filter(|numbers| !numbers.is_empty()).map(|numbers| numbers.join(", "))
    };
    let within = |items: &[Node]| {
        let (last, point) = items.split_last()?;
        Some((radius(last)?, numbers(point)?))
    };
    if let Some(((place, clr), at)) = within(items) {
        let hint = format!("write `corners: [{{at: [{at}], clr: {clr}}}]`");
        return Some((place, "`clr` stands between the numbers of a corner".to_owned(), hint));
    }
    items.iter().enumerate().find_map(|(index, item)| {
        if let Value::List(inner) = &item.value {
            let ((place, clr), at) = within(inner)?;
            let hint = format!("write the corner as `{{at: [{at}], clr: {clr}}}`");
            return Some((place, "`clr` stands between the numbers of a corner".to_owned(), hint));
        }
        let (place, clr) = radius(item)?;
        let before = index.checked_sub(1).and_then(|before| items.get(before));
        let at = before.and_then(|before| match &before.value {
            Value::List(inner) => numbers(inner),
            _ => None,
        });
        let at = at.unwrap_or_else(|| "x, y, z".to_owned());
        let hint = format!(
            "for one corner write `{{at: [{at}], clr: {clr}}}` in its place, for all of this run \
             `bender: {{clr: {clr}}}` beside `corners:`"
        );
        Some((place, "`clr` stands beside the corners, in none of them".to_owned(), hint))
    })
}

fn corner(reader: &mut Reader, node: &Node) -> Option<Written> {
    let steps = [Step::By(0.0); 3];
    if !matches!(node.value, Value::Map(_)) {
        let from = Base::At(reader.point_at(node)?);
        return Some(Written { place: node.place, clr: None, from, steps });
    }
    let fields = reader.fields(node, &keys::CORNER_TABLE, node.place)?;
    let from = base(reader, &fields);
    let steps = STEPS.map(|key| {
        reader.optional(&fields, key, Step::By(0.0), |reader| {
            let (_, node) = reader.value(&fields, key)?;
            if node.scalar() == Some(LEVEL) {
                return Some(Step::Level);
            }
            reader.length_at(node, key, Sign::Any).map(Step::By)
        })
    });
    let clr = if parallel::named(&fields).is_some() { Some(None) } else { own_clr(reader, &fields) };
    let [x, y, z] = steps;
    Some(Written { place: node.place, clr: clr?, from: from?, steps: [x?, y?, z?] })
}

/// The place that a corner's steps begin at. A corner without any is noted, and so are steps from a point.
fn base(reader: &mut Reader, fields: &Fields<'_>) -> Option<Base> {
    let step = STEPS.into_iter().find(|key| fields.has(key));
    if let Some(step) = step.filter(|_| fields.has("at")) {
        let message = format!("the corner has `at` and `{step}`, of which it takes one");
        let hint =
            format!("`{step}` is a step from the corner before: delete it, or add it to the numbers of `at`");
        reader.error("too-many-keys", fields.place_of(step), message, hint);
        return None;
    }
    let written: Vec<&str> = PLACES.into_iter().filter(|key| fields.has(key)).collect();
    match written.as_slice() {
        [] => {
            if !PLACES.iter().any(|key| fields.is_meant(key)) {
                let hint = "write `at: [x, y, z]`, `out:` or `in:` in front of a port, or steps `x:`, `y:`, `z:` \
                            from the corner before";
                reader.error("missing-key", fields.place, "the corner does not say where it is", hint);
            }
            None
        }
        // Two of them were noted.
        ["at" | "out", "out" | "in", ..] => None,
        ["at", ..] => reader.point(fields, "at").map(Base::At),
        ["out", ..] => reader.length(fields, "out").map(Base::Out),
        ["in", ..] => reader.length(fields, "in").map(Base::In),
        _ => Some(Base::Before),
    }
}

/// The corners in their places. `None` where an end that one is counted from is missing, which was noted, or faces
/// nowhere.
fn placed(reader: &mut Reader, written: &[Written], from: &MaybeEnd, to: &MaybeEnd) -> Option<Vec<Corner>> {
    let is_by_points = written.iter().all(|corner| matches!(corner.from, Base::At(_)));
    let ends = (from.as_ref().and_then(Option::as_ref), to.as_ref().and_then(Option::as_ref));
    let (from, to) = if is_by_points { ends } else { (Some(ends.0?), Some(ends.1?)) };
    // From the last to the first: those with a place of their own, and for every corner the place that it is level
    // with.
    let mut level = to.map(|to| to.face);
    let mut found: Vec<(Option<Point3>, Option<Point3>)> = Vec::with_capacity(written.len());
    let mut is_sound = true;
    for corner in written.iter().rev() {
        let base = match corner.from {
            Base::At(at) => Some(at),
            Base::Out(mm) => in_front(reader, corner.place, ("from", "out"), from?, mm),
            Base::In(mm) => in_front(reader, corner.place, ("to", "in"), to?, mm),
            Base::Before => None,
        };
        is_sound &= base.is_some() || matches!(corner.from, Base::Before);
        let own = base.map(|base| stepped(base, corner.steps, level));
        found.push((own, level));
        level = own.or(level);
    }
    if !is_sound {
        return None;
    }
    let mut before = from.map(|from| from.face);
    let mut corners = Vec::with_capacity(written.len());
    for (corner, (own, level)) in written.iter().zip(found.into_iter().rev()) {
        let at = own.or_else(|| before.map(|before| stepped(before, corner.steps, level)))?;
        let by = match corner.from {
            Base::At(_) => Placed::Point,
            Base::Out(_) => Placed::Out,
            Base::In(_) => Placed::In,
            Base::Before => Placed::Step,
        };
        corners.push(Corner { at, by, clr: corner.clr, place: corner.place });
        before = Some(at);
    }
    Some(corners)
}

/// The point so many mm in front of an end's face; an end that faces nowhere is noted.
fn in_front(
    reader: &mut Reader,
    place: Span,
    (end_key, key): (&str, &str),
    end: &End,
    mm: f64,
) -> Option<Point3> {
    let point = end.facing.map(|facing| end.face + facing * mm);
    if point.is_none() {
        let message = format!("`{key}` is counted from the end in `{end_key}`, which faces nowhere");
        let hint = format!(
            "write `{end_key}: {{at: [x, y, z], facing: [...]}}` or a port, or place the corner by `at`"
        );
        reader.error("faces-nowhere", place, message, hint);
    }
    point
}

/// A point after its steps, those that are level with another point as far as that.
fn stepped(base: Point3, steps: [Step; 3], level: Option<Point3>) -> Point3 {
    let level = level.unwrap_or(base);
    let ways = [level.x - base.x, level.y - base.y, level.z - base.z];
    let mut by = steps.into_iter().zip(ways).map(|(step, way)| match step {
        Step::By(mm) => mm,
        Step::Level => way,
    });
    let mut next = || by.next().unwrap_or_default();
    base + Vector3::new(next(), next(), next())
}
