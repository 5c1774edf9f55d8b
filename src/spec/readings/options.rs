//! An option such as `bend 2 angle 88 ± 0.5` → nodes of the tree that a file gives, so that there is one reader.

use std::ops::Range;

use super::Placed;
use crate::diagnostic::{Diagnostic, Span};
use crate::spec::fields::is_null;
use crate::spec::keys::{ACCURACY, AT_BEND, READ_BEND, READ_TEMPLATE, READINGS, Table};
use crate::spec::node::{Key, Node, Scalar, Value};

/// Signs in front of how far a reading may be off.
const SURE: [&str; 4] = ["±", "+/-", "+-", "-+"];

/// How options are written.
const FORMS: &str = "write such as `bend 2 angle 88`, `template 1 left -2`, `template 1 at bend 2 left 0.3`, `cut 420` \
                     or `measured inside`; how far it may be off goes behind: `bend 2 angle 88 ± 0.5`";

/// A value of the tree, and the keys that lead to it.
#[derive(Debug)]
pub(super) struct Setting {
    path: Vec<Key>,
    value: Node,
    /// Where the whole option is.
    place: Span,
}

/// A word of an option and where it stands.
#[derive(Debug, Clone)]
struct Word<'o> {
    text: &'o str,
    range: Range<usize>,
}

impl Setting {
    /// Reads an option.
    ///
    /// # Errors
    /// Where it has too few words.
    pub(super) fn parse(option: &str, placed: Placed<'_>) -> Result<Setting, Box<Diagnostic>> {
        let words = words(option);
        let place = placed.at(0..option.len());
        let fault =
            |message: String, place| Box::new(Diagnostic::error("bad-option", message).hint(FORMS).at(place));
        let Some((path, rest)) = path(&words, placed) else {
            let said = option.trim();
            let message = match said {
                "" => "this option is empty".to_owned(),
                _ => format!("`{said}` does not say what was measured"),
            };
            return Err(fault(message, place));
        };
        let (Some(first), Some(last)) = (rest.first(), rest.last()) else {
            let key = path.last().map_or("", |key| key.text.as_str());
            let place = words.last().map_or(place, |word| placed.at(word.range.clone()));
            return Err(fault(format!("nothing was read behind `{key}`"), place));
        };
        let range = first.range.start..last.range.end;
        let value = value(option, range, placed);
        Ok(Setting { path, value, place })
    }

    /// Puts the value into a tree whose file ends at `begins`; where that had one, its place and what it was.
    ///
    /// # Errors
    /// Where an earlier option set the same.
    pub(super) fn put_into(
        self,
        root: &mut Node,
        begins: usize,
    ) -> Result<Option<(Span, String)>, Box<Diagnostic>> {
        let Setting { path, value, place } = self;
        let Some(old) = put(root, &path, value).filter(|old| !is_null(old)) else { return Ok(None) };
        if old.place.start >= begins {
            let message = "another option sets the same";
            let hint = "leave out one of the two";
            return Err(Box::new(Diagnostic::error("duplicate-key", message).hint(hint).at(place)));
        }
        // Without a file the run has its name from the command, and no place.
        let is_written = old.place != Span::default();
        Ok(is_written.then(|| (old.place, shown(&old))))
    }
}

/// Puts a value behind the keys that lead to it, and gives what was there. What is no mapping on the way stays: the
/// reader tells of it.
fn put(node: &mut Node, path: &[Key], value: Node) -> Option<Node> {
    let Some((key, rest)) = path.split_first() else { return Some(std::mem::replace(node, value)) };
    if is_null(node) {
        node.value = Value::Map(Vec::new());
    }
    let Value::Map(entries) = &mut node.value else { return None };
    let same = |other: &Key| match (other.text.parse::<usize>(), key.text.parse::<usize>()) {
        (Ok(other), Ok(key)) => other == key,
        _ => other.text == key.text,
    };
    if !entries.iter().any(|(other, _)| same(other)) {
        let nothing = Scalar { text: String::new(), null: true };
        entries.push((key.clone(), Node { value: Value::Scalar(nothing), place: key.place }));
    }
    let (_, inner) = entries.iter_mut().find(|(other, _)| same(other))?;
    put(inner, rest, value)
}

/// A value as a file writes it.
fn shown(node: &Node) -> String {
    match &node.value {
        Value::Scalar(scalar) => scalar.text.trim().to_owned(),
        _ => node.get("got").and_then(Node::scalar).map_or_else(|| node.kind().to_owned(), str::to_owned),
    }
}

fn words(option: &str) -> Vec<Word<'_>> {
    let start = |text: &str| text.as_ptr() as usize - option.as_ptr() as usize;
    option
        .split_whitespace()
        .map(|text| Word { text, range: start(text)..start(text) + text.len() })
        .collect()
}

/// The keys that an option's words lead to, and the words behind them; none where there are too few.
fn path<'o, 'w>(words: &'w [Word<'o>], placed: Placed<'_>) -> Option<(Vec<Key>, &'w [Word<'o>])> {
    let key = |text: &str, range: Range<usize>| Key { text: text.to_owned(), place: placed.at(range) };
    let (first, behind) = words.split_first()?;
    let (table, begun, number): (_, _, &[Word<'_>]) = match (first.text, behind) {
        ("bend" | "bends", [second, ..]) if second.text != "done" => (&READ_BEND, "bends", behind),
        ("template" | "templates", _) => (&READ_TEMPLATE, "templates", behind),
        ("accuracy", _) => {
            let (name, range, rest) = named(behind, &ACCURACY)?;
            return Some((vec![key("accuracy", first.range.clone()), key(&name, range)], rest));
        }
        _ => {
            let (name, range, rest) = named(words, &READINGS)?;
            return Some((vec![key(&name, range)], rest));
        }
    };
    let (number, rest) = number.split_first()?;
    let mut path = vec![key(begun, first.range.clone()), key(number.text, number.range.clone())];
    let at_bend = match rest {
        [at, bend, number, rest @ ..] if at.text == "at" && bend.text.starts_with("bend") => {
            Some((at, number, rest))
        }
        [at, number, rest @ ..] if at.text == "at_bends" => Some((at, number, rest)),
        _ => None,
    };
    let (name, range, rest) = match at_bend.filter(|_| begun == "templates") {
        Some((at, number, rest)) => {
            path.push(key("at_bends", at.range.clone()));
            path.push(key(number.text, number.range.clone()));
            named(rest, &AT_BEND)?
        }
        None => named(rest, table)?,
    };
    path.push(key(&name, range));
    Some((path, rest))
}

/// The key of a table that the first words name, with spaces for its underscores or not, and the words behind it; the first
/// word alone where they name none.
fn named<'o, 'w>(words: &'w [Word<'o>], table: &Table) -> Option<(String, Range<usize>, &'w [Word<'o>])> {
    let of = |count: usize| {
        let (key, rest) = words.split_at_checked(count)?;
        let (first, last) = (key.first()?, key.last()?);
        let texts: Vec<&str> = key.iter().map(|word| word.text.trim_end_matches(':')).collect();
        Some((texts.join("_"), first.range.start..last.range.end, rest))
    };
    let known = |count: usize| of(count).filter(|(name, ..)| table.rule(name).is_some());
    // The longest key is end_to_end.
    [3, 2, 1].into_iter().find_map(known).or_else(|| of(1))
}

/// A value as a node: a number alone, or with how far it may be off.
fn value(option: &str, range: Range<usize>, placed: Placed<'_>) -> Node {
    let scalar = |range: Range<usize>| {
        let text = option.get(range.clone()).unwrap_or_default();
        let trimmed = text.trim();
        let start = range.start + (text.len() - text.trim_start().len());
        let place = placed.at(start..start + trimmed.len());
        Node { value: Value::Scalar(Scalar { text: trimmed.to_owned(), null: false }), place }
    };
    let text = option.get(range.clone()).unwrap_or_default();
    let sign = SURE.iter().filter_map(|sign| Some((text.find(sign)?, sign.len()))).min();
    let Some((at, long)) = sign else { return scalar(range) };
    let key = |text: &str, place| Key { text: text.to_owned(), place };
    let (got, accuracy) = (scalar(range.start..range.start + at), scalar(range.start + at + long..range.end));
    let place = placed.at(range);
    let entries = vec![(key("got", got.place), got), (key("accuracy", accuracy.place), accuracy)];
    Node { value: Value::Map(entries), place }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An option as the keys and values it sets.
    fn set(option: &str) -> String {
        let setting = match Setting::parse(option, Placed { whole: option, start: 0 }) {
            Ok(setting) => setting,
            Err(fault) => {
                return format!("{}: {}", fault.place.map_or(0, |place| place.column), fault.message);
            }
        };
        let quoted = |place: Span| &option[place.start..place.end];
        let path: Vec<&str> = setting.path.iter().map(|key| key.text.as_str()).collect();
        let value = match &setting.value.value {
            Value::Map(entries) => {
                let each = entries.iter().map(|(key, node)| format!("{} {}", key.text, quoted(node.place)));
                each.collect::<Vec<_>>().join(", ")
            }
            _ => quoted(setting.value.place).to_owned(),
        };
        format!("{} = {value}", path.join("."))
    }

    #[test]
    fn options_lead_to_the_keys_of_a_file() {
        for (option, wanted) in [
            ("bend 2 angle 88", "bends.2.angle = 88"),
            ("bend 2 angle 88 ± 0.5", "bends.2.angle = got 88, accuracy 0.5"),
            ("bend 2 angle 88+-0.5", "bends.2.angle = got 88, accuracy 0.5"),
            ("  bends 2  leg: 1 1/2 in +/- 1/32 in ", "bends.2.leg = got 1 1/2 in, accuracy 1/32 in"),
            ("bends_done 2", "bends_done = 2"),
            ("bends done 2", "bends_done = 2"),
            ("template 1 left -2", "templates.1.left = -2"),
            ("template 1 end to end 250.3", "templates.1.end_to_end = 250.3"),
            ("template 1 at bend 2 left 0.3", "templates.1.at_bends.2.left = 0.3"),
            ("template 1 at_bends 2 above 0", "templates.1.at_bends.2.above = 0"),
            ("accuracy turn 2", "accuracy.turn = 2"),
            ("last leg 120", "last_leg = 120"),
            ("measured inside", "measured = inside"),
            ("angel 88", "angel = 88"),
            ("bend 2 angle", "8: nothing was read behind `angle`"),
            ("bend 2", "1: `bend 2` does not say what was measured"),
            ("bend", "1: nothing was read behind `bend`"),
            (" ", "1: this option is empty"),
        ] {
            assert_eq!(set(option), wanted, "{option}");
        }
    }
}
