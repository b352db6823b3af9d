//! A question of any sort, by its name or its file, and its answer.

use std::any::Any;
use std::path::{Path, PathBuf};

use hobble_conditions::any_state::AnyState;
use hobble_conditions::counted::About;
use hobble_conditions::shipped::Source;
use hobble_conditions::{AskError, Given, QuestionText, fields};
use hobble_dataset::Dataset;
use hobble_report::{Report, Reported};
use hobble_terms::manifest::Stripe;

use crate::sorts::{AnySort, SORTS, Sorted};

/// A question of any sort.
#[derive(Debug)]
pub struct Asked {
    sort: &'static Sorted,
    texts: QuestionText,
    question: Box<dyn AnySort>,
}

impl Asked {
    /// The shipped questions, in the order they are listed to a reader.
    ///
    /// # Errors
    ///
    /// Where a shipped file is wrong, which a test rules out.
    pub fn shipped() -> Result<Vec<Asked>, AskError> {
        Source::shipped()
            .map(|source| Asked::read(&source))
            .collect()
    }

    /// A shipped question by its name, or a question file by its path.
    ///
    /// # Errors
    ///
    /// Where there is no such question or its file is wrong: names file, line and field.
    pub fn load(name_or_path: &str) -> Result<Asked, AskError> {
        Asked::read(&Source::find(name_or_path)?)
    }

    /// A question from the text of its file.
    ///
    /// # Errors
    ///
    /// Where the file is wrong: names file, line and field.
    pub fn read(source: &Source) -> Result<Asked, AskError> {
        let words: Vec<&str> = SORTS.iter().map(|sort| sort.about).collect();
        let place = fields::about(&source.file, &source.text, &words)?;
        let sort = &SORTS[place];
        let question = (sort.read)(source)?;
        Ok(Asked {
            sort,
            texts: question.texts(),
            question,
        })
    }

    /// Name it is asked by.
    pub fn name(&self) -> &str {
        &self.texts.name
    }

    /// Title for readers.
    pub fn title(&self) -> &str {
        &self.texts.title
    }

    /// Its own words.
    pub fn texts(&self) -> &QuestionText {
        &self.texts
    }

    /// Its sort.
    pub fn sort(&self) -> &'static Sorted {
        self.sort
    }

    /// The question as one of this type, where it is one.
    pub fn of_type<T: 'static>(&self) -> Option<&T> {
        let question: &dyn Any = &*self.question;
        question.downcast_ref()
    }

    /// Answers it from a dataset.
    ///
    /// # Errors
    ///
    /// Where what is given beside it is out of range, or the tables cannot be read.
    pub fn answer(&self, dataset: &Dataset, given: &Given) -> Result<Answered, AskError> {
        self.question.ask(dataset, given).map(Answered)
    }

    /// Counts the parts of a dataset, or a share of them, into a state.
    ///
    /// # Errors
    ///
    /// As [`Asked::answer`].
    pub fn count(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Counts, AskError> {
        let counting = self.question.counting(given)?;
        counting.count(dataset, share).map(Counts)
    }

    /// Paths of the files that [`Asked::count`] reads, within the folder of the tables.
    ///
    /// # Errors
    ///
    /// Where what is given is out of range or missing.
    pub fn files(
        &self,
        dataset: &Dataset,
        given: &Given,
        share: Option<Stripe>,
    ) -> Result<Vec<PathBuf>, AskError> {
        Ok(self.question.counting(given)?.files(dataset, share))
    }
}

/// What was counted of some parts for a question of any sort.
pub struct Counts(Box<dyn AnyState>);

impl Counts {
    /// Reads a state that was written.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read, or is not a state of a question.
    pub fn read(path: &Path) -> Result<Counts, AskError> {
        let about = About::read(path)?;
        let word = about.asked.map(|asked| asked.about).unwrap_or_default();
        let sort = Sorted::about(&word).ok_or_else(|| {
            let file = path.display();
            AskError::State(format!("{file}: unknown sort of question \"{word}\""))
        })?;
        (sort.read_state)(path).map(Counts)
    }

    /// Adds what was counted of other parts.
    ///
    /// # Errors
    ///
    /// Where it is of another question or other definitions, or counts a part again.
    pub fn add(&mut self, other: Counts) -> Result<(), AskError> {
        self.0.add(other.0)
    }

    /// Writes the state to a file, which is there whole or not at all.
    ///
    /// # Errors
    ///
    /// Where the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), AskError> {
        self.0.write(path)
    }

    /// The answer, and the dataset that was counted; with `partial` parts of it may be missing.
    ///
    /// # Errors
    ///
    /// Where parts are missing and may not be.
    pub fn answer(&self, partial: bool) -> Result<(Answered, Dataset), AskError> {
        let (answer, dataset) = self.0.answer(partial)?;
        Ok((Answered(answer), dataset))
    }

    /// What it counts.
    pub fn about(&self) -> &About {
        self.0.about()
    }

    /// Whether the parts are to be counted again, with this given as [`Given::first`].
    pub fn is_first(&self) -> bool {
        self.0.is_first()
    }

    /// The state, to be given.
    pub fn into_state(self) -> Box<dyn AnyState> {
        self.0
    }
}

/// The answer to a question of any sort.
pub struct Answered(Box<dyn Reported>);

impl Answered {
    /// The answer as one of this type, where it is one.
    pub fn of_type<T: 'static>(&self) -> Option<&T> {
        let answer: &dyn Any = &*self.0;
        answer.downcast_ref()
    }

    /// The report that every rendering is made from.
    pub fn report(&self) -> Report<'_> {
        self.0.report()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shipped_questions_load_by_name() {
        let shipped = Asked::shipped().unwrap();
        assert!(shipped.len() >= 2);
        for asked in &shipped {
            assert_eq!(Asked::load(asked.name()).unwrap().title(), asked.title());
        }
    }
}
