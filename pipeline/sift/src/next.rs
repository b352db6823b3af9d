//! What is counted next for a grid, and the league at the end, from states whose count is known to their
//! files alone.

use std::any::Any;
use std::path::Path;
use std::sync::Arc;

use hobble_conditions::AskError;
use hobble_conditions::any_state::{AnyState, OfSum};
use hobble_conditions::counted::About;
use hobble_conditions::counting::Counting;
use hobble_dataset::Dataset;

use crate::grid::Grid;
use crate::locked::{Sifted, Unlocked};
use crate::search::Found;
use crate::shared::Nothing;
use crate::split::Shared;
use crate::step::{ABOUT, Step, TO_OPEN};

/// What is counted next for a grid: which moves both halves have, or what follows on the sum given.
///
/// # Errors
///
/// Where the sum is of another grid, or parts are missing in it.
pub fn next(grid: &Grid, first: Option<&dyn AnyState>) -> Result<Next, AskError> {
    let start = Step::start(grid);
    let Some(first) = first else {
        return Ok(Next::Count(Arc::new(start)));
    };
    let any: &dyn Any = first;
    if let Some(moves) = any.downcast_ref::<OfSum<Step<Nothing>>>() {
        let shared = moves.came(&start)?;
        return Ok(Next::Count(Arc::new(start.then(shared))));
    }
    if let Some(searched) = any.downcast_ref::<OfSum<Step<Shared>>>() {
        let shared = searched.question().known.clone();
        let found = searched.came(&start.then(shared))?;
        return Ok(Next::Open(Box::new(start.then(found))));
    }
    if let Some(opened) = any.downcast_ref::<OfSum<Step<Found>>>()
        && first.about().parts() == 0
    {
        let step = start.then(opened.question().known.clone());
        let opening = opened.counts(&step)?.opening;
        return Ok(Next::Count(Arc::new(step.opened(opening))));
    }
    Err(AskError::State(
        "the state given is not of a count before another".to_owned(),
    ))
}

/// What is counted next.
pub enum Next {
    /// Parts of the tables.
    Count(Arc<dyn Counting>),
    /// Parts of the locked half: that is written down before.
    Open(Box<Step<Found>>),
}

impl Next {
    /// What is counted of the parts.
    ///
    /// # Errors
    ///
    /// Where they are of the locked half, and nothing says that this was written down.
    pub fn counting(self) -> Result<Arc<dyn Counting>, AskError> {
        match self {
            Next::Count(counting) => Ok(counting),
            Next::Open(_) => Err(AskError::State(format!(
                "the locked half is counted next and is not open: {TO_OPEN}"
            ))),
        }
    }

    /// The claims that the locked half is to be asked.
    ///
    /// # Errors
    ///
    /// Where another count comes next.
    pub fn to_open(self) -> Result<Step<Found>, AskError> {
        match self {
            Next::Open(step) => Ok(*step),
            Next::Count(_) => Err(AskError::State(
                "the state given is not of the half in which claims are looked for".to_owned(),
            )),
        }
    }
}

/// The count of the locked half when it is open and before any part is counted, of the tables of these folders:
/// whoever counts their parts with it opens nothing again.
///
/// # Errors
///
/// Where the claims cannot be written.
pub fn opened(
    step: Step<Found>,
    searched: &dyn AnyState,
    folders: &[Dataset],
) -> Result<Box<dyn AnyState>, AskError> {
    let state = Unlocked::opened(step.opening());
    let opened = OfSum::uncounted(Arc::new(step), searched.about(), folders, state)?;
    Ok(Box::new(opened))
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
