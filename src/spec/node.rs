//! YAML text → a tree of nodes that know their places. No key has a meaning here yet.

use std::fmt;

use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, SeqAccess, Visitor};
use serde_saphyr::{DuplicateKeyPolicy, Location, NonFiniteFloatPolicy, Spanned};

use super::syntax;
use crate::diagnostic::{Diagnostic, Span};

/// Nodes that aliases may stand for in any text: some two hundred runs with tube and bender by alias.
const USUAL_NODES: usize = 20_000;

/// Most nodes of a spec, with what its aliases stand for: some ten thousand runs.
const MOST_NODES: usize = 1_000_000;

/// One node of the document.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    /// What it holds.
    pub(super) value: Value,
    /// Where it is written; for an alias or a merged key, where the anchored text stands.
    pub(super) place: Span,
}

/// The contents of a node.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// One value, as written.
    Scalar(Scalar),
    /// A list.
    List(Vec<Node>),
    /// Keys and values in the order of the file, duplicates included.
    Map(Vec<(Key, Node)>),
}

/// A scalar as written: numbers keep their spelling, so that `1/2` and `0.50` can be read by us.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scalar {
    /// The text, without quotes.
    pub(super) text: String,
    /// Nothing was written (or `null`, `~`).
    pub(super) null: bool,
}

/// A key of a mapping.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Key {
    /// The key.
    pub(super) text: String,
    /// Where it is written.
    pub(super) place: Span,
}

impl Node {
    /// Its kind, as messages name it.
    pub(super) fn kind(&self) -> &'static str {
        match &self.value {
            Value::Scalar(s) if s.null => "nothing",
            Value::Scalar(_) => "a single value",
            Value::List(_) => "a list",
            Value::Map(_) => "a mapping",
        }
    }

    /// The value of a key, where this is a mapping that has it.
    pub(super) fn get(&self, key: &str) -> Option<&Node> {
        match &self.value {
            Value::Map(entries) => entries.iter().find(|(k, _)| k.text == key).map(|(_, node)| node),
            _ => None,
        }
    }

    /// Its text, where it is a single value.
    pub(super) fn scalar(&self) -> Option<&str> {
        match &self.value {
            Value::Scalar(Scalar { text, null: false }) => Some(text.trim()),
            _ => None,
        }
    }
}

/// Parses `source`; `None` for a file without content.
///
/// # Errors
/// The first place where the text is not YAML, or is built to exhaust the reader.
pub(super) fn parse(source: &str) -> Result<Option<Node>, Box<Diagnostic>> {
    // A mark some editors put in front; it is no content.
    let text = source.strip_prefix('\u{feff}').unwrap_or(source);
    let skipped = source.len() - text.len();
    // Text without aliases has fewer nodes than bytes; a short one that stands for many is refused at once.
    let nodes = (USUAL_NODES + text.len()).min(MOST_NODES);
    let options = serde_saphyr::options! {
        // Specs are small. Depth and aliases are what hostile files use.
        budget: serde_saphyr::budget! {
            max_depth: 40,
            max_documents: 2,
            max_nodes: nodes,
            max_events: 3 * nodes,
            max_aliases: 100_000,
        },
        // Reported by the reader, all at once and with both places.
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        non_finite_float_policy: NonFiniteFloatPolicy::PassThrough,
        leading_zero_numbers_as_strings: true,
        underscored_numbers_as_strings: true,
        strict_booleans: true,
        null_as_string: true,
        // A tag would be dropped in silence.
        reject_unsupported_tags: true,
        with_snippet: false,
    };
    match serde_saphyr::from_str_with_options::<Option<Spanned<Raw>>>(text, options) {
        Ok(None) => Ok(None),
        Ok(Some(raw)) => Ok(Some(settle(raw, text, skipped))),
        Err(error) => Err(Box::new(syntax_error(&error, text, skipped))),
    }
}

fn syntax_error(error: &serde_saphyr::Error, text: &str, skipped: usize) -> Diagnostic {
    let mut bare = error.without_snippet();
    // Errors lie in one another, none in itself.
    while let serde_saphyr::Error::AliasError { error, .. } = bare {
        bare = error.without_snippet();
    }
    let place = bare.location().or_else(|| error.location()).map(|l| place_of(l, text, skipped));
    let diagnostic = |message: &str, hint: &str| Diagnostic::error("yaml-syntax", message).hint(hint);
    if let Some((message, hint)) = syntax_message(bare) {
        let diagnostic = diagnostic(message, hint);
        return place.map_or(diagnostic.clone(), |place| diagnostic.at(place));
    }
    let whole = bare.to_string();
    // Our own report shows the place; drop the one at the end of the library's sentence.
    let sentence = &whole[..whole.find(" at line ").unwrap_or(whole.len())];
    let place = place.unwrap_or_default();
    let column = place.start.saturating_sub(skipped + line_start(text, place.line));
    let explained = syntax::explain(sentence, text, place.line, column);
    let place = explained.at.map_or(place, |(line, range)| {
        let start = line_start(text, line);
        let column = text.get(start..start + range.start).map_or(0, |before| before.chars().count()) + 1;
        Span { line, column, start: start + range.start + skipped, end: start + range.end + skipped }
    });
    diagnostic(&explained.message, &explained.hint).at(place)
}

/// Byte offset of a line's start; lines are counted from 1.
fn line_start(text: &str, line: usize) -> usize {
    text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum()
}

/// What is wrong and what to do, in words of ours, where it is not a slip of the text's structure.
fn syntax_message(error: &serde_saphyr::Error) -> Option<(&'static str, &'static str)> {
    use serde_saphyr::Error;
    use serde_saphyr::budget::BudgetBreach;
    Some(match error {
        Error::MultipleDocuments { .. } => ("the file holds more than one document", "keep one"),
        Error::Budget { breach: BudgetBreach::Depth { .. }, .. } => {
            ("lists and mappings are nested deeper than any spec", "count the brackets")
        }
        Error::Budget { .. }
        | Error::AliasReplayLimitExceeded { .. }
        | Error::AliasExpansionLimitExceeded { .. }
        | Error::AliasReplayStackDepthExceeded { .. } => {
            ("the file is larger than any spec, or its aliases multiply", "repeat less")
        }
        Error::MergeValueNotMapOrSeqOfMaps { .. } => {
            ("only mappings can be merged", "write `<<: *name`, where `&name` stands at a mapping")
        }
        Error::UnknownAnchor { .. } => {
            ("there is no anchor of this name above", "write `&name` in front of what `*name` repeats")
        }
        Error::UnsupportedTag { .. } => {
            ("tags mean nothing in a spec", "delete the word that begins with `!`")
        }
        _ if error.to_string().starts_with("expected string scalar") => {
            ("a key is a single word", "write `key: value`")
        }
        _ => return None,
    })
}

/// A place from the parser's location, which counts lines and columns from 1.
fn place_of(location: Location, text: &str, skipped: usize) -> Span {
    let span = location.span();
    let index = |offset: Option<u64>| offset.and_then(|o| usize::try_from(o).ok());
    // Syntax errors carry lines and columns only.
    let start = index(span.byte_offset()).map_or_else(
        || offset_of(text, location.line(), location.column()),
        |offset| floor_char(text, offset),
    );
    let length = index(span.byte_len()).unwrap_or(0);
    let end = floor_char(text, start.saturating_add(length)).max(start);
    Span {
        line: usize::try_from(location.line()).unwrap_or(usize::MAX),
        column: usize::try_from(location.column()).unwrap_or(usize::MAX),
        start: start + skipped,
        end: end + skipped,
    }
}

/// Byte offset of a line and column, both from 1.
fn offset_of(text: &str, line: u64, column: u64) -> usize {
    let skip = |n: u64| usize::try_from(n.saturating_sub(1)).unwrap_or(usize::MAX);
    let Some(found) = text.split_inclusive('\n').nth(skip(line)) else { return text.len() };
    let line_start = found.as_ptr() as usize - text.as_ptr() as usize;
    line_start + found.char_indices().nth(skip(column)).map_or(found.trim_end().len(), |(at, _)| at)
}

/// The nearest character boundary at or before `offset`.
fn floor_char(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    // The start of the text is a boundary.
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// A node as the YAML library hands it over: spellings of numbers are still in the text.
enum Raw {
    Text(String),
    Spelled,
    Null,
    List(Vec<Spanned<Raw>>),
    Map(Vec<(Spanned<String>, Spanned<Raw>)>),
}

fn settle(raw: Spanned<Raw>, text: &str, skipped: usize) -> Node {
    let mut place = place_of(raw.defined, text, skipped);
    let spelling = || text.get(place.start - skipped..place.end - skipped).unwrap_or("").trim().to_owned();
    let value = match raw.value {
        Raw::Text(text) => Value::Scalar(Scalar { text, null: false }),
        Raw::Spelled => Value::Scalar(Scalar { text: spelling(), null: false }),
        Raw::Null => Value::Scalar(Scalar { text: spelling(), null: true }),
        Raw::List(items) => Value::List(items.into_iter().map(|n| settle(n, text, skipped)).collect()),
        Raw::Map(entries) => Value::Map(
            entries
                .into_iter()
                .map(|(key, node)| {
                    let place = place_of(key.defined, text, skipped);
                    (Key { text: key.value, place }, settle(node, text, skipped))
                })
                .collect(),
        ),
    };
    let last = match &value {
        Value::Scalar(_) => None,
        Value::List(items) => Some(items.last().map_or(place.start + 1, |item| item.place.end)),
        Value::Map(entries) => Some(entries.last().map_or(place.start + 1, |(_, node)| node.place.end)),
    };
    if let Some(end) =
        last.and_then(|end| bracket_end(text, place.start - skipped, end.checked_sub(skipped)?))
    {
        place.end = end + skipped;
    }
    Node { value, place }
}

/// End of a bracketed list or mapping that stands on one line, from its start and the end of its last
/// item: the parser's span covers the opening bracket only.
fn bracket_end(text: &str, start: usize, last_end: usize) -> Option<usize> {
    let close = match text.as_bytes().get(start)? {
        b'[' => ']',
        b'{' => '}',
        _ => return None,
    };
    // An alias or a merged key leads elsewhere.
    let inside = text.get(start..last_end)?;
    let rest = text.get(last_end..)?;
    let gap = rest.len() - rest.trim_start_matches([' ', ',']).len();
    let closed = !inside.contains('\n') && rest[gap..].starts_with(close);
    closed.then_some(last_end + gap + 1)
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value, a list or a mapping")
    }

    fn visit_bool<E>(self, _: bool) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Raw, E> {
        Ok(Raw::Spelled)
    }

    fn visit_str<E>(self, text: &str) -> Result<Raw, E> {
        Ok(Raw::Text(text.to_owned()))
    }

    fn visit_string<E>(self, text: String) -> Result<Raw, E> {
        Ok(Raw::Text(text))
    }

    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Null)
    }

    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Null)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Raw, D::Error> {
        Raw::deserialize(deserializer)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Raw, A::Error> {
        let mut items = Vec::new();
        // The reader's budget ends a list without end.
        while let Some(item) = access.next_element()? {
            items.push(item);
        }
        Ok(Raw::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Raw, A::Error> {
        let mut entries = Vec::new();
        // As for lists.
        while let Some(entry) = access.next_entry()? {
            entries.push(entry);
        }
        Ok(Raw::Map(entries))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tree on one line: scalars with the source they stand for, `~` behind nothing.
    fn shown(node: &Node, source: &str) -> String {
        let list = |parts: Vec<String>| parts.join(", ");
        match &node.value {
            Value::Scalar(s) if s.null => format!("{}~", s.text),
            Value::Scalar(s) => format!("{}<{}>", s.text, &source[node.place.start..node.place.end]),
            Value::List(items) => format!("[{}]", list(items.iter().map(|n| shown(n, source)).collect())),
            Value::Map(entries) => format!(
                "{{{}}}",
                list(entries.iter().map(|(k, n)| format!("{}: {}", k.text, shown(n, source))).collect())
            ),
        }
    }

    fn tree(source: &str) -> String {
        match parse(source) {
            Ok(Some(node)) => shown(&node, source),
            Ok(None) => "nothing".to_owned(),
            Err(d) => {
                let place = d.place.expect("has a place");
                format!("{}:{} {}", place.line, place.column, d.message)
            }
        }
    }

    #[test]
    fn scalars_keep_their_spelling_and_their_place() {
        assert_eq!(
            tree("a: 1/2\nb: 0.50  # c\nc: ['q x', 2.5\", .nan, 1e999, 007, 1_000, true]\né: ü 5\n"),
            "{a: 1/2<1/2>, b: 0.50<0.50>, c: [q x<'q x'>, 2.5\"<2.5\">, .nan<.nan>, 1e999<1e999>, 007<007>, \
             1_000<1_000>, true<true>], é: ü 5<ü 5>}"
        );
        assert_eq!(tree("{y: ~, z: , w: null}"), "{y: ~~, z: ~, w: null~}");
    }

    #[test]
    fn merged_and_aliased_nodes_point_at_the_anchored_text() {
        let source = "d: &d {x: 1, y: 2}\ne: {<<: *d, x: 8}\nf: *d\n";
        assert_eq!(tree(source), "{d: {x: 1<1>, y: 2<2>}, e: {x: 8<8>, y: 2<2>}, f: {x: 1<1>, y: 2<2>}}");
    }

    #[test]
    fn brackets_on_one_line_are_one_place() {
        let source = "a: [1, [2, 3] ]\nb: {x: 1, y: [2,], }\nc: [1,\n 2]\nd: &d []\ne: [*d]\n";
        let Ok(Some(Node { value: Value::Map(entries), .. })) = parse(source) else { panic!("a mapping") };
        let places: Vec<&str> = entries.iter().map(|(_, n)| &source[n.place.start..n.place.end]).collect();
        assert_eq!(places, ["[1, [2, 3] ]", "{x: 1, y: [2,], }", "[", "[]", "["]);
    }

    #[test]
    fn repeated_keys_are_kept_for_the_reader() {
        assert_eq!(tree("x: 1\nx: 2\n"), "{x: 1<1>, x: 2<2>}");
    }

    #[test]
    fn a_mark_in_front_moves_no_place() {
        let source = "\u{feff}x: 12\n";
        assert_eq!(tree(source), "{x: 12<12>}");
    }

    #[test]
    fn syntax_faults_have_a_place() {
        assert_eq!(tree("a: [1"), "1:4 the bracket `[` is not closed");
        assert_eq!(tree("a: 1\n b: 2"), "2:2 this line is indented by 1 space, like no line above it");
        assert_eq!(tree("a: *x"), "1:4 there is no anchor of this name above");
        assert_eq!(tree("a: 1\n---\nb: 2\n"), "3:1 the file holds more than one document");
        assert_eq!(tree("a: !foo 5"), "1:9 tags mean nothing in a spec");
        for empty in ["", "# words\n", "---\n", "\u{feff}"] {
            assert_eq!(tree(empty), "nothing");
        }
    }

    #[test]
    fn hostile_files_end_in_an_error() {
        assert!(parse(&"[".repeat(100_000)).is_err());
        let deep = format!("a: {}{}", "[".repeat(60), "]".repeat(60));
        assert!(parse(&deep).is_err());
        // Each level doubles the one before: 2^40 nodes if it were expanded.
        let mut bomb = "a0: &a0 [1, 1]\n".to_owned();
        for level in 1..40 {
            bomb.push_str(&format!("a{level}: &a{level} [*a{}, *a{}]\n", level - 1, level - 1));
        }
        assert!(parse(&bomb).is_err());
    }
}
