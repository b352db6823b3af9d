//! Counts of spells and chances, side by side: the player's game by game, the peers' by cell and fold.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::Habits;
use crate::count::{COUNTS, Count, Counts};
use crate::missed_chances::Missed;
use crate::own_spells::OwnSpell;
use crate::prevention::Restraining;
use crate::sides::{NOT_COUNTED, OWN, Places, own_game};
use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::part::{self, Group, Part};
use hobble_terms::Table;

/// Longer spells are counted together.
pub const TURNS: usize = 64;

/// Spells by their number of turns; the last place is for that many and more.
pub type Turns = [u64; TURNS + 1];

/// What is counted.
#[derive(Debug, Clone)]
pub struct Tally {
    /// The player's games.
    pub own: Vec<Counts>,
    /// The opponents' sides of the same games.
    pub opponents: Vec<Counts>,
    /// Turns of the player's spells.
    pub own_turns: Turns,
    /// Turns of the opponents' spells in the same games.
    pub opponent_turns: Turns,
    /// The player's spells, in the order of the tables.
    pub spells: Vec<OwnSpell>,
    /// The player's chances not taken that may be shown, in the order of the tables.
    pub missed: Vec<Missed>,
    /// Restraining moves of the opponents against the player's pieces, likewise.
    pub restraining: Vec<Restraining>,
    /// Peers by cell and fold: place cell × 64 + fold.
    pub peers: Vec<Counts>,
    /// Turns of the peers' spells, by cell.
    pub peer_turns: Vec<Turns>,
}

impl Tally {
    /// Nothing counted yet, for so many games of the player and so many cells of peers.
    pub(crate) fn new(own: usize, cells: usize) -> Tally {
        Tally {
            own: vec![[0; COUNTS]; own],
            opponents: vec![[0; COUNTS]; own],
            own_turns: [0; TURNS + 1],
            opponent_turns: [0; TURNS + 1],
            spells: Vec::new(),
            missed: Vec::new(),
            restraining: Vec::new(),
            peers: vec![[0; COUNTS]; cells * 64],
            peer_turns: vec![[0; TURNS + 1]; cells],
        }
    }

    /// Whether any chance was counted on either side.
    pub fn has_chances(&self) -> bool {
        let mut all = self.own.iter().chain(&self.peers);
        all.any(|counts| counts[Count::Chances as usize] > 0)
    }

    /// Counts something of a side of a game for the player or the opponent whose side it is, and for
    /// the peer; `places` are the player's and the peers' of White and Black.
    pub(crate) fn count_of_side(
        &mut self,
        [own, peers]: [[u32; 2]; 2],
        side: usize,
        count: impl Fn(&mut Counts),
    ) {
        if let Some(number) = own_game(own[side]) {
            count(&mut self.own[number]);
        }
        if let Some(number) = own_game(own[1 - side]) {
            count(&mut self.opponents[number]);
        }
        if peers[side] < OWN {
            count(&mut self.peers[peers[side] as usize]);
        }
    }

    /// Both together.
    pub(crate) fn add(mut self, other: Tally) -> Tally {
        let sum = |to: &mut [u64], from: &[u64]| {
            for (to, from) in to.iter_mut().zip(from) {
                *to += from;
            }
        };
        for (to, from) in self.own.iter_mut().zip(&other.own) {
            sum(to, from);
        }
        for (to, from) in self.opponents.iter_mut().zip(&other.opponents) {
            sum(to, from);
        }
        for (to, from) in self.peers.iter_mut().zip(&other.peers) {
            sum(to, from);
        }
        for (to, from) in self.peer_turns.iter_mut().zip(&other.peer_turns) {
            sum(to, from);
        }
        sum(&mut self.own_turns, &other.own_turns);
        sum(&mut self.opponent_turns, &other.opponent_turns);
        self.spells.extend(other.spells);
        self.missed.extend(other.missed);
        self.restraining.extend(other.restraining);
        self
    }
}

/// Whose sides are counted of one dataset.
pub(crate) struct Counted<'a> {
    pub habits: &'a Habits,
    pub dataset: &'a Dataset,
    /// The player's sides, and the peers', by source.
    pub places: [&'a BTreeMap<String, Places>; 2],
    /// Nothing counted yet.
    pub empty: &'a Tally,
}

impl Counted<'_> {
    /// What is tallied of the row groups of a table; `in_group` has the places of the player's sides
    /// and of the peers' in their source. Parts of sources with neither are not read.
    pub fn tally(
        &self,
        table: Table,
        in_group: impl Fn(&Part, Group, [&Places; 2], &mut Tally) -> Result<(), AskError> + Sync,
    ) -> Result<Tally, AskError> {
        let (places, empty) = (self.places, self.empty);
        let mut parts = self.dataset.parts(table)?;
        parts.retain(|part| places.iter().any(|of| of.contains_key(part.source())));
        let groups = part::groups(&parts)?;
        let none = Places::default();
        groups
            .par_chunks(part::run_length(groups.len()))
            .map(|run| {
                let mut tally = empty.clone();
                for &(number, group) in run {
                    let part = &parts[number];
                    let places = places.map(|of| of.get(part.source()).unwrap_or(&none));
                    in_group(part, group, places, &mut tally)?;
                }
                Ok(tally)
            })
            .try_reduce(|| empty.clone(), |a, b| Ok(a.add(b)))
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
