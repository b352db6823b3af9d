//! The whole numbers of a position that linear models are made of, and their sums of products by
//! fold.

use hobble_statistics::least_squares::Products;
use hobble_terms::{FOLDS, words};
use serde::{Deserialize, Serialize};

use super::cells::Folds;
use super::observation::Observation;

words! {
    /// A number of a position, seen from the side on move.
    Number {
        /// 1.
        One = "one",
        /// What the side scored, in half points.
        HalfPoints = "half points",
        /// 1 where it lost material.
        Lost = "material lost",
        /// Scope balance.
        Scope = "scope balance",
        /// Scope balance three moves before.
        Before = "scope balance three moves before",
        /// Balance.
        Balance = "balance",
        /// Knights, bishops, rooks and queens of both sides.
        Pieces = "pieces left",
        /// Pawns of both sides.
        Pawns = "pawns left",
        /// Own pieces less the opponent's.
        PieceDiff = "pieces more than the opponent",
        /// Own pawns less the opponent's.
        PawnDiff = "pawns more than the opponent",
        /// Plies played.
        Ply = "plies played",
        /// 1 for White.
        White = "white",
        /// Pieces held.
        Held = "pieces held",
        /// Rating less the opponent's.
        Rating = "rating difference",
        /// Safe squares of pawns less those of the opponent's; and so on.
        PawnSquares = "squares of pawns",
        /// Of knights.
        KnightSquares = "squares of knights",
        /// Of bishops.
        BishopSquares = "squares of bishops",
        /// Of rooks.
        RookSquares = "squares of rooks",
        /// Of queens.
        QueenSquares = "squares of queens",
        /// Of the king.
        KingSquares = "squares of the king",
    }
}

words! {
    /// Positions that a model is fitted to.
    Positions {
        /// All.
        All = "all",
        /// Those whose material balance was the same three moves before.
        Steady = "same balance three moves before",
        /// Those with both ratings.
        Rated = "both ratings known",
    }
}

impl Number {
    /// The numbers of a position. What is not known of it is 0; models that ask for it are fitted
    /// to positions that have it.
    pub fn of(observation: &Observation) -> [i32; Number::COUNT] {
        let position = &observation.position;
        let [own, other] = observation.units;
        let [pawns, knights, bishops, rooks, queens, kings] = observation.kinds;
        let mut numbers = [0; Number::COUNT];
        for (number, value) in [
            (Number::One, 1),
            (Number::HalfPoints, position.half_points.into()),
            (Number::Lost, observation.lost.into()),
            (Number::Scope, observation.scope()),
            (Number::Before, observation.before.unwrap_or(0)),
            (Number::Balance, position.balance.into()),
            (
                Number::Pieces,
                i32::from(own.pieces) + i32::from(other.pieces),
            ),
            (Number::Pawns, i32::from(own.pawns) + i32::from(other.pawns)),
            (
                Number::PieceDiff,
                i32::from(own.pieces) - i32::from(other.pieces),
            ),
            (
                Number::PawnDiff,
                i32::from(own.pawns) - i32::from(other.pawns),
            ),
            (Number::Ply, position.ply.into()),
            (Number::White, position.white.into()),
            (Number::Held, position.held.into()),
            (Number::Rating, observation.rating.unwrap_or(0)),
            (Number::PawnSquares, pawns),
            (Number::KnightSquares, knights),
            (Number::BishopSquares, bishops),
            (Number::RookSquares, rooks),
            (Number::QueenSquares, queens),
            (Number::KingSquares, kings),
        ] {
            numbers[number as usize] = value;
        }
        numbers
    }
}

/// Sums of products by set of positions, sort of fold and fold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sums(Vec<Products>);

impl Default for Sums {
    fn default() -> Sums {
        Sums(vec![Products::default(); Positions::COUNT * 2 * FOLDS])
    }
}

impl Sums {
    /// Adds a position.
    pub fn count(&mut self, observation: &Observation, folds: [u8; 2]) {
        // The products are worked out once for all the sums they go into.
        let products = Products::of(&Number::of(observation));
        for positions in Positions::ALL {
            let is_in = match positions {
                Positions::All => true,
                Positions::Steady => observation.before.is_some(),
                Positions::Rated => observation.rating.is_some(),
            };
            if !is_in {
                continue;
            }
            for (sort, fold) in [Folds::Games, Folds::Players].into_iter().zip(folds) {
                let place = place(positions, sort) + usize::from(fold) % FOLDS;
                self.0[place].merge(&products);
            }
        }
    }

    /// Adds another.
    pub fn add(&mut self, other: &Sums) {
        for (sum, more) in self.0.iter_mut().zip(&other.0) {
            sum.merge(more);
        }
    }

    /// Those of a set of positions, by fold; folds without positions are left out.
    pub fn by_fold(&self, positions: Positions, sort: Folds) -> Vec<&Products> {
        let from = place(positions, sort);
        let folds = self.0.iter().skip(from).take(FOLDS);
        folds.filter(|products| products.count() > 0).collect()
    }
}

fn place(positions: Positions, sort: Folds) -> usize {
    (positions as usize * 2 + sort as usize) * FOLDS
}
