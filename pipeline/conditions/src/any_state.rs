//! States of questions whose type is known to their sort alone.

use std::any::Any;
use std::path::Path;

use hobble_dataset::{Dataset, PartId};
use hobble_report::Reported;
use serde::de::DeserializeOwned;

use crate::counted::{About, AskedOf, Counted};
use crate::error::AskError;
use crate::fields::QuestionFile;
use crate::sum::Sum;

/// A state of a question of any sort.
pub trait AnyState: Any {
    /// What it counts.
    fn about(&self) -> &About;

    /// Adds another state.
    ///
    /// # Errors
    ///
    /// Where it is of another question or other definitions, or counts a part again.
    fn add(&mut self, other: Box<dyn AnyState>) -> Result<(), AskError>;

    /// Writes the state to a file, which is there whole or not at all.
    ///
    /// # Errors
    ///
    /// Where the file cannot be written.
    fn write(&self, path: &Path) -> Result<(), AskError>;

    /// The answer, and the dataset that was counted; with `partial` parts of it may be missing.
    ///
    /// # Errors
    ///
    /// Where parts are missing and may not be.
    fn answer(&self, partial: bool) -> Result<(Box<dyn Reported>, Dataset), AskError>;
}

/// A state of a question that is one sum.
pub struct OfSum<S: Sum> {
    question: S,
    counted: Counted<S::State>,
}

impl<S: QuestionFile + Sum + DeserializeOwned> OfSum<S> {
    /// Counts some parts.
    ///
    /// # Errors
    ///
    /// Where the question does not fit, or a table is unreadable or inconsistent.
    pub fn count(question: S, dataset: &Dataset, parts: &[PartId]) -> Result<OfSum<S>, AskError> {
        let mut counted = Counted::of(&question, dataset, parts)?;
        let written = serde_json::to_value(&question);
        counted.about.asked = Some(AskedOf {
            about: S::ABOUT.to_owned(),
            question: written.map_err(|error| AskError::State(error.to_string()))?,
        });
        Ok(OfSum { question, counted })
    }

    /// Reads a state back.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or holds no question of this sort.
    pub fn read(path: &Path) -> Result<OfSum<S>, AskError> {
        let counted = Counted::read(path)?;
        let asked = counted.about.asked.clone();
        let asked = asked.filter(|asked| asked.about == S::ABOUT);
        let question = asked.and_then(|asked| serde_json::from_value(asked.question).ok());
        let question = question.ok_or_else(|| {
            let about = S::ABOUT;
            AskError::State(format!(
                "{}: no question about \"{about}\" in it",
                path.display()
            ))
        })?;
        Ok(OfSum { question, counted })
    }
}

impl<S: QuestionFile + Sum<Answer: Reported> + 'static> AnyState for OfSum<S> {
    fn about(&self) -> &About {
        &self.counted.about
    }

    fn add(&mut self, other: Box<dyn AnyState>) -> Result<(), AskError> {
        let other: Box<dyn Any> = other;
        match other.downcast::<OfSum<S>>() {
            Ok(other) => self.counted.add(other.counted),
            Err(_) => Err(AskError::State(
                "states of different questions cannot be added".to_owned(),
            )),
        }
    }

    fn write(&self, path: &Path) -> Result<(), AskError> {
        self.counted.write(path)
    }

    fn answer(&self, partial: bool) -> Result<(Box<dyn Reported>, Dataset), AskError> {
        let (answer, dataset) = self.counted.answer_alone(&self.question, partial)?;
        Ok((Box::new(answer), dataset))
    }
}
