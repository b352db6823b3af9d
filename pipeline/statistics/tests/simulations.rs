//! Simulated games with a known truth: intervals hold it in 93 to 97 of 100, and tests reject
//! in 3 to 7 of 100 where there is nothing.
//!
//! Observations of one game repeat one another, as turns after one another do, so that
//! standard errors that take them for independent are too small. Each test prints its figures.

use hobble_statistics::LEVEL;
use hobble_statistics::clusters::Clustering;
use hobble_statistics::conditional_logit::{self, MatchedSets};
use hobble_statistics::g_computation::over_the_exposed;
use hobble_statistics::glm::{self, Link, Row, Rows};
use hobble_statistics::hazard::Hazards;
use hobble_statistics::incidence::Incidence;
use hobble_statistics::quantile;
use hobble_statistics::risk::Scale;
use hobble_statistics::trend::Levels;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

const RUNS: u32 = 1500;

/// Share of the runs in which something holds.
#[derive(Default)]
struct Share {
    yes: u32,
    of: u32,
}

impl Share {
    fn add(&mut self, yes: bool) {
        self.yes += u32::from(yes);
        self.of += 1;
    }

    fn value(&self) -> f64 {
        f64::from(self.yes) / f64::from(self.of)
    }

    /// Prints the share, and asserts that it lies in a range and that no run is missing.
    fn within(&self, what: &str, low: f64, high: f64) {
        let value = self.value();
        println!(
            "{what} | {:.1} of 100 | {} runs | {low} to {high}",
            100.0 * value,
            self.of
        );
        assert!(
            f64::from(self.of) >= 0.99 * f64::from(RUNS),
            "{what}: runs without an answer"
        );
        assert!(low <= value && value <= high, "{what}: {value}");
    }

    fn covers(&self, what: &str) {
        self.within(what, 0.93, 0.97);
    }

    fn rejects(&self, what: &str) {
        self.within(what, 0.03, 0.07);
    }
}

fn holds(interval: Option<hobble_statistics::Interval>, truth: f64) -> bool {
    interval.is_some_and(|found| found.low <= truth && truth <= found.high)
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn yes(rng: &mut ChaCha8Rng, chance: f64) -> f64 {
    f64::from(u32::from(rng.random::<f64>() < chance))
}

/// Games of a few positions, each repeated one to four times; two to four pieces a position.
fn positions(rng: &mut ChaCha8Rng, beta: f64) -> MatchedSets {
    let mut sets = MatchedSets::new(2);
    for game in 0..120 {
        for _ in 0..4 {
            let bad: f64 = rng.random_range(-2.0..1.0);
            let mut rows = Vec::new();
            let mut cases = Vec::new();
            for _ in 0..rng.random_range(2..5) {
                let exposed = yes(rng, logistic(bad));
                let other = rng.random_range(-1.0..1.0);
                rows.extend([exposed, other]);
                cases.push(yes(rng, logistic(bad + beta * exposed + 0.5 * other)) == 1.0);
            }
            for _ in 0..rng.random_range(1..5) {
                sets.push([game, 0], &cases, &rows);
            }
        }
    }
    sets
}

#[test]
fn matched_sets() {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let (mut clustered, mut model) = (Share::default(), Share::default());
    let mut nothing = Share::default();
    for _ in 0..RUNS {
        let beta = 0.7;
        if let Ok(fit) = conditional_logit::fit(&positions(&mut rng, beta), Clustering::OneWay) {
            clustered.add(holds(fit.interval(0, LEVEL), beta.exp()));
            let width = quantile::normal(LEVEL) * fit.covariance.get(0, 0).sqrt();
            model.add((fit.coefficients[0] - beta).abs() <= width);
        }
        if let Ok(fit) = conditional_logit::fit(&positions(&mut rng, 0.0), Clustering::OneWay) {
            nothing.add(fit.p(0).is_some_and(|p| p < 0.05));
        }
    }
    clustered.covers("matched sets: interval by clusters");
    model.within(
        "matched sets: interval by the model is too narrow",
        0.5,
        0.9,
    );
    nothing.rejects("matched sets: no effect");
}

/// What twins say where two fits are asked: adjusted for a covariate, and with nothing adjusted.
#[derive(Default)]
struct TwoFits {
    adjusted: Share,
    plain: Share,
    both: Share,
}

impl TwoFits {
    /// Games of pairs of pieces; the covariate makes exposure and loss likelier by so much.
    fn run(rng: &mut ChaCha8Rng, (on_exposure, on_loss, effect): (f64, f64, f64)) -> TwoFits {
        let mut found = TwoFits::default();
        for _ in 0..RUNS {
            let (mut adjusted, mut plain) = (MatchedSets::new(2), MatchedSets::new(1));
            for position in 0..900u32 {
                let bad: f64 = rng.random_range(-2.0..1.0);
                let mut rows = Vec::new();
                let mut cases = Vec::new();
                for _ in 0..2 {
                    let other = yes(rng, 0.5);
                    let exposed = yes(rng, logistic(on_exposure * other + 0.3 * bad));
                    rows.push([exposed, other]);
                    let chance = logistic(bad - 1.0 + on_loss * other + effect * exposed);
                    cases.push(yes(rng, chance) == 1.0);
                }
                let clusters = [position / 3, 0];
                adjusted.push(clusters, &cases, rows.as_flattened());
                let exposed: Vec<f64> = rows.iter().map(|row| row[0]).collect();
                plain.push(clusters, &cases, &exposed);
            }
            let above = |sets: &MatchedSets| {
                let fit = conditional_logit::fit(sets, Clustering::OneWay).ok()?;
                let interval = fit.interval(0, LEVEL)?;
                Some((interval.low > 1.0, interval.high < 1.0))
            };
            if let (Some(one), Some(two)) = (above(&adjusted), above(&plain)) {
                found.adjusted.add(one.0 || one.1);
                found.plain.add(two.0 || two.1);
                found.both.add(one.0 && two.0 || one.1 && two.1);
            }
        }
        found
    }
}

/// Asking both fits of twins rejects no more than the adjusted one alone: where there is no effect,
/// whichever way a covariate works; and it is not lost on an effect where none works.
#[test]
fn twins_adjusted_and_plain() {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    for (what, works) in [
        ("nothing works", (0.0, 0.0, 0.0)),
        ("a covariate works against both", (0.8, 0.8, 0.0)),
        ("a covariate hides an effect", (0.8, -0.8, 0.0)),
    ] {
        let found = TwoFits::run(&mut rng, works);
        found.adjusted.rejects(&format!("twins, {what}: adjusted"));
        let plain = found.plain.value();
        found.both.within(
            &format!("twins, {what}: adjusted and plain (plain {plain:.3})"),
            0.0,
            0.07,
        );
    }
    for (what, works, kept) in [
        ("nothing works", (0.0, 0.0, 0.4), 0.9),
        ("a covariate works against both", (0.8, 0.8, 0.4), 0.9),
        ("a covariate hides it", (0.8, -0.8, 0.4), 0.4),
    ] {
        let found = TwoFits::run(&mut rng, works);
        let (alone, both) = (found.adjusted.value(), found.both.value());
        println!("twins, an effect of 1.49, {what}: adjusted {alone:.3}, both {both:.3}");
        assert!(kept * alone <= both && both <= alone);
    }
}

/// In a bad position pieces are exposed more often and lost more often; being exposed does
/// nothing to a piece. The association rejects, matched sets do not.
#[test]
fn effect_on_the_whole_position_alone() {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let (mut association, mut within) = (Share::default(), Share::default());
    for _ in 0..RUNS {
        let mut sets = MatchedSets::new(1);
        let mut rows = Rows::new(1);
        let patterns = [rows.pattern(&[0.0]), rows.pattern(&[1.0])];
        for position in 0..400u32 {
            let bad = 2.0 * yes(&mut rng, 0.4);
            let mut exposed = Vec::new();
            let mut lost = Vec::new();
            for _ in 0..3 {
                exposed.push(yes(&mut rng, logistic(bad - 1.5)));
                lost.push(yes(&mut rng, logistic(bad - 2.0)));
            }
            let clusters = [position / 4, 0];
            for (exposed, events) in exposed.iter().zip(&lost) {
                let pattern = patterns[*exposed as usize];
                rows.push(Row {
                    pattern,
                    clusters,
                    trials: 1.0,
                    events: *events,
                });
            }
            let cases: Vec<bool> = lost.iter().map(|lost| *lost == 1.0).collect();
            sets.push(clusters, &cases, &exposed);
        }
        if let Ok(fit) = glm::fit(&rows, Link::Logit, Clustering::OneWay) {
            association.add(fit.p(1).is_some_and(|p| p < 0.05));
        }
        if let Ok(fit) = conditional_logit::fit(&sets, Clustering::OneWay) {
            within.add(fit.p(0).is_some_and(|p| p < 0.05));
        }
    }
    association.within(
        "effect on the position alone: association rejects",
        0.9,
        1.0,
    );
    within.rejects("effect on the position alone: matched sets");
}

/// Rows by game and player, whose effects multiply the risk with mean 1, so that the
/// logarithm of the mean risk stays linear. The covariate differs by game and player.
#[test]
fn two_ways() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let (mut both, mut first) = (Share::default(), Share::default());
    let mut nothing = Share::default();
    for run in 0..2 * RUNS {
        let beta = if run % 2 == 0 { 0.5 } else { 0.0 };
        let mut rows = Rows::new(1);
        let patterns: Vec<u32> = (0..3).map(|x| rows.pattern(&[f64::from(x)])).collect();
        let mut draw = |share: f64| -> Vec<(f64, usize)> {
            let of = |rng: &mut ChaCha8Rng| {
                (
                    1.0 + share - 2.0 * share * yes(rng, 0.5),
                    yes(rng, 0.5) as usize,
                )
            };
            (0..100).map(|_| of(&mut rng)).collect()
        };
        let (games, players) = (draw(0.4), draw(0.6));
        for _ in 0..1200 {
            let clusters = [rng.random_range(0..100u32), rng.random_range(0..100u32)];
            let (by_game, by_player) = (games[clusters[0] as usize], players[clusters[1] as usize]);
            let x = by_game.1 + by_player.1;
            let risk = 0.1 * (beta * x as f64).exp() * by_game.0 * by_player.0;
            let events = yes(&mut rng, risk);
            rows.push(Row {
                pattern: patterns[x],
                clusters,
                trials: 1.0,
                events,
            });
        }
        let Ok(fit) = glm::fit(&rows, Link::Log, Clustering::TwoWay) else {
            continue;
        };
        if beta == 0.0 {
            nothing.add(fit.p(1).is_some_and(|p| p < 0.05));
            continue;
        }
        both.add(holds(fit.interval(1, LEVEL), beta.exp()));
        if let Ok(fit) = glm::fit(&rows, Link::Log, Clustering::OneWay) {
            first.add(holds(fit.interval(1, LEVEL), beta.exp()));
        }
    }
    both.covers("weighted model: interval by clusters two ways");
    first.within(
        "weighted model: interval by games alone is too narrow",
        0.5,
        0.925,
    );
    nothing.rejects("weighted model: no effect, two ways");
}

/// Exposed rows are all kept, others with the chance 1/4 and weight 4. The truth is worked out
/// over the three values of the covariate.
#[test]
fn standardised_to_the_exposed() {
    let chance_exposed = [0.05, 0.15, 0.4];
    let risk = |x: usize, exposed: f64| logistic(-2.5 + 0.8 * exposed + 0.7 * x as f64);
    let mean = |exposed: f64| {
        let sum: f64 = (0..3).map(|x| chance_exposed[x] * risk(x, exposed)).sum();
        sum / chance_exposed.iter().sum::<f64>()
    };
    let (with, without) = (mean(1.0), mean(0.0));
    let mut rng = ChaCha8Rng::seed_from_u64(4);
    let (mut ratio, mut difference, mut free) =
        (Share::default(), Share::default(), Share::default());
    for _ in 0..RUNS {
        let mut rows = Rows::new(2);
        let patterns: Vec<u32> = (0..6)
            .map(|at| rows.pattern(&[f64::from(at % 2), f64::from(at / 2)]))
            .collect();
        // The second covariate is linear, as the truth is.
        for game in 0..300 {
            for _ in 0..4 {
                let x = rng.random_range(0..3);
                let exposed = yes(&mut rng, chance_exposed[x]);
                let events = yes(&mut rng, risk(x, exposed));
                let pattern = patterns[2 * x + exposed as usize];
                for _ in 0..rng.random_range(1..5) {
                    let trials = if exposed == 1.0 { 1.0 } else { 4.0 };
                    if exposed == 1.0 || yes(&mut rng, 0.25) == 1.0 {
                        let events = trials * events;
                        rows.push(Row {
                            pattern,
                            clusters: [game, 0],
                            trials,
                            events,
                        });
                    }
                }
            }
        }
        if let Ok(got) = over_the_exposed(&rows, 0, Link::Logit, Clustering::OneWay) {
            ratio.add(holds(got.ratio_interval(LEVEL), with / without));
            difference.add(holds(got.difference_interval(LEVEL), with - without));
            free.add(holds(got.without_interval(LEVEL), without));
        }
    }
    ratio.covers("standardised by a model: ratio");
    difference.covers("standardised by a model: difference");
    free.covers("standardised by a model: risk without the exposure");
}

#[test]
fn trend_over_levels() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let (mut slope, mut departure) = (Share::default(), Share::default());
    for _ in 0..RUNS {
        let mut levels = Levels::new(4, Clustering::OneWay);
        for game in 0..400 {
            let level = rng.random_range(0..4);
            for level in [level, (level + 1) % 4] {
                let outcome = yes(&mut rng, logistic(-1.0 + 0.2 * level as f64));
                for _ in 0..rng.random_range(1..5) {
                    levels.add(level, [game, 0], 1.0, outcome);
                }
            }
        }
        if let Some(trend) = levels.trend(&[0.0, 1.0, 2.0, 3.0], Scale::Logit) {
            let interval = trend
                .error
                .and_then(|error| error.interval(Scale::Plain, trend.slope, LEVEL));
            slope.add(holds(interval, 0.2));
            departure.add(trend.departure.is_some_and(|wald| wald.p < 0.05));
        }
    }
    slope.covers("trend: slope");
    departure.rejects("trend: departure from a line that is one");
}

/// Units that end by one of two causes, in games; units of a game repeat one another. The
/// state comes and goes, and multiplies the hazard of the first cause.
#[test]
fn hazard_and_incidence() {
    let times = 2.0;
    let (base, other) = (0.04f64, 0.05);
    // The chance of the state is 0.4 at every turn, whatever was before.
    let (first, all) = (
        base * (0.6 + 0.4 * times),
        base * (0.6 + 0.4 * times) + other,
    );
    let truth: f64 = (0..6).map(|turn| first * (1.0 - all).powi(turn)).sum();
    let mut rng = ChaCha8Rng::seed_from_u64(6);
    let (mut ratio, mut share, mut rate) = (Share::default(), Share::default(), Share::default());
    for _ in 0..RUNS {
        let mut hazards = Hazards::new(Clustering::OneWay);
        let mut incidence = Incidence::new(2, Clustering::OneWay);
        for game in 0..500 {
            let copies = f64::from(rng.random_range(1..4u32));
            for turn in 1..=6 {
                let state = yes(&mut rng, 0.4);
                let hazard = base * (1.0 + (times - 1.0) * state);
                let draw: f64 = rng.random();
                let ends = [draw < hazard, draw >= hazard && draw < hazard + other]
                    .map(|ends| copies * f64::from(u32::from(ends)));
                hazards.add((turn, state as u32), [game, 0], copies, ends[0]);
                incidence.add(turn, [game, 0], copies, &ends);
                if ends[0] + ends[1] > 0.0 || yes(&mut rng, 0.03) == 1.0 {
                    break;
                }
            }
        }
        if let Ok(found) = hazards.ratio(1, 0) {
            ratio.add(holds(found.interval(LEVEL), times));
        }
        if let Some(last) = incidence.curves(LEVEL).last() {
            share.add(holds(last.causes[0].interval, truth));
        }
        rate.add(holds(hazards.rates(LEVEL)[1].interval, base * times));
    }
    ratio.covers("hazard ratio");
    share.covers("incidence with a competing end");
    rate.covers("hazard at a turn");
}
