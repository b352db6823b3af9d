//! What must be equal for two positions to be compared, packed in a number.

use hobble_terms::{Phase, RatingDiff};
use serde::{Deserialize, Serialize};

use super::observation::Observation;

/// Plies of one class.
const PLIES: u16 = 10;

/// The last class of plies.
const LAST_PLIES: u16 = 41;

/// Upper ends of the classes of pieces left (knights, bishops, rooks and queens of both sides)
/// but the last.
const PIECES_ENDS: [i8; 4] = [2, 5, 8, 11];

/// Phase, ply by ten, pieces left, rating difference, balance and colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Stratum(pub u16);

impl Stratum {
    /// The stratum of a position.
    pub fn of(observation: &Observation) -> Stratum {
        let position = &observation.position;
        let [own, other] = observation.units;
        let pieces = own.pieces + other.pieces;
        let digits = [
            (position.ply / PLIES).min(LAST_PLIES),
            PIECES_ENDS.partition_point(|end| *end < pieces) as u16,
            position.phase as u16,
            position.rating_diff as u16,
            (position.balance + 1) as u16,
            u16::from(position.white),
        ];
        let sizes = [
            LAST_PLIES + 1,
            PIECES_ENDS.len() as u16 + 1,
            Phase::COUNT as u16,
            RatingDiff::COUNT as u16,
            3,
            2,
        ];
        let packed = digits.iter().zip(sizes);
        Stratum(packed.fold(0, |sum, (digit, size)| sum * size + digit))
    }

    /// The first of its ten plies.
    pub fn ply(self) -> u16 {
        let rest = (PIECES_ENDS.len() + 1) * Phase::COUNT * RatingDiff::COUNT * 3 * 2;
        self.0 / rest as u16 * PLIES
    }
}
