//! States of questions whose type is known to their sort alone.

use std::any::Any;
use std::path::Path;
use std::sync::Arc;

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

    /// Whether the parts are to be counted again, knowing what came of this.
    fn is_first(&self) -> bool {
        false
    }

    /// The answer, and the dataset that was counted; with `partial` parts of it may be missing.
    ///
    /// # Errors
    ///
    /// Where parts are missing and may not be.
    fn answer(&self, partial: bool) -> Result<(Box<dyn Reported>, Dataset), AskError>;
}

/// A sum whose states are written to files: a question, or one count of two that it takes.
pub trait Written: Sum + DeserializeOwned + 'static {
    /// What the question's file says in the field `about`.
    const ABOUT: &'static str;
    /// Which count of the parts it is.
    const COUNT: u8 = 1;

    /// Name of the question.
    fn name(&self) -> String;

    /// Whether the parts are to be counted again, knowing what came of it.
    fn is_first(&self) -> bool {
        false
    }

    /// What a reader is told of the counts.
    ///
    /// # Errors
    ///
    /// Where they are no answer yet.
    fn reported(&self, answer: Self::Answer) -> Result<Box<dyn Reported>, AskError>;
}

impl<S: QuestionFile + Sum<Answer: Reported> + DeserializeOwned + 'static> Written for S {
    const ABOUT: &'static str = <S as QuestionFile>::ABOUT;

    fn name(&self) -> String {
        self.texts().name
    }

    fn reported(&self, answer: S::Answer) -> Result<Box<dyn Reported>, AskError> {
        Ok(Box::new(answer))
    }
}

/// A state of a question, or of one count of two.
pub struct OfSum<S: Sum> {
    question: Arc<S>,
    counted: Counted<S::State>,
}

impl<S: Written> OfSum<S> {
    /// Counts some parts.
    ///
    /// # Errors
    ///
    /// Where the question does not fit, or a table is unreadable or inconsistent.
    pub fn count(
        question: Arc<S>,
        dataset: &Dataset,
        parts: &[PartId],
    ) -> Result<OfSum<S>, AskError> {
        let counted = Counted::of(&*question, dataset, parts)?;
        OfSum::named(question, counted)
    }

    /// A state of a question of which no part is counted yet, of the tables of these folders that another state
    /// counts.
    ///
    /// # Errors
    ///
    /// Where the question cannot be written.
    pub fn uncounted(
        question: Arc<S>,
        tables: &About,
        folders: &[Dataset],
        state: S::State,
    ) -> Result<OfSum<S>, AskError> {
        let about = tables.uncounted(&*question, folders)?;
        OfSum::named(question, Counted { about, state })
    }

    /// The same with the question in it.
    fn named(question: Arc<S>, mut counted: Counted<S::State>) -> Result<OfSum<S>, AskError> {
        let written = serde_json::to_value(&*question);
        counted.about.asked = Some(AskedOf {
            about: S::ABOUT.to_owned(),
            name: question.name(),
            count: S::COUNT,
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
        let asked =
            asked.filter(|asked| (asked.about.as_str(), asked.count) == (S::ABOUT, S::COUNT));
        let question = asked.and_then(|asked| serde_json::from_value(asked.question).ok());
        let question = question.ok_or_else(|| {
            let about = S::ABOUT;
            AskError::State(format!(
                "{}: no question about \"{about}\" in it",
                path.display()
            ))
        })?;
        let question = Arc::new(question);
        Ok(OfSum { question, counted })
    }

    /// The question, or count, that it is of.
    pub fn question(&self) -> &S {
        &self.question
    }

    /// What comes of the counts, where all parts are counted for this question.
    ///
    /// # Errors
    ///
    /// Where parts are missing, or the counts are for another question.
    pub fn came(&self, question: &S) -> Result<S::Answer, AskError> {
        Ok(self.counted.answer_alone(question, false)?.0)
    }

    /// The counts, where they are for this question.
    ///
    /// # Errors
    ///
    /// Where they are for another one.
    pub fn counts(&self, question: &S) -> Result<&S::State, AskError> {
        self.counted.is_of(question)?;
        Ok(&self.counted.state)
    }
}

impl<S: Written> AnyState for OfSum<S> {
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

    fn is_first(&self) -> bool {
        self.question.is_first()
    }

    fn answer(&self, partial: bool) -> Result<(Box<dyn Reported>, Dataset), AskError> {
        let (answer, dataset) = self.counted.answer_alone(&*self.question, partial)?;
        Ok((self.question.reported(answer)?, dataset))
    }
}
