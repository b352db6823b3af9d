//! What a schema says of a field, the reader of its files holds to.

use serde_json::Value as Json;

use hobble_conditions::AskError;
use hobble_conditions::shipped::Source;
use hobble_questions::{Asked, SORTS, Sorted};
use sort_claim::Claim;
use sort_comparison::Question;

fn read(sort: &Sorted, rest: &str) -> Result<Asked, AskError> {
    let about = sort.about;
    Asked::read(&Source {
        name: "q".to_owned(),
        file: "q.toml".to_owned(),
        text: format!("format = 1\nabout = \"{about}\"\ntitle = \"T\"\ntext = \"x\"\n{rest}"),
    })
}

/// Each default, word and limit of the committed schema, tried on the reader.
fn reader_holds_to(sort: &Sorted, committed: &str) {
    assert_eq!(
        sort.schema(),
        committed,
        "run `hobble schema {}`",
        sort.about
    );
    let schema: Json = serde_json::from_str(committed).unwrap();
    assert_eq!(schema["additionalProperties"], Json::Bool(false));
    let fields = schema["properties"].as_object().unwrap();
    assert_eq!(fields.len(), 5 + sort.fields.len());
    let unsaid = format!("{:?}", read(sort, "").unwrap());
    for (field, about) in fields {
        if field == "about" {
            continue;
        }
        if let Some(default) = about.get("default") {
            let said = read(sort, &format!("{field} = {default}")).unwrap();
            assert_eq!(format!("{said:?}"), unsaid, "{field}");
        }
        let words = about.get("enum").or_else(|| about["items"].get("enum"));
        for word in words.and_then(Json::as_array).into_iter().flatten() {
            let value = match about["type"].as_str() {
                Some("array") => format!("[{word}]"),
                _ => word.to_string(),
            };
            let line = format!("{field} = {value}");
            assert!(read(sort, &line).is_ok(), "{line}");
        }
        for (limit, beyond) in [("minimum", -1), ("maximum", 1)] {
            if let Some(number) = about.get(limit).and_then(Json::as_i64) {
                let line = format!("{field} = {number}");
                assert!(read(sort, &line).is_ok(), "{line}");
                let line = format!("{field} = {}", number + beyond);
                assert!(read(sort, &line).is_err(), "{line}");
            }
        }
    }
}

#[test]
fn committed_schemas_are_those_of_the_reader() {
    for sort in SORTS {
        let name = match sort.about {
            // The first sort there was; its schema is named in question files of users.
            "comparison" => "question",
            about => about,
        };
        let schemas = concat!(env!("CARGO_MANIFEST_DIR"), "/../../schemas");
        let committed = std::fs::read_to_string(format!("{schemas}/{name}.schema.json")).unwrap();
        reader_holds_to(sort, &committed);
    }
}

fn parse(rest: &str) -> Result<Question, AskError> {
    let text = format!("format = 1\ntitle = \"T\"\ntext = \"x\"\n{rest}");
    Question::parse("q", "q.toml", &text)
}

/// The first mistake is the first in the file, not the first in the order of the fields.
#[test]
fn the_first_mistake_in_the_file_is_reported() {
    let mistake = parse("within = 7\nk = 9\nnone = 1").unwrap_err();
    assert_eq!(
        mistake.to_string(),
        "q.toml, line 4, field \"within\": 7 moves is not one of 3, 5, 10, 15, 20"
    );
    let mistake = parse("none = 1\nk = 9").unwrap_err().to_string();
    assert!(mistake.starts_with("q.toml, line 4, field \"none\": there is no such field"));
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
        "q.toml, line 1, field \"about\": this field is missing: write `about = \"claim\"`"
    );
}

#[test]
fn a_file_about_an_unknown_sort_names_those_there_are() {
    let source = Source {
        name: "q".to_owned(),
        file: "q.toml".to_owned(),
        text: "format = 1\nabout = \"weather\"".to_owned(),
    };
    let said = Asked::read(&source).unwrap_err().to_string();
    let (mistake, names) = said.split_once(" is not one of ").unwrap();
    assert_eq!(mistake, "q.toml, line 2, field \"about\": \"weather\"");
    let names: Vec<&str> = names.split(", ").collect();
    for name in [
        "comparison",
        "player",
        "bands",
        "claim",
        "sides",
        "positions",
    ] {
        assert!(names.contains(&name), "{name} is missing in {said}");
    }
}
