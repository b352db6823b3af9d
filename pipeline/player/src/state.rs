//! What is counted once the player's games are known: of them, and of the peers in the same part.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_conditions::sum;
use hobble_dataset::{Dataset, PartId};
use hobble_examples::{KeptGames, Key};
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

use crate::Habits;
use crate::count::Count;
use crate::own::{Own, OwnGame};
use crate::peer_counts::PeerCounts;
use crate::peer_sides::{PeersAsked, PeersOfPart};
use crate::sides::{OWN, Places};
use crate::tally::{Counted, OwnCounts, Tally};
use crate::{chances, piece_turns, spells};

/// What is counted of the player's games and of the peers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct State {
    /// Of the player's games. It grows with their number.
    pub own: OwnCounts,
    /// Of peers in the same tables.
    pub peers: PeerCounts,
    /// The player's games that may be shown, in a state that is written.
    pub games: KeptGames,
}

impl sum::State for State {
    fn add(&mut self, other: State) {
        self.own.add(other.own);
        self.peers.add(other.peers);
        self.games.extend(other.games);
    }
}

impl State {
    /// Tables that are counted.
    pub const TABLES: &[Table] = &[Table::Games, Table::Spells];

    /// Tables that are counted where they are there.
    pub const OPTIONAL: &[Table] = &[Table::Decisions, Table::Turns];

    /// Counts a part; `own` are all games of the player in the order of the tables. Peers are
    /// counted where they are asked for.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable or not of its schema.
    pub(crate) fn of(
        habits: &Habits,
        dataset: &Dataset,
        id: &PartId,
        own: &[OwnGame],
        peers: Option<&PeersAsked>,
    ) -> Result<State, AskError> {
        let peers = match (peers, dataset.part(Table::Games, id)) {
            (Some(peers), Some(part)) => peers.in_part(dataset, &part)?,
            _ => PeersOfPart::default(),
        };
        let (mut tally, mut places) = (Tally::default(), Places::default());
        let first = own.partition_point(|game| game.part < *id);
        let of_part = own[first..].iter().take_while(|game| game.part == *id);
        for (number, game) in (first..).zip(of_part) {
            let side = usize::from(!game.cell.white);
            places.set(game.game, side, OWN + number as u32);
            let counts = tally.of_game(number);
            counts.own[Count::Games as usize] = 1;
            counts.opponent[Count::Games as usize] = 1;
        }
        for (&place, &sides) in &peers.sides {
            tally.of_peers(place)[Count::Games as usize] = sides;
        }
        let counted = Counted {
            habits,
            dataset,
            id,
            places: [&places, &peers.places],
        };
        if !tally.own.games.is_empty() || !tally.peers.is_empty() {
            tally.add(spells::count(&counted)?);
            tally.add(chances::count(&counted)?);
            tally.add(piece_turns::count(&counted)?);
        }
        let (counts, turns) = (tally.peers, tally.peer_turns);
        Ok(State {
            own: tally.own,
            peers: PeerCounts::of(&peers.cells, peers.names, counts, turns),
            games: KeptGames::default(),
        })
    }

    /// The player's games that may be shown: those with something that is counted one by one.
    pub(crate) fn to_show(&self, own: &Own) -> BTreeSet<Key> {
        let counts = &self.own;
        let spells = counts.spells.iter().map(|one| one.game);
        let missed = counts.missed.iter().map(|one| one.game);
        let restraining = counts.restraining.iter().map(|one| one.game);
        let numbers: BTreeSet<usize> = spells.chain(missed).chain(restraining).collect();
        numbers
            .iter()
            .map(|number| own.games[*number].key())
            .collect()
    }

    /// Whether any chance was counted on either side.
    pub fn has_chances(&self, peers: &PeerCounts) -> bool {
        let own = self.own.games.values().map(|game| &game.own);
        let folds = peers.cells.values().flat_map(|cell| cell.folds.values());
        let mut all = own.chain(folds.map(|fold| &fold.0));
        all.any(|counts| counts[Count::Chances as usize] > 0)
    }
}
