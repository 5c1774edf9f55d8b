//! Nodes → values of the kinds the tables name, with every fault noted at its place.

use super::keys::{Degrees, Kind, Rule, Sign, Table};
use super::names;
use super::node::{Key, Node, Scalar, Value};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, Severity};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::quantity::{QuantityFault, Unit, parse_angle, parse_length, parse_number, trimmed};

/// What reading has come to so far.
pub(super) struct Reader {
    /// Unit of bare numbers.
    pub(super) unit: Unit,
    findings: Diagnostics,
    errors: usize,
    run: Option<String>,
}

/// A mapping whose keys are known to its table, each once.
#[derive(Clone)]
pub(super) struct Fields<'n> {
    table: &'static Table,
    /// Where the mapping is to be pointed at: the key that leads to it.
    pub(super) place: Place,
    entries: Vec<(&'static Rule, &'n Key, &'n Node)>,
}

impl<'n> Fields<'n> {
    /// Whether the key was written.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// Where the key was written; the mapping's place if it was not.
    pub(super) fn place_of(&self, key: &str) -> Place {
        self.entry(key).map_or(self.place, |(_, k, _)| k.place)
    }

    /// Where the key's value was written; the mapping's place if it was not.
    pub(super) fn value_place(&self, key: &str) -> Place {
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
        self
    }
}

impl Reader {
    pub(super) fn new() -> Self {
        Reader { unit: Unit::Millimetre, findings: Diagnostics::new(), errors: 0, run: None }
    }

    /// Findings from here on concern this run.
    pub(super) fn enter_run(&mut self, name: Option<&str>) {
        self.run = name.map(str::to_owned);
    }

    /// How many errors have been noted, repetitions included.
    pub(super) fn errors(&self) -> usize {
        self.errors
    }

    /// Notes a finding.
    pub(super) fn note(&mut self, diagnostic: Diagnostic) {
        self.errors += usize::from(diagnostic.severity == Severity::Error);
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
        place: Place,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.note(Diagnostic::error(code, message).hint(hint).at(place));
    }

    /// Notes a warning with its place and advice.
    pub(super) fn warning(
        &mut self,
        code: &'static str,
        place: Place,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.note(Diagnostic::warning(code, message).hint(hint).at(place));
    }

    /// The findings in the order of the file, none twice: an anchored value is read wherever it is used.
    pub(super) fn finish(self) -> Diagnostics {
        let mut kept: Vec<Diagnostic> = Vec::new();
        let mut seen = std::collections::BTreeMap::new();
        for finding in self.findings {
            let key = (finding.place.map(|p| (p.start, p.end)), finding.code, finding.message.clone());
            match seen.get(&key) {
                None => {
                    seen.insert(key, kept.len());
                    kept.push(finding);
                }
                Some(&index) => {
                    let first: &mut Diagnostic = &mut kept[index];
                    if first.run != finding.run {
                        first.run = None;
                    }
                }
            }
        }
        let mut findings = Diagnostics::new();
        findings.extend(kept);
        findings.sort_by_place();
        findings
    }

    /// The mapping behind a key: unknown and repeated keys are noted, known ones kept.
    pub(super) fn fields<'n>(
        &mut self,
        node: &'n Node,
        table: &'static Table,
        place: Place,
    ) -> Option<Fields<'n>> {
        let Value::Map(entries) = &node.value else {
            self.wrong_type(node, &format!("a mapping of keys for a {}", table.name));
            return None;
        };
        let mut fields = Fields { table, place, entries: Vec::new() };
        for (key, value) in entries {
            match table.rule(&key.text) {
                Some(rule) => match fields.entry(rule.key) {
                    Some((_, first, _)) => {
                        let line = first.place.line;
                        self.repeated(key, line);
                    }
                    None => fields.entries.push((rule, key, value)),
                },
                None => self.unknown_key(key, table),
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
                [] if needed => self.error(
                    "missing-key",
                    fields.place,
                    format!("the {} has none of {list}", table.name),
                    format!("write exactly one of {list}"),
                ),
                [_, second, ..] => self.error(
                    "too-many-keys",
                    fields.place_of(second),
                    format!("the {} has more than one of {list}", table.name),
                    "keep one of them",
                ),
                _ => {}
            }
        }
    }

    fn unknown_key(&mut self, key: &Key, table: &Table) {
        // Anchors may be kept under keys of their own at the top.
        if table.name == super::keys::SPEC.name && key.text.starts_with("x-") {
            return;
        }
        let hint = names::advice(&key.text, "keys", table.keys.iter().map(|rule| rule.key));
        let message = format!("unknown key `{}` in a {}", key.text, table.name);
        self.error("unknown-key", key.place, message, hint);
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
            self.wrong_type(node, &format!("a mapping from names to {what}s"));
            return Vec::new();
        };
        let mut kept: Vec<(&Key, &Node)> = Vec::new();
        for (key, value) in entries {
            if let Some((message, hint)) = names::fault(&key.text) {
                self.error("bad-name", key.place, message, hint);
            }
            let twin = kept.iter().find(|(k, _)| k.text.eq_ignore_ascii_case(&key.text));
            match twin {
                Some((first, _)) if first.text == key.text => self.repeated(key, first.place.line),
                Some((first, _)) => {
                    let message =
                        format!("the names `{}` and `{}` differ only in case", first.text, key.text);
                    let hint = "rename one; they would be one file on some systems";
                    self.error("name-collision", key.place, message, hint);
                }
                None => kept.push((key, value)),
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
        if matches!(&node.value, Value::Scalar(Scalar { null: true, .. })) {
            let message = format!("`{key}` has no value");
            self.error("missing-value", written.place, message, "write a value or delete the key");
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

    /// Notes that a key is missing.
    pub(super) fn missing(&mut self, fields: &Fields<'_>, key: &str) {
        let doc = fields.table.rule(key).map_or("", |rule| rule.doc);
        self.error(
            "missing-key",
            fields.place,
            format!("`{key}` is missing from a {}", fields.table.name),
            format!("add `{key}:` ({})", sentence(doc)),
        );
    }

    /// A single value as written.
    pub(super) fn text<'n>(&mut self, node: &'n Node, wanted: &str) -> Option<&'n str> {
        match &node.value {
            Value::Scalar(scalar) => Some(&scalar.text),
            _ => {
                self.wrong_type(node, wanted);
                None
            }
        }
    }

    /// One line of words.
    pub(super) fn words(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<String> {
        let (_, node) = self.value(fields, key)?;
        let text = self.text(node, "one line of words")?.trim();
        if text.is_empty() || text.chars().any(char::is_control) {
            let message = format!("`{key}` is not one line of words");
            self.error("bad-text", node.place, message, "write words on one line");
            return None;
        }
        Some(text.to_owned())
    }

    /// A length, mm, within what its rule allows.
    pub(super) fn length(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<f64> {
        let (rule, node) = self.value(fields, key)?;
        let text = self.text(node, "a length")?;
        let length = match parse_length(text, self.unit) {
            Ok(length) => length,
            Err(fault) => {
                self.bad_quantity("bad-length", node, &fault);
                return None;
            }
        };
        let sign = if let Kind::Length(sign) = rule.kind { sign } else { Sign::Any };
        let wanted = match sign {
            Sign::Positive if length <= 0.0 => "more than 0",
            Sign::ZeroOrMore if length < 0.0 => "0 or more",
            _ => return Some(length),
        };
        let message = format!("`{key}` is {} mm", trimmed(length));
        self.error("out-of-range", node.place, message, format!("write a length of {wanted}"));
        None
    }

    /// A length, or `default` mm where the key is not written.
    pub(super) fn length_or(&mut self, fields: &Fields<'_>, key: &'static str, default: f64) -> Option<f64> {
        if fields.has(key) { self.length(fields, key) } else { Some(default) }
    }

    /// An angle, rad, within what its rule allows.
    pub(super) fn angle(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<f64> {
        let (rule, node) = self.value(fields, key)?;
        match rule.kind {
            Kind::Angle(range) => self.angle_at(node, key, range),
            _ => None,
        }
    }

    /// An angle, or `default` rad where the key is not written.
    pub(super) fn angle_or(&mut self, fields: &Fields<'_>, key: &'static str, default: f64) -> Option<f64> {
        if fields.has(key) { self.angle(fields, key) } else { Some(default) }
    }

    /// An angle, rad, in `range` degrees.
    pub(super) fn angle_at(&mut self, node: &Node, key: &str, range: Degrees) -> Option<f64> {
        let text = self.text(node, "an angle in degrees")?;
        let angle = match parse_angle(text) {
            Ok(angle) => angle,
            Err(fault) => {
                self.bad_quantity("bad-angle", node, &fault);
                return None;
            }
        };
        let Degrees { min, open, max } = range;
        // Compared in radians: 180 converts to exactly π.
        let below = if open { angle <= min.to_radians() } else { angle < min.to_radians() };
        if !below && angle <= max.to_radians() {
            return Some(angle);
        }
        let message = format!("`{key}` is {}°", trimmed(angle.to_degrees()));
        let hint = if min < 0.0 && angle.is_finite() {
            format!("write the same turn as {}", trimmed(half_turn(angle.to_degrees())))
        } else {
            let from = if open { "more than" } else { "from" };
            format!("write an angle {from} {min} up to {max} degrees")
        };
        self.error("out-of-range", node.place, message, hint);
        None
    }

    /// A number without a unit, more than 0.
    pub(super) fn positive_number(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<f64> {
        let (_, node) = self.value(fields, key)?;
        let text = self.text(node, "a number")?;
        match parse_number(text) {
            Ok(number) if number > 0.0 => Some(number),
            Ok(number) => {
                let message = format!("`{key}` is {number}");
                self.error("out-of-range", node.place, message, "write a number of more than 0");
                None
            }
            Err(fault) => {
                self.bad_quantity("bad-number", node, &fault);
                None
            }
        }
    }

    /// A whole number, at least 1.
    pub(super) fn count(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<usize> {
        let (_, node) = self.value(fields, key)?;
        let text = self.text(node, "a whole number")?;
        match text.parse::<usize>() {
            Ok(count) if count >= 1 => Some(count),
            _ => {
                let message = format!("`{text}` is not a count");
                self.error("bad-number", node.place, message, "write a whole number of at least 1");
                None
            }
        }
    }

    /// Position of the written word among the choices of the key's rule.
    pub(super) fn choice(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<usize> {
        let (rule, node) = self.value(fields, key)?;
        let Kind::Choice(choices) = rule.kind else { return None };
        let text = self.text(node, "one word")?;
        let found = choices.iter().position(|choice| *choice == text);
        if found.is_none() {
            let hint = match names::nearest(text, choices.iter().copied()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("write {}", quoted(choices, "or")),
            };
            self.error("bad-choice", node.place, format!("`{key}` cannot be `{text}`"), hint);
        }
        found
    }

    /// A point, mm.
    pub(super) fn point(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<Point3> {
        let (_, node) = self.value(fields, key)?;
        self.point_at(node)
    }

    /// A point, mm.
    pub(super) fn point_at(&mut self, node: &Node) -> Option<Point3> {
        let unit = self.unit;
        let [x, y, z] = self.three(node, "bad-length", &|text| parse_length(text, unit))?;
        Some(Point3::new(x, y, z))
    }

    /// A unit vector.
    pub(super) fn direction(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<Vector3> {
        let (_, node) = self.value(fields, key)?;
        let [x, y, z] = self.three(node, "bad-number", &parse_number)?;
        let vector = Vector3::new(x, y, z);
        // Scaled first: squares of very large or small numbers leave the range of f64.
        let largest = x.abs().max(y.abs()).max(z.abs());
        if largest == 0.0 {
            let hint = "write the way out, such as [0, 1, 0]";
            self.error("facing-zero", node.place, format!("`{key}` has no direction"), hint);
            return None;
        }
        Some(Vector3::new(vector.x / largest, vector.y / largest, vector.z / largest).normalize())
    }

    fn three(
        &mut self,
        node: &Node,
        code: &'static str,
        parse: &dyn Fn(&str) -> Result<f64, QuantityFault>,
    ) -> Option<[f64; 3]> {
        let Value::List(items) = &node.value else {
            self.wrong_type(node, "three numbers [x, y, z]");
            return None;
        };
        let numbers: Vec<Option<f64>> = items
            .iter()
            .map(|item| match parse(self.text(item, "a number")?) {
                Ok(number) => Some(number),
                Err(fault) => {
                    self.bad_quantity(code, item, &fault);
                    None
                }
            })
            .collect();
        match numbers.as_slice() {
            [x, y, z] => Some([(*x)?, (*y)?, (*z)?]),
            other => {
                let hint = if other.len() == 2 { "add the third: [x, y, 0]" } else { "write [x, y, z]" };
                let count = other.len();
                let numbers = if count == 1 { "number" } else { "numbers" };
                self.error("bad-point", node.place, format!("{count} {numbers} where three belong"), hint);
                None
            }
        }
    }

    fn bad_quantity(&mut self, code: &'static str, node: &Node, fault: &QuantityFault) {
        self.error(code, node.place, fault.to_string(), fault.advice());
    }
}

/// The same turn, −180 < turn ≤ 180 degrees.
fn half_turn(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// A doc as part of a sentence: first letter small, no full stop.
fn sentence(doc: &str) -> String {
    let mut letters = doc.trim_end_matches('.').chars();
    letters.next().map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

/// "`a`, `b` or `c`".
pub(super) fn quoted(words: &[&str], last: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}
