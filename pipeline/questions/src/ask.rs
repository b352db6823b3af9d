//! From question and dataset to answer.

use crate::answer::{Answer, FORMAT, Parameters, QuestionText};
use crate::cube;
use crate::error::AskError;
use crate::examples;
use crate::methods;
use crate::question::{Overrides, Question};
use crate::row::{self, LEVEL};
use hobble_dataset::Dataset;

/// Answers a question from a dataset.
///
/// # Errors
///
/// Where an override is out of range, or a table is missing, unreadable or inconsistent.
pub fn answer(
    question: &Question,
    dataset: &Dataset,
    overrides: &Overrides,
) -> Result<Answer, AskError> {
    let question = question.with(overrides)?;
    let cube = cube::read(&question, dataset)?;
    let mut rows: Vec<_> = cube
        .groups
        .iter()
        .filter(|_| !question.group_by.is_empty())
        .map(|(values, table)| row::row(&question, Some(values), table))
        .collect();
    if rows.len() != 1 {
        rows.push(row::row(&question, None, &cube.all));
    }
    let (examples, example_notes) = examples::examples(&question, dataset)?;
    let mut answer = Answer {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        parameters: parameters(&question),
        methods: methods::methods(&question),
        dataset: dataset.summary().clone(),
        rows,
        examples,
        notes: Vec::new(),
        question: QuestionText {
            name: question.name.clone(),
            title: question.title.clone(),
            text: question.text.clone(),
        },
    };
    answer.notes = methods::notes(&question, dataset, &answer);
    answer.notes.extend(example_notes);
    Ok(answer)
}

fn parameters(question: &Question) -> Parameters {
    Parameters {
        kinds: question.kinds.clone(),
        k: question.k,
        within: question.within,
        outcome: question.outcome,
        developed: question.developed,
        attacked: question.attacked,
        defended: question.defended,
        phase: question.phase.clone(),
        band: question.band.clone(),
        time_class: question.time_class.clone(),
        rating_diff: question.rating_diff.clone(),
        strata: question.strata.clone(),
        group_by: question.group_by.clone(),
        minimum_turns: question.minimum_turns,
        minimum_folds: question.minimum_folds,
        minimum_outcome_folds: question.minimum_outcome_folds,
        level: LEVEL,
    }
}
