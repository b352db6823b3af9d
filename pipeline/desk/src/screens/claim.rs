//! A claim built from menus, with the number of pieces it is about beside it.
//!
//! What became of the pieces is not shown while conditions are chosen: whoever picks conditions by
//! their outcome finds an outcome that chance alone made.

use axum::extract::State;
use axum::response::Response;
use hobble_claim::{Claim, matching};
use hobble_conditions::AskError;
use hobble_conditions::fields::QuestionFile as _;
use hobble_report::number::{capital, counted};
use hobble_report::plain_short;
use serde::Serialize;
use toml::Value;

use crate::failed::Failed;
use crate::fields::{
    FILLED, Group, GroupView, WHAT_DID_IT, WHERE_AND_WHEN, WHOSE_GAMES, fault, file, form_of, menus,
};
use crate::folder::{is_name, is_shipped, name_of};
use crate::form::Form;
use crate::page::{Answer, json};
use crate::screens::axum_form::Fields;
use crate::screens::questions::question;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;

/// The fields of a claim under headings.
const GROUPS: &[Group] = &[
    (
        "The piece",
        &["kinds", "k", "restrained", "turns", "developed"],
    ),
    WHAT_DID_IT,
    WHERE_AND_WHEN,
    WHOSE_GAMES,
    ("What is counted", &["outcome", "within", "quiz"]),
];

/// What a claim starts from that nobody has filled yet.
const START: &str = "format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"x\"\n\
kinds = [\"knight\"]\nk = 1\nrestrained = \"yes\"\ndeveloped = \"yes\"\n";

#[derive(Serialize)]
struct View {
    groups: Vec<GroupView>,
    title: String,
    text: String,
    name: String,
    replace: bool,
    fault: Option<String>,
    #[serde(flatten)]
    said: SaidView,
}

/// What a claim says and how many pieces it is about.
#[derive(Debug, Default, Serialize)]
struct SaidView {
    /// In one sentence.
    sentence: String,
    /// Its other conditions, name and words.
    conditions: Vec<(String, String)>,
    number: String,
    /// What is wrong with it.
    wrong: Option<String>,
}

/// The builder, filled as the address says.
pub async fn show(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let form = filled(desk, form)?;
        screen(desk, &form, None)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The form as it was filled; or else as the claim it starts from says.
fn filled(desk: &Shared, form: Form) -> Result<Form, Failed> {
    if form.get(FILLED).is_some() {
        return Ok(form);
    }
    let (claim, texts) = match form.get("from") {
        None => (Claim::parse("claim", "claim", START)?, None),
        Some(name) => {
            let question = question(desk, name)?;
            let claim = question.of_type::<Claim>().cloned();
            let claim = claim.ok_or_else(|| Failed::bad("That question is not a claim."))?;
            let texts = question.texts().clone();
            (claim, Some(texts))
        }
    };
    let mut filled = form_of(&Claim::properties(), &serde_json::to_value(&claim)?);
    if let Some(texts) = texts {
        let own = !is_shipped(&texts.name);
        filled.0.push(("title".to_owned(), texts.title));
        filled.0.push(("text".to_owned(), texts.text));
        if own {
            filled.0.push(("name".to_owned(), texts.name));
        }
    }
    Ok(filled)
}

fn screen(desk: &Shared, form: &Form, fault: Option<String>) -> Result<Response, Failed> {
    let text = |name: &str| form.get(name).unwrap_or_default().to_owned();
    let view = View {
        groups: menus(&Claim::properties(), GROUPS, form, 2),
        title: text("title"),
        text: text("text"),
        name: text("name"),
        replace: form.has("replace", "yes"),
        fault,
        said: said(desk, form)?,
    };
    desk.screen("claim.html", &view)
}

/// What the claim says, for the script.
pub async fn count(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| json(&said(desk, &form)?))
        .await
        .map_err(|failed| desk.failure(failed))
}

/// Text of the file that a form means, and the claim it holds.
fn claim(name: &str, form: &Form) -> Result<(String, Claim), AskError> {
    let mut table = file(&Claim::properties(), form);
    let mut put = |name: &str, value: Value| table.insert(name.to_owned(), value);
    put("format", Value::Integer(1));
    put("about", "claim".into());
    put("title", form.get("title").unwrap_or("A claim").into());
    put("text", form.get("text").unwrap_or("A claim.").into());
    let mut text = table.to_string();
    let claim = Claim::parse(name, &format!("{name}.toml"), &text)?;
    if form.get("title").is_none() || form.get("text").is_none() {
        // In the claim's own words.
        let words = claim.in_words();
        let title = format!("What becomes of {words}?");
        table.insert(
            "title".to_owned(),
            form.get("title").unwrap_or(&title).into(),
        );
        let own = format!(
            "{}, beside comparable pieces that are free.",
            capital(&words)
        );
        table.insert("text".to_owned(), form.get("text").unwrap_or(&own).into());
        text = table.to_string();
    }
    let claim = Claim::parse(name, &format!("{name}.toml"), &text)?;
    Ok((text, claim))
}

/// What a form says, and how many pieces that is about.
fn said(desk: &Shared, form: &Form) -> Result<SaidView, Failed> {
    let wrong = |error: AskError| SaidView {
        wrong: Some(plain_short(&fault(&error))),
        ..SaidView::default()
    };
    let claim = match claim("claim", form) {
        Ok((_, claim)) => claim,
        Err(error) => return Ok(wrong(error)),
    };
    let found = match matching(&desk.dataset()?, &claim) {
        Ok(found) => found,
        Err(error) => return Ok(wrong(error)),
    };
    let conditions = claim.filters().into_iter().skip(1);
    Ok(SaidView {
        sentence: format!("{}.", plain_short(&capital(&claim.in_words()))),
        conditions: conditions
            .map(|(name, words)| (plain_short(&name), plain_short(&words)))
            .collect(),
        number: match found.spells {
            0 => "No piece in this folder.".to_owned(),
            spells => format!(
                "{} in {}.",
                counted(spells, "such piece"),
                counted(found.games, "game")
            ),
        },
        wrong: None,
    })
}

/// Saves a claim as a question file and shows its page.
pub async fn save(State(desk): Desk, Fields(form): Fields) -> Answer {
    desk.work(move |desk| match saved(desk, &form) {
        Ok(name) => Ok(desk.go(&format!("/questions/{name}"))),
        // What was filled in is not lost.
        Err(failed) => {
            let mut response = screen(desk, &form, Some(failed.line))?;
            *response.status_mut() = failed.status;
            Ok(response)
        }
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn saved(desk: &Shared, form: &Form) -> Result<String, Failed> {
    let (name, what) = match (form.get("name"), form.get("title")) {
        (Some(name), _) => (is_name(name).then(|| name.to_owned()), "name"),
        (None, title) => (name_of(title.unwrap_or_default()), "title or a name"),
    };
    let name = name.ok_or_else(|| {
        Failed::bad(format!(
            "Give the claim a {what}: its file is called by small letters a to z, digits and hyphens, 60 at most."
        ))
    })?;
    if is_shipped(&name) {
        return Err(Failed::conflict(format!(
            "{name} comes with the program: choose another name."
        )));
    }
    let (text, _) = claim(&name, form).map_err(|error| Failed::bad(fault(&error)))?;
    desk.folder.question_folder()?;
    let path = desk.folder.question(&name);
    let path = path.ok_or_else(|| Failed::bad("That name is not allowed."))?;
    let there = std::fs::symlink_metadata(&path);
    if there.is_ok() && !form.has("replace", "yes") {
        return Err(Failed::conflict(format!(
            "{name} is there already: choose another name, or tick “Replace a question of that name”."
        )));
    }
    let text = format!("# A training claim, made on the desk.\n{text}");
    hobble_report::replace_file(&path, |file| {
        std::io::Write::write_all(file, text.as_bytes())
    })?;
    Ok(name)
}
