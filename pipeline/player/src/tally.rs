//! Counts of spells and chances, side by side: the player's game by game, the peers' by cell and fold.

use std::collections::BTreeMap;

use rayon::prelude::*;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use crate::Habits;
use crate::count::{COUNTS, Counts};
use crate::own_spells::OwnSpell;
use crate::sides::{NOT_COUNTED, OWN, Places, own_game};
use crate::to_show::{Missed, Restraining};
use hobble_conditions::AskError;
use hobble_conditions::sum::array;
use hobble_dataset::part::{Group, Part};
use hobble_dataset::{Dataset, PartId};
use hobble_terms::{FOLDS, Table};

/// Longer spells are counted together.
pub const TURNS: usize = 64;

/// Spells by their number of turns; the last place is for that many and more.
pub type Turns = [u64; TURNS + 1];

/// What is counted of one of the player's games.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct GameCounts {
    /// Of the player's side.
    #[serde(with = "array")]
    pub own: Counts,
    /// Of the opponent's.
    #[serde(with = "array")]
    pub opponent: Counts,
}

impl Default for GameCounts {
    fn default() -> GameCounts {
        GameCounts {
            own: [0; COUNTS],
            opponent: [0; COUNTS],
        }
    }
}

/// What is counted of the player's games.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnCounts {
    /// By the number of the game.
    pub games: BTreeMap<usize, GameCounts>,
    /// Turns of the player's spells.
    #[serde(with = "array")]
    pub turns: Turns,
    /// Turns of the opponents' spells in the same games.
    #[serde(with = "array")]
    pub opponent_turns: Turns,
    /// The player's spells, sorted.
    pub spells: Vec<OwnSpell>,
    /// The player's chances not taken that may be shown, sorted.
    pub missed: Vec<Missed>,
    /// Restraining moves of the opponents against the player's pieces, sorted.
    pub restraining: Vec<Restraining>,
}

impl Default for OwnCounts {
    fn default() -> OwnCounts {
        OwnCounts {
            games: BTreeMap::new(),
            turns: [0; TURNS + 1],
            opponent_turns: [0; TURNS + 1],
            spells: Vec::new(),
            missed: Vec::new(),
            restraining: Vec::new(),
        }
    }
}

impl OwnCounts {
    pub(crate) fn add(&mut self, other: OwnCounts) {
        for (game, counts) in other.games {
            let sum = self.games.entry(game).or_default();
            add(&mut sum.own, &counts.own);
            add(&mut sum.opponent, &counts.opponent);
        }
        add(&mut self.turns, &other.turns);
        add(&mut self.opponent_turns, &other.opponent_turns);
        self.spells.extend(other.spells);
        self.spells
            .sort_by_key(|spell| (spell.game, spell.start_ply, spell.piece));
        self.missed.extend(other.missed);
        self.missed
            .sort_by(|a, b| (a.game, a.ply, &a.square).cmp(&(b.game, b.ply, &b.square)));
        self.restraining.extend(other.restraining);
        self.restraining.sort();
    }
}

/// What is counted in some rows of a part.
#[derive(Debug, Default)]
pub(crate) struct Tally {
    /// The player's games.
    pub own: OwnCounts,
    /// Sides of peers by place: number of the cell × 64 + fold.
    pub peers: FxHashMap<u32, Counts>,
    /// Turns of the peers' spells, by number of the cell.
    pub peer_turns: FxHashMap<u32, Turns>,
}

impl Tally {
    /// The counts of one of the player's games.
    pub fn of_game(&mut self, number: usize) -> &mut GameCounts {
        self.own.games.entry(number).or_default()
    }

    /// The counts of peers in a place.
    pub fn of_peers(&mut self, place: u32) -> &mut Counts {
        self.peers.entry(place).or_insert([0; COUNTS])
    }

    /// The turns of the peers' spells in the cell of a place.
    pub fn turns_of_peers(&mut self, place: u32) -> &mut Turns {
        let cell = place / FOLDS as u32;
        self.peer_turns.entry(cell).or_insert([0; TURNS + 1])
    }

    /// Counts something of a side of a game for the player or the opponent whose side it is, and for
    /// the peer; `places` are the player's and the peers' of White and Black.
    pub fn count_of_side(
        &mut self,
        [own, peers]: [[u32; 2]; 2],
        side: usize,
        count: impl Fn(&mut Counts),
    ) {
        if let Some(number) = own_game(own[side]) {
            count(&mut self.of_game(number).own);
        }
        if let Some(number) = own_game(own[1 - side]) {
            count(&mut self.of_game(number).opponent);
        }
        if peers[side] < OWN {
            count(self.of_peers(peers[side]));
        }
    }

    /// Adds what was counted in other rows.
    pub fn add(&mut self, other: Tally) {
        self.own.add(other.own);
        for (place, counts) in other.peers {
            add(self.of_peers(place), &counts);
        }
        for (cell, turns) in other.peer_turns {
            add(
                self.peer_turns.entry(cell).or_insert([0; TURNS + 1]),
                &turns,
            );
        }
    }
}

/// Adds each number to the one in its place.
pub fn add(to: &mut [u64], from: &[u64]) {
    for (to, from) in to.iter_mut().zip(from) {
        *to += from;
    }
}

/// Whose sides are counted of one part.
pub(crate) struct Counted<'a> {
    pub habits: &'a Habits,
    pub dataset: &'a Dataset,
    pub id: &'a PartId,
    /// The player's sides, and the peers'.
    pub places: [&'a Places; 2],
}

impl Counted<'_> {
    /// What is tallied of the row groups of a table; nothing where it was not written. The rows of all
    /// sides are read: what is counted of a side is in part what the other did.
    pub fn tally(
        &self,
        table: Table,
        in_group: impl Fn(&Part, Group, [&Places; 2], &mut Tally) -> Result<(), AskError> + Sync,
    ) -> Result<Tally, AskError> {
        let Some(part) = self.dataset.part(table, self.id) else {
            return Ok(Tally::default());
        };
        let part = part.of_all_sides();
        part.groups()?
            .into_par_iter()
            .try_fold(Tally::default, |mut tally, group| {
                in_group(&part, group, self.places, &mut tally)?;
                Ok(tally)
            })
            .try_reduce(Tally::default, |mut sum, other| {
                sum.add(other);
                Ok(sum)
            })
    }
}

/// Whether a row group holds games of the player; `None` where it holds none of the peers' either.
/// Most groups of a big archive hold none of the player's: one column is enough to know.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub(crate) fn holds_own(
    part: &Part,
    group: Group,
    [own, peers]: [&Places; 2],
) -> Result<Option<bool>, AskError> {
    let (mut any_own, mut any_peers) = (false, false);
    for rows in part.read(&["game"], group)? {
        for game in rows?.fours("game")?.chunk_by(|a, b| a == b) {
            let game = u64::from(game[0]);
            any_own |= own.of(game) != [NOT_COUNTED; 2];
            any_peers |= peers.of(game) != [NOT_COUNTED; 2];
        }
    }
    Ok((any_own || any_peers).then_some(any_own))
}
