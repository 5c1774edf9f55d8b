//! The key tables as a JSON Schema, for editors that check and complete while typing.

use serde_json::{Map, Value, json};

use super::keys::{Degrees, Kind, Rule, SPEC, Sign, Table};
use crate::stock;

/// A length with an optional unit: what `quantity` reads, as a regular expression.
const LENGTH: &str = r#"^\s*[-+]?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(mm|cm|m|in|inch|")?\s*$"#;
/// The same for 0 and more.
const LENGTH_UNSIGNED: &str = r#"^\s*\+?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(mm|cm|m|in|inch|")?\s*$"#;
/// An angle in degrees.
const ANGLE: &str =
    r"^\s*[-+]?\s*(\d+\s*/\s*\d+|\d+[- ]\s*\d+\s*/\s*\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?)\s*(deg|°)?\s*$";
/// A name that can be a folder.
const NAME: &str = r"^[A-Za-z0-9_-]([A-Za-z0-9._-]*[A-Za-z0-9_-])?$";
/// Keys kept for anchors.
const ANCHORS: &str = "^x-";

/// The JSON Schema (2020-12) of a spec, pretty-printed, with a line end.
pub fn schema() -> String {
    let mut definitions = Map::new();
    let mut root = object(&SPEC, true, &mut definitions);
    if let Value::Object(root) = &mut root {
        root.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
        root.insert("title".to_owned(), json!("tubewright spec, format 1"));
        root.insert("patternProperties".to_owned(), json!({ ANCHORS: true }));
        root.insert("$defs".to_owned(), Value::Object(definitions));
    }
    // Alternate form: two-space indents, keys sorted, one line end.
    format!("{root:#}\n")
}

/// A table; keys that may come from a default are not required where `complete` is false.
fn object(table: &Table, complete: bool, definitions: &mut Map<String, Value>) -> Value {
    let properties: Map<String, Value> =
        table.keys.iter().map(|rule| (rule.key.to_owned(), property(rule, definitions))).collect();
    let mut schema = json!({
        "type": "object",
        "description": table.doc,
        "properties": properties,
        "additionalProperties": false,
    });
    let required: Vec<&str> = table.keys.iter().filter(|r| r.required).map(|r| r.key).collect();
    if complete && !required.is_empty() {
        schema["required"] = json!(required);
    }
    if !table.exactly_one.is_empty() {
        let each: Vec<Value> = table.exactly_one.iter().map(|key| json!({ "required": [key] })).collect();
        schema["oneOf"] = json!(each);
    }
    if !table.at_most_one.is_empty() {
        schema["not"] = json!({ "required": table.at_most_one });
    }
    schema
}

fn property(rule: &Rule, definitions: &mut Map<String, Value>) -> Value {
    let mut schema = value(&rule.kind, definitions);
    // A description beside `$ref` is allowed since 2019-09.
    schema["description"] = json!(rule.doc);
    schema
}

fn reference(table: &Table, complete: bool, definitions: &mut Map<String, Value>) -> Value {
    let name = table.name.replace(' ', "-");
    if !definitions.contains_key(&name) {
        // Entered first, so that a table within itself would end here.
        definitions.insert(name.clone(), Value::Null);
        let schema = object(table, complete, definitions);
        definitions.insert(name.clone(), schema);
    }
    json!({ "$ref": format!("#/$defs/{name}") })
}

fn value(kind: &Kind, definitions: &mut Map<String, Value>) -> Value {
    match kind {
        Kind::Format => json!({ "const": 1 }),
        Kind::Text => json!({ "type": ["string", "number"] }),
        Kind::Size => json!({ "type": ["string", "number"], "examples": ["15 x 1.0", "1/2"] }),
        Kind::Choice(words) => json!({ "enum": words }),
        Kind::Standard => {
            let names: Vec<&str> = stock::standards().iter().map(|s| s.name).collect();
            // Other spellings are read too: offered, not demanded.
            json!({ "type": "string", "anyOf": [{ "enum": names }, { "type": "string" }] })
        }
        Kind::Length(sign) => length(*sign),
        Kind::Angle(range) => angle(*range),
        Kind::Number => json!({ "type": "number", "exclusiveMinimum": 0 }),
        Kind::Count => json!({ "type": "integer", "minimum": 1 }),
        Kind::Point => triple(&length(Sign::Any)),
        Kind::Direction => triple(&json!({ "type": ["number", "string"] })),
        Kind::Table(table) => reference(table, true, definitions),
        Kind::Part(table) => reference(table, false, definitions),
        Kind::Named(table) => json!({
            "type": "object",
            "propertyNames": { "pattern": NAME },
            "additionalProperties": reference(table, true, definitions),
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

fn angle(range: Degrees) -> Value {
    let mut schema = json!({ "type": ["number", "string"], "pattern": ANGLE, "maximum": range.max });
    let least = if range.open { "exclusiveMinimum" } else { "minimum" };
    schema[least] = json!(range.min);
    schema
}

fn triple(item: &Value) -> Value {
    json!({ "type": "array", "items": item, "minItems": 3, "maxItems": 3 })
}
