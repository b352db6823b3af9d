//! The sorts of question there are. Their list is in `Cargo.toml`: a sort is a dependency named
//! `sort-NAME`, whose question files are read into its type `Question`.

use std::any::Any;
use std::fmt::Debug;
use std::path::Path;
use std::sync::Arc;

use hobble_conditions::any_state::AnyState;
use hobble_conditions::counting::Counting;
use hobble_conditions::fields::QuestionFile;
use hobble_conditions::fields::schema::schema;
use hobble_conditions::shipped::Source;
use hobble_conditions::sort::Sort;
use hobble_conditions::{AskError, Given, QuestionText};
use hobble_dataset::Dataset;
use hobble_report::{ColumnText, Reported};

/// The sorts, in the order they are listed to a reader. The crate of each holds all there is to it.
pub const SORTS: &[Sorted] = include!(concat!(env!("OUT_DIR"), "/sorts.rs"));

/// A sort of question, whatever its type.
#[derive(Debug)]
pub struct Sorted {
    /// What the field `about` of its files says.
    pub about: &'static str,
    /// Names of the fields of its files, without those that every file has.
    pub fields: &'static [&'static str],
    /// Whether it is asked of one player, who must be named.
    pub of_a_player: bool,
    /// Reads a question from its file.
    pub(crate) read: fn(&Source) -> Result<Box<dyn AnySort>, AskError>,
    /// Reads a state of such a question.
    pub(crate) read_state: fn(&Path) -> Result<Box<dyn AnyState>, AskError>,
    schema: fn() -> String,
    columns: fn() -> Vec<ColumnText>,
}

impl Sorted {
    const fn of<S: Sort>() -> Sorted {
        Sorted {
            about: S::ABOUT,
            fields: S::FIELDS,
            of_a_player: S::OF_A_PLAYER,
            read: |source| {
                let question = S::parsed(&source.name, &source.file, &source.text)?;
                Ok(Box::new(question))
            },
            read_state: S::read_state,
            schema: schema::<S>,
            columns: <S::Answer as Reported>::columns,
        }
    }

    /// The sort whose files say this of themselves.
    pub fn about(word: &str) -> Option<&'static Sorted> {
        SORTS.iter().find(|sort| sort.about == word)
    }

    /// The columns of its answers as CSV, in their order. A column by a key to group by is there
    /// where the question groups by it.
    pub fn columns(&self) -> Vec<ColumnText> {
        (self.columns)()
    }

    /// The JSON schema of its files.
    pub fn schema(&self) -> String {
        (self.schema)()
    }
}

/// A question whose sort is known to its type alone.
pub(crate) trait AnySort: Any + Debug {
    fn texts(&self) -> QuestionText;

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<Box<dyn Reported>, AskError>;

    fn counting(&self, given: &Given) -> Result<Arc<dyn Counting>, AskError>;
}

impl<S: Sort> AnySort for S {
    fn texts(&self) -> QuestionText {
        QuestionFile::texts(self)
    }

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<Box<dyn Reported>, AskError> {
        Sort::ask(self, dataset, given).map(|answer| Box::new(answer) as Box<dyn Reported>)
    }

    fn counting(&self, given: &Given) -> Result<Arc<dyn Counting>, AskError> {
        Sort::counting(self, given)
    }
}
