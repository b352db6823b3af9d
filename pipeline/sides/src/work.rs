//! From a question to its answer: every part counted, the counts added up, the figures made.

use hobble_conditions::AskError;
use hobble_conditions::counted;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::Sum;
use hobble_dataset::{Dataset, PartId};
use hobble_examples::KeptGames;
use hobble_report::sections::scan_notes;
use hobble_report::{ColumnText, Report, Reported};
use hobble_statistics::LEVEL;
use hobble_terms::Table;
use rayon::prelude::*;

use super::answer::{SidesAnswer, Window};
use super::boards;
use super::compare::{self, WINDOW, WINDOWS};
use super::file::SideQuestion;
use super::level::Measure;
use super::state::State;
use super::verdict::Verdict;
use super::{FORMAT, methods, models, report, sentences};

/// Answers a question from a dataset.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn answer(dataset: &Dataset, question: &SideQuestion) -> Result<SidesAnswer, AskError> {
    counted::answer(question, dataset)
}

impl Reported for SidesAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }

    fn columns() -> Vec<ColumnText> {
        report::texts()
    }
}

impl Sum for SideQuestion {
    type State = State;
    type Answer = SidesAnswer;

    fn tables(&self) -> &'static [Table] {
        &[Table::Games, Table::Moves, Table::Turns]
    }

    fn keep(&self, dataset: &Dataset, state: &mut State) -> Result<(), AskError> {
        state.shown = KeptGames::read(dataset, &state.candidates.games())?;
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        State::of(self, dataset, id)
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<SidesAnswer, AskError> {
        let levels = |measure: Measure| {
            let games = &state.games[measure as usize];
            compare::levels(&state.cells, measure, games)
        };
        let figures = || {
            let measures: Vec<_> = Measure::ALL.into_par_iter().map(levels).collect();
            (measures, windows(self, state))
        };
        let of_models = || (models::fit(&state.sums), models::taking(&state.sums));
        let shown = || boards::examples(dataset, &state.candidates, &state.shown);
        let ((figures, models), examples) = rayon::join(|| rayon::join(figures, of_models), shown);
        let ((measures, windows), (models, taking)) = (figures, models);
        let [scope, held, restrained] = <[_; Measure::COUNT]>::try_from(measures)
            .unwrap_or_else(|_| std::array::from_fn(|_| Vec::new()));
        let mut answer = SidesAnswer {
            format: FORMAT,
            about: SideQuestion::ABOUT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            question: self.clone(),
            level: LEVEL,
            sample: dataset.parameters().sample.get(),
            account: state.account,
            verdict: Verdict::of(state.account.counted, &scope, &models),
            sentences: Vec::new(),
            scope,
            held,
            restrained,
            windows,
            models,
            taking,
            changes: state.changes.scores(),
            examples: examples?,
            methods: methods::methods(self),
            dataset: dataset.summary().clone(),
            notes: Vec::new(),
        };
        answer.sentences = sentences::sentences(&answer);
        answer.notes = methods::notes(&answer);
        answer.notes.extend(scan_notes(dataset));
        Ok(answer)
    }
}

/// The curves of the ten-ply windows that lie among the asked plies.
fn windows(question: &SideQuestion, state: &State) -> Vec<Window> {
    let there = |from: &u16| question.from_ply <= *from && from + WINDOW - 1 <= question.to_ply;
    let asked: Vec<(Measure, u16)> = [Measure::Scope, Measure::Held]
        .into_iter()
        .flat_map(|measure| WINDOWS.map(|from| (measure, from)))
        .filter(|(_, from)| there(from))
        .collect();
    asked
        .into_par_iter()
        .map(|(measure, from_ply)| Window {
            from_ply,
            to_ply: from_ply + WINDOW - 1,
            measure,
            levels: compare::window(&state.cells, measure, from_ply),
        })
        .collect()
}
