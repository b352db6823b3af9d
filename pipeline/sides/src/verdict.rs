//! What the games say of safe squares and the score, as types; its words are made in
//! [`crate::sentences`].

use hobble_conditions::words::counted;
use serde::Serialize;

use super::compare::{LEAST, OfLevel};
use super::estimate::Clustered;
use super::models::{Fitted, Model};
use super::numbers::Number;

/// What is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Finds {
    /// Sides with more squares scored more.
    More,
    /// Sides with more squares scored less.
    Less,
    /// No difference that these games can show.
    Nothing,
    /// Too few positions for an answer.
    TooFew {
        /// Positions counted.
        have: u64,
        /// Positions needed.
        need: u64,
    },
}

/// Whether the finding stands where something is allowed for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stands {
    /// It does.
    Yes,
    /// No difference is left that these games can show, or the opposite one.
    No,
    /// Too few positions to tell.
    Unknown,
}

/// The verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// What is found with the structure of the position allowed for.
    pub finds: Finds,
    /// Whether each level scores more (or less) beside comparable positions than the one before.
    pub step_by_step: bool,
    /// Whether it stands where the rating difference is allowed for, in rated games.
    pub rating: Stands,
}

impl Verdict {
    /// The verdict on these figures.
    pub fn of(positions: u64, levels: &[OfLevel], models: &[Fitted]) -> Verdict {
        let slope = rise(models, Model::Structure);
        let sign = slope.map_or(0, Clustered::sign);
        let finds = match (slope.and_then(|slope| slope.shown().jackknife), sign) {
            (None, _) => Finds::TooFew {
                have: positions,
                need: LEAST.trials,
            },
            (_, 1) => Finds::More,
            (_, -1) => Finds::Less,
            _ => Finds::Nothing,
        };
        let rating = match rise(models, Model::RatingStructure) {
            Some(slope) if slope.shown().jackknife.is_some() => match slope.sign() == sign {
                true => Stands::Yes,
                false => Stands::No,
            },
            _ => Stands::Unknown,
        };
        let scores: Vec<f64> = levels
            .iter()
            .filter(|level| level.too_few.is_none())
            .filter_map(|level| level.adjusted_score.value)
            .collect();
        Verdict {
            finds,
            step_by_step: scores.len() > 1
                && scores
                    .windows(2)
                    .all(|pair| (pair[1] - pair[0]) * f64::from(sign) > 0.0),
            rating,
        }
    }

    /// Why there is no answer, for readers.
    pub fn lack(&self) -> Option<String> {
        match self.finds {
            Finds::TooFew { have, need } if have < need => Some(format!(
                "too few games: {have} of the {} needed",
                counted(need, "position")
            )),
            Finds::TooFew { .. } => Some("too few games".to_owned()),
            _ => None,
        }
    }
}

/// By how much the score rises with ten safe squares more, by a model.
pub fn rise(models: &[Fitted], model: Model) -> Option<&Clustered> {
    slope(models, model, Number::Scope)
}

/// A slope of a model.
pub fn slope(models: &[Fitted], model: Model, of: Number) -> Option<&Clustered> {
    let fitted = models.iter().find(|fitted| fitted.model == model)?;
    let slope = fitted.slopes.iter().find(|slope| slope.of == of)?;
    Some(&slope.rise)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::Slope;
    use hobble_statistics::Interval;

    fn fitted(model: Model, low: f64, high: f64) -> Fitted {
        let interval = Some(Interval {
            low,
            high,
            se: None,
            df: None,
        });
        Fitted {
            model,
            outcome: Number::HalfPoints,
            positions: 1000,
            slopes: vec![Slope {
                of: Number::Scope,
                per: 10,
                rise: Clustered {
                    value: Some((low + high) / 2.0),
                    by_games: interval,
                    by_players: None,
                },
            }],
            explained: None,
        }
    }

    #[test]
    fn each_finding() {
        let of = |low, high, rated: Option<(f64, f64)>| {
            let mut models = vec![fitted(Model::Structure, low, high)];
            models.extend(rated.map(|(low, high)| fitted(Model::RatingStructure, low, high)));
            let verdict = Verdict::of(1000, &[], &models);
            (verdict.finds, verdict.rating)
        };
        assert_eq!(of(0.1, 0.2, None), (Finds::More, Stands::Unknown));
        assert_eq!(of(0.1, 0.2, Some((0.01, 0.3))), (Finds::More, Stands::Yes));
        assert_eq!(of(0.1, 0.2, Some((-0.01, 0.3))), (Finds::More, Stands::No));
        assert_eq!(
            of(-0.2, -0.1, Some((-0.3, -0.1))),
            (Finds::Less, Stands::Yes)
        );
        assert_eq!(
            of(-0.2, 0.1, Some((0.1, 0.3))),
            (Finds::Nothing, Stands::No)
        );
        let few = Verdict::of(12, &[], &[]);
        assert_eq!(few.finds, Finds::TooFew { have: 12, need: 20 });
        assert_eq!(
            few.lack().unwrap(),
            "too few games: 12 of the 20 positions needed"
        );
    }
}
