//! From a search to its answer.

use hobble_conditions::AskError;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::Sum;
use hobble_conditions::words;
use hobble_dataset::{Dataset, PartId};
use hobble_examples::KeptGames;
use hobble_report::sections::scan_notes;
use hobble_report::{ColumnText, Report, Reported};
use hobble_terms::Table;

use crate::answer::PositionsAnswer;
use crate::file::PositionSearch;
use crate::found::Found;
use crate::{FORMAT, replayed, report};

impl Sum for PositionSearch {
    type State = Found;
    type Answer = PositionsAnswer;

    fn tables(&self) -> &'static [Table] {
        &[Table::Spells, Table::Games, Table::Moves]
    }

    fn keep(&self, dataset: &Dataset, found: &mut Found) -> Result<(), AskError> {
        found.games = KeptGames::read(dataset, &found.keys())?;
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Found, AskError> {
        match dataset.part(Table::Spells, id) {
            Some(part) => Found::of(self, &part),
            None => Ok(Found::default()),
        }
    }

    fn answer(&self, dataset: &Dataset, found: &Found) -> Result<PositionsAnswer, AskError> {
        let positions = replayed::positions(dataset, &found.games, &found.first)?;
        let mut notes = Vec::new();
        let shown = positions.len() as u64;
        if shown < found.number {
            notes.push(format!(
                "{} are listed of {}: ask for more with `count`, or for fewer with more conditions.",
                words::counted(shown, "position"),
                words::count(found.number)
            ));
        }
        notes.extend(scan_notes(dataset));
        Ok(PositionsAnswer {
            format: FORMAT,
            about: PositionSearch::ABOUT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            question: self.texts(),
            search: self.clone(),
            dataset: dataset.summary().clone(),
            found: found.number,
            positions,
            notes,
        })
    }
}

impl Reported for PositionsAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }

    fn columns() -> Vec<ColumnText> {
        report::columns().texts()
    }
}
