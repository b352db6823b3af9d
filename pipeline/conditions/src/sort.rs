//! What a sort of question is.

use hobble_dataset::Dataset;
use hobble_report::{ColumnText, Reported};

use crate::error::AskError;
use crate::fields::QuestionFile;
use crate::given::Given;

/// A sort of question. What its files say is declared by
/// [`question_file!`](crate::question_file); most sorts answer by a [`Sum`](crate::sum::Sum)
/// over the parts of the tables. The answer's report is all that text, CSV, JSON, Markdown and
/// pages are written from.
pub trait Sort: QuestionFile + 'static {
    /// What comes of a question.
    type Answer: Reported;

    /// Whether it is asked of one player, who must be named.
    const OF_A_PLAYER: bool = false;

    /// The columns that the answer's tidy table can have, in their order, for the codebook.
    fn columns() -> Vec<ColumnText>;

    /// Answers from a dataset, with what is given beside the question.
    ///
    /// # Errors
    ///
    /// Where what is given is out of range or missing, or the tables cannot be read.
    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<Self::Answer, AskError>;
}
