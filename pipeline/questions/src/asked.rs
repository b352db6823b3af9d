//! Whatever a question file asks, by what it says it is about.

use hobble_bands::{self as bands, BandReport, BandsAnswer};
use hobble_claim::{self as claim, Claim, ClaimAnswer};
use hobble_comparison::{self as comparison, Answer, Question};
use hobble_conditions::shipped::Source;
use hobble_conditions::terms::About;
use hobble_conditions::{AskError, Given, fields};
use hobble_dataset::Dataset;
use hobble_player::{self as habits, Habits, HabitsAnswer};
use hobble_report::Report;

/// A question of any sort.
#[derive(Debug, Clone)]
pub enum Asked {
    /// Held pieces against comparable free ones.
    Comparison(Question),
    /// One player's habits.
    Player(Habits),
    /// Restraint by rating band.
    Bands(BandReport),
    /// A training claim.
    Claim(Claim),
}

/// The answer to it.
#[derive(Debug, Clone)]
pub enum Answered {
    /// Held pieces against comparable free ones.
    Comparison(Box<Answer>),
    /// One player's habits.
    Player(Box<HabitsAnswer>),
    /// Restraint by rating band.
    Bands(Box<BandsAnswer>),
    /// A training claim.
    Claim(Box<ClaimAnswer>),
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

    fn read(source: &Source) -> Result<Asked, AskError> {
        let Source { name, file, text } = source;
        match fields::about(file, text)? {
            About::Comparison => Question::parse(name, file, text).map(Asked::Comparison),
            About::Player => Habits::parse(name, file, text).map(Asked::Player),
            About::Bands => BandReport::parse(name, file, text).map(Asked::Bands),
            About::Claim => Claim::parse(name, file, text).map(Asked::Claim),
        }
    }

    /// Name it is asked by.
    pub fn name(&self) -> &str {
        match self {
            Asked::Comparison(question) => &question.name,
            Asked::Player(habits) => &habits.name,
            Asked::Bands(report) => &report.name,
            Asked::Claim(claim) => &claim.name,
        }
    }

    /// Title for readers.
    pub fn title(&self) -> &str {
        match self {
            Asked::Comparison(question) => &question.title,
            Asked::Player(habits) => &habits.title,
            Asked::Bands(report) => &report.title,
            Asked::Claim(claim) => &claim.title,
        }
    }

    /// What it is about.
    pub fn about(&self) -> About {
        match self {
            Asked::Comparison(_) => About::Comparison,
            Asked::Player(_) => About::Player,
            Asked::Bands(_) => About::Bands,
            Asked::Claim(_) => About::Claim,
        }
    }

    /// Answers it from a dataset.
    ///
    /// # Errors
    ///
    /// Where what is given beside it is out of range, or the tables cannot be read.
    pub fn answer(&self, dataset: &Dataset, given: &Given) -> Result<Answered, AskError> {
        match self {
            Asked::Comparison(question) => comparison::answer(question, dataset, &given.overrides)
                .map(|a| Answered::Comparison(Box::new(a))),
            Asked::Player(habits) => {
                let Some(player) = &given.player else {
                    return Err(AskError::Override {
                        name: "player",
                        what: "this question is about one player: name one with --player NAME"
                            .to_owned(),
                    });
                };
                let habits = habits.with(&given.overrides)?;
                habits::answer(&habits, dataset, player, given.peers.as_ref())
                    .map(|a| Answered::Player(Box::new(a)))
            }
            Asked::Bands(report) => {
                let report = report.with(&given.overrides)?;
                bands::answer(dataset, &report).map(|a| Answered::Bands(Box::new(a)))
            }
            Asked::Claim(claim) => claim::answer(dataset, &claim.with(&given.overrides)?)
                .map(|a| Answered::Claim(Box::new(a))),
        }
    }
}

/// The JSON schema of the question files about something.
pub fn schema(about: About) -> String {
    match about {
        About::Comparison => fields::schema::schema::<Question>(),
        About::Player => fields::schema::schema::<Habits>(),
        About::Bands => fields::schema::schema::<BandReport>(),
        About::Claim => fields::schema::schema::<Claim>(),
    }
}

impl Answered {
    /// The report that every rendering is made from.
    pub fn report(&self) -> Report<'_> {
        match self {
            Answered::Comparison(answer) => comparison::report(answer),
            Answered::Player(answer) => habits::report(answer),
            Answered::Bands(answer) => bands::report(answer),
            Answered::Claim(answer) => claim::report(answer),
        }
    }

    /// For a terminal.
    pub fn text(&self) -> String {
        hobble_report::text(&self.report())
    }

    /// One table, tidy.
    pub fn csv(&self) -> String {
        hobble_report::csv(&self.report())
    }

    /// Everything.
    ///
    /// # Errors
    ///
    /// Where the answer cannot be written as JSON.
    pub fn json(&self) -> serde_json::Result<String> {
        hobble_report::json(&self.report())
    }

    /// For a document.
    pub fn markdown(&self) -> String {
        hobble_report::markdown(&self.report())
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
