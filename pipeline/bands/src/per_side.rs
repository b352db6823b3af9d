//! Counts of each side of the games of a part, by kind and phase.
//!
//! Rows of a table stand in the order of the games, so that the counts of a game are found where the
//! last ones were put. What is kept grows with the games of a part, not with the archive.

use std::ops::AddAssign;

use super::games::Games;
use hobble_conditions::terms::Phase;

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

/// Counts of a side of a game, of one kind in one phase.
#[derive(Debug, Clone, Copy)]
pub struct Entry<T> {
    game: u32,
    /// Of which side, kind and phase.
    pub of: Of,
    /// The counts.
    pub counts: T,
}

/// Counts by group of games, kind and phase.
pub type ByGroup<T, const KINDS: usize> = Vec<[[T; Phase::COUNT]; KINDS]>;

/// Counts of the sides of games, in the order of the games; those that are 0 may be missing.
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
    /// Adds counts of a game.
    pub fn add(&mut self, game: u32, of: Of, counts: T) {
        let end = match self.entries.last() {
            Some(last) if last.game > game => self.entries.partition_point(|one| one.game <= game),
            _ => self.entries.len(),
        };
        let of_game = self.entries[..end].iter_mut().rev();
        let mut of_game = of_game.take_while(|one| one.game == game);
        match of_game.find(|one| one.of == of) {
            Some(one) => one.counts += counts,
            None => self.entries.insert(end, Entry { game, of, counts }),
        }
    }

    /// Adds the counts of other rows, which come later in the table.
    pub fn append(&mut self, later: PerSide<T>) {
        let last = self.entries.last().map(|one| one.game);
        // A game may begin in these rows and go on in the later ones.
        let shared = later.entries.partition_point(|one| Some(one.game) <= last);
        for one in &later.entries[..shared] {
            self.add(one.game, one.of, one.counts);
        }
        self.entries.extend_from_slice(&later.entries[shared..]);
    }

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
    use super::*;

    fn of(kind: u8) -> Of {
        Of {
            color: 0,
            kind,
            phase: Phase::Opening,
        }
    }

    fn counts(per_side: &PerSide<u32>, game: u32) -> Vec<(u8, u32)> {
        let of_game = per_side.of_game(game).iter();
        let mut counts: Vec<(u8, u32)> = of_game.map(|one| (one.of.kind, one.counts)).collect();
        counts.sort_unstable();
        counts
    }

    #[test]
    fn counts_of_a_game_are_found_again() {
        let mut first = PerSide::default();
        for (game, kind, number) in [(3, 1, 5), (3, 0, 1), (3, 1, 2), (7, 1, 4)] {
            first.add(game, of(kind), number);
        }
        let mut later = PerSide::default();
        for (game, kind, number) in [(7, 1, 1), (7, 2, 9), (8, 0, 6)] {
            later.add(game, of(kind), number);
        }
        first.append(later);
        assert_eq!(counts(&first, 3), [(0, 1), (1, 7)]);
        assert_eq!(counts(&first, 7), [(1, 5), (2, 9)]);
        assert_eq!(counts(&first, 8), [(0, 6)]);
        assert_eq!(counts(&first, 5), []);
    }

    #[test]
    fn games_out_of_order_are_put_in_their_place() {
        let mut per_side = PerSide::default();
        for (game, number) in [(7, 1), (3, 2), (5, 4), (3, 8)] {
            per_side.add(game, of(0), number);
        }
        let found = [3, 5, 7].map(|game| counts(&per_side, game));
        assert_eq!(found, [[(0, 10)], [(0, 4)], [(0, 1)]]);
    }
}
