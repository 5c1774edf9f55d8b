//! The readings on templates.

use super::bends::says_something;
use super::number::{filled, numbered};
use super::{Tube, What};
use crate::diagnostic::{Span, listed};
use crate::spec::fields::{Fields, Reader, is_null};
use crate::spec::keys;
use crate::spec::model::{MadeTemplate, Off};
use crate::spec::node::Node;

/// Readings of a template's far end.
const FAR: [(&str, Off); 3] = [("beyond", Off::Beyond), ("left", Off::Left), ("above", Off::Above)];

/// Reads `templates:`.
pub(super) fn read(tube: &mut Tube<'_>, reader: &mut Reader, fields: &Fields<'_>) {
    let Some((_, node)) = filled(reader, fields, "templates") else { return };
    for (number, place, node) in numbered(reader, node, "template") {
        if is_null(node) {
            continue;
        }
        let run = tube.run;
        let Some(index) = run.templates.iter().position(|template| template.number == number) else {
            let hint = match run.templates.len() {
                0 | 1 => "its only template is 1".to_owned(),
                count => format!("its templates are 1 to {count}: the planes, as their pages are called"),
            };
            let message = format!("run {} has no template {number}", run.run);
            reader.error("unknown-template", place, message, hint);
            continue;
        };
        let (Some(fields), Some(template)) =
            (reader.fields(node, &keys::READ_TEMPLATE, place), run.templates.get(index))
        else {
            continue;
        };
        far_end(tube, reader, (index, template), &fields);
        if let Some((_, node)) = filled(reader, &fields, "at_bends") {
            at_bends(tube, reader, template, node);
        }
    }
}

fn far_end(
    tube: &mut Tube<'_>,
    reader: &mut Reader,
    (index, template): (usize, &MadeTemplate),
    fields: &Fields<'_>,
) {
    let keys = ["end_to_end"].into_iter().chain(FAR.map(|(key, _)| key));
    let Some(first) = keys.into_iter().find(|key| filled(reader, fields, key).is_some()) else { return };
    if let Some(needed) = not_made(tube, index, template) {
        let why = if template.bends.contains(&needed) {
            format!("bend {needed} on it is not made")
        } else {
            format!("it is where bend {needed} starts, which is not made")
        };
        let message = format!("the far end of template {} is not there yet: {why}", template.number);
        let hint =
            "delete what is read there; with bends to come, write how the made ones lie, below `at_bends`";
        reader.error("not-made-yet", fields.place_of(first), message, hint);
        return;
    }
    tube.take(reader, fields, "end_to_end", What::EndToEnd(index + 1));
    for (key, off) in FAR {
        tube.take(reader, fields, key, What::FarEnd(index + 1, off));
    }
}

/// A bend without which a template's part of the tube has no far end, and that is not made yet: one of its own, or the
/// first of the next template, which starts there.
fn not_made(tube: &Tube<'_>, index: usize, template: &MadeTemplate) -> Option<usize> {
    let next = tube.run.templates.get(index + 1).and_then(|next| next.bends.first());
    let made = tube.run.bends.get(..tube.done).unwrap_or_default();
    let is_made = |number: &usize| made.iter().any(|bend| bend.number == *number);
    template.bends.iter().chain(next).copied().find(|number| !is_made(number))
}

fn at_bends(tube: &mut Tube<'_>, reader: &mut Reader, template: &MadeTemplate, node: &Node) {
    for (number, place, node) in numbered(reader, node, "bend") {
        if is_null(node) || !is_on(reader, template, number, place) {
            continue;
        }
        let Some(fields) = reader.fields(node, &keys::AT_BEND, place) else { continue };
        let position = tube.run.bends.iter().position(|bend| bend.number == number);
        if position.is_none_or(|position| position >= tube.done) {
            if says_something(node) {
                let message = format!("bend {number} is not made yet: `bends_done` is {}", tube.done);
                let hint = "correct `bends_done`, or delete what is read at this bend";
                reader.error("not-made-yet", place, message, hint);
            }
            continue;
        }
        for (key, off) in [("left", Off::Left), ("above", Off::Above)] {
            tube.take(reader, &fields, key, What::OnTemplate(number, off));
        }
    }
}

/// Whether a bend lies on a template; noted where it does not.
fn is_on(reader: &mut Reader, template: &MadeTemplate, number: usize, place: Span) -> bool {
    if template.bends.contains(&number) {
        return true;
    }
    let bends: Vec<String> = template.bends.iter().map(usize::to_string).collect();
    let hint = match bends.as_slice() {
        [] => "the tube is straight".to_owned(),
        [only] => format!("its only bend is {only}"),
        _ => format!("its bends are {}", listed(&bends)),
    };
    let message = format!("bend {number} does not lie on template {}", template.number);
    reader.error("unknown-bend", place, message, hint);
    false
}
