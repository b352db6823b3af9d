//! Parts of tables counted for a question whose type is known to its sort alone: all of them, or a share.

use std::path::PathBuf;
use std::sync::Arc;

use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use hobble_terms::manifest::Stripe;

use crate::any_state::{AnyState, OfSum, Written};
use crate::counted::{counted_tables, looked_at};
use crate::error::AskError;
use crate::sum::Sum;

/// A question, or one count of two that it takes, about to be counted.
pub trait Counting {
    /// Counts the parts of a dataset, or a share of them, into a state that can be written and added.
    ///
    /// # Errors
    ///
    /// Where the question does not fit, or a table is unreadable or inconsistent.
    fn count(
        self: Arc<Self>,
        dataset: &Dataset,
        share: Option<Stripe>,
    ) -> Result<Box<dyn AnyState>, AskError>;

    /// Paths of the files that [`Counting::count`] reads, within the folder of the tables.
    fn files(&self, dataset: &Dataset, share: Option<Stripe>) -> Vec<PathBuf>;
}

impl<S: Written> Counting for S {
    fn count(
        self: Arc<Self>,
        dataset: &Dataset,
        share: Option<Stripe>,
    ) -> Result<Box<dyn AnyState>, AskError> {
        let parts = parts(&*self, dataset, share)?;
        Ok(Box::new(OfSum::count(self, dataset, &parts)?))
    }

    fn files(&self, dataset: &Dataset, share: Option<Stripe>) -> Vec<PathBuf> {
        let ids = dealt(dataset, &counted_tables(self), share);
        dataset.of_parts(&ids).named_files(&looked_at(self))
    }
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
