//! The one JSON document of a run.

use super::answer::{Answer, Failure};
use super::io::source::Source;
use crate::diagnostic::Diagnostic;
use serde::ser::{Serialize, SerializeMap, Serializer};
use serde_json::{Map, Number, Value, json};

/// Version of the document: grows when a field changes its meaning or goes away.
pub const SCHEMA: u32 = 2;
/// Decimals kept; a millionth of a millimetre is beyond any measuring.
const DECIMALS: f64 = 1e6;
/// Larger numbers have no six decimals to round to.
const LARGEST_ROUNDED: f64 = 1e9;

/// The document of a verb that has an answer.
pub fn answer(verb: &str, answer: &Answer) -> String {
    let mut document = Document::new(verb);
    if let Some(part) = &answer.part {
        document.field("part", json!(part));
    }
    document.field("ok", json!(answer.good));
    for (key, value) in &answer.fields {
        document.field(key, value.clone());
    }
    document.field(
        "warnings",
        findings(&answer.warnings, answer.source.as_ref()),
    );
    document.written()
}

/// The document of a verb that has none.
pub fn failure(verb: &str, failure: &Failure) -> String {
    let mut document = Document::new(verb);
    document.field("ok", json!(false));
    let errors = match failure {
        Failure::Refused {
            source,
            findings: list,
        } => findings(list, Some(source)),
        Failure::Trouble(trouble) => json!([{
            "severity": "error",
            "message": trouble.message,
            "help": trouble.help,
            "line": trouble.place.map(|(line, _)| line),
            "column": trouble.place.map(|(_, column)| column),
            "file": trouble.file,
        }]),
    };
    document.field("errors", errors);
    document.written()
}

/// A result as a JSON value, its numbers rounded.
pub fn value<T: Serialize>(result: &T) -> Value {
    rounded(serde_json::to_value(result).unwrap_or(Value::Null))
}

/// Named results as one JSON object.
pub fn object(fields: Vec<(&'static str, Value)>) -> Value {
    fields
        .into_iter()
        .map(|(key, value)| (key.to_owned(), value))
        .collect::<Map<_, _>>()
        .into()
}

/// Rounds every number with decimals to six of them; what is not finite becomes null.
pub fn rounded(value: Value) -> Value {
    match value {
        Value::Number(number) if number.is_f64() => number
            .as_f64()
            .map(|number| {
                if number.abs() < LARGEST_ROUNDED {
                    (number * DECIMALS).round() / DECIMALS
                } else {
                    number
                }
            })
            // Adding zero takes the sign from -0.
            .and_then(|number| Number::from_f64(number + 0.0))
            .map_or(Value::Null, Value::Number),
        Value::Array(list) => list.into_iter().map(rounded).collect(),
        Value::Object(map) => map
            .into_iter()
            .map(|(key, value)| (key, rounded(value)))
            .collect::<Map<_, _>>()
            .into(),
        other => other,
    }
}

fn findings(list: &[Diagnostic], source: Option<&Source>) -> Value {
    list.iter()
        .map(|finding| {
            let place = finding
                .span
                .as_ref()
                .zip(source)
                .map(|(span, source)| source.place(span.start));
            json!({
                "severity": finding.severity,
                "message": finding.message,
                "help": finding.help,
                "line": place.map(|(line, _)| line),
                "column": place.map(|(_, column)| column),
                "file": source.map(|source| &source.file),
            })
        })
        .collect()
}

/// Top level of the document, whose fields keep their order.
struct Document(Vec<(String, Value)>);

impl Document {
    fn new(verb: &str) -> Self {
        Self(vec![
            ("schema".into(), json!(SCHEMA)),
            ("verb".into(), json!(verb)),
        ])
    }

    fn field(&mut self, key: &str, value: Value) {
        self.0.push((key.into(), rounded(value)));
    }

    fn written(&self) -> String {
        // Values in memory can always be written; an empty document would say that this is not so.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

impl Serialize for Document {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (key, value) in &self.0 {
            map.serialize_entry(key, value)?;
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_wherever_they_stand() {
        let value = rounded(json!({
            "a": [0.1 + 0.2, { "b": -1e-9 }],
            "c": 7,
            "d": 1e300,
            "e": "0.30000000000000004",
        }));
        assert_eq!(
            value.to_string(),
            r#"{"a":[0.3,{"b":0.0}],"c":7,"d":1e+300,"e":"0.30000000000000004"}"#
        );
    }

    #[test]
    fn what_is_not_finite_is_null() {
        assert_eq!(
            value(&[f64::NAN, f64::INFINITY, 1.0]).to_string(),
            "[null,null,1.0]"
        );
    }

    #[test]
    fn the_document_keeps_its_order() {
        let text = answer(
            "check",
            &Answer {
                text: String::new(),
                part: Some("p".into()),
                fields: vec![("zebra", json!(1)), ("ant", json!(2))],
                good: true,
                warnings: vec![Diagnostic::warning("w").at(&(3..4))],
                source: Some(Source::new("f", "a\nb")),
            },
        );
        let at = |key: &str| text.find(&format!("\"{key}\"")).unwrap();
        let keys = ["schema", "verb", "part", "ok", "zebra", "ant", "warnings"];
        assert!(
            keys.windows(2).all(|pair| at(pair[0]) < at(pair[1])),
            "{text}"
        );
        let document: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(document["warnings"][0]["line"], 2);
        assert_eq!(document["warnings"][0]["column"], 2);
    }
}
