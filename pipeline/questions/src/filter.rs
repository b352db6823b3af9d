//! Which rows a question looks at, the same for turns (`exposure`) and for `spells`.

use polars::prelude::*;

use crate::columns::Rows;
use crate::error::AskError;
use crate::question::Question;
use crate::terms::Kind;

/// Columns that a question's filters read, beside those for which the tables differ.
pub fn columns(question: &Question) -> Vec<&'static str> {
    let mut columns = Vec::new();
    if question.kinds.len() < Kind::ALL.len() {
        columns.push("kind");
    }
    columns.extend(
        lists(question)
            .into_iter()
            .filter(|(_, values)| !values.is_empty())
            .map(|(name, _)| name),
    );
    if question.developed.wanted().is_some() {
        columns.push("developed");
    }
    if question.defended.wanted().is_some() {
        columns.push("defended");
    }
    columns
}

/// Where the rows pass the filters on those columns; `None` where there is no filter.
pub fn mask(question: &Question, rows: &Rows<'_>) -> Result<Option<BooleanChunked>, AskError> {
    let mut mask: Option<BooleanChunked> = None;
    if question.kinds.len() < Kind::ALL.len() {
        let kinds = question.kinds.iter().map(|kind| kind.word());
        both(&mut mask, rows.any_of("kind", kinds)?);
    }
    for (name, values) in lists(question) {
        if !values.is_empty() {
            both(
                &mut mask,
                rows.any_of(name, values.iter().map(String::as_str))?,
            );
        }
    }
    for (name, wanted) in [
        ("developed", question.developed),
        ("defended", question.defended),
    ] {
        if let Some(wanted) = wanted.wanted() {
            both(&mut mask, rows.is(name, wanted)?);
        }
    }
    Ok(mask)
}

/// Narrows a mask.
pub fn both(mask: &mut Option<BooleanChunked>, other: BooleanChunked) {
    *mask = Some(match mask.take() {
        Some(mask) => mask & other,
        None => other,
    });
}

fn lists(question: &Question) -> [(&'static str, &[String]); 4] {
    [
        ("phase", &question.phase),
        ("band", &question.band),
        ("time_class", &question.time_class),
        ("rating_diff", &question.rating_diff),
    ]
}
