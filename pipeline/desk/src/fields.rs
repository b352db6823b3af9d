//! The fields of a question file as menus, and the file that a filled form means. Both follow from what
//! the sort of question declares: a field that is new there has its menu here.

use std::collections::BTreeSet;

use hobble_report::number::capital;
use serde::Serialize;
use serde_json::Value as Json;
use toml::{Table, Value};

use crate::form::Form;

/// Fields that a form does not ask.
const NOT_ASKED: [&str; 2] = ["confirmation", "source"];

/// Said of a form that was filled: a box that is not ticked then means no.
pub const FILLED: &str = "filled";

/// Fields under one heading.
pub type Group = (&'static str, &'static [&'static str]);

/// What restricted the piece.
pub const WHAT_DID_IT: Group = ("What did it", &["by", "cause", "quiet", "squares_taken"]);

/// How the piece stands, and when.
pub const WHERE_AND_WHEN: Group = (
    "Where and when",
    &[
        "stands", "squares", "phase", "attacked", "defended", "wedge",
    ],
);

/// Which games and sides are looked at.
pub const WHOSE_GAMES: Group = (
    "Whose games",
    &[
        "player",
        "event",
        "band",
        "opponent_band",
        "eco",
        "time_class",
        "since",
        "until",
    ],
);

/// What a reader calls the fields.
const LABELS: &[(&str, &str)] = &[
    ("kinds", "Which pieces"),
    ("k", "Safe squares, at most"),
    ("restrained", "Restrained by a quiet move?"),
    ("turns", "For so many of its owner’s turns, at least"),
    ("developed", "Has it left home?"),
    ("by", "Whose move"),
    ("cause", "In which way"),
    ("quiet", "A quiet move?"),
    ("squares_taken", "Safe squares it took, at least"),
    ("stands", "Where it stands"),
    ("squares", "On these squares"),
    ("phase", "Phase of the game"),
    ("attacked", "Attacked?"),
    ("defended", "Defended?"),
    ("wedge", "A bishop behind a wedge of pawns?"),
    ("band", "Rating bands of its owner"),
    ("time_class", "Time"),
    ("player", "Only these players, a line each"),
    ("event", "Only these events, a line each"),
    ("since", "From this date"),
    ("until", "To this date"),
    ("outcome", "What becomes of the piece or its side"),
    ("within", "Within so many moves"),
    ("quiz", "Quiz positions in the handout"),
    ("ended", "How that ended"),
    ("order", "Which come first"),
    ("count", "Positions, at most"),
    ("skip", "Pass over the first"),
    ("difficulty", "How hard"),
    ("to_move", "Whose turn"),
    ("rating", "Rating"),
    ("opening", "Openings, a line each"),
    ("opponent_band", "Rating bands of the opponent"),
    ("eco", "Openings by their ECO code, a line each"),
];

/// The fields of a sort with their JSON schemas, as it declares them.
pub type Properties = Vec<(&'static str, Json)>;

/// Fields under one heading.
#[derive(Debug, Serialize)]
pub struct GroupView {
    title: &'static str,
    /// Whether it is open from the start.
    open: bool,
    fields: Vec<FieldView>,
}

/// A field as a menu.
#[derive(Debug, Serialize)]
pub struct FieldView {
    name: &'static str,
    label: String,
    help: String,
    #[serde(flatten)]
    menu: Menu,
}

/// What is chosen or typed.
#[derive(Debug, Serialize)]
#[serde(tag = "menu", rename_all = "snake_case")]
enum Menu {
    /// Some of these.
    Some { choices: Vec<Choice> },
    /// One of these.
    One { choices: Vec<Choice> },
    /// A whole number.
    Number {
        least: Option<i64>,
        most: Option<i64>,
        step: i64,
        value: String,
    },
    /// From and to.
    Bounds {
        least: Option<i64>,
        most: Option<i64>,
        low: String,
        high: String,
    },
    /// Texts, a line each.
    Lines { value: String },
    /// One short text.
    Text { value: String },
}

#[derive(Debug, Serialize)]
struct Choice {
    value: String,
    label: String,
    chosen: bool,
}

/// The shape of a field by its schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    Some,
    One,
    Number,
    Bounds,
    Lines,
    Text,
}

fn shape(schema: &Json) -> Shape {
    let listed = schema.get("enum").is_some();
    match schema.get("type").and_then(Json::as_str) {
        Some("array") if schema.pointer("/items/enum").is_some() => Shape::Some,
        Some("array") => Shape::Lines,
        Some("object") => Shape::Bounds,
        _ if listed => Shape::One,
        Some("integer") => Shape::Number,
        _ => Shape::Text,
    }
}

/// The menus of a sort's fields, filled as the form says. Fields that no group names follow at the
/// end, under their own names. The first `open` groups are open from the start.
pub fn menus(
    properties: &Properties,
    groups: &[Group],
    form: &Form,
    open: usize,
) -> Vec<GroupView> {
    let named: BTreeSet<&str> = groups
        .iter()
        .flat_map(|(_, fields)| fields.iter().copied())
        .chain(NOT_ASKED)
        .collect();
    let find = |name: &str| properties.iter().find(|(one, _)| *one == name);
    let mut views: Vec<GroupView> = (0..)
        .zip(groups)
        .map(|(nth, (title, fields))| {
            let fields = fields.iter().filter_map(|name| {
                let (name, schema) = find(name)?;
                Some(field(name, label(name), schema, form))
            });
            GroupView {
                title,
                open: nth < open,
                fields: fields.collect(),
            }
        })
        .collect();
    let others = properties.iter().filter(|(name, _)| !named.contains(name));
    let others: Vec<FieldView> = others
        .map(|(name, schema)| field(name, label(name), schema, form))
        .collect();
    if !others.is_empty() {
        views.push(GroupView {
            title: "More conditions",
            open: false,
            fields: others,
        });
    }
    views
}

/// What a reader calls a field: its name in words where nothing better is known.
fn label(name: &str) -> String {
    let known = LABELS.iter().find(|(one, _)| *one == name);
    known.map_or_else(
        || capital(&name.replace('_', " ")),
        |(_, label)| (*label).to_owned(),
    )
}

fn field(name: &'static str, label: String, schema: &Json, form: &Form) -> FieldView {
    let whole = |key: &str| schema.get(key).and_then(Json::as_i64);
    let value = |name: &str| form.get(name).unwrap_or_default().to_owned();
    let menu = match shape(schema) {
        Shape::Some => Menu::Some {
            choices: choices(schema.pointer("/items/enum"), |word| form.has(name, word)),
        },
        Shape::One => Menu::One {
            choices: choices(schema.get("enum"), |word| form.get(name) == Some(word)),
        },
        Shape::Number => Menu::Number {
            least: whole("minimum"),
            most: whole("maximum"),
            step: whole("multipleOf").unwrap_or(1),
            value: value(name),
        },
        Shape::Bounds => {
            let bound = |key: &str| {
                let bounds = schema.pointer(&format!("/properties/at_least/{key}"));
                bounds.and_then(Json::as_i64)
            };
            Menu::Bounds {
                least: bound("minimum"),
                most: bound("maximum"),
                low: value(&format!("{name}.at_least")),
                high: value(&format!("{name}.at_most")),
            }
        }
        Shape::Lines => Menu::Lines {
            value: form.all(name).collect::<Vec<_>>().join("\n"),
        },
        Shape::Text => Menu::Text { value: value(name) },
    };
    let help = schema.get("description").and_then(Json::as_str);
    FieldView {
        name,
        label,
        help: help.unwrap_or_default().to_owned(),
        menu,
    }
}

fn choices(words: Option<&Json>, chosen: impl Fn(&str) -> bool) -> Vec<Choice> {
    let words = words.and_then(Json::as_array).into_iter().flatten();
    words
        .map(|word| {
            word.as_str()
                .map_or_else(|| word.to_string(), str::to_owned)
        })
        .map(|value| Choice {
            chosen: chosen(&value),
            label: match value.as_str() {
                "any" => "does not matter".to_owned(),
                word => word.to_owned(),
            },
            value,
        })
        .collect()
}

/// The fields of a question file that a filled form means. Whether they can be asked is for the reader of
/// the file to say: nothing is dropped but what is empty.
pub fn file(properties: &Properties, form: &Form) -> Table {
    let mut file = Table::new();
    for (name, schema) in properties
        .iter()
        .filter(|(name, _)| !NOT_ASKED.contains(name))
    {
        let number = |name: &str| form.get(name).map(number);
        let value = match shape(schema) {
            Shape::Some => Some(list(form.all(name))),
            Shape::Lines => {
                let lines = form.all(name).flat_map(str::lines).map(str::trim);
                Some(list(lines.filter(|line| !line.is_empty())))
            }
            Shape::Number => number(name),
            Shape::One => {
                form.get(name)
                    .map(|word| match schema.get("type").and_then(Json::as_str) {
                        Some("integer") => self::number(word),
                        _ => word.into(),
                    })
            }
            Shape::Bounds => {
                let sides = ["at_least", "at_most"];
                let bounds: Table = sides
                    .into_iter()
                    .filter_map(|side| Some((side.to_owned(), number(&format!("{name}.{side}"))?)))
                    .collect();
                (!bounds.is_empty()).then_some(Value::Table(bounds))
            }
            Shape::Text => form.get(name).map(Value::from),
        };
        if let Some(value) = value {
            file.insert((*name).to_owned(), value);
        }
    }
    file
}

/// A whole number; what is none stays a text, which the reader of the file refuses with its reason.
fn number(text: &str) -> Value {
    text.parse::<i64>()
        .map_or_else(|_| text.into(), Value::from)
}

fn list<'a>(words: impl Iterator<Item = &'a str>) -> Value {
    Value::Array(words.map(Value::from).collect())
}

/// A form filled as a question of this sort is, which was written as JSON.
pub fn form_of(properties: &Properties, question: &Json) -> Form {
    let text = |value: &Json| {
        value
            .as_str()
            .map_or_else(|| value.to_string(), str::to_owned)
    };
    let mut pairs = Vec::new();
    for (name, schema) in properties {
        let value = question.get(name).filter(|value| !value.is_null());
        let Some(value) = value.or_else(|| schema.get("default")) else {
            continue;
        };
        match value {
            Json::Array(values) => {
                pairs.extend(values.iter().map(|value| ((*name).to_owned(), text(value))));
            }
            Json::Object(sides) => {
                let named = sides.iter().filter(|(_, value)| !value.is_null());
                pairs.extend(named.map(|(side, value)| (format!("{name}.{side}"), text(value))));
            }
            value => pairs.push(((*name).to_owned(), text(value))),
        }
    }
    Form(pairs)
}

/// What the reader of a file says is wrong, without the name and line of a file nobody has seen.
pub fn fault(error: &impl std::fmt::Display) -> String {
    let text = error.to_string();
    match text.split_once("field \"") {
        Some((_, rest)) => rest.replacen("\": ", ": ", 1).replace('_', " "),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use hobble_claim::Claim;
    use hobble_conditions::fields::QuestionFile as _;
    use hobble_conditions::shipped::Source;
    use hobble_questions::Asked;

    use super::*;

    fn written(form: &Form) -> String {
        let mut table = file(&Claim::properties(), form);
        for (name, value) in [("about", "claim"), ("title", "T"), ("text", "x")] {
            table.insert(name.to_owned(), value.into());
        }
        table.insert("format".to_owned(), 1.into());
        toml::to_string(&table).unwrap()
    }

    /// Every claim that comes with the program comes back from its form as it was.
    #[test]
    fn claims_come_back_from_their_forms() {
        let mut claims = 0;
        for source in Source::shipped() {
            let asked = Asked::read(&source).unwrap();
            let Some(claim) = asked.of_type::<Claim>() else {
                continue;
            };
            let form = form_of(&Claim::properties(), &serde_json::to_value(claim).unwrap());
            let again = Claim::parse("x", "x.toml", &written(&form)).unwrap();
            assert_eq!(again.hash(), claim.hash(), "{}", source.name);
            claims += 1;
        }
        assert!(claims >= 5, "{claims}");
    }

    #[test]
    fn what_is_typed_is_quoted() {
        let typed = "Cobble, \"Nan\"\nk = 0\n''' \\ Sons";
        let pairs = [("kinds", "knight"), ("player", typed), ("k", "1")];
        let pairs = pairs.map(|(name, value)| (name.to_owned(), value.to_owned()));
        let claim = Claim::parse("x", "x.toml", &written(&Form(pairs.to_vec()))).unwrap();
        assert_eq!(claim.player, ["Cobble, \"Nan\"", "k = 0", "''' \\ Sons"]);
        assert_eq!(claim.k, 1);
    }

    #[test]
    fn every_field_has_a_menu() {
        let properties = Claim::properties();
        let views = menus(&properties, &[("Piece", &["kinds"])], &Form::default(), 1);
        let shown: usize = views.iter().map(|group| group.fields.len()).sum();
        assert_eq!(shown, properties.len() - NOT_ASKED.len());
    }
}
