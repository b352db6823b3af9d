//! What a sort of question is.

use std::path::Path;
use std::sync::Arc;

use hobble_dataset::Dataset;
use hobble_report::Reported;
use serde::de::DeserializeOwned;

use crate::any_state::{AnyState, OfSum};
use crate::counted;
use crate::counting::Counting;
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

    /// What is counted next of the parts of tables.
    ///
    /// # Errors
    ///
    /// Where what is given is out of range or missing.
    fn counting(&self, given: &Given) -> Result<Arc<dyn Counting>, AskError>;

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

    fn counting(&self, given: &Given) -> Result<Arc<dyn Counting>, AskError> {
        Ok(Arc::new(self.overridden(&given.overrides)?))
    }

    fn read_state(path: &Path) -> Result<Box<dyn AnyState>, AskError> {
        Ok(Box::new(OfSum::<S>::read(path)?))
    }
}
