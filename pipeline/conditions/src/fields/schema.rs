//! JSON schemas of question files (JSON Schema, draft 2020-12), made from their fields.

use serde::Serialize;
use serde_json::{Map, Value as Json, json};

use super::shape::Shape as _;
use super::{FORMAT, Field, QuestionFile, UNSAID};

/// What the schema says of a field.
pub fn property<F: Field<Value: Serialize + PartialEq>>(more: &[&str]) -> Json {
    let mut schema = F::shape().schema();
    match serde_json::to_value(F::default()) {
        Ok(Json::Null) | Err(_) => {}
        Ok(default) => {
            schema.insert("default".to_owned(), default);
        }
    }
    let text = [&[F::TEXT], more].concat().join(" ");
    schema.insert("description".to_owned(), text.into());
    Json::Object(schema)
}

/// What a schema says of a text that is not empty.
pub(super) fn not_empty_text() -> Map<String, Json> {
    let mut schema = Map::new();
    schema.insert("type".to_owned(), "string".into());
    schema.insert("minLength".to_owned(), 1.into());
    schema
}

/// The schema of a sort's files as text, one line a field.
pub fn schema<Q: QuestionFile>() -> String {
    let text = |description: &str| {
        let mut schema = not_empty_text();
        schema.insert("description".to_owned(), description.into());
        Json::Object(schema)
    };
    let unsaid = Q::ABOUT == UNSAID;
    let about = if unsaid {
        json!({
            "type": "string", "enum": [Q::ABOUT], "default": Q::ABOUT,
            "description": "What the file is about; files about something else have schemas of their own.",
        })
    } else {
        json!({"const": Q::ABOUT, "description": "What the file is about."})
    };
    let mut properties = vec![
        (
            "$schema",
            json!({"type": "string", "description": "Where an editor finds this schema; the program ignores it."}),
        ),
        (
            "format",
            json!({"const": FORMAT, "description": "Version of this format."}),
        ),
        ("about", about),
        ("title", text("Title for readers.")),
        (
            "text",
            text("Text for readers; an empty line parts paragraphs."),
        ),
    ];
    properties.extend(Q::properties());
    let required: &[&str] = match unsaid {
        true => &["format", "title", "text"],
        false => &["format", "about", "title", "text"],
    };
    let description = format!(
        "The file is TOML; this schema is for the same data read as JSON. Required: {}.",
        required.join(", ")
    );
    let mut out = String::from("{\n");
    for (name, value) in [
        (
            "$schema",
            json!("https://json-schema.org/draft/2020-12/schema"),
        ),
        ("title", json!(Q::TITLE)),
        ("description", json!(description)),
        ("type", json!("object")),
        ("additionalProperties", json!(false)),
        ("required", json!(required)),
    ] {
        out.push_str(&format!("  {}: {value},\n", json!(name)));
    }
    let lines: Vec<String> = properties
        .iter()
        .map(|(name, value)| format!("    {}: {value}", json!(name)))
        .collect();
    out.push_str("  \"properties\": {\n");
    out.push_str(&lines.join(",\n"));
    out.push_str("\n  }\n}\n");
    out
}
