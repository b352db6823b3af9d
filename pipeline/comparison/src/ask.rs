//! From a question to its answer: every part counted, the counts added up, the rows made.

use serde::{Deserialize, Serialize};

use crate::answer::{Answer, FORMAT, Parameters};
use crate::examples::{self, Candidates};
use crate::methods;
use crate::observations::{self, Counts, Tables};
use crate::question::Question;
use crate::ratio_of_ratios;
use crate::report;
use crate::row::{self, LEVEL};
use hobble_conditions::counted;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::{self, Sum};
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::{Dataset, PartId};
use hobble_examples::KeptGames;
use hobble_report::{ColumnText, Report, Reported};
use hobble_terms::Table;

/// Answers a question from a dataset.
///
/// # Errors
///
/// Where an override is out of range, or a table is missing, unreadable or inconsistent.
pub fn answer(
    question: &Question,
    dataset: &Dataset,
    overrides: &Overrides,
) -> Result<Answer, AskError> {
    counted::answer(&question.with(overrides)?, dataset)
}

/// Counts for a question. Its size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct State {
    turns: Counts,
    examples: Candidates,
    games: KeptGames,
}

impl Reported for Answer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }

    fn columns() -> Vec<ColumnText> {
        crate::tidy::texts()
    }
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        self.turns.add(other.turns);
        self.examples.add(other.examples);
        self.games.add(other.games, || self.examples.games());
    }
}

impl Sum for Question {
    type State = State;
    type Answer = Answer;

    fn tables(&self) -> &'static [Table] {
        &[Table::Turns]
    }

    fn optional(&self) -> &'static [Table] {
        if self.examples > 0 {
            &[Table::Spells]
        } else {
            &[]
        }
    }

    fn shown(&self) -> &'static [Table] {
        if self.examples > 0 {
            &[Table::Games, Table::Moves]
        } else {
            &[]
        }
    }

    fn keep(&self, dataset: &Dataset, state: &mut State) -> Result<(), AskError> {
        state.games = KeptGames::read(dataset, &state.examples.games())?;
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        let sample = u64::from(dataset.parameters().sample.get());
        let (turns, examples) = rayon::join(
            || match dataset.part(Table::Turns, id) {
                Some(part) => observations::count(self, &part, sample),
                None => Ok(Counts::default()),
            },
            || match dataset.part(Table::Spells, id) {
                Some(part) if self.examples > 0 => Candidates::of(self, &part),
                _ => Ok(Candidates::default()),
            },
        );
        Ok(State {
            turns: turns?,
            examples: examples?,
            games: KeptGames::default(),
        })
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<Answer, AskError> {
        let counted = state.turns.groups(self);
        let mut rows: Vec<_> = counted
            .groups
            .iter()
            .filter(|_| !self.group_by.is_empty())
            .map(|(values, tables)| row::row(self, Some(values), tables))
            .collect();
        if rows.len() != 1 {
            rows.push(row::row(self, None, &counted.all));
            let groups = counted.groups.iter().map(|(_, tables)| tables);
            let tables: Vec<&Tables> = groups.chain([&counted.all]).collect();
            ratio_of_ratios::compare(&mut rows, &tables);
        }
        let (examples, example_notes) =
            examples::examples(self, dataset, &state.examples, &state.games)?;
        let mut answer = Answer {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            parameters: Parameters::of(self, LEVEL),
            methods: methods::methods(self),
            dataset: dataset.summary().clone(),
            rows,
            examples,
            notes: Vec::new(),
            question: self.texts(),
        };
        answer.notes = methods::notes(self, dataset, &answer);
        answer.notes.extend(example_notes);
        Ok(answer)
    }
}
