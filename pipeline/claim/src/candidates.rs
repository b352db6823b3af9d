//! The restraints that examples and the quiz are taken from: a few are kept, by rules that do
//! not depend on the order in which spells are met.

use std::collections::{BTreeMap, BTreeSet};

use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::Condition;
use hobble_conditions::terms::Outcome;
use hobble_dataset::part::{Group, Part};
use hobble_examples::Key;
use hobble_examples::restraint::{self, Restraint};
use hobble_examples::search::MOST_TRIED;
use hobble_terms::{Fate, SpellEnd};
use serde::{Deserialize, Serialize};

use super::file::Claim;

/// Restraints kept of each sort: with three hundred tried on boards, a dozen are clear.
const KEPT: usize = 768;

/// Values of the spells that met the outcome: how many have each.
type Histogram = BTreeMap<i32, u64>;

/// What is kept of the spells that an opponent's quiet move began.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidates {
    /// Those that met the outcome by a loss, first those that may be shown.
    lost: Vec<Restraint>,
    /// Those that their owners freed in time, first those that may be shown.
    escaped: Vec<Restraint>,
    /// All, first those whose first position may be set as a task.
    tasks: Vec<Restraint>,
    /// All that met the outcome: turns, squares taken, plies to the capture, balance.
    #[serde(with = "histograms")]
    met: [Histogram; 4],
}

/// The middle of the spells that met the outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Middle {
    /// How many there are.
    pub number: u64,
    /// Median number of turns.
    pub turns: i32,
    /// Median number of squares taken.
    pub taken: i32,
    /// Median number of plies to the capture.
    pub wait: i32,
    /// Median balance.
    pub balance: i32,
}

impl Middle {
    /// How far a restraint is from the middle.
    pub fn distance(&self, spell: &Restraint) -> f64 {
        let far = |value: i32, middle: i32, unit: i32| {
            f64::from((value - middle).abs()) / f64::from(unit.max(1))
        };
        far(spell.turns as i32, self.turns, self.turns)
            + far(spell.taken.into(), self.taken, self.taken)
            + far(spell.wait() as i32, self.wait, self.wait)
            // A pawn up or down is as far as half as many turns again.
            + far(spell.balance.into(), self.balance, 2)
    }
}

impl Candidates {
    /// Those among some restraints.
    pub fn among(claim: &Claim, restraints: Vec<Restraint>) -> Candidates {
        let mut found = Candidates::default();
        for spell in restraints {
            found.note(claim, spell);
        }
        found.shorten();
        found
    }

    /// Those of a row group whose games pass.
    ///
    /// # Errors
    ///
    /// Where the table of spells is unreadable or not of its schema.
    pub fn of(
        claim: &Claim,
        part: &Part,
        group: Group,
        passes: &(impl Fn(u64) -> bool + ?Sized),
    ) -> Result<Candidates, AskError> {
        let asked = claim.conditions(AskedRows::Spells, &[]);
        let kinds = claim.kinds.iter().map(|kind| kind.name()).collect();
        let kinds = Condition::OneOf("kind", kinds);
        let mut found = restraint::read(part, group, &kinds, &asked)?;
        found.retain(|spell| passes(spell.game));
        Ok(Candidates::among(claim, found))
    }

    fn note(&mut self, claim: &Claim, spell: Restraint) {
        let met = met(claim, &spell);
        if met {
            let values = [
                spell.turns as i32,
                spell.taken.into(),
                spell.wait() as i32,
                spell.balance.into(),
            ];
            for (histogram, value) in self.met.iter_mut().zip(values) {
                *histogram.entry(value).or_default() += 1;
            }
        }
        self.tasks.push(spell.clone());
        if met && spell.end == SpellEnd::Lost {
            self.lost.push(spell);
        } else if spell.is_escape() {
            self.escaped.push(spell);
        }
        let longest = self.lost.len().max(self.escaped.len());
        if longest.max(self.tasks.len()) > 2 * KEPT {
            self.shorten();
        }
    }

    /// Adds those of another.
    pub fn add(&mut self, other: Candidates) {
        self.lost.extend(other.lost);
        self.escaped.extend(other.escaped);
        self.tasks.extend(other.tasks);
        self.shorten();
        for (sum, more) in self.met.iter_mut().zip(other.met) {
            for (value, number) in more {
                *sum.entry(value).or_default() += number;
            }
        }
    }

    fn shorten(&mut self) {
        shorten(&mut self.lost, Restraint::order_of_loss);
        shorten(&mut self.escaped, Restraint::order_of_escape);
        shorten(&mut self.tasks, Restraint::order_of_task);
    }

    /// Those that met the outcome by a loss, first those that may be shown.
    pub fn lost(&self) -> &[Restraint] {
        &self.lost
    }

    /// Those that their owners freed in time, first those that may be shown.
    pub fn escaped(&self) -> &[Restraint] {
        &self.escaped
    }

    /// All, first those whose first position may be set as a task.
    pub fn tasks(&self) -> &[Restraint] {
        &self.tasks
    }

    /// Those that may be tried on the board: the first of each list.
    pub fn tried(&self) -> impl Iterator<Item = &Restraint> {
        let lists = [&self.lost, &self.escaped, &self.tasks];
        let lists = lists.into_iter();
        lists.flat_map(|list| list.iter().take(MOST_TRIED))
    }

    /// Their games.
    pub fn games(&self) -> BTreeSet<Key> {
        self.tried().map(Restraint::key).collect()
    }

    /// The middle of those that met the outcome; `None` where none did.
    pub fn middle(&self) -> Option<Middle> {
        let number = self.met[0].values().sum();
        let [turns, taken, wait, balance] = self.met.each_ref().map(median);
        (number > 0).then_some(Middle {
            number,
            turns,
            taken,
            wait,
            balance,
        })
    }
}

/// Whether the piece met the claim's outcome in time, counted from the turn that the claim
/// counts from.
fn met(claim: &Claim, spell: &Restraint) -> bool {
    let counted = match claim.of_piece() {
        Outcome::Captured => spell.fate != Fate::Survived,
        Outcome::Lost | Outcome::Traded | Outcome::Sold => {
            spell.fate.name() == claim.of_piece().name()
        }
    };
    counted && spell.fate_ply <= spell.start + 2 * (claim.turns - 1) + 2 * claim.within
}

/// Keeps the first by an order.
fn shorten<K: Ord>(list: &mut Vec<Restraint>, order: impl Fn(&Restraint) -> K) {
    list.sort_by_cached_key(order);
    list.truncate(KEPT);
}

/// The upper median; 0 where there is nothing.
fn median(values: &Histogram) -> i32 {
    let middle = values.values().sum::<u64>() / 2;
    let mut below = 0;
    values
        .iter()
        .find(|(_, number)| {
            below += *number;
            below > middle
        })
        .map_or(0, |(value, _)| *value)
}

/// Histograms as lists of pairs, since keys of JSON objects are texts.
mod histograms {
    use super::Histogram;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    type Pairs = Vec<(i32, u64)>;

    pub fn serialize<S: Serializer>(all: &[Histogram; 4], to: S) -> Result<S::Ok, S::Error> {
        let pairs = |one: &Histogram| {
            one.iter()
                .map(|(value, number)| (*value, *number))
                .collect()
        };
        all.each_ref()
            .map(|one| -> Pairs { pairs(one) })
            .serialize(to)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<[Histogram; 4], D::Error> {
        let pairs = <[Pairs; 4]>::deserialize(from)?;
        Ok(pairs.map(|one| one.into_iter().collect()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_by_hand() {
        // 1, 1, 2, 3, 3, 3: the fourth of six.
        assert_eq!(median(&Histogram::from([(3, 3), (1, 2), (2, 1)])), 3);
        assert_eq!(median(&Histogram::from([(5, 1), (1, 2), (2, 2)])), 2);
        assert_eq!(median(&Histogram::new()), 0);
    }
}
