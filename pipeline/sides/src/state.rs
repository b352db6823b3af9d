//! What is counted for a question about sides: `part -> state` and `state + state`.

use hobble_conditions::AskError;
use hobble_conditions::sum;
use hobble_dataset::part::{self, Part};
use hobble_dataset::{Dataset, PartId};
use hobble_examples::KeptGames;
use hobble_terms::Table;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::account::Account;
use super::candidates::Candidates;
use super::cells::{Cells, Counts};
use super::changes::Changes;
use super::file::SideQuestion;
use super::games::Games;
use super::level::{MOST, Measure};
use super::numbers::Sums;
use super::observation::Observation;
use super::plies::Reading;
use super::position::{self, Position};
use super::stratum::Stratum;

/// Counts for a question. Its size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// How many positions were met, counted and left out.
    pub account: Account,
    /// Positions by measure, level, stratum and fold.
    pub cells: Cells,
    /// Games with a position of each level, by measure.
    pub games: [[u64; MOST]; Measure::COUNT],
    /// Sums for linear models.
    pub sums: Sums,
    /// Squares three moves before and now.
    pub changes: Changes,
    /// Positions that may be shown.
    pub candidates: Candidates,
    /// Their games, in a state that is written.
    pub shown: KeptGames,
}

impl State {
    /// Counts a part.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable, or the tables do not agree.
    pub fn of(question: &SideQuestion, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        // A part without a game that is kept has none of these.
        let (Some(turns), Some(moves), Some(games)) = (
            dataset.part(Table::Turns, id),
            dataset.part(Table::Moves, id),
            dataset.part(Table::Games, id),
        ) else {
            return Ok(State::default());
        };
        let (read, games) =
            rayon::join(|| position::read(question, &turns), || Games::read(&games));
        let ((positions, account), games) = (read?, games?);
        let mut state = of_moves(question, &positions, &moves, &games)?;
        state.account.add(&Account {
            not_quiet: positions.len() as u64 - state.account.counted,
            ..account
        });
        Ok(state)
    }

    /// Adds the positions of a game.
    pub(crate) fn game(&mut self, source: &str, observations: &[Observation]) {
        if observations.is_empty() {
            return;
        }
        self.account.games += 1;
        let mut seen = [[false; MOST]; Measure::COUNT];
        for observation in observations {
            self.count(observation, &mut seen);
            self.candidates.count(source, observation);
        }
        for (games, seen) in self.games.iter_mut().flatten().zip(seen.iter().flatten()) {
            *games += u64::from(*seen);
        }
    }

    fn count(&mut self, observation: &Observation, seen: &mut [[bool; MOST]; Measure::COUNT]) {
        let position = &observation.position;
        let folds = [position.fold, observation.player];
        let stratum = Stratum::of(observation);
        let counts = Counts {
            positions: 1,
            half_points: position.half_points.into(),
            lost: observation.lost.into(),
        };
        for measure in Measure::ALL {
            let value = match measure {
                Measure::Scope => observation.scope(),
                Measure::Held => position.held.into(),
                Measure::Restrained => position.restrained.into(),
            };
            let level = measure.level(value);
            seen[measure as usize][level] = true;
            self.cells.count(stratum, measure, level, folds, counts);
        }
        self.sums.count(observation, folds);
        if let Some(before) = observation.before {
            let now = observation.scope();
            self.changes.count(before, now, folds, position.half_points);
        }
        self.account.counted += 1;
    }
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        self.account.add(&other.account);
        self.cells.add(other.cells);
        let games = self.games.iter_mut().flatten();
        for (sum, games) in games.zip(other.games.iter().flatten()) {
            *sum += games;
        }
        self.sums.add(&other.sums);
        self.changes.add(&other.changes);
        self.candidates.add(other.candidates);
        self.shown.add(other.shown, || self.candidates.games());
    }
}

/// Follows the games that have positions, and counts those after a quiet ply.
fn of_moves(
    question: &SideQuestion,
    positions: &[Position],
    moves: &Part,
    games: &Games,
) -> Result<State, AskError> {
    let of_game = |game: u32| {
        let from = positions.partition_point(|position| position.game < game);
        let behind = positions[from..].partition_point(|position| position.game == game);
        &positions[from..from + behind]
    };
    if !positions.is_sorted_by_key(|position| (position.game, position.ply)) {
        let what = format!("the turns of {} are not in order", moves.id());
        return Err(AskError::bad_table(Table::Turns, what));
    }
    let groups = moves.groups()?;
    let reading = Reading {
        part: moves,
        groups: &groups,
        games,
        plies: question.to_ply.saturating_add(2 * question.within as u16),
    };
    let length = part::run_length(groups.len());
    let starts: Vec<usize> = (0..groups.len()).step_by(length).collect();
    // Runs that one thread counts one after the other share a state.
    let (state, followed) = starts
        .into_par_iter()
        .try_fold(
            Default::default,
            |(mut state, mut followed): (State, usize), start| {
                let run = start..(start + length).min(groups.len());
                let mut observations = Vec::new();
                let wanted = |game| !of_game(game).is_empty();
                reading.games_of_run(run, wanted, |number, game, reached| {
                    observations.clear();
                    followed += of_game(number).len();
                    for position in of_game(number) {
                        let seen = Observation::of(*position, game, reached, question.within)?;
                        observations.extend(seen);
                    }
                    state.game(moves.source(), &observations);
                    Ok(())
                })?;
                Ok::<_, AskError>((state, followed))
            },
        )
        .try_reduce(Default::default, |mut sum, part| {
            sum::State::add(&mut sum.0, part.0);
            Ok((sum.0, sum.1 + part.1))
        })?;
    if followed < positions.len() {
        let missing = positions.len() - followed;
        let what = format!(
            "{missing} turns of {} are of games that are not there",
            moves.id()
        );
        return Err(AskError::bad_table(Table::Moves, what));
    }
    Ok(state)
}
