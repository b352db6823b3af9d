//! Counts of each side of the games of a part, by kind and phase.
//!
//! Rows of a game mostly stand together, so that its counts are found where the last ones were put. What
//! is kept grows with the games of a part, not with the archive.

use std::ops::AddAssign;

use super::games::Games;
use hobble_conditions::terms::{Kind, Phase};

/// Kinds of pieces, and pawns with kings.
const KINDS: usize = Kind::COUNT + 1;

/// Sorts of counts that a game may have.
const SORTS: usize = 2 * KINDS * Phase::COUNT;

/// Which counts of a game.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Of {
    /// Number of the colour.
    pub color: u8,
    /// Number of the kind.
    pub kind: u8,
    /// The phase.
    pub phase: Phase,
}

impl Of {
    /// Its number among the sorts of counts of a game.
    fn number(self) -> usize {
        let kind = usize::from(self.color) * KINDS + usize::from(self.kind);
        kind * Phase::COUNT + self.phase as usize
    }
}

/// Counts of a side of a game, of one kind in one phase.
#[derive(Debug, Clone, Copy)]
pub struct Entry<T> {
    game: u32,
    /// Of which side, kind and phase.
    pub of: Of,
    /// The counts.
    pub counts: T,
}

/// No place.
const NOWHERE: usize = usize::MAX;

/// Counts of the sides of games as rows come in.
#[derive(Debug, Clone)]
pub struct Incoming<T> {
    entries: Vec<Entry<T>>,
    /// The game whose rows come.
    game: Option<u32>,
    /// Where its entries stand; [`NOWHERE`] where it has none.
    places: [usize; SORTS],
}

impl<T> Default for Incoming<T> {
    fn default() -> Self {
        Incoming {
            entries: Vec::new(),
            game: None,
            places: [NOWHERE; SORTS],
        }
    }
}

impl<T: Copy + AddAssign> Incoming<T> {
    /// Adds counts of a game.
    pub fn add(&mut self, game: u32, of: Of, counts: T) {
        if self.game != Some(game) {
            (self.game, self.places) = (Some(game), [NOWHERE; SORTS]);
        }
        let place = &mut self.places[of.number()];
        if let Some(entry) = self.entries.get_mut(*place) {
            entry.counts += counts;
        } else {
            *place = self.entries.len();
            self.entries.push(Entry { game, of, counts });
        }
    }

    /// Adds the counts of other rows.
    pub fn append(&mut self, other: Incoming<T>) {
        self.game = None;
        if self.entries.is_empty() {
            self.entries = other.entries;
        } else {
            self.entries.extend(other.entries);
        }
    }

    /// The counts by game. Runs of rows mostly stand in the order of the games already, which makes
    /// sorting quick.
    pub fn by_game(mut self) -> PerSide<T> {
        self.entries.sort_by_key(|one| one.game);
        PerSide {
            entries: self.entries,
        }
    }
}

/// Counts by group of games, kind and phase.
pub type ByGroup<T, const KINDS: usize> = Vec<[[T; Phase::COUNT]; KINDS]>;

/// Counts of the sides of games, in the order of the games. Counts of 0 may be missing, and others may
/// stand in several entries.
#[derive(Debug, Clone)]
pub struct PerSide<T> {
    entries: Vec<Entry<T>>,
}

impl<T> Default for PerSide<T> {
    fn default() -> Self {
        PerSide {
            entries: Vec::new(),
        }
    }
}

impl<T: Copy + Default + AddAssign> PerSide<T> {
    /// The counts of a game's sides.
    pub fn of_game(&self, game: u32) -> &[Entry<T>] {
        let first = self.entries.partition_point(|one| one.game < game);
        let of_game = &self.entries[first..];
        let number = of_game.iter().take_while(|one| one.game == game).count();
        &of_game[..number]
    }

    /// The counts of games added up by group; a kind beyond `KINDS` is left out.
    pub fn by_group<const KINDS: usize>(&self, games: &Games) -> ByGroup<T, KINDS> {
        let mut groups = vec![[[T::default(); Phase::COUNT]; KINDS]; games.groups.len()];
        for Entry { game, of, counts } in &self.entries {
            let group = games.group(*game, of.color.into());
            let kinds = group.and_then(|group| groups.get_mut(group));
            if let Some(phases) = kinds.and_then(|kinds| kinds.get_mut(usize::from(of.kind))) {
                phases[of.phase as usize] += *counts;
            }
        }
        groups
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn of(kind: u8) -> Of {
        Of {
            color: 0,
            kind,
            phase: Phase::Opening,
        }
    }

    fn counts(per_side: &PerSide<u32>, game: u32) -> Vec<(u8, u32)> {
        let mut sums = BTreeMap::new();
        for one in per_side.of_game(game) {
            *sums.entry(one.of.kind).or_default() += one.counts;
        }
        sums.into_iter().collect()
    }

    #[test]
    fn counts_of_a_game_are_found_again() {
        let mut first = Incoming::default();
        for (game, kind, number) in [(3, 1, 5), (3, 0, 1), (3, 1, 2), (7, 1, 4)] {
            first.add(game, of(kind), number);
        }
        assert_eq!(first.entries.len(), 3);
        let mut later = Incoming::default();
        for (game, kind, number) in [(7, 1, 1), (7, 2, 9), (8, 0, 6)] {
            later.add(game, of(kind), number);
        }
        first.append(later);
        let per_side = first.by_game();
        assert_eq!(counts(&per_side, 3), [(0, 1), (1, 7)]);
        assert_eq!(counts(&per_side, 7), [(1, 5), (2, 9)]);
        assert_eq!(counts(&per_side, 8), [(0, 6)]);
        assert_eq!(counts(&per_side, 5), []);
    }

    #[test]
    fn rows_of_a_game_may_stand_apart() {
        let mut incoming = Incoming::default();
        for (game, number) in [(7, 1), (3, 2), (5, 4), (3, 8)] {
            incoming.add(game, of(0), number);
        }
        let per_side = incoming.by_game();
        let found = [3, 5, 7].map(|game| counts(&per_side, game));
        assert_eq!(found, [[(0, 10)], [(0, 4)], [(0, 1)]]);
    }

    #[test]
    fn sorts_of_counts_have_numbers_of_their_own() {
        let mut numbers = Vec::new();
        for color in 0..2 {
            for kind in 0..KINDS as u8 {
                numbers.extend(Phase::ALL.map(|phase| Of { color, kind, phase }.number()));
            }
        }
        assert_eq!(numbers, (0..SORTS).collect::<Vec<_>>());
    }
}
