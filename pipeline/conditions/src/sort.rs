//! What a sort of question is.

use std::path::{Path, PathBuf};

use hobble_dataset::{Dataset, PartId};
use hobble_report::Reported;
use hobble_terms::Table;
use hobble_terms::manifest::Stripe;
use serde::de::DeserializeOwned;

use crate::any_state::{AnyState, OfSum, Written};
use crate::counted::{self, looked_at};
use crate::error::AskError;
use crate::fields::QuestionFile;
use crate::given::Given;
use crate::sum::Sum;

/// A sort of question. What its files say is declared by
/// [`question_file!`](crate::question_file). A sort whose answer is a [`Sum`] over the parts of the
/// tables needs no more than that. The answer's report is all that text, CSV, JSON, Markdown and
/// pages are written from.
pub trait Sort: QuestionFile + 'static {
    /// What comes of a question.
    type Answer: Reported;

    /// Whether it is asked of one player, who must be named.
    const OF_A_PLAYER: bool = false;

    /// Answers from a dataset, with what is given beside the question.
    ///
    /// # Errors
    ///
    /// Where what is given is out of range or missing, or the tables cannot be read.
    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<Self::Answer, AskError>;

    /// Counts the parts of a dataset, or a share of them, into a state that can be written and added.
    ///
    /// # Errors
    ///
    /// As [`Sort::ask`].
    fn count(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Box<dyn AnyState>, AskError>;

    /// Paths of the files that counting a share of the parts reads, within the folder of the tables.
    ///
    /// # Errors
    ///
    /// Where what is given is out of range or missing.
    fn files(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Vec<PathBuf>, AskError>;

    /// Reads a state that was counted for a question of this sort.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or is not of this sort.
    fn read_state(path: &Path) -> Result<Box<dyn AnyState>, AskError>;
}

impl<S: QuestionFile + Sum<Answer: Reported> + DeserializeOwned + 'static> Sort for S {
    type Answer = <S as Sum>::Answer;

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<Self::Answer, AskError> {
        counted::answer(&self.overridden(&given.overrides)?, dataset)
    }

    fn count(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Box<dyn AnyState>, AskError> {
        count(self.overridden(&given.overrides)?, dataset, share)
    }

    fn files(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Vec<PathBuf>, AskError> {
        let question = self.overridden(&given.overrides)?;
        Ok(files(&question, dataset, share))
    }

    fn read_state(path: &Path) -> Result<Box<dyn AnyState>, AskError> {
        Ok(Box::new(OfSum::<S>::read(path)?))
    }
}

/// Counts the parts of a dataset, or a share of them, into a state.
///
/// # Errors
///
/// Where the question does not fit, or a table is unreadable or inconsistent.
pub fn count<S: Written>(
    question: S,
    dataset: &Dataset,
    share: Option<Stripe>,
) -> Result<Box<dyn AnyState>, AskError> {
    let parts = parts(&question, dataset, share)?;
    Ok(Box::new(OfSum::count(question, dataset, &parts)?))
}

/// Paths of the files that [`count`] reads, within the folder of the tables.
pub fn files<S: Sum>(question: &S, dataset: &Dataset, share: Option<Stripe>) -> Vec<PathBuf> {
    let ids = dealt(dataset, &counted_tables(question), share);
    dataset.of_parts(&ids).named_files(&looked_at(question))
}

fn counted_tables<S: Sum>(question: &S) -> Vec<Table> {
    [question.tables(), question.optional()].concat()
}

/// The parts that any of these tables has, or a share of them: they are dealt out in turn, in the order of
/// the names of their sources and of their numbers.
fn dealt(dataset: &Dataset, tables: &[Table], share: Option<Stripe>) -> Vec<PartId> {
    let named = (0..).zip(dataset.named_parts(tables));
    let own = named.filter(|(at, _)| share.is_none_or(|share| share.has(*at)));
    own.map(|(_, id)| id).collect()
}

/// The parts of a share that a question counts.
fn parts<S: Sum>(
    question: &S,
    dataset: &Dataset,
    share: Option<Stripe>,
) -> Result<Vec<PartId>, AskError> {
    let (tables, optional) = (question.tables(), question.optional());
    if share.is_none() {
        return Ok(dataset.part_ids(tables, optional)?);
    }
    let own = dealt(dataset, &counted_tables(question), share);
    Ok(dataset.of_parts(&own).part_ids(tables, optional)?)
}
