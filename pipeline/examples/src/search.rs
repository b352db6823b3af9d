//! Candidates looked at on the board, and the games and positions shown so far: none is shown
//! twice, be it that the archive holds a game twice or that two games share a position.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use rayon::prelude::*;

use crate::course::Course;
use crate::played::Played;
use crate::restraint::Restraint;
use crate::rule::{self, Fault};
use crate::shown_games::{KeptGames, Key, ShownGames};

/// Candidates of a list looked at on the board before the search for more is given up.
pub const MOST_TRIED: usize = 400;

/// Candidates played through at a time.
const AT_A_TIME: usize = 16;

/// A candidate that was looked at on the board.
pub struct Tried<'a> {
    /// What the table says.
    pub spell: &'a Restraint,
    /// Its game.
    pub played: Played,
    /// Its course.
    pub course: Course,
    /// What speaks against it as a clear loss.
    pub faults: Vec<Fault>,
}

impl Tried<'_> {
    /// The clearest first: the fewest faults, the most points, the first in the archive.
    pub fn order(&self) -> impl Ord + use<> {
        let points = rule::points_of_loss(&self.course, self.spell);
        (self.faults.len(), -points, self.spell.place())
    }

    /// Whether it shows plainly that the piece was lost for want of squares.
    pub fn is_clear(&self) -> bool {
        self.spell.may_show_loss() && self.faults.is_empty()
    }
}

/// Games of candidates.
pub struct Search {
    games: ShownGames,
    shown_games: BTreeSet<Key>,
    shown_positions: BTreeSet<String>,
}

impl Search {
    /// Finds the games of these candidates, among those kept or in the tables.
    ///
    /// # Errors
    ///
    /// Where the tables of games and moves cannot be read.
    pub fn new<'a>(
        dataset: &Dataset,
        kept: &KeptGames,
        candidates: impl IntoIterator<Item = &'a Restraint>,
    ) -> Result<Search, AskError> {
        let wanted: BTreeSet<Key> = candidates.into_iter().map(Restraint::key).collect();
        Ok(Search {
            games: ShownGames::of(dataset, kept, &wanted)?,
            shown_games: BTreeSet::new(),
            shown_positions: BTreeSet::new(),
        })
    }

    /// Whether the game of a candidate is among those found.
    pub fn knows(&self, spell: &Restraint) -> bool {
        self.games.knows(&spell.key())
    }

    /// The game of a spell, played through.
    ///
    /// # Errors
    ///
    /// Where it is missing, or its moves cannot be played.
    pub fn played(&self, spell: &Restraint) -> Result<Played, AskError> {
        self.games.played(&spell.key(), "spells")
    }

    /// Plays a candidate's game.
    ///
    /// # Errors
    ///
    /// Where its game is missing or does not agree with the table of spells.
    pub fn try_out<'a>(&self, spell: &'a Restraint) -> Result<Tried<'a>, AskError> {
        let played = self.played(spell)?;
        let course = Course::of(&played, spell)?;
        let faults = rule::faults_of_loss(&course, spell);
        Ok(Tried {
            spell,
            played,
            course,
            faults,
        })
    }

    /// Candidates that pass, in their order, until there are enough: a few more may come.
    ///
    /// # Errors
    ///
    /// As [`Search::try_out`].
    pub fn passing<'a>(
        &self,
        candidates: impl IntoIterator<Item = &'a Restraint>,
        enough: usize,
        passes: impl Fn(&Tried<'_>) -> bool + Sync,
    ) -> Result<Vec<Tried<'a>>, AskError> {
        let candidates: Vec<&Restraint> = candidates.into_iter().take(MOST_TRIED).collect();
        let mut found = Vec::new();
        for spells in candidates.chunks(AT_A_TIME) {
            if found.len() >= enough {
                break;
            }
            let tried: Vec<Option<Tried<'_>>> = spells
                .par_iter()
                .map(|spell| Ok(Some(self.try_out(spell)?).filter(&passes)))
                .collect::<Result<_, AskError>>()?;
            found.extend(tried.into_iter().flatten());
        }
        Ok(found)
    }

    /// Whether neither the game nor the position was shown before; from now on both are.
    pub fn take(&mut self, tried: &Tried<'_>) -> bool {
        let position = rule::recognised(&tried.course.before);
        let new = !self.shown_games.contains(&tried.spell.key())
            && !self.shown_positions.contains(&position);
        if new {
            self.shown_games.insert(tried.spell.key());
            self.shown_positions.insert(position);
        }
        new
    }
}
