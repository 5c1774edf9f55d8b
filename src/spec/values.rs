//! Nodes → values of the kinds the key tables name, with every fault noted at its place.

use super::fields::{Fields, Reader, UnitFrom};
use super::keys::{Choice, Degrees, Kind, Limits, Range, Rule, Sign};
use super::node::{Node, Value};
use super::words::{self, sentence};
use crate::diagnostic::{Diagnostic, Span};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::quantity::{QuantityFault, Unit, bare_number, parse_angle, parse_length, parse_number, trimmed};

impl Reader {
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

    /// Notes words that go into PDF files with characters their built-in fonts (Windows-1252) lack.
    pub(super) fn check_characters(&mut self, text: &str, place: Span) {
        const BEYOND_LATIN_1: &str = "€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ";
        let mut strange: Vec<char> = text
            .chars()
            .filter(|c| !matches!(c, ' '..='~' | '\u{a0}'..='\u{ff}') && !BEYOND_LATIN_1.contains(*c))
            .collect();
        strange.sort_unstable();
        strange.dedup();
        if strange.is_empty() {
            return;
        }
        let shown: Vec<String> = strange.iter().map(|c| format!("`{c}`")).collect();
        let message = format!("PDF files cannot show {} of this text", shown.join(", "));
        let hint = "they show a plain equivalent such as -> for an arrow, or else the character's code \
                    such as [U+041E]; use letters of western European languages to avoid it";
        self.warning("title-characters", place, message, hint);
    }

    /// A length, mm, within what its rule allows.
    pub(super) fn length(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<f64> {
        let (rule, node) = self.value(fields, key)?;
        match rule.kind {
            Kind::Length(sign) => self.length_at(node, key, sign),
            Kind::LengthIn(limits) => self.length_within(node, key, rule, limits),
            _ => None,
        }
    }

    /// A length, mm, in a range. Of a number without a unit, while that unit is not known, nothing is said.
    pub(super) fn length_within(
        &mut self,
        node: &Node,
        name: &str,
        rule: &Rule,
        limits: Limits,
    ) -> Option<f64> {
        let length = self.length_at(node, name, Sign::Any)?;
        let Limits { min, max } = limits;
        if (min..=max).contains(&length) || self.unit_from == UnitFrom::Unreadable {
            return Some(length);
        }
        let message = format!("`{name}` is {}", self.unit.length(length));
        let (min, max, doc) = (self.unit.number(min), self.unit.length(max), sentence(rule.doc));
        let hint = format!("write a length from {min} to {max} ({doc}); check the unit");
        self.error("out-of-range", node.place, message, hint);
        None
    }

    /// As many lengths, mm, as the key's rule names, in its range.
    pub(super) fn lengths<const N: usize>(
        &mut self,
        fields: &Fields<'_>,
        key: &'static str,
    ) -> Option<[f64; N]> {
        let (rule, node) = self.value(fields, key)?;
        let Kind::LengthsIn(names, limits) = rule.kind else { return None };
        let form = format!("[{}]", names.join(", "));
        let Value::List(items) = &node.value else {
            self.wrong_type(node, &format!("a list {form}"));
            return None;
        };
        self.check_commas(items)?;
        if items.len() != names.len() {
            let (count, numbers) = (items.len(), if items.len() == 1 { "number" } else { "numbers" });
            let message = format!("`{key}` has {count} {numbers} where {} belong", names.len());
            let hint = format!("write {form}; decimals are written with a point, such as 3.5");
            self.error("bad-size", node.place, message, hint);
            return None;
        }
        let lengths: Vec<Option<f64>> = items
            .iter()
            .zip(names)
            .map(|(item, name)| self.length_within(item, name, rule, limits))
            .collect();
        lengths.into_iter().collect::<Option<Vec<f64>>>()?.try_into().ok()
    }

    /// A length, mm, with one of these signs.
    pub(super) fn length_at(&mut self, node: &Node, key: &str, sign: Sign) -> Option<f64> {
        let text = self.text(node, "a length")?;
        let length = match parse_length(text, self.unit) {
            Ok(length) => length,
            Err(fault) => {
                self.bad_quantity("bad-length", node, &fault);
                return None;
            }
        };
        self.check_fraction(node, text)?;
        let wanted = match sign {
            Sign::Positive if length <= 0.0 => "more than 0",
            Sign::ZeroOrMore if length < 0.0 => "0 or more",
            _ => return Some(length),
        };
        let message = format!("`{key}` is {}", text.trim());
        self.error("out-of-range", node.place, message, format!("write a length of {wanted}"));
        None
    }

    /// Notes a fraction without a unit where numbers are mm or cm; `None` for one. Fractions are of inches.
    fn check_fraction(&mut self, node: &Node, text: &str) -> Option<()> {
        let metric = self.unit != Unit::Inch && self.unit_from != UnitFrom::Unreadable;
        let Some(number) = bare_number(text).filter(|_| metric && text.contains('/')) else {
            return Some(());
        };
        let (text, unit) = (text.trim(), self.unit.name());
        let message = format!("`{text}` has no unit, and numbers without one are {unit} here");
        let number = trimmed(number);
        let hint = format!("did you mean `{text} in`? If it is {number} {unit}, write {number}");
        self.error("bad-length", node.place, message, hint);
        None
    }

    /// A length, or `default` mm where the key is not written.
    pub(super) fn length_or(&mut self, fields: &Fields<'_>, key: &'static str, default: f64) -> Option<f64> {
        self.optional(fields, key, default, |reader| reader.length(fields, key))
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
        self.optional(fields, key, default, |reader| reader.angle(fields, key))
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
        let text = text.trim();
        let unit = if text.ends_with(|c: char| c.is_ascii_digit()) { "°" } else { "" };
        let message = format!("`{key}` is {text}{unit}");
        let hint = if min < 0.0 && angle.is_finite() {
            format!("write the same turn as {}", trimmed(half_turn(angle.to_degrees())))
        } else {
            let from = if open { "of more than" } else { "from" };
            format!("write an angle {from} {min} up to {max} degrees")
        };
        self.error("out-of-range", node.place, message, hint);
        None
    }

    /// A number without a unit, in the range of its rule.
    pub(super) fn number(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<f64> {
        let (rule, node) = self.value(fields, key)?;
        let Kind::Number(Range { min, max, open }) = rule.kind else { return None };
        let text = self.text(node, "a number")?;
        match parse_number(text) {
            Ok(number) if (min < number && number < max) || (!open && (number == min || number == max)) => {
                Some(number)
            }
            Ok(_) => {
                let message = format!("`{key}` is {}", text.trim());
                let range = if open { "between" } else { "from" };
                let and = if open { "and" } else { "to" };
                let doc = sentence(rule.doc);
                let hint = format!("write a number {range} {} {and} {} ({doc})", trimmed(min), trimmed(max));
                self.error("out-of-range", node.place, message, hint);
                None
            }
            Err(fault) => {
                self.bad_quantity("bad-number", node, &fault);
                None
            }
        }
    }

    /// A whole number, at least what its rule says.
    pub(super) fn count(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<usize> {
        let (rule, node) = self.value(fields, key)?;
        let Kind::Count(least, most) = rule.kind else { return None };
        let text = self.text(node, "a whole number")?;
        match text.parse::<usize>() {
            Ok(count) if (least..=most).contains(&count) => Some(count),
            Ok(count) if count > most => {
                let (message, hint) = (format!("`{key}` is {count}"), format!("write {least} to {most}"));
                self.error("out-of-range", node.place, message, hint);
                None
            }
            _ => {
                let message = format!("`{text}` is not a count");
                let hint = format!("write a whole number of at least {least}");
                self.error("bad-number", node.place, message, hint);
                None
            }
        }
    }

    /// `true` or `false`.
    pub(super) fn yes_or_no(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<bool> {
        let (_, node) = self.value(fields, key)?;
        match self.text(node, "true or false")? {
            "true" => Some(true),
            "false" => Some(false),
            other => {
                let message = format!("`{key}` cannot be `{other}`");
                self.error("bad-choice", node.place, message, "write true or false");
                None
            }
        }
    }

    /// Position of the written word among the choices of the key's rule, or of the choice that a misspelt
    /// word means.
    pub(super) fn choice<T: Choice>(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<T> {
        let word = self.chosen(fields, key)?;
        T::VARIANTS.iter().copied().find(|value| Into::<&str>::into(*value) == word)
    }

    /// The word that is chosen, or meant, of those a key may hold.
    pub(super) fn chosen(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<&'static str> {
        let (rule, node) = self.value(fields, key)?;
        let Kind::Choice(choices) = rule.kind else { return None };
        self.chosen_at(node, key, &choices())
    }

    /// One of several words in a list, as for [`choice`](Self::choice).
    pub(super) fn choice_at<T: Choice>(&mut self, node: &Node, key: &'static str) -> Option<T> {
        let word = self.chosen_at(node, key, &super::keys::words::<T>())?;
        T::VARIANTS.iter().copied().find(|value| Into::<&str>::into(*value) == word)
    }

    fn chosen_at(&mut self, node: &Node, key: &str, choices: &[&'static str]) -> Option<&'static str> {
        let text = self.text(node, "one word")?;
        if let Some(found) = choices.iter().find(|choice| **choice == text) {
            return Some(found);
        }
        let meant = words::meant_choice(text, choices);
        let hint = words::choice_hint(meant, choices);
        let found =
            Diagnostic::error("bad-choice", format!("`{key}` cannot be `{text}`")).hint(hint).at(node.place);
        match meant {
            // The rest of the spec is checked with it.
            Some(_) => self.note_understood(found),
            None => self.note(found),
        }
        meant
    }

    /// One of several words; the usual one where the key is not written.
    pub(super) fn choice_or_usual<T: Choice + Default>(
        &mut self,
        fields: &Fields<'_>,
        key: &'static str,
    ) -> Option<T> {
        self.optional(fields, key, T::default(), |reader| reader.choice(fields, key))
    }

    /// Checks every value on its own, for a mapping whose keys runs may all replace.
    pub(super) fn check_values(&mut self, fields: &Fields<'_>) {
        for rule in fields.written() {
            // The values are read again, for good, where they are used.
            match rule.kind {
                Kind::Length(_) | Kind::LengthIn(_) => drop(self.length(fields, rule.key)),
                Kind::Angle(_) => drop(self.angle(fields, rule.key)),
                Kind::Choice(_) => drop(self.chosen(fields, rule.key)),
                Kind::Number(_) => drop(self.number(fields, rule.key)),
                Kind::Text => drop(self.words(fields, rule.key)),
                _ => drop(self.value(fields, rule.key)),
            }
        }
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
        if let Value::List(items) = &node.value {
            let sound = |item: &Node| self.check_fraction(item, item.scalar()?);
            items.iter().map(sound).collect::<Vec<_>>().into_iter().collect::<Option<()>>()?;
        }
        Some(Point3::new(x, y, z))
    }

    /// A unit vector.
    pub(super) fn direction(&mut self, fields: &Fields<'_>, key: &'static str) -> Option<Vector3> {
        let (_, node) = self.value(fields, key)?;
        if let Some(way) = node.scalar().and_then(axis) {
            let message = format!("`{key}` is a word, not three numbers");
            self.error("wrong-type", node.place, message, format!("write `{key}: {way}`"));
            return None;
        }
        let [x, y, z] = self.three(node, "bad-number", &parse_number)?;
        let vector = Vector3::new(x, y, z);
        // Scaled first: squares of very large or small numbers leave the range of f64.
        let largest = x.abs().max(y.abs()).max(z.abs());
        if largest == 0.0 {
            let hint = match key {
                "axis" => "write its direction, such as [0, 0, 1]",
                _ => "write the way out, such as [0, 1, 0]",
            };
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
        self.check_commas(items)?;
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
                let hint = match other.len() {
                    2 => "add the third: [x, y, 0]",
                    0 | 1 => "write [x, y, z]",
                    _ => "write [x, y, z]; decimals are written with a point, such as 3.5",
                };
                let count = other.len();
                let numbers = if count == 1 { "number" } else { "numbers" };
                self.error("bad-point", node.place, format!("{count} {numbers} where three belong"), hint);
                None
            }
        }
    }

    /// Notes values of a list that have no comma between them, such as `10 20`; `None` for some.
    pub(super) fn check_commas(&mut self, items: &[Node]) -> Option<()> {
        let mut sound = Some(());
        let whole: Vec<String> = items.iter().map(|item| commas_in(item.scalar().unwrap_or("..."))).collect();
        for item in items {
            let Some(text) = item.scalar() else { continue };
            let split = commas_in(text);
            if split != text {
                let message = format!("a comma is missing in `{text}`");
                let hint = format!("write [{}]", whole.join(", "));
                self.error("missing-comma", item.place, message, hint);
                sound = None;
            }
        }
        sound
    }

    fn bad_quantity(&mut self, code: &'static str, node: &Node, fault: &QuantityFault) {
        self.error(code, node.place, fault.to_string(), fault.advice());
    }
}

/// The numbers of a text with commas between them; the text as it is where it is one number, or something else.
fn commas_in(text: &str) -> String {
    // A number may have spaces in it: `1 1/2 in`.
    if parse_length(text, Unit::Millimetre).is_ok() || text.contains('/') {
        return text.to_owned();
    }
    let mut numbers: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match numbers.last_mut() {
            Some(last) if Unit::from_name(word).is_some() => {
                last.push(' ');
                last.push_str(word);
            }
            _ => numbers.push(word.to_owned()),
        }
    }
    let are_numbers = numbers.iter().all(|number| parse_length(number, Unit::Millimetre).is_ok());
    if are_numbers { numbers.join(", ") } else { text.to_owned() }
}

/// The direction a word names, as a spec writes it: x points right, y away from you, z up.
fn axis(word: &str) -> Option<&'static str> {
    Some(match word.to_lowercase().as_str() {
        "x" | "+x" | "right" => "[1, 0, 0]",
        "-x" | "left" => "[-1, 0, 0]",
        "y" | "+y" | "back" => "[0, 1, 0]",
        "-y" | "front" => "[0, -1, 0]",
        "z" | "+z" | "up" | "top" => "[0, 0, 1]",
        "-z" | "down" | "bottom" => "[0, 0, -1]",
        _ => return None,
    })
}

/// The same turn, −180 < turn ≤ 180 degrees.
pub(super) fn half_turn(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}
