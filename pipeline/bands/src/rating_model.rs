//! Own and opponent's rating in one model: how a figure changes with each while the other stays.
//!
//! Players meet opponents of their own strength, so that a trend over bands is one of both ratings at
//! once. A generalised linear model keeps them apart: logit link for shares, log link for other rates
//! (`hobble_statistics::glm` with its sources), its covariates the two ratings in hundreds of points.

use std::collections::BTreeMap;

use serde::Serialize;

use super::by_ratings::{By, ByRatings, Counted};
use super::file::BandReport;
use super::measures::Measure;
use hobble_statistics::LEVEL;
use hobble_statistics::clusters::Clustering;
use hobble_statistics::fit::Fit;
use hobble_statistics::glm::{self, Link, Row, Rows};
use hobble_statistics::holm::holm;
use hobble_statistics::risk::Scale;

/// Ratings are counted from here, so that the model is well conditioned.
const MIDDLE: f64 = 1500.0;

/// The model of a measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RatingModel {
    /// What is measured.
    pub measure: Measure,
    /// Sides of which both ratings are known.
    pub sides: u64,
    /// The player's own rating.
    pub own: Effect,
    /// The opponent's.
    pub opponent: Effect,
}

/// What 100 points more of a rating come with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// Factor on the figure (its odds, for shares).
    pub per_100_points: f64,
    /// Lower bound of its interval.
    pub low: f64,
    /// Upper bound of its interval.
    pub high: f64,
    /// Whether clusters of games or of players gave the interval: the wider one.
    pub clusters: &'static str,
    /// Two-sided p-value of no change.
    pub p: f64,
    /// The same, adjusted for all tests of these models by Holm's method.
    pub p_holm: f64,
}

/// The models of all measures with enough games.
pub fn models(report: &BandReport, by_ratings: &ByRatings) -> Vec<RatingModel> {
    let (games, players) = (by_ratings.by(By::Games), by_ratings.by(By::Players));
    let of_measure = |measure| model(report, measure, &games, &players);
    let mut models: Vec<RatingModel> = Measure::ALL.into_iter().filter_map(of_measure).collect();
    let tests = models
        .iter()
        .flat_map(|model| [model.own.p, model.opponent.p]);
    let adjusted = holm(&tests.collect::<Vec<_>>());
    for (model, adjusted) in models.iter_mut().zip(adjusted.chunks_exact(2)) {
        (model.own.p_holm, model.opponent.p_holm) = (adjusted[0], adjusted[1]);
    }
    models
}

fn model(
    report: &BandReport,
    measure: Measure,
    games: &[Counted<'_>],
    players: &[Counted<'_>],
) -> Option<RatingModel> {
    let (at, side) = (measure as usize, Measure::ChancesPerGame as usize);
    let sides: u64 = games.iter().map(|one| one.counts[side].1).sum();
    let with_events = |of: &[Counted<'_>]| {
        let clusters = of
            .iter()
            .filter(|one| one.counts[at].0 > 0)
            .map(|one| one.cluster);
        clusters.collect::<std::collections::BTreeSet<_>>().len() as u32
    };
    let least = report.minimum_folds.max(2);
    if sides < report.minimum_games || with_events(games) < least || with_events(players) < least {
        return None;
    }
    let link = match measure.scale() {
        Scale::Log => Link::Log,
        _ => Link::Logit,
    };
    let fit = |of| glm::fit(&rows(of, at), link, Clustering::OneWay).ok();
    let (by_games, by_players) = (fit(games)?, fit(players)?);
    let effect = |covariate| effect(covariate, &by_games, &by_players);
    Some(RatingModel {
        measure,
        sides,
        own: effect(1)?,
        opponent: effect(2)?,
    })
}

fn rows(of: &[Counted<'_>], at: usize) -> Rows {
    let mut rows = Rows::new(2);
    let mut patterns: BTreeMap<[u64; 2], u32> = BTreeMap::new();
    for one in of {
        let (events, trials) = one.counts[at];
        if trials == 0 {
            continue;
        }
        let covariates = one.ratings.map(|rating| (rating - MIDDLE) / 100.0);
        let pattern = patterns.entry(one.ratings.map(f64::to_bits));
        let pattern = *pattern.or_insert_with(|| rows.pattern(&covariates));
        rows.push(Row {
            pattern,
            clusters: [one.cluster; 2],
            trials: trials as f64,
            events: events as f64,
        });
    }
    rows
}

fn effect(covariate: usize, by_games: &Fit, by_players: &Fit) -> Option<Effect> {
    let each = [("games", by_games), ("players", by_players)];
    let of = |(clusters, fit): (&'static str, &Fit)| {
        let interval = fit.interval(covariate, LEVEL)?;
        Some(Effect {
            per_100_points: fit.ratio(covariate),
            low: interval.low,
            high: interval.high,
            clusters,
            p: fit.p(covariate)?,
            p_holm: 1.0,
        })
    };
    let width = |effect: &Effect| effect.high / effect.low;
    let [games, players] = each.map(of);
    let (games, players) = (games?, players?);
    Some(if width(&players) > width(&games) {
        players
    } else {
        games
    })
}
