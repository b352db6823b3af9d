//! Positions that may be shown, kept while the parts are counted: of some levels a draw by hash,
//! and what is typical of the level.

use std::collections::{BTreeMap, BTreeSet};

use hobble_examples::Key;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::level::Measure;
use super::observation::Observation;

/// The levels of which a position is shown.
pub const SHOWN: [(Measure, usize); 4] = [
    (Measure::Scope, 1),
    (Measure::Scope, 3),
    (Measure::Scope, 5),
    (Measure::Held, 4),
];

/// Positions kept of a level.
const KEPT: usize = 150;

/// What is typical is measured by these numbers: own scope, the opponent's, plies, pieces left, own
/// pieces held.
const TRAITS: usize = 5;

/// How far apart two positions may be in each of them to count as one step apart.
const STEPS: [f64; TRAITS] = [4.0, 4.0, 10.0, 1.0, 1.0];

/// A position that may be shown.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Candidate {
    /// Its place in the draw.
    pub draw: u64,
    /// Source of its game.
    pub source: String,
    /// Number of its game there.
    pub game: u32,
    /// Plies played.
    pub ply: u16,
    /// Whether White is on move.
    pub white: bool,
    /// What the side on move scored, in half points.
    pub half_points: u8,
    /// Its traits.
    traits: [u16; TRAITS],
}

impl Candidate {
    /// Source and number of its game.
    pub fn key(&self) -> Key {
        (self.source.clone(), self.game.into())
    }

    /// Scope of the side on move and of the other.
    pub fn scopes(&self) -> [u16; 2] {
        [self.traits[0], self.traits[1]]
    }

    /// Pieces of the side on move that are held.
    pub fn held(&self) -> u16 {
        self.traits[4]
    }
}

/// Positions of a level.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct OfLevel {
    /// The first in the draw, in its order.
    kept: Vec<Candidate>,
    /// Positions by each trait.
    traits: [BTreeMap<u16, u64>; TRAITS],
    /// Positions by half points scored.
    results: [u64; 3],
}

/// Positions of each level that is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidates(Vec<OfLevel>);

impl Default for Candidates {
    fn default() -> Candidates {
        Candidates(vec![OfLevel::default(); SHOWN.len()])
    }
}

impl Candidates {
    /// Adds a position of a source.
    pub fn count(&mut self, source: &str, observation: &Observation) {
        let position = &observation.position;
        let mut traits = None;
        for ((measure, level), of_level) in SHOWN.into_iter().zip(&mut self.0) {
            let value = match measure {
                Measure::Scope => observation.scope(),
                _ => position.held.into(),
            };
            if measure.level(value) != level {
                continue;
            }
            let traits = *traits.get_or_insert_with(|| {
                let pieces = observation.units.iter().map(|units| units.pieces);
                [
                    position.own,
                    position.other,
                    position.ply,
                    pieces.sum::<i8>().unsigned_abs().into(),
                    position.held.into(),
                ]
            });
            for (counts, value) in of_level.traits.iter_mut().zip(traits) {
                *counts.entry(value).or_default() += 1;
            }
            of_level.results[usize::from(position.half_points.min(2))] += 1;
            let draw = draw(source, position.game, position.ply);
            let last = of_level.kept.get(KEPT - 1);
            if last.is_none_or(|last| draw <= last.draw) {
                of_level.keep([Candidate {
                    draw,
                    source: source.to_owned(),
                    game: position.game,
                    ply: position.ply,
                    white: position.white,
                    half_points: position.half_points,
                    traits,
                }]);
            }
        }
    }

    /// The games of all.
    pub fn games(&self) -> BTreeSet<Key> {
        let kept = self.0.iter().flat_map(|of_level| &of_level.kept);
        kept.map(Candidate::key).collect()
    }

    /// Adds another.
    pub fn add(&mut self, other: Candidates) {
        for (own, other) in self.0.iter_mut().zip(other.0) {
            own.keep(other.kept);
            for (sums, counts) in own.traits.iter_mut().zip(other.traits) {
                for (value, count) in counts {
                    *sums.entry(value).or_default() += count;
                }
            }
            for (sum, count) in own.results.iter_mut().zip(other.results) {
                *sum += count;
            }
        }
    }

    /// The candidates of each level shown, the most typical first: those that ended as most such
    /// positions did, by their distance from the medians.
    pub fn typical(&self) -> Vec<Vec<&Candidate>> {
        self.0.iter().map(OfLevel::typical).collect()
    }
}

impl OfLevel {
    fn keep(&mut self, more: impl IntoIterator<Item = Candidate>) {
        self.kept.extend(more);
        self.kept.sort_unstable();
        self.kept.truncate(KEPT);
    }

    fn typical(&self) -> Vec<&Candidate> {
        let most = self.results.iter().max().copied().unwrap_or(0);
        let common = |candidate: &&Candidate| {
            self.results[usize::from(candidate.half_points.min(2))] == most
        };
        let medians: Vec<f64> = self.traits.iter().map(median).collect();
        let far = |candidate: &Candidate| -> f64 {
            let traits = candidate.traits.iter().zip(&medians).zip(STEPS);
            traits
                .map(|((value, median), step)| (f64::from(*value) - median).abs() / step)
                .sum()
        };
        let mut candidates: Vec<&Candidate> = self.kept.iter().filter(common).collect();
        candidates.sort_by(|a, b| far(a).total_cmp(&far(b)).then_with(|| a.cmp(b)));
        candidates
    }
}

/// The lower median of counted values.
fn median(counts: &BTreeMap<u16, u64>) -> f64 {
    let all: u64 = counts.values().sum();
    let mut before = 0;
    for (value, count) in counts {
        before += count;
        if 2 * before >= all {
            return (*value).into();
        }
    }
    0.0
}

/// The place of a position in the draw.
fn draw(source: &str, game: u32, ply: u16) -> u64 {
    let mut bytes = source.as_bytes().to_vec();
    bytes.extend(game.to_le_bytes());
    bytes.extend(ply.to_le_bytes());
    xxh3_64(&bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(draw: u64, own: u16, half_points: u8) -> Candidate {
        Candidate {
            draw,
            source: "a".to_owned(),
            game: draw as u32,
            ply: 40,
            white: true,
            half_points,
            traits: [own, 20, 40, 10, 0],
        }
    }

    /// The commonest result is a win, the median own scope 30.
    #[test]
    fn typical_is_near_the_medians_and_ended_as_most() {
        let mut of_level = OfLevel::default();
        of_level.keep([
            candidate(1, 31, 1),
            candidate(2, 38, 2),
            candidate(3, 29, 2),
        ]);
        of_level.traits[0] = BTreeMap::from([(28, 2), (30, 2), (40, 1)]);
        of_level.traits[1..]
            .clone_from_slice(&[20, 40, 10, 0].map(|value| BTreeMap::from([(value, 5)])));
        of_level.results = [1, 1, 3];
        let draws: Vec<u64> = of_level.typical().iter().map(|one| one.draw).collect();
        assert_eq!(draws, [3, 2]);
    }

    #[test]
    fn the_first_of_the_draw_are_kept_in_any_order() {
        let all: Vec<Candidate> = (0..400)
            .map(|draw| candidate(draw * 7 % 401, 30, 2))
            .collect();
        let (mut one, mut other) = (OfLevel::default(), OfLevel::default());
        one.keep(all.clone());
        for piece in all.rchunks(90) {
            other.keep(piece.to_vec());
        }
        assert_eq!(one, other);
        assert_eq!(one.kept.len(), KEPT);
    }
}
