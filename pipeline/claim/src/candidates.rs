//! The spells that examples and the quiz are taken from: a few are kept, by rules that do not
//! depend on the order in which spells are met.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use hobble_dataset::PartId;
use hobble_terms::Fate;
use serde::{Deserialize, Serialize};

use super::file::Claim;
use super::held::{End, Held};
use hobble_conditions::terms::Kind;

/// Spells that met the outcome kept, the clearest of them.
const MET: usize = 512;

/// Spells that were freed kept, the clearest of them.
const FREED: usize = 40;

/// A spell that may be shown. Ordered by the first fields: the clearest first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Candidate {
    /// Squares taken.
    pub drop: Reverse<i32>,
    /// Plies from the start of the spell to the capture.
    pub wait: u32,
    /// The part its game stands in.
    pub part: PartId,
    /// The game.
    pub game: u64,
    /// The piece.
    pub piece: u64,
    /// Ply at which the spell starts.
    pub start: u32,
    /// Row in the table of spells.
    pub row: usize,
    /// Kind of the piece.
    pub kind: Kind,
    /// Whether its owner is White.
    pub white: bool,
    /// Turns it lasted.
    pub turns: u32,
    /// How it ended.
    pub end: End,
    /// Ply that ended it.
    pub end_ply: u32,
    /// What became of the piece.
    pub fate: Fate,
    /// Ply that captured it; 0 where none did.
    pub fate_ply: u32,
}

impl Candidate {
    fn of(spell: &Held, drop: i32, part: &PartId) -> Candidate {
        Candidate {
            drop: Reverse(drop),
            wait: spell.fate_ply.saturating_sub(spell.start),
            part: part.clone(),
            game: spell.game,
            piece: spell.piece,
            start: spell.start,
            row: spell.row,
            kind: spell.kind,
            white: spell.white,
            turns: spell.turns,
            end: spell.end,
            end_ply: spell.end_ply,
            fate: spell.fate,
            fate_ply: spell.fate_ply,
        }
    }

    /// Whether both are of one game.
    pub fn same_game(&self, other: &Candidate) -> bool {
        self.game == other.game && self.part == other.part
    }

    /// Two spells alike in all of this are most likely of one game that is there twice.
    fn looks(&self) -> impl PartialEq + use<> {
        (
            self.kind,
            self.drop,
            self.piece,
            self.start,
            self.fate_ply,
            self.turns,
        )
    }

    /// Order of the table.
    fn place(&self) -> (&PartId, usize) {
        (&self.part, self.row)
    }
}

/// Spells with as many squares taken and as long a wait: how many there are, the first of
/// them, and the first of another game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Alike {
    number: u64,
    first: Candidate,
    other: Option<Candidate>,
}

impl Alike {
    fn add(&mut self, other: Alike) {
        self.number += other.number;
        let mut all = vec![other.first];
        all.extend(other.other);
        all.extend(self.other.take());
        all.push(self.first.clone());
        all.sort_by(|a, b| a.place().cmp(&b.place()));
        let mut all = all.into_iter();
        if let Some(first) = all.next() {
            self.first = first;
        }
        self.other = all.find(|one| !one.same_game(&self.first));
    }
}

/// What is kept of the spells that an opponent's move began and took a square by.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidates {
    /// The clearest that met the outcome.
    met: Vec<Candidate>,
    /// All that met it, by squares taken and wait.
    #[serde(with = "hobble_conditions::sum::pairs")]
    alike: BTreeMap<(i32, u32), Alike>,
    /// The clearest that were freed and never lost.
    freed: Vec<Candidate>,
}

impl Candidates {
    /// Notes the spells of a part that may be shown.
    pub fn note(&mut self, claim: &Claim, spells: &[Held], part: &PartId) {
        for spell in spells.iter().filter(|spell| spell.is(claim.k, claim.turns)) {
            let Some(drop) = spell.drop.filter(|drop| *drop > 0) else {
                continue;
            };
            if spell.met(claim.turns, claim.within, claim.outcome) {
                let one = Candidate::of(spell, drop, part);
                self.met.push(one.clone());
                let wait = one.wait;
                self.alike_at(
                    (drop, wait),
                    Alike {
                        number: 1,
                        first: one,
                        other: None,
                    },
                );
            }
            if spell.end.freed() && spell.fate != Fate::Lost {
                self.freed.push(Candidate::of(spell, drop, part));
            }
            if self.met.len() > 2 * MET || self.freed.len() > 2 * MET {
                self.shorten();
            }
        }
        self.shorten();
    }

    /// Adds those of another.
    pub fn add(&mut self, other: Candidates) {
        self.met.extend(other.met);
        self.freed.extend(other.freed);
        self.shorten();
        for (key, alike) in other.alike {
            self.alike_at(key, alike);
        }
    }

    fn alike_at(&mut self, key: (i32, u32), alike: Alike) {
        match self.alike.get_mut(&key) {
            Some(sum) => sum.add(alike),
            None => {
                self.alike.insert(key, alike);
            }
        }
    }

    fn shorten(&mut self) {
        for (list, most) in [(&mut self.met, MET), (&mut self.freed, FREED)] {
            list.sort_unstable();
            list.truncate(most);
        }
    }

    /// The clearest that met the outcome, repeats of a game left out.
    pub fn met(&self) -> Vec<&Candidate> {
        let mut met: Vec<&Candidate> = self.met.iter().collect();
        met.dedup_by_key(|one| one.looks());
        met
    }

    /// The clearest that were freed and never lost.
    pub fn freed(&self) -> &[Candidate] {
        &self.freed
    }

    /// The parts that those kept stand in.
    pub fn parts(&self) -> impl Iterator<Item = &PartId> {
        let alike = self.alike.values();
        let alike = alike.flat_map(|alike| [Some(&alike.first), alike.other.as_ref()]);
        let lists = self.met.iter().chain(&self.freed).chain(alike.flatten());
        lists.map(|one| &one.part)
    }

    /// The nearest to both medians, in a game other than that of the clearest.
    pub fn average(&self) -> Option<&Candidate> {
        let clearest = self.met.first()?;
        let drops = median(self.alike.iter().map(|(key, alike)| (key.0, alike.number)));
        let waits = median(self.alike.iter().map(|(key, alike)| (key.1, alike.number)));
        let far = |one: &Candidate| {
            (f64::from(one.wait) - waits).abs() / waits.max(1.0)
                + (f64::from(one.drop.0) - drops).abs() / drops.max(1.0)
        };
        self.alike
            .values()
            .filter_map(|alike| {
                let first = Some(&alike.first).filter(|one| !one.same_game(clearest));
                first.or(alike.other.as_ref())
            })
            .min_by(|a, b| {
                far(a)
                    .total_cmp(&far(b))
                    .then_with(|| a.place().cmp(&b.place()))
            })
    }
}

/// The upper median of values that are there so many times; 0 where there are none.
fn median<T: Ord + Copy + Into<f64>>(values: impl Iterator<Item = (T, u64)>) -> f64 {
    let mut values: Vec<(T, u64)> = values.collect();
    values.sort_unstable();
    let middle = values.iter().map(|value| value.1).sum::<u64>() / 2;
    let mut below = 0;
    values
        .iter()
        .find(|(_, number)| {
            below += number;
            below > middle
        })
        .map_or(0.0, |(value, _)| (*value).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_by_hand() {
        // 1, 1, 2, 3, 3, 3: the fourth of six.
        assert_eq!(median([(3, 3), (1, 2), (2, 1)].into_iter()), 3.0);
        assert_eq!(median([(5, 1), (1, 2), (2, 2)].into_iter()), 2.0);
        assert_eq!(median(std::iter::empty::<(i32, u64)>()), 0.0);
    }
}
