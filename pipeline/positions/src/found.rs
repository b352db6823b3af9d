//! The spells that meet the conditions: how many there are, and the first of them.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::Condition;
use hobble_conditions::sum;
use hobble_dataset::part::{Group, Part};
use hobble_examples::restraint::{self, Restraint};
use hobble_examples::{KeptGames, Key};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::file::{Order, PositionSearch};

/// What is kept of the spells that were found.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Found {
    /// How many there are.
    pub number: u64,
    /// The first of them, in order.
    pub first: Vec<Restraint>,
    /// Their games, in a state that is written.
    pub games: KeptGames,
    /// The order, and how many are kept; nothing before anything is counted.
    kept: Option<(Order, usize)>,
}

impl Found {
    /// Those of a part.
    ///
    /// # Errors
    ///
    /// Where the table of spells is unreadable or not of its schema.
    pub fn of(search: &PositionSearch, part: &Part) -> Result<Found, AskError> {
        let asked = search.conditions(AskedRows::Spells, &[]);
        let kinds = search.kinds.iter().map(|kind| kind.name()).collect();
        let kinds = Condition::OneOf("kind", kinds);
        let in_group = |group: Group| -> Result<Found, AskError> {
            let first = restraint::spells(part, group, &kinds, &asked)?;
            let mut found = Found {
                number: first.len() as u64,
                first,
                games: KeptGames::default(),
                kept: Some((search.order, search.count)),
            };
            found.shorten();
            Ok(found)
        };
        let groups = part.groups()?.into_par_iter();
        groups
            .map(in_group)
            .try_reduce(Found::default, |mut sum, more| {
                sum::State::add(&mut sum, more);
                Ok(sum)
            })
    }

    /// Sources and numbers of their games.
    pub fn keys(&self) -> BTreeSet<Key> {
        self.first.iter().map(Restraint::key).collect()
    }

    fn shorten(&mut self) {
        if let Some((order, count)) = self.kept {
            self.first.sort_by_cached_key(|spell| order.key(spell));
            self.first.truncate(count);
        }
    }
}

impl sum::State for Found {
    fn add(&mut self, other: Found) {
        self.number += other.number;
        self.first.extend(other.first);
        self.kept = self.kept.or(other.kept);
        self.shorten();
        let keys = || self.first.iter().map(Restraint::key).collect();
        self.games.add(other.games, keys);
    }
}

impl Order {
    /// What a spell is sorted by.
    fn key(self, spell: &Restraint) -> impl Ord + use<> {
        let first = match self {
            Order::Longest => -i64::from(spell.turns),
            Order::Squares => -i64::from(spell.taken),
            Order::Archive => 0,
        };
        (first, spell.place())
    }
}
