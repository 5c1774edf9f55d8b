//! One number that was read, alone or with how far it may be off.

use crate::diagnostic::Span;
use crate::spec::fields::{Fields, Reader, is_null};
use crate::spec::keys::{Kind, Rule};
use crate::spec::node::{Node, Value};

/// A number that was read, mm or rad.
#[derive(Debug, Clone, Copy)]
pub(super) struct Number {
    pub(super) value: f64,
    /// How far it may be off, where it says.
    pub(super) accuracy: Option<f64>,
    /// Where the value is written.
    pub(super) place: Span,
}

/// The value behind a key; none where nothing stands there: a blank file has every key.
pub(super) fn filled<'n>(
    reader: &mut Reader,
    fields: &Fields<'n>,
    key: &'static str,
) -> Option<(&'static Rule, &'n Node)> {
    fields.node(key).filter(|node| !is_null(node))?;
    reader.value(fields, key)
}

/// The number behind a key.
pub(super) fn number(reader: &mut Reader, fields: &Fields<'_>, key: &'static str) -> Option<Number> {
    let (rule, node) = filled(reader, fields, key)?;
    let Kind::AnyOf(kinds) = rule.kind else { return None };
    let table = kinds.iter().find_map(|kind| if let Kind::Table(table) = kind { Some(*table) } else { None });
    let alone = kinds.iter().find(|kind| !matches!(kind, Kind::Table(_)))?;
    if let (Value::Map(_), Some(table)) = (&node.value, table) {
        let inner = reader.fields(node, table, fields.place_of(key))?;
        let got = reader.value(&inner, "got");
        let accuracy = filled(reader, &inner, "accuracy");
        let accuracy = match accuracy {
            Some((rule, node)) => Some(of_kind(reader, node, "accuracy", (rule, &rule.kind))?),
            None => None,
        };
        let (_, node) = got?;
        return Some(Number {
            value: of_kind(reader, node, key, (rule, alone))?,
            accuracy,
            place: node.place,
        });
    }
    Some(Number { value: of_kind(reader, node, key, (rule, alone))?, accuracy: None, place: node.place })
}

/// A number, mm or rad, of a kind.
fn of_kind(reader: &mut Reader, node: &Node, key: &str, (rule, kind): (&Rule, &Kind)) -> Option<f64> {
    match kind {
        Kind::Length(sign) => reader.length_at(node, key, *sign),
        Kind::LengthIn(limits) => reader.length_within(node, key, rule, *limits),
        Kind::Angle(range) => reader.angle_at(node, key, *range),
        _ => None,
    }
}

/// A number as it is written; empty where it is none.
pub(super) fn written(node: &Node) -> &str {
    node.get("got").unwrap_or(node).scalar().unwrap_or_default()
}

/// The tables of a mapping by their numbers from 1, none twice; keys that are no numbers are noted. `what` is what
/// they are the numbers of.
pub(super) fn numbered<'n>(reader: &mut Reader, node: &'n Node, what: &str) -> Vec<(usize, Span, &'n Node)> {
    let Value::Map(entries) = &node.value else {
        let message = format!("{what}s are written by their numbers here, and this is {}", node.kind());
        let hint = format!("write the number of the {what}, a colon and what was measured: `1: {{...}}`");
        reader.error("wrong-type", node.place, message, hint);
        return Vec::new();
    };
    let mut all: Vec<(usize, Span, &Node)> = Vec::new();
    for (key, node) in entries {
        match key.text.trim().parse::<usize>() {
            Ok(number) if number > 0 => match all.iter().find(|(other, ..)| *other == number) {
                Some((_, first, _)) => {
                    let message =
                        format!("{what} {number} is there twice; the first is on line {}", first.line);
                    reader.error(
                        "duplicate-key",
                        key.place,
                        message,
                        "write all of its readings below one of them",
                    );
                }
                None => all.push((number, key.place, node)),
            },
            _ => {
                let message = format!("`{}` is not the number of a {what}", key.text);
                let hint = format!("{what}s go by their numbers, as on the pages: `1: {{...}}`");
                reader.error("bad-number", key.place, message, hint);
            }
        }
    }
    all
}
