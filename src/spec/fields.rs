//! Mappings whose keys are known, and the findings made on the way.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::keys::{Choice, Kind, Rule, Table};
use super::names;
use super::node::{Key, Node, Scalar, Value};
use super::words::{self, article, quoted, sentence};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity, Span};
use crate::quantity::{Unit, parse_length};

/// The reader of one file, with its findings so far.
pub(super) struct Reader {
    /// The keys of the whole file.
    root: &'static Table,
    /// Unit of bare numbers.
    pub(super) unit: Unit,
    /// Where that unit comes from.
    pub(super) unit_from: UnitFrom,
    /// Whether the components could not be read: their ports are not known.
    pub(super) no_ports: bool,
    findings: Diagnostics,
    errors: usize,
    run: Option<String>,
}

/// Where the unit of bare numbers comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum UnitFrom {
    /// Nothing was written.
    Default,
    /// The spec says.
    Written,
    /// The spec means to say, but it cannot be read: lengths must not be compared.
    Unreadable,
}

/// A mapping whose keys are known to its table, each once.
#[derive(Clone)]
pub(super) struct Fields<'n> {
    table: &'static Table,
    /// Where the mapping is to be pointed at: the key that leads to it.
    pub(super) place: Span,
    entries: Vec<(&'static Rule, &'n Key, &'n Node)>,
    /// Keys that were probably meant by unknown ones: not reported as missing, too.
    meant: Vec<&'static str>,
}

impl<'n> Fields<'n> {
    /// Whether the key was written.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// Whether the key was probably meant by one that is not known, which is noted.
    pub(super) fn means(&self, key: &str) -> bool {
        self.meant.contains(&key)
    }

    /// The only one of some keys that was written; none where there are more.
    pub(super) fn only<T: Choice>(&self) -> Option<T> {
        let mut written = T::VARIANTS.iter().copied().filter(|key| self.has((*key).into()));
        written.next().filter(|_| written.next().is_none())
    }

    /// Whether an unknown key was probably meant to be this one.
    pub(super) fn is_meant(&self, key: &str) -> bool {
        self.meant.contains(&key)
    }

    /// The rules of the keys that were written.
    pub(super) fn written(&self) -> impl Iterator<Item = &'static Rule> {
        self.entries.iter().map(|(rule, _, _)| *rule)
    }

    /// Where the key was written; the mapping's place if it was not.
    pub(super) fn place_of(&self, key: &str) -> Span {
        self.entry(key).map_or(self.place, |(_, k, _)| k.place)
    }

    /// Where the key's value was written; the mapping's place if it was not.
    pub(super) fn value_place(&self, key: &str) -> Span {
        self.entry(key).map_or(self.place, |(_, _, node)| node.place)
    }

    /// The key's value, unread.
    pub(super) fn node(&self, key: &str) -> Option<&'n Node> {
        self.entry(key).map(|(_, _, node)| node)
    }

    fn entry(&self, key: &str) -> Option<(&'static Rule, &'n Key, &'n Node)> {
        self.entries.iter().copied().find(|(rule, _, _)| rule.key == key)
    }

    /// These keys over those of `base`; `left_behind` keys of the base do not come along.
    pub(super) fn over(mut self, base: &Fields<'n>, left_behind: &[&str]) -> Fields<'n> {
        for entry in &base.entries {
            let key = entry.0.key;
            if !self.has(key) && !left_behind.contains(&key) {
                self.entries.push(*entry);
            }
        }
        self.meant.extend(&base.meant);
        self
    }
}

impl Reader {
    pub(super) fn new(root: &'static Table) -> Self {
        let (unit, unit_from) = (Unit::Millimetre, UnitFrom::Default);
        Reader { root, unit, unit_from, no_ports: false, findings: Diagnostics::new(), errors: 0, run: None }
    }

    /// Findings from here on concern this run.
    pub(super) fn enter_run(&mut self, name: Option<&str>) {
        self.run = name.map(str::to_owned);
    }

    /// The run that findings concern.
    pub(super) fn run(&self) -> Option<&str> {
        self.run.as_deref()
    }

    /// How many errors have been noted, repetitions included; not those of values whose meaning is known.
    pub(super) fn errors(&self) -> usize {
        self.errors
    }

    /// Notes a finding.
    pub(super) fn note(&mut self, diagnostic: Diagnostic) {
        self.errors += usize::from(diagnostic.severity == Severity::Error);
        self.note_understood(diagnostic);
    }

    /// Notes a finding about a value whose meaning is known all the same: no part of the spec is lost by it.
    pub(super) fn note_understood(&mut self, diagnostic: Diagnostic) {
        let diagnostic = match &self.run {
            Some(run) if diagnostic.run.is_none() => diagnostic.run(run),
            _ => diagnostic,
        };
        self.findings.push(diagnostic);
    }

    /// Notes an error with its place and advice.
    pub(super) fn error(
        &mut self,
        code: &'static str,
        place: Span,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.note(Diagnostic::error(code, message).hint(hint).at(place));
    }

    /// Notes a warning with its place and advice.
    pub(super) fn warning(
        &mut self,
        code: &'static str,
        place: Span,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.note(Diagnostic::warning(code, message).hint(hint).at(place));
    }

    /// The findings in the order of the file, none twice: an anchored value is read wherever it is used.
    pub(super) fn finish(self) -> Diagnostics {
        let mut findings = Diagnostics::new();
        findings.extend(self.findings);
        let mut findings = findings.none_twice();
        findings.sort_by_place();
        findings
    }

    /// The mapping behind a key: unknown and repeated keys are noted, known ones kept.
    pub(super) fn fields<'n>(
        &mut self,
        node: &'n Node,
        table: &'static Table,
        place: Span,
    ) -> Option<Fields<'n>> {
        let Value::Map(entries) = &node.value else {
            let message =
                format!("{} is a mapping of keys, and this is {}", article(table.name), node.kind());
            self.error("wrong-type", node.place, message, outline(table));
            return None;
        };
        let mut fields = Fields { table, place, entries: Vec::new(), meant: Vec::new() };
        for (key, value) in entries {
            match table.rule(&key.text) {
                Some(rule) => match fields.entry(rule.key) {
                    Some((_, first, _)) => {
                        let line = first.place.line;
                        self.repeated(key, line);
                    }
                    None => fields.entries.push((rule, key, value)),
                },
                None if self.decimal_comma(&mut fields, key, value) => {}
                None => {
                    let beside = |other: &str| entries.iter().any(|(key, _)| key.text == other);
                    let meant = self
                        .run_together(key, value, table)
                        .or_else(|| self.unknown_key(key, value, table, &beside));
                    fields.meant.extend(meant);
                }
            }
        }
        self.check_choices(&fields);
        Some(fields)
    }

    fn check_choices(&mut self, fields: &Fields<'_>) {
        let table = fields.table;
        let written = |keys: &[&'static str]| -> Vec<&'static str> {
            keys.iter().copied().filter(|key| fields.has(key)).collect()
        };
        let rules = [(table.exactly_one, true), (table.at_most_one, false)];
        for (keys, needed) in rules.into_iter().filter(|(keys, _)| !keys.is_empty()) {
            let list = quoted(keys, if needed { "or" } else { "and" });
            match written(keys).as_slice() {
                [] if needed && !keys.iter().any(|key| fields.meant.contains(key)) => self.error(
                    "missing-key",
                    fields.place,
                    format!("the {} has none of {list}", table.name),
                    format!("write exactly one of {list}"),
                ),
                several @ [_, second, ..] => {
                    let several = quoted(several, "and");
                    let message = format!("the {} has {several}, of which it takes one", table.name);
                    self.error("too-many-keys", fields.place_of(second), message, "keep one of them");
                }
                _ => {}
            }
        }
    }

    /// Notes `{length: 3,5}`, which YAML reads as `length: 3` and a key `5`; whether it was that. The
    /// value in front is taken back.
    fn decimal_comma(&mut self, fields: &mut Fields<'_>, key: &Key, value: &Node) -> bool {
        let Some(&(rule, _, Node { value: Value::Scalar(whole), place })) = fields.entries.last() else {
            return false;
        };
        let is_digit = |c: char| c.is_ascii_digit();
        let joined = place.end + 1 == key.place.start;
        let digits = whole.text.ends_with(is_digit) && key.text.starts_with(is_digit);
        let Some(number) = number_of(&rule.kind).filter(|_| joined && digits && is_null(value)) else {
            return false;
        };
        let place = Span { end: key.place.end, ..*place };
        let (whole, part) = (&whole.text, &key.text);
        let message = format!("`{whole},{part}` has a comma in it");
        let code = match number {
            Kind::Angle(_) => "bad-angle",
            Kind::Number(_) | Kind::Count(..) => "bad-number",
            Kind::Size => "unknown-size",
            _ => "bad-length",
        };
        self.error(code, place, message, format!("write a decimal point: {whole}.{part}"));
        fields.entries.pop();
        fields.meant.push(rule.key);
        true
    }

    /// Notes `{length:100}` and `{length 100}`, each of which YAML reads as one key; the key meant.
    fn run_together(&mut self, key: &Key, value: &Node, table: &'static Table) -> Option<&'static str> {
        let (word, rest) = key.text.split_once([':', ' ']).filter(|_| is_null(value))?;
        let rule = table.rule(word)?;
        let message = if key.text[word.len()..].starts_with(':') {
            format!("there is no space after the colon of `{word}:`")
        } else {
            format!("there is no colon after `{word}`")
        };
        self.error("unknown-key", key.place, message, format!("write `{word}: {}`", rest.trim()));
        Some(rule.key)
    }

    /// Notes an unknown key; the one that was probably meant. `beside` tells which keys stand beside it.
    fn unknown_key(
        &mut self,
        key: &Key,
        value: &Node,
        table: &'static Table,
        beside: &dyn Fn(&str) -> bool,
    ) -> Option<&'static str> {
        // Anchors may be kept under keys of their own at the top.
        if table.name == super::keys::SPEC.name && key.text.starts_with("x-") {
            return None;
        }
        let message = format!("unknown key `{}` in {}", key.text, article(table.name));
        let length = value.scalar().and_then(|text| parse_length(text, self.unit).ok());
        let fits = |known: &str| match known {
            // A bend table's last straight is a number; where a tube ends is none.
            "end_length" => beside("bends") && (length.is_some() || beside("to")),
            _ => !beside(known),
        };
        let (hint, meant) = words::key(&key.text, table, self.root, &fits);
        let hint = match (meant, length) {
            (Some("diameter"), Some(radius)) if key.text.to_lowercase().contains("radius") => {
                format!("{hint} It is twice the radius: write `diameter: {}`", self.unit.number(2.0 * radius))
            }
            _ => hint,
        };
        self.error("unknown-key", key.place, message, hint);
        meant
    }

    fn repeated(&mut self, key: &Key, first_line: usize) {
        self.error(
            "duplicate-key",
            key.place,
            format!("`{}` is there twice; the first is on line {first_line}", key.text),
            "delete or rename one of them",
        );
    }

    /// A mapping from names to things, in the order of the file; names that are none are noted.
    pub(super) fn named<'n>(&mut self, node: &'n Node, what: &str) -> Vec<(&'n Key, &'n Node)> {
        let Value::Map(entries) = &node.value else {
            let message = format!("{what}s have names, and this is {}", node.kind());
            self.error(
                "wrong-type",
                node.place,
                message,
                format!("write a name, a colon and the keys of the {what}"),
            );
            return Vec::new();
        };
        let mut kept: Vec<(&Key, &Node)> = Vec::new();
        let mut taken: BTreeMap<String, &Key> = BTreeMap::new();
        for (key, value) in entries {
            if let Some((message, hint)) = names::fault(&key.text) {
                self.error("bad-name", key.place, message, hint);
            }
            match taken.entry(key.text.to_ascii_lowercase()) {
                Entry::Vacant(free) => {
                    free.insert(key);
                    kept.push((key, value));
                }
                Entry::Occupied(first) if first.get().text == key.text => {
                    self.repeated(key, first.get().place.line);
                }
                Entry::Occupied(first) => {
                    let message =
                        format!("the names `{}` and `{}` differ only in case", first.get().text, key.text);
                    let hint = "rename one; they would be one file on some systems";
                    self.error("name-collision", key.place, message, hint);
                }
            }
        }
        kept
    }

    /// Notes that a node is not what was wanted.
    pub(super) fn wrong_type(&mut self, node: &Node, wanted: &str) {
        let message = format!("this is {}, not {wanted}", node.kind());
        self.error("wrong-type", node.place, message, format!("write {wanted}"));
    }

    /// The node of a key with its rule. A missing required key is noted, and so is a key without a value.
    pub(super) fn value<'n>(
        &mut self,
        fields: &Fields<'n>,
        key: &'static str,
    ) -> Option<(&'static Rule, &'n Node)> {
        let Some((rule, written, node)) = fields.entry(key) else {
            if fields.table.rule(key).is_some_and(|rule| rule.required) {
                self.missing(fields, key);
            }
            return None;
        };
        if is_null(node) {
            let message = format!("`{key}` has no value");
            let value = if let Kind::Choice(words) = rule.kind {
                quoted(&words(), "or")
            } else {
                "a value".to_owned()
            };
            self.error("missing-value", written.place, message, format!("write {value}, or delete the key"));
            return None;
        }
        Some((rule, node))
    }

    /// Whether a key is there that has to be once all defaults are in; noted if it is not.
    pub(super) fn needs(&mut self, fields: &Fields<'_>, key: &str) -> bool {
        if !fields.has(key) {
            self.missing(fields, key);
        }
        fields.has(key)
    }

    /// The value that `read` makes of a key, or `default` where the key is not written.
    pub(super) fn optional<T>(
        &mut self,
        fields: &Fields<'_>,
        key: &str,
        default: T,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<T> {
        if fields.has(key) { read(self) } else { Some(default) }
    }

    /// The value that `read` makes of a key. A key that is not written is noted.
    pub(super) fn required<T>(
        &mut self,
        fields: &Fields<'_>,
        key: &str,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<T> {
        if self.needs(fields, key) { read(self) } else { None }
    }

    /// Notes that a key is missing.
    pub(super) fn missing(&mut self, fields: &Fields<'_>, key: &str) {
        if fields.is_meant(key) {
            return;
        }
        let doc = fields.table.rule(key).map_or("", |rule| rule.doc);
        self.error(
            "missing-key",
            fields.place,
            format!("`{key}` is missing from {}", article(fields.table.name)),
            format!("add `{key}:` ({})", sentence(doc)),
        );
    }
}

/// The kind of number that a key takes, alone or beside other things; none where it takes no number.
fn number_of(kind: &'static Kind) -> Option<&'static Kind> {
    match kind {
        Kind::AnyOf(kinds) => kinds.iter().find_map(number_of),
        Kind::Length(_)
        | Kind::LengthIn(_)
        | Kind::LengthOrPercent
        | Kind::LengthOrParallel
        | Kind::LengthOrLevel
        | Kind::Angle(_)
        | Kind::Number(_)
        | Kind::Count(..)
        | Kind::Size => Some(kind),
        _ => None,
    }
}

pub(super) fn is_null(node: &Node) -> bool {
    matches!(&node.value, Value::Scalar(Scalar { null: true, .. }))
}

/// What to write for a table: the keys it needs, or its first ones.
fn outline(table: &Table) -> String {
    if table.name == super::keys::READINGS.name {
        return "write one key a line: `format: 1`, then `readings:` with the run's name, then what was measured; \
                `tubewright correct SPEC RUN --write FILE` writes a file to fill in"
            .to_owned();
    }
    if table.name == super::keys::SPEC.name {
        return "write one key a line: `format: 1`, then `runs:` and the runs below it; \
                `tubewright init` writes a spec to start from"
            .to_owned();
    }
    let needed: Vec<&str> = table.keys.iter().filter(|rule| rule.required).map(|rule| rule.key).collect();
    let keys =
        if needed.is_empty() { table.keys.iter().take(3).map(|rule| rule.key).collect() } else { needed };
    let keys: Vec<String> = keys.iter().map(|key| format!("{key}: ...")).collect();
    format!("write {{{}}}", keys.join(", "))
}
