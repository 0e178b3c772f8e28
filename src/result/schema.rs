//! The JSON Schema of the document, from the types that write it.

use super::Found;
use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema};

/// The schema of a document, draft 2020-12, as JSON text.
///
/// Written are `schema/result.json` and the answer of `coldstep schema result`.
pub fn result_schema() -> String {
    schema_of::<Found>()
}

fn schema_of<T: JsonSchema>() -> String {
    let settings = SchemaSettings::draft2020_12()
        .for_serialize()
        .with_transform(RecursiveTransform(in_the_words_of_json));
    let schema = settings.into_generator().into_root_schema_for::<T>();
    super::to_json(&schema)
}

/// Descriptions come from the documentation of the types: what is there `None` is null in a document, and lines break anew.
fn in_the_words_of_json(schema: &mut Schema) {
    let Some(description) = schema.get("description").and_then(|text| text.as_str()) else {
        return;
    };
    let paragraphs: Vec<String> = description
        .split("\n\n")
        .map(|paragraph| paragraph.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    let text = paragraphs
        .join("\n\n")
        .replace("`None`", "null")
        .replace("[`", "`")
        .replace("`]", "`");
    schema.insert("description".to_owned(), text.into());
}
