//! What a schema says of a field, the reader of its files holds to.

use serde_json::Value as Json;

use hobble_bands::BandReport;
use hobble_claim::Claim;
use hobble_comparison::Question;
use hobble_conditions::AskError;
use hobble_conditions::fields::{QuestionFile, schema};
use hobble_conditions::terms::About;
use hobble_player::Habits;

fn parse<Q: QuestionFile>(rest: &str) -> Result<Q, AskError> {
    let about = Q::ABOUT;
    let text = format!("format = 1\nabout = \"{about}\"\ntitle = \"T\"\ntext = \"x\"\n{rest}");
    Q::parsed("q", "q.toml", &text)
}

/// Each default, word and limit of the committed schema, tried on the reader.
fn reader_holds_to<Q: QuestionFile + PartialEq + std::fmt::Debug>(committed: &str) {
    assert_eq!(
        schema::schema::<Q>(),
        committed,
        "run `hobble schema {}`",
        Q::ABOUT
    );
    let schema: Json = serde_json::from_str(committed).unwrap();
    assert_eq!(schema["additionalProperties"], Json::Bool(false));
    let fields = schema["properties"].as_object().unwrap();
    assert_eq!(fields.len(), 5 + Q::FIELDS.len());
    for (field, about) in fields {
        if field == "about" {
            continue;
        }
        if let Some(default) = about.get("default") {
            let written = parse::<Q>(&format!("{field} = {default}")).unwrap();
            assert_eq!(written, parse::<Q>("").unwrap(), "{field}");
        }
        let words = about.get("enum").or_else(|| about["items"].get("enum"));
        for word in words.and_then(Json::as_array).into_iter().flatten() {
            let value = match about["type"].as_str() {
                Some("array") => format!("[{word}]"),
                _ => word.to_string(),
            };
            let line = format!("{field} = {value}");
            assert!(parse::<Q>(&line).is_ok(), "{line}");
        }
        for (limit, beyond) in [("minimum", -1), ("maximum", 1)] {
            if let Some(number) = about.get(limit).and_then(Json::as_i64) {
                assert!(
                    parse::<Q>(&format!("{field} = {number}")).is_ok(),
                    "{field}"
                );
                let line = format!("{field} = {}", number + beyond);
                assert!(parse::<Q>(&line).is_err(), "{line}");
            }
        }
    }
}

#[test]
fn committed_schemas_are_those_of_the_reader() {
    reader_holds_to::<Question>(include_str!("../../../schemas/question.schema.json"));
    reader_holds_to::<Claim>(include_str!("../../../schemas/claim.schema.json"));
    reader_holds_to::<BandReport>(include_str!("../../../schemas/bands.schema.json"));
    reader_holds_to::<Habits>(include_str!("../../../schemas/player.schema.json"));
}

/// The first mistake is the first in the file, not the first in the order of the fields.
#[test]
fn the_first_mistake_in_the_file_is_reported() {
    let mistake = parse::<Question>("within = 7\nk = 9\nnone = 1").unwrap_err();
    assert_eq!(
        mistake.to_string(),
        "q.toml, line 5, field \"within\": 7 moves is not one of 3, 5, 10, 15, 20"
    );
    let mistake = parse::<Question>("none = 1\nk = 9")
        .unwrap_err()
        .to_string();
    assert!(mistake.starts_with("q.toml, line 5, field \"none\": there is no such field"));
}

#[test]
fn a_file_about_something_else_is_refused() {
    let text = "format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"x\"";
    assert_eq!(
        Question::parse("q", "q.toml", text)
            .unwrap_err()
            .to_string(),
        "q.toml, line 2, field \"about\": \"claim\" is not one of comparison"
    );
    let text = "format = 1\ntitle = \"T\"\ntext = \"x\"";
    assert_eq!(
        Claim::parse("q", "q.toml", text).unwrap_err().to_string(),
        format!(
            "q.toml, line 1, field \"about\": this field is missing: write `about = \"{}\"`",
            About::Claim
        )
    );
}
