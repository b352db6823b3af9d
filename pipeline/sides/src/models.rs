//! A second reading by linear models: by how much the score rises with ten safe squares more,
//! with more and more allowed for; what taking squares adds to having them; whose squares count;
//! and what the squares follow from.

use hobble_statistics::interval::existing;
use hobble_statistics::least_squares::{Line, Products};
use hobble_statistics::risk::Scale;
use hobble_statistics::{Interval, LEVEL, jackknife};
use hobble_terms::words;
use rayon::prelude::*;
use serde::Serialize;

use super::cells::Folds;
use super::compare::LEAST;
use super::estimate::Clustered;
use super::numbers::{Number, Positions, Sums};

words! {
    /// A linear model.
    Model {
        /// Squares alone.
        Alone = "squares alone",
        /// Balance, pieces, pawns, plies and colour allowed for.
        Structure = "structure allowed for",
        /// And pieces held.
        Held = "structure and pieces held allowed for",
        /// Rated games, squares alone.
        RatedAlone = "rated games, squares alone",
        /// Rated games, rating difference allowed for.
        Rating = "rated games, rating difference allowed for",
        /// Rated games, rating difference and structure allowed for.
        RatingStructure = "rated games, rating difference and structure allowed for",
        /// Squares now and three moves before.
        Taking = "squares now and three moves before, structure allowed for",
        /// Squares by kind of unit.
        Kinds = "squares by kind of unit, structure allowed for",
        /// Loss of material by squares.
        Material = "material lost, structure allowed for",
        /// Squares by structure.
        Scope = "what the squares follow from",
        /// Squares by structure and rating.
        ScopeRated = "what the squares follow from, rated games",
    }
}

/// What is allowed for as structure.
const STRUCTURE: [Number; 7] = [
    Number::Balance,
    Number::Pieces,
    Number::Pawns,
    Number::PieceDiff,
    Number::PawnDiff,
    Number::Ply,
    Number::White,
];

const KINDS: [Number; 6] = [
    Number::PawnSquares,
    Number::KnightSquares,
    Number::BishopSquares,
    Number::RookSquares,
    Number::QueenSquares,
    Number::KingSquares,
];

impl Model {
    /// The positions it is fitted to.
    pub const fn positions(self) -> Positions {
        match self {
            Model::Taking => Positions::Steady,
            Model::RatedAlone | Model::Rating | Model::RatingStructure | Model::ScopeRated => {
                Positions::Rated
            }
            _ => Positions::All,
        }
    }

    /// What it explains.
    pub const fn outcome(self) -> Number {
        match self {
            Model::Scope | Model::ScopeRated => Number::Scope,
            Model::Material => Number::Lost,
            _ => Number::HalfPoints,
        }
    }

    /// What it explains it by; those of interest first.
    pub fn covariates(self) -> Vec<Number> {
        let (first, structure): (&[Number], bool) = match self {
            Model::Alone | Model::RatedAlone => (&[Number::Scope], false),
            Model::Structure | Model::Material => (&[Number::Scope], true),
            Model::Held => (&[Number::Scope, Number::Held], true),
            Model::Rating => (&[Number::Scope, Number::Rating], false),
            Model::RatingStructure => (&[Number::Scope, Number::Rating], true),
            Model::Taking => (&[Number::Scope, Number::Before], true),
            Model::Kinds => (&KINDS, true),
            Model::Scope => (&[], true),
            Model::ScopeRated => (&[Number::Rating], true),
        };
        let structure: &[Number] = if structure { &STRUCTURE } else { &[] };
        first.iter().chain(structure).copied().collect()
    }
}

impl Number {
    /// For how many of it a slope is given: ten squares, a hundred rating points.
    pub const fn per(self) -> u32 {
        match self {
            Number::Scope
            | Number::Before
            | Number::Ply
            | Number::PawnSquares
            | Number::KnightSquares
            | Number::BishopSquares
            | Number::RookSquares
            | Number::QueenSquares
            | Number::KingSquares => 10,
            Number::Rating => 100,
            _ => 1,
        }
    }
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fitted {
    /// Which.
    pub model: Model,
    /// What it explains: the score in points, the share that lost material, or squares.
    pub outcome: Number,
    /// Positions it is fitted to.
    pub positions: u64,
    /// Its slopes, in the order of the covariates; empty where there is no fit.
    pub slopes: Vec<Slope>,
    /// Share of the outcome's variance it accounts for.
    pub explained: Option<f64>,
}

/// By how much the outcome rises with so many of a number, all else in the model equal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slope {
    /// The number.
    pub of: Number,
    /// How many of it.
    pub per: u32,
    /// The rise.
    pub rise: Clustered,
}

/// Ten squares gained in the last three moves beside ten that were there before, at equal
/// structure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Taking {
    /// Positions whose balance was the same three moves before.
    pub positions: u64,
    /// Points for ten squares gained in the last three moves.
    pub gained: Clustered,
    /// Points for ten that were there three moves before and still are.
    pub kept: Clustered,
    /// The second less the first. It is what ten squares went with that were there three moves
    /// before and are gone: a placebo, since they are no room now.
    pub difference: Clustered,
    /// Ten gained less ten gone: what is left of squares beside that guard.
    pub beyond_gone: Clustered,
}

/// All models, fitted.
pub fn fit(sums: &Sums) -> Vec<Fitted> {
    Model::ALL
        .into_par_iter()
        .map(|model| fitted(model, sums))
        .collect()
}

/// Gained squares beside those kept.
pub fn taking(sums: &Sums) -> Taking {
    let folds = Both::of(Model::Taking, sums);
    let ten = |of: fn(&Line) -> f64| folds.estimate(Model::Taking, |line| 5.0 * of(line));
    Taking {
        positions: folds.whole.count(),
        gained: ten(|line| line.slopes[0]),
        kept: ten(|line| line.slopes[0] + line.slopes[1]),
        difference: ten(|line| line.slopes[1]),
        beyond_gone: ten(|line| line.slopes[0] - line.slopes[1]),
    }
}

fn fitted(model: Model, sums: &Sums) -> Fitted {
    let folds = Both::of(model, sums);
    let outcome = model.outcome();
    // Half points are points by two.
    let unit = if outcome == Number::HalfPoints {
        0.5
    } else {
        1.0
    };
    let slopes = model.covariates().into_iter().enumerate();
    let slopes = slopes.map(|(place, of)| Slope {
        of,
        per: of.per(),
        rise: folds.estimate(model, |line| {
            unit * f64::from(of.per()) * line.slopes[place]
        }),
    });
    let line = folds.line.as_ref();
    Fitted {
        model,
        outcome,
        positions: folds.whole.count(),
        slopes: line.map_or_else(Vec::new, |_| slopes.collect()),
        explained: line.and_then(|line| existing(line.explained)),
    }
}

/// A model with all positions, and without each fold.
struct Both {
    whole: Products,
    line: Option<Line>,
    /// Without each fold of games, and of players.
    without: [Vec<Option<Line>>; 2],
}

impl Both {
    fn of(model: Model, sums: &Sums) -> Both {
        let by_fold =
            [Folds::Games, Folds::Players].map(|sort| sums.by_fold(model.positions(), sort));
        let mut whole = Products::default();
        for products in &by_fold[0] {
            whole.merge(products);
        }
        let covariates: Vec<usize> = model
            .covariates()
            .into_iter()
            .map(|number| number as usize)
            .collect();
        let fit = |products: &Products| products.fit(model.outcome() as usize, &covariates);
        let without = by_fold.map(|folds| {
            let lines = folds.into_par_iter().map(|fold| fit(&whole.without(fold)));
            lines.collect()
        });
        Both {
            line: fit(&whole),
            without,
            whole,
        }
    }

    fn estimate(&self, model: Model, of: impl Fn(&Line) -> f64) -> Clustered {
        let Some(line) = &self.line else {
            return Clustered::default();
        };
        let value = of(line);
        let needed = LEAST.trials.max(10 * model.covariates().len() as u64);
        let interval = |lines: &[Option<Line>]| -> Option<Interval> {
            let folds = lines.len() as u32;
            let enough = folds >= LEAST.folds && self.whole.count() >= needed;
            let values: Option<Vec<f64>> =
                lines.iter().map(|line| line.as_ref().map(&of)).collect();
            let values = values.filter(|_| enough)?;
            jackknife::interval(Scale::Plain, value, &values, folds, LEVEL)
        };
        Clustered {
            value: existing(value),
            by_games: interval(&self.without[0]),
            by_players: interval(&self.without[1]),
        }
    }
}
