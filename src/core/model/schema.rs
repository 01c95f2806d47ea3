//! The JSON Schema of the trip file: its shape from the types that serde reads, everything else from
//! the table of fields.
//!
//! A schema states what each value may be by itself. The rules between fields ([`super::check`]) and the
//! order of days or readings are beyond it.

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use super::Trip;
use super::field::{self, Field, IfAbsent, Kind, LATITUDE, LONGITUDE, Node, TRACK_HEIGHT};
use super::trip::FORMAT_VERSION;

/// The schema (draft 2020-12) that a trip file fulfils.
pub fn schema() -> Value {
    let settings =
        SchemaSettings::draft2020_12().with(|settings| settings.inline_subschemas = true);
    let mut schema = settings
        .into_generator()
        .into_root_schema_for::<Trip>()
        .to_value();
    fill(&mut schema, field::tree());
    schema
}

/// Replaces the description of a field and its parts in the types by that of the table, and keeps the shape.
fn fill(schema: &mut Value, node: &Node) {
    let Value::Object(schema) = schema else {
        return;
    };
    let shape = std::mem::take(schema);
    if let Some(field) = node.field {
        describe(schema, field);
    } else {
        schema.extend(
            shape
                .get_key_value("$schema")
                .map(|(key, draft)| (key.clone(), draft.clone())),
        );
        let title = format!("A trip of drystage, format version {FORMAT_VERSION}");
        schema.insert("title".into(), title.into());
    }
    schema.extend(constraints(node.kind()));
    for (key, value) in shape {
        if matches!(
            key.as_str(),
            "properties" | "required" | "additionalProperties" | "items"
        ) {
            schema.entry(key).or_insert(value);
        }
    }
    if let Some(Value::Object(properties)) = schema.get_mut("properties") {
        for child in &node.children {
            if let Some(property) = properties.get_mut(child.key) {
                fill(property, child);
            }
        }
    }
    if let (Some(items), Some(item)) = (schema.get_mut("items"), &node.item) {
        fill(items, item);
    }
}

/// Help, unit and default.
fn describe(schema: &mut Map<String, Value>, field: &Field) {
    let mut help = field.help.to_owned();
    if let Kind::Number { unit, .. } = field.kind
        && !unit.is_empty()
    {
        help = format!("{help} Unit: {unit}.");
    }
    let default: Option<Value> = match field.if_absent {
        IfAbsent::Number(value) => Some(value.into()),
        IfAbsent::Whole(value) => Some(value.into()),
        IfAbsent::Word(word) => Some(word.into()),
        IfAbsent::Flag(answer) => Some(answer.into()),
        derived @ (IfAbsent::Phrase(_) | IfAbsent::Derived(_)) => {
            help = format!("{help} Default: {derived}.");
            None
        }
        IfAbsent::Refused | IfAbsent::Nothing => None,
    };
    schema.insert("description".into(), help.into());
    schema.extend(default.map(|default| ("default".to_owned(), default)));
}

/// What the value may be, in the schema's words.
fn constraints(kind: Kind) -> Map<String, Value> {
    let words = match kind {
        Kind::Number { min, max, .. } => {
            json!({ "type": "number", "minimum": min, "maximum": max })
        }
        Kind::Whole { min, max } => json!({ "type": "integer", "minimum": min, "maximum": max }),
        Kind::Text { longest, lines } => {
            let clean = if lines {
                r"^[^\u0000-\u0008\u000b-\u001f\u007f-\u009f]*$"
            } else {
                r"^[^\u0000-\u001f\u007f-\u009f]*$"
            };
            json!({ "type": "string", "minLength": 1, "maxLength": longest, "pattern": clean })
        }
        Kind::Choice(words) => json!({ "type": "string", "enum": words }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::TyreSize => {
            json!({ "type": "string", "pattern": "^[0-9]{3}(/[0-9]{2,3})?[R-][0-9]{2}$" })
        }
        Kind::Date => json!({ "type": "string", "format": "date" }),
        Kind::UtcOffset => json!({ "type": "string", "pattern": "^[+-][0-9]{2}:[0-9]{2}$" }),
        Kind::ClockTime => json!({ "type": "string", "pattern": "^[0-9]{2}:[0-9]{2}$" }),
        Kind::Object => json!({ "type": "object" }),
        Kind::List {
            at_least: 0,
            at_most,
        } => json!({ "type": "array", "maxItems": at_most }),
        Kind::List { at_least, at_most } => {
            json!({ "type": "array", "minItems": at_least, "maxItems": at_most })
        }
        Kind::Track => track(),
        Kind::Patch => patch(),
    };
    match words {
        Value::Object(words) => words,
        _ => Map::new(),
    }
}

fn track() -> Value {
    let coordinates: Vec<Value> = [LONGITUDE, LATITUDE, TRACK_HEIGHT]
        .map(|kind| constraints(kind).into())
        .into();
    let line = json!({
        "type": "array",
        "minItems": 2,
        "items": { "type": "array", "prefixItems": coordinates, "items": false, "minItems": 2 }
    });
    json!({
        "anyOf": [
            { "type": "string", "minLength": 1 },
            line,
            { "type": "array", "minItems": 1, "items": line }
        ]
    })
}

fn patch() -> Value {
    let pointer = json!({ "type": "string", "pattern": "^(/([^~/]|~[01])*)*$" });
    let operation = |words: &[&str], beside: &str, what: &Value| {
        json!({
            "type": "object",
            "properties": { "op": { "enum": words }, "path": pointer, beside: what },
            "required": ["op", "path", beside],
            "additionalProperties": false
        })
    };
    json!({
        "type": "array",
        "items": {
            "anyOf": [
                operation(&["add", "replace", "test"], "value", &json!(true)),
                operation(&["move", "copy"], "from", &pointer),
                {
                    "type": "object",
                    "properties": { "op": { "const": "remove" }, "path": pointer },
                    "required": ["op", "path"],
                    "additionalProperties": false
                }
            ]
        }
    })
}
