//! How hard a position is: how many legal moves there are, and how often such a move was missed.
//!
//! Points are the number of legal moves times the share of turns at which the move was missed. Such
//! turns have exactly one restraining move, the same kind of piece, phase and number of legal moves
//! by ten; with fewer than [`LEAST`] of them, the same kind and phase; then the same kind; then all.
//! The thirds of all such turns of the archive by points are easy, medium and hard. The formula is
//! our own cut.

use std::collections::BTreeMap;

use hobble_terms::{Kind, Phase, words};
use serde::Serialize;

/// Turns on which a share of moves missed rests, at least.
pub const LEAST: u64 = 30;

/// Legal moves in a class.
const CLASS: u8 = 10;

words! {
    /// How hard a position is beside the others of the archive.
    Level {
        /// In the easiest third.
        Easy = "easy",
        /// In the middle third.
        Medium = "medium",
        /// In the hardest third.
        Hard = "hard",
    }
}

words! {
    /// The turns whose share of moves missed counts for a position.
    Like {
        /// Of the same kind of piece, phase and class of number of legal moves.
        Moves = "kind, phase and number of moves",
        /// Of the same kind and phase.
        Phase = "kind and phase",
        /// Of the same kind.
        Kind = "kind",
        /// All.
        All = "all",
    }
}

/// How hard a position is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difficulty {
    /// Its third.
    pub level: Level,
    /// Legal moves times the share missed.
    pub points: u32,
    /// Legal moves.
    pub legal: u8,
    /// Share of turns at which the move was missed, from 0 to 1.
    pub missed: f64,
    /// On how many turns the share rests.
    pub turns: u64,
    /// What these turns have in common with this one.
    pub like: Like,
}

impl Difficulty {
    /// Points of a position: legal moves, times turns at which the move was missed, by turns;
    /// to the nearest whole number, a half upwards.
    pub fn points(legal: u8, missed: u64, turns: u64) -> u32 {
        let turns = turns.max(1);
        ((2 * u64::from(legal) * missed + turns) / (2 * turns)) as u32
    }
}

/// Turns, and those at which the move was missed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Count {
    turns: u64,
    missed: u64,
}

/// Turns with one restraining move, by kind, phase and number of legal moves.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally(BTreeMap<(Kind, Phase, u8), Count>);

impl Tally {
    /// Counts a turn.
    pub fn note(&mut self, kind: Kind, phase: Phase, legal: u8, missed: bool) {
        let count = self.0.entry((kind, phase, legal)).or_default();
        count.turns += 1;
        count.missed += u64::from(missed);
    }

    /// Adds what was counted elsewhere.
    pub fn add(&mut self, other: Tally) {
        for (key, more) in other.0 {
            let count = self.0.entry(key).or_default();
            count.turns += more.turns;
            count.missed += more.missed;
        }
    }

    /// Turns in all.
    pub fn turns(&self) -> u64 {
        self.0.values().map(|count| count.turns).sum()
    }

    /// Turns like these, and what they have in common.
    fn missed(&self, kind: Kind, phase: Phase, legal: u8) -> (Count, Like) {
        let mut last = (Count::default(), Like::All);
        for like in Like::ALL {
            let alike = |key: &(Kind, Phase, u8)| match like {
                Like::Moves => (key.0, key.1, key.2 / CLASS) == (kind, phase, legal / CLASS),
                Like::Phase => (key.0, key.1) == (kind, phase),
                Like::Kind => key.0 == kind,
                Like::All => true,
            };
            let counts = self.0.iter().filter(|(key, _)| alike(key));
            let sum = counts.fold(Count::default(), |sum, (_, count)| Count {
                turns: sum.turns + count.turns,
                missed: sum.missed + count.missed,
            });
            if sum.turns > 0 {
                last = (sum, like);
            }
            if sum.turns >= LEAST {
                break;
            }
        }
        last
    }
}

/// Rates positions by what was counted in an archive.
#[derive(Debug, Clone)]
pub struct Rater {
    rated: BTreeMap<(Kind, Phase, u8), (Count, Like)>,
    /// Most points of an easy position, and of a medium one.
    cuts: [u32; 2],
}

impl Rater {
    /// The rater of an archive.
    pub fn of(tally: &Tally) -> Rater {
        let rated: BTreeMap<_, _> = tally
            .0
            .keys()
            .map(|&(kind, phase, legal)| {
                let missed = tally.missed(kind, phase, legal);
                ((kind, phase, legal), missed)
            })
            .collect();
        let mut by_points: BTreeMap<u32, u64> = BTreeMap::new();
        for (key, count) in &tally.0 {
            let Count { turns, missed } = rated[key].0;
            let points = Difficulty::points(key.2, missed, turns);
            *by_points.entry(points).or_default() += count.turns;
        }
        let third = |nth: u64| {
            let mut below = 0;
            let reached = by_points.iter().find(|(_, turns)| {
                below += **turns;
                3 * below >= nth * tally.turns()
            });
            reached.map_or(0, |(points, _)| *points)
        };
        Rater {
            cuts: [third(1), third(2)],
            rated,
        }
    }

    /// Most points of an easy position, and of a medium one.
    pub fn cuts(&self) -> [u32; 2] {
        self.cuts
    }

    /// How hard a position is.
    pub fn rate(&self, kind: Kind, phase: Phase, legal: u8) -> Difficulty {
        let known = self.rated.get(&(kind, phase, legal)).copied();
        let (count, like) = known.unwrap_or((Count::default(), Like::All));
        let Count { turns, missed } = count;
        let points = Difficulty::points(legal, missed, turns);
        let level = match points {
            points if points <= self.cuts[0] => Level::Easy,
            points if points <= self.cuts[1] => Level::Medium,
            _ => Level::Hard,
        };
        Difficulty {
            level,
            points,
            legal,
            missed: missed as f64 / turns.max(1) as f64,
            turns,
            like,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 30 turns of knights with 20 to 29 legal moves, a third of them taken; 29 with 40,
    /// all missed, which are too few of their own: 49 of 59 knights in the middlegame are missed.
    #[test]
    fn shares_fall_back_where_turns_are_few() {
        let mut tally = Tally::default();
        for turn in 0..30 {
            let legal = 20 + turn % 10;
            tally.note(Kind::Knight, Phase::Middlegame, legal, turn % 3 != 0);
        }
        for _ in 0..29 {
            tally.note(Kind::Knight, Phase::Middlegame, 40, true);
        }
        let rater = Rater::of(&tally);
        let few = rater.rate(Kind::Knight, Phase::Middlegame, 24);
        assert_eq!((few.points, few.turns, few.like), (16, 30, Like::Moves));
        let many = rater.rate(Kind::Knight, Phase::Middlegame, 40);
        assert_eq!((many.points, many.turns, many.like), (33, 59, Like::Phase));
        assert!((many.missed - 49.0 / 59.0).abs() < 1e-12);
        // Nearly half of the turns have the most points: they reach into the middle third.
        assert_eq!((few.level, many.level), (Level::Easy, Level::Medium));
    }

    #[test]
    fn sums_do_not_depend_on_their_order() {
        let one = |legal, missed| {
            let mut tally = Tally::default();
            tally.note(Kind::Rook, Phase::Endgame, legal, missed);
            tally
        };
        let (mut ab, mut ba) = (one(20, true), one(30, false));
        ab.add(one(30, false));
        ba.add(one(20, true));
        assert_eq!(ab, ba);
        assert_eq!(ab.turns(), 2);
    }
}
