//! The key tables as a JSON Schema, for editors that check and complete while typing.

use serde_json::{Map, Value, json};

use super::keys::{Degrees, Kind, Limits, READINGS, Range, Rule, SPEC, Sign, Table};
use crate::stock;

/// A length with an optional unit: what `quantity` reads, as a regular expression.
const LENGTH: &str = r#"^\s*[-+]?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(mm|cm|m|in|inch|inches|")?\s*$"#;
/// The same for 0 and more.
const LENGTH_UNSIGNED: &str = r#"^\s*\+?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(mm|cm|m|in|inch|inches|")?\s*$"#;
/// An angle in degrees.
const ANGLE: &str =
    r"^\s*[-+]?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(deg|°)?\s*$";
/// A part in percent.
const PERCENT: &str = r"^\s*\+?(\d+\.?\d*|\.\d+)\s*%\s*$";
/// A name that can be a folder.
const NAME: &str = r"^[A-Za-z0-9_-]([A-Za-z0-9._-]*[A-Za-z0-9_-])?$";
/// A number from 1 on.
const NUMBERED: &str = r"^0*[1-9]\d*$";
/// Keys kept for anchors.
const ANCHORS: &str = "^x-";

/// The JSON Schema (draft 7, which editors know best) of a spec, pretty-printed, with a line end.
pub fn schema() -> String {
    let mut root = whole(&SPEC, "tubewright spec, format 1");
    root["patternProperties"] = json!({ ANCHORS: true });
    printed(&root)
}

/// The same of a file of readings.
pub fn readings_schema() -> String {
    printed(&whole(&READINGS, "tubewright readings, format 1"))
}

fn whole(table: &'static Table, title: &str) -> Value {
    let mut definitions = Map::new();
    let mut root = object(table, &mut definitions);
    root["$schema"] = json!("http://json-schema.org/draft-07/schema#");
    root["title"] = json!(title);
    root["definitions"] = Value::Object(definitions);
    root
}

/// Alternate form: two-space indents, keys sorted, one line end.
fn printed(schema: &Value) -> String {
    format!("{schema:#}\n")
}

fn object(table: &Table, definitions: &mut Map<String, Value>) -> Value {
    let properties: Map<String, Value> =
        table.keys.iter().map(|rule| (rule.key.to_owned(), property(rule, definitions))).collect();
    let mut schema = json!({
        "type": "object",
        "description": table.doc,
        "properties": properties,
        "additionalProperties": false,
    });
    let required: Vec<&str> = table.keys.iter().filter(|r| r.required).map(|r| r.key).collect();
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    if !table.exactly_one.is_empty() {
        let each: Vec<Value> = table.exactly_one.iter().map(|key| json!({ "required": [key] })).collect();
        schema["oneOf"] = json!(each);
    }
    if !table.at_most_one.is_empty() {
        let pairs = table.at_most_one.iter().enumerate().flat_map(|(at, one)| {
            table.at_most_one.iter().skip(at + 1).map(move |other| json!({ "required": [one, other] }))
        });
        schema["not"] = json!({ "anyOf": pairs.collect::<Vec<_>>() });
    }
    schema
}

fn property(rule: &Rule, definitions: &mut Map<String, Value>) -> Value {
    let mut schema = value(&rule.kind, definitions);
    // Draft 7 ignores whatever stands beside `$ref`.
    if schema.get("$ref").is_some() {
        schema = json!({ "allOf": [schema] });
    }
    schema["description"] = json!(rule.doc);
    schema
}

fn reference(table: &Table, definitions: &mut Map<String, Value>) -> Value {
    let name = table.name.replace(' ', "-");
    if !definitions.contains_key(&name) {
        // Entered first, so that a table within itself would end here.
        definitions.insert(name.clone(), Value::Null);
        let schema = object(table, definitions);
        definitions.insert(name.clone(), schema);
    }
    json!({ "$ref": format!("#/definitions/{name}") })
}

fn value(kind: &Kind, definitions: &mut Map<String, Value>) -> Value {
    match kind {
        Kind::Format => json!({ "const": 1 }),
        Kind::Text => json!({ "type": ["string", "number"] }),
        Kind::Size => json!({ "type": ["string", "number"], "examples": ["15 x 1.0", "1/2"] }),
        Kind::Choice(words) => json!({ "enum": words() }),
        Kind::YesOrNo => json!({ "type": "boolean" }),
        Kind::Standard => {
            let names: Vec<&str> = stock::standards().iter().map(|s| s.name).collect();
            // Other spellings are read too: offered, not demanded.
            json!({ "type": "string", "anyOf": [{ "enum": names }, { "type": "string" }] })
        }
        Kind::Length(sign) => length(*sign),
        Kind::LengthOrParallel => {
            let words = json!({ "type": "string", "pattern": r"^parallel to [A-Za-z0-9._-]+$" });
            json!({ "anyOf": [length(Sign::Positive), words] })
        }
        Kind::LengthOrLevel => json!({ "anyOf": [length(Sign::Any), { "const": "level" }] }),
        Kind::LengthOrPercent => {
            json!({ "anyOf": [length(Sign::ZeroOrMore), { "type": "string", "pattern": PERCENT }] })
        }
        Kind::LengthIn(limits) => length(sign_of(*limits)),
        Kind::LengthsIn(names, limits) => list(&length(sign_of(*limits)), names.len()),
        Kind::Angle(range) => angle(*range),
        Kind::Number(range) => number(*range),
        Kind::Count(least, usize::MAX) => json!({ "type": "integer", "minimum": least }),
        Kind::Count(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Kind::Point => list(&length(Sign::Any), 3),
        Kind::Direction => list(&json!({ "type": ["number", "string"] }), 3),
        Kind::Table(table) => reference(table, definitions),
        Kind::Named(table) => json!({
            "type": "object",
            "propertyNames": { "pattern": NAME },
            "additionalProperties": reference(table, definitions),
        }),
        Kind::Numbered(table) => json!({
            "type": "object",
            "propertyNames": { "pattern": NUMBERED },
            "additionalProperties": reference(table, definitions),
        }),
        Kind::List(item) => json!({ "type": "array", "items": value(item, definitions) }),
        Kind::PortName => json!({ "type": "string", "pattern": r"^[A-Za-z0-9._-]+\.[A-Za-z0-9._-]+$" }),
        Kind::AnyOf(kinds) => {
            let each: Vec<Value> = kinds.iter().map(|kind| value(kind, definitions)).collect();
            json!({ "anyOf": each })
        }
    }
}

fn length(sign: Sign) -> Value {
    let pattern = if sign == Sign::Any { LENGTH } else { LENGTH_UNSIGNED };
    let mut schema = json!({ "type": ["number", "string"], "pattern": pattern });
    match sign {
        Sign::Any => {}
        Sign::ZeroOrMore => schema["minimum"] = json!(0),
        Sign::Positive => schema["exclusiveMinimum"] = json!(0),
    }
    schema
}

fn number(range: Range) -> Value {
    let (least, most) =
        if range.open { ("exclusiveMinimum", "exclusiveMaximum") } else { ("minimum", "maximum") };
    json!({ "type": "number", least: range.min, most: range.max })
}

fn angle(range: Degrees) -> Value {
    let mut schema = json!({ "type": ["number", "string"], "pattern": ANGLE, "maximum": range.max });
    let least = if range.open { "exclusiveMinimum" } else { "minimum" };
    schema[least] = json!(range.min);
    schema
}

/// The part of a range of lengths that a schema can say: the unit of a bare number is another key's.
fn sign_of(limits: Limits) -> Sign {
    match limits.min {
        min if min < 0.0 => Sign::Any,
        0.0 => Sign::ZeroOrMore,
        _ => Sign::Positive,
    }
}

fn list(item: &Value, count: usize) -> Value {
    json!({ "type": "array", "items": item, "minItems": count, "maxItems": count })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Diagnostic, Severity};
    use crate::spec::model::{MadeBend, MadeTemplate, Measurable};
    use crate::spec::read_with;

    /// A value that no key takes.
    const POISON: &str = "[[]]";

    /// A sound value of each kind, with the value of one key of one table replaced by poison.
    fn sample(kind: &Kind, poisoned: (&str, &str)) -> String {
        match kind {
            Kind::Format | Kind::Count(..) => "1".to_owned(),
            Kind::Text => "words".to_owned(),
            Kind::Size => "1/2".to_owned(),
            Kind::Choice(words) => words().first().copied().unwrap_or_default().to_owned(),
            Kind::YesOrNo => "true".to_owned(),
            Kind::Standard => "ASTM B88".to_owned(),
            Kind::Length(_) | Kind::LengthOrParallel | Kind::LengthOrLevel => "16.5".to_owned(),
            Kind::LengthOrPercent => "3 %".to_owned(),
            Kind::LengthIn(limits) => f64::midpoint(limits.min, limits.max).to_string(),
            Kind::LengthsIn(names, limits) => format!("{:?}", vec![limits.min; names.len()]),
            Kind::Angle(range) => range.max.min(90.0).to_string(),
            Kind::Number(range) => f64::midpoint(range.min, range.max).to_string(),
            Kind::Point | Kind::Direction => "[1, 2, 3]".to_owned(),
            Kind::Table(table) => mapping(table, poisoned),
            Kind::Named(table) => format!("{{a: {}}}", mapping(table, poisoned)),
            Kind::Numbered(table) => format!("{{2: {}}}", mapping(table, poisoned)),
            Kind::List(item) => format!("[{}]", sample(item, poisoned)),
            Kind::PortName => "a.a".to_owned(),
            Kind::AnyOf(kinds) => {
                // The alternative that leads to the poisoned table, or the last.
                let leads = |k: &&Kind| matches!(k, Kind::Table(t) if t.name == poisoned.0);
                kinds.iter().find(leads).or(kinds.last()).map_or_else(String::new, |k| sample(k, poisoned))
            }
        }
    }

    fn mapping(table: &Table, poisoned: (&str, &str)) -> String {
        let wanted = |key: &str| table.name == poisoned.0 && key == poisoned.1;
        let leads = |key: &str| match (table.name, poisoned) {
            ("run", ("bend", _) | ("run", "end_length")) => key == "bends",
            ("run", ("route", _)) => key == "route",
            ("run", ("mirror", _)) => key == "mirror",
            ("corner", ("corner", "x" | "y" | "z")) => key == "out",
            ("component", ("cylinder", _)) => key == "cylinder",
            ("component", ("part", _)) => key == "parts",
            ("component", ("component", "units" | "at")) | ("part", ("part", "units" | "at")) => {
                key == "mesh"
            }
            _ => wanted(key),
        };
        let pick = |keys: &'static [&'static str]| {
            keys.iter().copied().find(|key| leads(key)).or(keys.first().copied())
        };
        let outright = ["od", "wall", "material", "density"];
        let by_standard = table.name == "tube" && !outright.iter().any(|key| wanted(key));
        let choice = pick(table.exactly_one);
        let entries: Vec<String> = table
            .keys
            .iter()
            .filter(|rule| {
                let key = rule.key;
                let dropped = (table.exactly_one.contains(&key) && choice != Some(key))
                    || (table.at_most_one.contains(&key) && pick(table.at_most_one) != Some(key))
                    || (["component", "part"].contains(&table.name)
                        && ["units", "at"].contains(&key)
                        && pick(table.exactly_one).or(pick(table.at_most_one)) != Some("mesh"))
                    || (table.name == "corner"
                        && ["x", "y", "z"].contains(&key)
                        && pick(table.at_most_one) == Some("at"))
                    || (key == "end_length" && choice != Some("bends") && !wanted(key))
                    || (table.name == "tube" && outright.contains(&key) == by_standard && key != "temper");
                !dropped
            })
            .map(|rule| {
                let value = match (table.name, rule.key) {
                    (_, key) if wanted(key) => POISON.to_owned(),
                    ("tube", "type") => "K".to_owned(),
                    ("tube" | "stock", "wall") => "1".to_owned(),
                    ("seal", "section") => "2".to_owned(),
                    ("body", "diameter") => "30".to_owned(),
                    // Legs and width are both there at this angle only.
                    ("test bend", "pulled" | "got") => "170".to_owned(),
                    ("stock", "length") => "3 m".to_owned(),
                    ("file of readings", "bends_done") => "2".to_owned(),
                    ("file of readings", "cut") => "400".to_owned(),
                    ("measured bend", "ends") => "99".to_owned(),
                    // That of the standard's 1/2.
                    ("bender", "od") => "15.875".to_owned(),
                    ("port", "fitting") => "a".to_owned(),
                    ("box" | "cylinder", "to") => "[7, 8, 9]".to_owned(),
                    _ => sample(&rule.kind, poisoned),
                };
                format!("{}: {value}", rule.key)
            })
            .collect();
        format!("{{{}}}", entries.join(", "))
    }

    fn tables(root: &'static Table) -> Vec<&'static Table> {
        fn collect(kind: &'static Kind, found: &mut Vec<&'static Table>) {
            match kind {
                Kind::Table(table) | Kind::Named(table) | Kind::Numbered(table)
                    if !found.iter().any(|t| t.name == table.name) =>
                {
                    found.push(table);
                    table.keys.iter().for_each(|rule| collect(&rule.kind, found));
                }
                Kind::List(item) => collect(item, found),
                Kind::AnyOf(kinds) => kinds.iter().for_each(|kind| collect(kind, found)),
                _ => {}
            }
        }
        let mut found = vec![root];
        root.keys.iter().for_each(|rule| collect(&rule.kind, &mut found));
        found
    }

    /// A file of one triangle, whatever the name.
    fn one_triangle(_name: &str) -> Result<Vec<u8>, String> {
        let triangle =
            "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 9 0\nendloop\nendfacet";
        Ok(format!("solid\n{triangle}\nendsolid").into_bytes())
    }

    #[test]
    fn the_reader_looks_at_every_key_of_the_schema() {
        let sound = mapping(&SPEC, ("", ""));
        let findings = read_with(&sound, "x.yaml", &one_triangle).findings;
        assert!(!findings.has_errors(), "{sound}\n{findings:?}");
        let mut checked = 0;
        for table in tables(&SPEC) {
            for rule in table.keys {
                let text = mapping(&SPEC, (table.name, rule.key));
                let at =
                    text.find(POISON).unwrap_or_else(|| panic!("{} of {}: {text}", rule.key, table.name));
                let findings = read_with(&text, "x.yaml", &one_triangle).findings;
                let seen = findings.iter().any(|d| {
                    let inside = d.place.is_some_and(|p| (at..at + POISON.len()).contains(&p.start));
                    d.severity == Severity::Error && d.code != "unknown-key" && inside
                });
                assert!(seen, "`{}` of a {} is not read: {text}\n{findings:?}", rule.key, table.name);
                checked += 1;
            }
        }
        assert!(checked > 80, "{checked} keys");
    }

    /// A run of two bends in one plane, whose template is called 2, without a planned value.
    fn two_bends() -> Measurable {
        let bend = |number| MadeBend {
            number,
            angle: 1.0,
            pulled: 1.0,
            last_leg: std::collections::BTreeMap::new(),
        };
        Measurable {
            run: "words".to_owned(),
            runs: vec!["words".to_owned()],
            unit: crate::quantity::Unit::Millimetre,
            od: 15.0,
            cut: 400.0,
            bends: vec![bend(1), bend(2)],
            templates: vec![MadeTemplate { number: 2, name: "words".to_owned(), bends: vec![1, 2] }],
            planned: std::collections::BTreeMap::new(),
        }
    }

    #[test]
    fn the_reader_of_readings_looks_at_every_key_of_their_schema() {
        let read = |text: &str| crate::spec::readings::read(Some(text), &[], &two_bends()).findings;
        let sound = mapping(&READINGS, ("", ""));
        assert!(read(&sound).is_empty(), "{sound}\n{:?}", read(&sound));
        let mut checked = 0;
        for table in tables(&READINGS) {
            for rule in table.keys {
                let text = mapping(&READINGS, (table.name, rule.key));
                let at =
                    text.find(POISON).unwrap_or_else(|| panic!("{} of {}: {text}", rule.key, table.name));
                let inside =
                    |d: &Diagnostic| d.place.is_some_and(|p| (at..at + POISON.len()).contains(&p.start));
                let seen = read(&text).iter().any(|d| d.code != "unknown-key" && inside(d));
                assert!(seen, "`{}` of a {} is not read: {text}\n{:?}", rule.key, table.name, read(&text));
                checked += 1;
            }
        }
        assert!(checked > 35, "{checked} keys");
        let schema: Value = serde_json::from_str(&readings_schema()).expect("is JSON");
        assert_eq!(schema["definitions"].as_object().map(Map::len), Some(tables(&READINGS).len() - 1));
        assert_eq!(schema["required"], json!(["format", "readings"]));
    }

    #[test]
    fn every_table_is_defined_and_closed() {
        let tables = || tables(&SPEC);
        let schema: Value = serde_json::from_str(&schema()).expect("is JSON");
        let definitions = schema["definitions"].as_object().expect("definitions");
        // Every table but the spec itself.
        assert_eq!(definitions.len(), tables().len() - 1);
        for table in tables().into_iter().skip(1) {
            let definition = &definitions[&table.name.replace(' ', "-")];
            assert_eq!(definition["additionalProperties"], json!(false), "{}", table.name);
            let keys: Vec<&String> = definition["properties"].as_object().expect("keys").keys().collect();
            assert_eq!(keys.len(), table.keys.len(), "{}", table.name);
            assert!(table.keys.iter().all(|rule| keys.contains(&&rule.key.to_owned())), "{}", table.name);
        }
        assert_eq!(schema["required"], json!(["format", "runs"]));
    }
}
