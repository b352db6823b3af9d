//! Questions: those that come with the program and those that were saved, their pages, handouts,
//! examples and figures.

use axum::extract::{Path, State};
use axum::response::Response;
use hobble_claim::{Claim, ClaimAnswer};
use hobble_conditions::Given;
use hobble_conditions::shipped::Source;
use hobble_questions::{Answered, Asked as Question};
use hobble_report::plain_short;
use serde::Serialize;

use crate::failed::Failed;
use crate::folder::is_shipped;
use crate::page::{Answer, file};
use crate::screens::reading::caution;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;

/// Examples in a PGN file.
const EXAMPLES: usize = 60;

#[derive(Serialize)]
struct View {
    caution: Option<&'static str>,
    own: Vec<QuestionView>,
    /// Those that come with the program: claims, and others.
    claims: Vec<QuestionView>,
    others: Vec<QuestionView>,
}

#[derive(Serialize)]
struct QuestionView {
    name: String,
    title: String,
    text: String,
    is_claim: bool,
    /// Why a saved file cannot be asked.
    fault: Option<String>,
}

impl QuestionView {
    fn of(question: &Question) -> QuestionView {
        let texts = question.texts();
        let first = hobble_report::paragraphs(&texts.text).into_iter().next();
        QuestionView {
            name: texts.name.clone(),
            title: plain_short(&texts.title),
            text: plain_short(&first.unwrap_or_default()),
            is_claim: question.of_type::<Claim>().is_some(),
            fault: None,
        }
    }
}

/// The list of questions.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let complete = desk.dataset()?.complete();
        let own = desk.folder.questions();
        let own = own.iter().map(|name| match question(desk, name) {
            Ok(question) => QuestionView::of(&question),
            Err(failed) => QuestionView {
                name: name.clone(),
                title: name.clone(),
                text: String::new(),
                is_claim: false,
                fault: Some(failed.line),
            },
        });
        let shipped = Question::shipped()?;
        let asked = shipped.iter().filter(|one| !one.sort().of_a_player);
        let (claims, others) = asked
            .map(QuestionView::of)
            .partition(|question| question.is_claim);
        let view = View {
            caution: caution(desk, complete),
            own: own.collect(),
            claims,
            others,
        };
        desk.screen("questions.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// A question by its name: one that comes with the program, or a saved one.
///
/// # Errors
///
/// Where there is none, or its file is wrong.
pub fn question(desk: &Shared, name: &str) -> Result<Question, Failed> {
    let missing = || Failed::missing("There is no question of that name.");
    if is_shipped(name) {
        return Ok(Question::load(name)?);
    }
    let path = desk.folder.question(name).ok_or_else(missing)?;
    // A link may lead out of the folder.
    let is_file = std::fs::symlink_metadata(&path).is_ok_and(|about| about.is_file());
    let text = is_file.then(|| std::fs::read_to_string(&path));
    Ok(Question::read(&Source {
        name: name.to_owned(),
        file: format!("{name}.toml"),
        text: text.ok_or_else(missing)??,
    })?)
}

/// The answer to a question.
///
/// # Errors
///
/// Where there is none of that name, or it cannot be answered from these tables.
pub fn answered(desk: &Shared, name: &str, given: &Given) -> Result<Answered, Failed> {
    let question = question(desk, name)?;
    Ok(question.answer(&desk.dataset()?, given)?)
}

/// How an answer is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// Its figures, a line each.
    Csv,
    /// All of it, for programs.
    Json,
    /// Text with marks.
    Markdown,
    /// One page.
    Page,
}

impl Kept {
    /// By the ending of its file.
    ///
    /// # Errors
    ///
    /// Where there is no such ending.
    pub fn of(ending: &str) -> Result<Kept, Failed> {
        Ok(match ending {
            "csv" => Kept::Csv,
            "json" => Kept::Json,
            "md" => Kept::Markdown,
            "html" => Kept::Page,
            _ => {
                return Err(Failed::missing(
                    "An answer is kept as csv, json, md or html.",
                ));
            }
        })
    }
}

/// An answer as a file to keep.
///
/// # Errors
///
/// Where it cannot be put together.
pub fn kept(desk: &Shared, answer: &Answered, name: &str, kept: Kept) -> Result<Response, Failed> {
    let report = answer.report();
    let (ending, kind, text) = match kept {
        Kept::Csv => (
            "csv",
            "text/csv; charset=utf-8",
            hobble_report::csv(&report),
        ),
        Kept::Json => ("json", "application/json", hobble_report::json(&report)?),
        Kept::Markdown => (
            "md",
            "text/markdown; charset=utf-8",
            hobble_report::markdown(&report),
        ),
        Kept::Page => (
            "html",
            "text/html; charset=utf-8",
            hobble_pages::answer_page(&report, answer.of_type(), Some(&desk.dataset()?))?,
        ),
    };
    Ok(file(&format!("{name}.{ending}"), kind, text))
}

/// The page of a question, or a file of its answer.
pub async fn one(State(desk): Desk, Path(name): Path<String>, asked: Asked) -> Answer {
    let form = form(asked);
    desk.heavy(move |desk| {
        if question(desk, &name)?.sort().of_a_player {
            return Ok(desk.go("/players"));
        }
        let answer = answered(desk, &name, &Given::default())?;
        if let Some(ending) = form.get("as") {
            return kept(desk, &answer, &name, Kept::of(ending)?);
        }
        let claim = answer.of_type::<ClaimAnswer>();
        let html = hobble_pages::answer_page(&answer.report(), claim, Some(&desk.dataset()?))?;
        let to = |rest: &str| format!("/questions/{name}{rest}");
        let mut ways = vec![("/questions".to_owned(), "All questions")];
        if claim.is_some() {
            ways.push((to("/handout"), "Handout to print"));
            ways.push((to("/examples.pgn"), "Examples as PGN"));
        }
        ways.push((to("?as=csv"), "Figures as CSV"));
        ways.push((to("?as=html"), "Keep this page"));
        let ways: Vec<_> = ways
            .iter()
            .map(|(path, words)| (path.as_str(), *words))
            .collect();
        desk.whole_page(&html, &ways)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Removes a saved question.
pub async fn remove(State(desk): Desk, Path(name): Path<String>) -> Answer {
    desk.work(move |desk| match desk.folder.remove_question(&name)? {
        true => Ok(desk.go("/questions")),
        false => Err(Failed::missing("No question of that name was saved.")),
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The handout of a claim.
pub async fn handout(State(desk): Desk, Path(name): Path<String>) -> Answer {
    desk.heavy(move |desk| {
        let answer = answered(desk, &name, &Given::default())?;
        let claim = answer.of_type::<ClaimAnswer>();
        let claim = claim.ok_or_else(|| Failed::bad("Only a claim has a handout."))?;
        let html = hobble_pages::handout(claim)?;
        let page = format!("/questions/{name}");
        desk.whole_page(
            &html,
            &[("/questions", "All questions"), (&page, "Its page")],
        )
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// Examples of a claim as PGN.
pub async fn examples(State(desk): Desk, Path(name): Path<String>) -> Answer {
    desk.heavy(move |desk| {
        let question = question(desk, &name)?;
        let claim = question.of_type::<Claim>();
        let claim = claim.ok_or_else(|| Failed::bad("Only a claim has examples."))?;
        let wanted = hobble_claim::Wanted {
            count: EXAMPLES,
            ..hobble_claim::Wanted::default()
        };
        let found = hobble_claim::find_examples(&desk.dataset()?, claim, &wanted)?;
        if found.examples.is_empty() {
            let notes = found.notes.join(" ");
            return Err(Failed::missing(format!("No example was found. {notes}")));
        }
        let text = hobble_claim::pgn(&found.examples);
        Ok(file(
            &format!("{name}-examples.pgn"),
            "application/vnd.chess-pgn",
            text,
        ))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}
