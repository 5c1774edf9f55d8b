//! `route:`: wishes for a way that is found.

use super::parallel::unknown_run;
use super::shape;
use crate::geometry::Point3;
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys::{self, Kind};
use crate::spec::model::{Avoid, AvoidWhat, Criterion, Directions, Like, MAX_BENDS, Route, RunPath};
use crate::spec::node::{Node, Value};
use crate::spelling;

/// Most places that a way leads through: each may lie on any leg.
const MOST_THROUGH: usize = 4;

/// Reads `route:`.
pub(super) fn route(reader: &mut Reader, fields: &Fields<'_>) -> Option<RunPath> {
    let (_, node) = reader.value(fields, "route")?;
    let fields = &reader.fields(node, &keys::ROUTE, fields.place_of("route"))?;
    let max_bends =
        reader.optional(fields, "max_bends", MAX_BENDS, |reader| reader.count(fields, "max_bends"));
    let clearance =
        reader.optional(fields, "clearance", None, |reader| reader.length(fields, "clearance").map(Some));
    let angles = reader.optional(fields, "angles", Vec::new(), |reader| angles(reader, fields));
    let directions =
        reader.optional(fields, "directions", Directions::Axes, |reader| reader.choice(fields, "directions"));
    let prefer = reader.optional(fields, "prefer", Vec::new(), |reader| criteria(reader, fields));
    let through = reader.optional(fields, "through", Vec::new(), |reader| through(reader, fields));
    let avoid = reader.optional(fields, "avoid", Vec::new(), |reader| avoid(reader, fields));
    let like = reader.optional(fields, "like", None, |reader| like(reader, fields).map(Some));
    if fields.has("spacing") && !fields.has("like") {
        let message = "`spacing` goes with `like`, and there is none";
        let hint = "name the run beside which this one leads, `like: RUN`, or delete `spacing`";
        reader.error("misplaced-key", fields.place_of("spacing"), message, hint);
        return None;
    }
    if directions == Some(Directions::Any)
        && let Some(key) = ["angles", "through", "like"].into_iter().find(|key| fields.has(key))
    {
        let message = format!("`{key}` does not go with `directions: any`");
        let hint = format!("a way along free directions is not bound to it: delete `{key}`, or `directions`");
        reader.error("misplaced-key", fields.place_of(key), message, hint);
        return None;
    }
    let (max_bends, angles, directions) = (max_bends?, angles?, directions?);
    let (clearance, prefer, through) = (clearance?, prefer?, through?);
    let (avoid, like) = (avoid?, like?);
    Some(RunPath::Route(Route { max_bends, angles, directions, clearance, prefer, through, avoid, like }))
}

/// The items of a list; `None` where it is no list, which is noted with what is wanted.
fn items<'n>(
    reader: &mut Reader,
    fields: &Fields<'n>,
    key: &'static str,
    wanted: &str,
) -> Option<&'n [Node]> {
    let (_, node) = reader.value(fields, key)?;
    let Value::List(items) = &node.value else {
        reader.wrong_type(node, wanted);
        return None;
    };
    Some(items)
}

fn criteria(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<Criterion>> {
    let items = items(reader, fields, "prefer", "a list of words [bends, planes, angles, length]")?;
    let mut all: Vec<Criterion> = Vec::new();
    for item in items {
        let criterion = reader.choice_at(item, "prefer")?;
        if all.contains(&criterion) {
            let word: &str = criterion.into();
            let message = format!("`{word}` stands twice in `prefer`");
            reader.error("duplicate", item.place, message, "leave one of them");
            return None;
        }
        all.push(criterion);
    }
    Some(all)
}

fn angles(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<f64>> {
    let (rule, _) = reader.value(fields, "angles")?;
    let items = items(reader, fields, "angles", "a list of angles in degrees")?;
    let Kind::List(Kind::Angle(range)) = &rule.kind else { return None };
    reader.check_commas(items)?;
    let angles: Vec<_> = items.iter().map(|item| reader.angle_at(item, "angles", *range)).collect();
    angles.into_iter().collect()
}

fn through(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<Point3>> {
    let items = items(reader, fields, "through", "a list of points [[x, y, z], ...]")?;
    if !items.is_empty() && items.iter().all(|item| matches!(item.value, Value::Scalar(_))) {
        let message = "`through` is a list of numbers, not of points";
        let hint = "write one pair of brackets more: [[x, y, z]]";
        reader.error("wrong-type", fields.value_place("through"), message, hint);
        return None;
    }
    if items.len() > MOST_THROUGH {
        let message = format!("`through` has {} points, and may have {MOST_THROUGH}", items.len());
        let hint = "keep those that matter, or write the way as `corners`";
        reader.error("out-of-range", fields.value_place("through"), message, hint);
        return None;
    }
    let points: Vec<_> = items.iter().map(|item| reader.point_at(item)).collect();
    points.into_iter().collect()
}

fn avoid(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<Avoid>> {
    let wanted = "a list of components and boxes [NAME, {from: [x, y, z], to: [x, y, z]}]";
    let items = items(reader, fields, "avoid", wanted)?;
    let all: Vec<_> = items.iter().map(|item| avoided(reader, item, wanted)).collect();
    all.into_iter().collect()
}

fn avoided(reader: &mut Reader, node: &Node, wanted: &str) -> Option<Avoid> {
    let what = match &node.value {
        Value::Scalar(scalar) => AvoidWhat::Component(scalar.text.clone()),
        Value::Map(_) => {
            let fields = reader.fields(node, &keys::BOX, node.place)?;
            AvoidWhat::Room(shape::between_corners(reader, &fields)?)
        }
        Value::List(_) => {
            reader.wrong_type(node, wanted);
            return None;
        }
    };
    Some(Avoid { what, place: node.place })
}

fn like(reader: &mut Reader, fields: &Fields<'_>) -> Option<Like> {
    let (_, node) = reader.value(fields, "like")?;
    let run = reader.text(node, "the name of a run")?.to_owned();
    let spacing =
        reader.optional(fields, "spacing", None, |reader| reader.length(fields, "spacing").map(Some))?;
    Some(Like { run, spacing, place: node.place })
}

/// Notes names in the `route` of a run that are of nothing in the spec, and runs that are like each other in a circle.
pub(super) fn check(
    reader: &mut Reader,
    (name, path): (&str, Option<&RunPath>),
    (runs, components): (&[(&str, Option<&RunPath>)], &[&str]),
) {
    let Some(RunPath::Route(route)) = path else { return };
    reader.enter_run(Some(name));
    for Avoid { what, place } in &route.avoid {
        if let AvoidWhat::Component(named) = what
            && !components.contains(&named.as_str())
        {
            let hint = spelling::advice(named, "components", components.iter().copied());
            reader.error("unknown-component", *place, format!("there is no component `{named}`"), hint);
        }
    }
    if let Some(like) = &route.like {
        let names = runs.iter().map(|(name, _)| *name);
        if like.run == name {
            let hint = "name another run, or delete `like`";
            reader.error("like-circle", like.place, "a run cannot be like itself", hint);
        } else if !names.clone().any(|other| other == like.run) {
            unknown_run(reader, &like.run, like.place, names);
        } else if let Some(circle) = circle(name, &like.run, runs) {
            let message = format!("runs are like each other in a circle: {circle}");
            reader.error("like-circle", like.place, message, "let one of them go its own way");
        }
    }
    reader.enter_run(None);
}

/// The way back to a run by the runs that are like another, if there is one and it is the first of them.
fn circle(name: &str, next: &str, runs: &[(&str, Option<&RunPath>)]) -> Option<String> {
    let mut all = vec![name, next];
    let mut at = next;
    for _ in runs {
        let path = runs.iter().find(|(other, _)| *other == at).and_then(|(_, path)| *path);
        let Some(RunPath::Route(Route { like: Some(like), .. })) = path else { return None };
        at = like.run.as_str();
        all.push(at);
        if at == name {
            // Told once, at the first of them.
            let place = |name: &str| runs.iter().position(|(other, _)| *other == name);
            return all.iter().all(|other| place(other) >= place(name)).then(|| all.join(" → "));
        }
    }
    None
}
