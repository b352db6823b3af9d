//! Counts that must reconcile: games read = kept + skipped by reason.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::result::GameResult;
use crate::skip::Reason;

/// What was read and what became of it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Account {
    /// Games read.
    pub read: u64,
    /// Games kept.
    pub kept: u64,
    /// Games left out because they repeat one that was kept.
    #[serde(default)]
    pub repeats: u64,
    /// Games skipped, by reason; repeats are not among them.
    pub skipped: BTreeMap<String, u64>,
    /// Plies of the games kept.
    pub plies: u64,
    /// Captures among them, en passant included.
    pub captures: u64,
    /// En passant captures.
    pub en_passant: u64,
    /// Promotions.
    pub promotions: u64,
    /// Castlings.
    pub castlings: u64,
    /// Games without a ply.
    pub zero_move_games: u64,
    /// Plies of the longest game.
    pub longest: u64,
    /// Games kept, by result.
    pub results: BTreeMap<String, u64>,
    /// Games in which a player is rated.
    pub rated_games: u64,
    /// Games with text that was not UTF-8.
    pub repaired_games: u64,
    /// Lines of tags that could not be read and were passed over, in games kept.
    #[serde(default)]
    pub unread_tags: u64,
    /// Games kept with words behind their result that are not moves.
    #[serde(default)]
    pub stray_texts: u64,
    /// Plies with a clock comment.
    pub clocks: u64,
    /// Plies with an evaluation comment.
    pub evals: u64,
    /// Restriction spells, by end.
    pub spells: BTreeMap<String, u64>,
    /// Observations: turns × pieces.
    pub observations: u64,
}

impl Account {
    /// Games skipped for any reason.
    pub fn skipped_total(&self) -> u64 {
        self.skipped.values().sum()
    }

    /// Whether every game read was kept, left out as a repeat, or skipped.
    pub fn reconciles(&self) -> bool {
        self.read == self.kept + self.repeats + self.skipped_total()
            && self.kept == self.results.values().sum::<u64>()
    }

    /// Books a game skipped or left out.
    pub fn skip(&mut self, reason: Reason) {
        self.read += 1;
        if reason == Reason::Repeat {
            self.repeats += 1;
        } else {
            count(&mut self.skipped, reason.name(), 1);
        }
    }

    /// Books the result of a game kept.
    pub fn result(&mut self, result: GameResult) {
        count(&mut self.results, result.name(), 1);
    }

    /// Adds another account.
    pub fn add(&mut self, other: &Account) {
        self.read += other.read;
        self.kept += other.kept;
        self.repeats += other.repeats;
        self.plies += other.plies;
        self.captures += other.captures;
        self.en_passant += other.en_passant;
        self.promotions += other.promotions;
        self.castlings += other.castlings;
        self.zero_move_games += other.zero_move_games;
        self.longest = self.longest.max(other.longest);
        self.rated_games += other.rated_games;
        self.repaired_games += other.repaired_games;
        self.unread_tags += other.unread_tags;
        self.stray_texts += other.stray_texts;
        self.clocks += other.clocks;
        self.evals += other.evals;
        self.observations += other.observations;
        for (mine, theirs) in [
            (&mut self.skipped, &other.skipped),
            (&mut self.results, &other.results),
            (&mut self.spells, &other.spells),
        ] {
            for (name, n) in theirs {
                count(mine, name, *n);
            }
        }
    }
}

/// Adds to a named count, without a new name where it is there already.
pub fn count(counts: &mut BTreeMap<String, u64>, name: &str, n: u64) {
    match counts.get_mut(name) {
        Some(count) => *count += n,
        None => {
            counts.insert(name.to_owned(), n);
        }
    }
}
