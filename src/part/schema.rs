//! The part file as JSON Schema, for editors that complete and check it while it is written.

use super::Design;
use super::value::{Key, LONGEST_NAME, LONGEST_NOTE, Shape, Table, Takes};
use crate::quantity::Allowed;
use serde_json::{Map, Value, json};

/// A line with something else than white space on it, without control characters.
const NAME_PATTERN: &str = "^[^\\u0000-\\u001f\\u007f-\\u009f]*[^\\s\\u0000-\\u001f\\u007f-\\u009f][^\\u0000-\\u001f\\u007f-\\u009f]*$";

/// JSON Schema (draft 2020-12) of a part file: its tables and keys, their types, words and ranges, and a sentence on each.
///
/// What only makes sense together is not in it: two flats that cross, a name that nothing has, a tolerance wider than its
/// number.
///
/// ```
/// let schema = coldstep::part::schema();
/// let width = &schema["properties"]["plate"]["properties"]["width_mm"];
/// assert_eq!(width["minimum"], 3.0);
/// ```
pub fn schema() -> Value {
    let tables = Design::TABLES.iter();
    let properties: Map<String, Value> = tables
        .clone()
        .map(|table| (table.name.to_owned(), of_table(table)))
        .collect();
    let required: Vec<&str> = tables
        .filter(|table| table.needed.is_some())
        .map(|table| table.name)
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "coldstep part file",
        "description": "A stepped cold plate: sheet, flats, board parts, and the tools that make it.",
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn of_table(table: &Table) -> Value {
    let object = of_keys(table.keys);
    let Some(most) = table.most else {
        return described(object, table.about);
    };
    let least = usize::from(table.needed.is_some());
    let list = json!({"type": "array", "items": object, "minItems": least, "maxItems": most});
    described(list, table.about)
}

fn of_keys(keys: &[Key]) -> Value {
    let properties: Map<String, Value> = keys
        .iter()
        .map(|key| (key.name.to_owned(), of_key(key)))
        .collect();
    let needed = keys.iter().filter(|key| key.needed.is_some());
    let required: Vec<&str> = needed.map(|key| key.name).collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn of_key(key: &Key) -> Value {
    let value = match key.shape {
        Shape::Number => number(range(key.takes)),
        Shape::Toleranced => {
            let value = number(range(key.takes));
            json!({"anyOf": [value, {
                "type": "object",
                "properties": {"value": value, "plus_minus": number(second(key.takes))},
                "required": ["value"],
                "additionalProperties": false,
            }]})
        }
        Shape::Text => match key.takes {
            Takes::Name => {
                json!({"type": "string", "maxLength": LONGEST_NAME, "pattern": NAME_PATTERN})
            }
            _ => json!({"type": "string", "maxLength": LONGEST_NOTE}),
        },
        Shape::Word(words) => json!({"type": "string", "enum": words}),
        Shape::Switch => json!({"type": "boolean"}),
        Shape::Numbers(count) => numbers(count, key.takes),
        Shape::OneOrTwo => json!({"anyOf": [number(range(key.takes)), numbers(2, key.takes)]}),
        Shape::Pairs => {
            let pair = json!({
                "type": "array",
                "prefixItems": [number(range(key.takes)), number(second(key.takes))],
                "minItems": 2,
                "maxItems": 2,
            });
            json!({"type": "array", "items": pair})
        }
        Shape::Table(keys) => of_keys(keys),
    };
    described(value, key.about)
}

fn numbers(count: usize, takes: Takes) -> Value {
    let one = number(range(takes));
    json!({"type": "array", "items": one, "minItems": count, "maxItems": count})
}

fn number(allowed: Option<Allowed>) -> Value {
    match allowed {
        Some(allowed) => {
            json!({"type": "number", "minimum": allowed.least, "maximum": allowed.most})
        }
        None => json!({"type": "number"}),
    }
}

/// Range of a number, or of the first of a pair.
const fn range(takes: Takes) -> Option<Allowed> {
    match takes {
        Takes::Within(first)
        | Takes::Measured(first, _)
        | Takes::Banded(first, _)
        | Takes::Pairs(first, _) => Some(first),
        Takes::Any | Takes::Name | Takes::Note => None,
    }
}

/// Range of a tolerance, or of the second of a pair.
const fn second(takes: Takes) -> Option<Allowed> {
    match takes {
        Takes::Measured(_, second) | Takes::Banded(_, second) | Takes::Pairs(_, second) => {
            Some(second)
        }
        _ => range(takes),
    }
}

fn described(mut schema: Value, about: &str) -> Value {
    if let Some(object) = schema.as_object_mut() {
        object.insert("description".into(), about.into());
    }
    schema
}
