//! A grid is sifted in three counts of the tables, each knowing what came of the one before:
//! which moves both halves have, what the half says in which claims are looked for, and what the locked
//! half says.
//!
//! Each is a sum over parts, so that parts can be counted apart and added.

use std::any::Any;
use std::borrow::Cow;
use std::path::Path;

use hobble_conditions::AskError;
use hobble_conditions::any_state::{AnyState, OfSum, Written};
use hobble_conditions::chosen::{self, Chooses};
use hobble_conditions::counted::About;
use hobble_conditions::counting::Counting;
use hobble_conditions::fields::QuestionFile as _;
use hobble_dataset::Dataset;
use hobble_report::Reported;
use serde::{Deserialize, Serialize};

use crate::grid::Grid;
use crate::locked::Sifted;
use crate::search::Found;
use crate::shared::{Nothing, Shared};

/// What states of a grid say that they are about.
pub const ABOUT: &str = "sift";

/// A count of the tables for a grid.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Step<K> {
    /// What is tried.
    pub grid: Grid,
    /// What came of the count before.
    pub known: K,
}

impl Step<Nothing> {
    /// The first count for a grid.
    pub fn start(grid: &Grid) -> Step<Nothing> {
        Step {
            grid: grid.clone(),
            known: (),
        }
    }
}

impl<K> Step<K> {
    /// The count after this one, of which this came.
    pub(crate) fn then<L>(&self, known: L) -> Step<L> {
        Step {
            grid: self.grid.clone(),
            known,
        }
    }
}

impl<K> Chooses for Step<K> {
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        chosen::of_question(self.grid.games(), dataset)
    }

    fn chooses(&self) -> bool {
        self.grid.games().chooses_sides()
    }
}

impl Written for Step<Nothing> {
    const ABOUT: &'static str = ABOUT;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn is_first(&self) -> bool {
        true
    }

    fn reported(&self, _: Shared) -> Result<Box<dyn Reported>, AskError> {
        Err(not_yet("which moves both halves have"))
    }
}

impl Written for Step<Shared> {
    const ABOUT: &'static str = ABOUT;
    const COUNT: u8 = 2;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn is_first(&self) -> bool {
        true
    }

    fn reported(&self, _: Found) -> Result<Box<dyn Reported>, AskError> {
        Err(not_yet("what was found in one half"))
    }
}

impl Written for Step<Found> {
    const ABOUT: &'static str = ABOUT;
    const COUNT: u8 = 3;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn reported(&self, sifted: Sifted) -> Result<Box<dyn Reported>, AskError> {
        Ok(Box::new(sifted.league))
    }
}

fn not_yet(what: &str) -> AskError {
    AskError::State(format!(
        "these states hold {what}: write their sum with --state, and count the parts again with --first"
    ))
}

/// What is counted next for a grid: which moves both halves have, or what follows on the sum given.
///
/// # Errors
///
/// Where the sum is of another grid, or parts are missing in it.
pub fn next(grid: &Grid, first: Option<&dyn AnyState>) -> Result<Next, AskError> {
    let start = Step::start(grid);
    let Some(first) = first else {
        return Ok(Next::Count(Box::new(start)));
    };
    let any: &dyn Any = first;
    if let Some(moves) = any.downcast_ref::<OfSum<Step<Nothing>>>() {
        let shared = moves.came(&start)?;
        return Ok(Next::Count(Box::new(start.then(shared))));
    }
    if let Some(searched) = any.downcast_ref::<OfSum<Step<Shared>>>() {
        let shared = searched.question().known.clone();
        let found = searched.came(&start.then(shared))?;
        return Ok(Next::Open(Box::new(start.then(found))));
    }
    Err(AskError::State(
        "the state given is not of a count before another".to_owned(),
    ))
}

/// What is counted next.
pub enum Next {
    /// Parts of the tables.
    Count(Box<dyn Counting>),
    /// Parts of the locked half: that is written down before.
    Open(Box<Step<Found>>),
}

/// The league from the sum of the last count.
///
/// # Errors
///
/// Where the state is of another count, or parts are missing in it.
pub fn league(state: &dyn AnyState) -> Result<Sifted, AskError> {
    let any: &dyn Any = state;
    match any.downcast_ref::<OfSum<Step<Found>>>() {
        Some(last) => last.came(last.question()),
        None => Err(match state.answer(false) {
            Err(error) => error,
            Ok(_) => AskError::State("the states are not of a grid".to_owned()),
        }),
    }
}

/// Reads a state of a grid.
///
/// # Errors
///
/// Where the file cannot be read, or is not of a grid.
pub fn read_state(path: &Path) -> Result<Box<dyn AnyState>, AskError> {
    let asked = About::read(path)?.asked;
    let asked = asked.filter(|asked| asked.about == ABOUT);
    Ok(match asked.map(|asked| asked.count) {
        Some(1) => Box::new(OfSum::<Step<Nothing>>::read(path)?),
        Some(2) => Box::new(OfSum::<Step<Shared>>::read(path)?),
        Some(_) => Box::new(OfSum::<Step<Found>>::read(path)?),
        None => {
            let file = path.display();
            return Err(AskError::State(format!(
                "{file}: of a question, not of a grid"
            )));
        }
    })
}
