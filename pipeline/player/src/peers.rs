//! A player's figures compared with those of peers.
//!
//! The peers' figure is standardised to the player's mix of strata: each stratum's figure is
//! weighted with the player's base in it. The player's spread comes from leaving out a game at
//! a time, the peers' from leaving out a fold of games at a time; peers play in other games
//! than the player, so the two spreads add.

use crate::Habits;
use crate::answer::{Figure, Measure, TooFew, Unit};
use crate::count::{Count, Counts};
use hobble_conditions::words;
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Expected;
use hobble_statistics::{Estimate, Interval, LEVEL, StandardError, jackknife};

/// Least folds in which the counted thing happened for an interval of the peers' figure.
pub const MINIMUM_FOLDS: usize = 5;

/// A figure to be worked out.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Name for machines.
    pub name: &'static str,
    /// What it is, in words; `{long}` and `{within}` are filled in.
    pub label: &'static str,
    /// How it is counted.
    pub unit: Unit,
    /// What the base is, in words.
    pub of: &'static str,
    /// What is counted.
    pub events: Count,
    /// Out of what.
    pub base: Count,
}

/// The sides a figure is worked out from.
#[derive(Debug, Clone)]
pub struct Sides<'a> {
    /// The player's games: stratum and counts.
    pub own: Vec<(usize, &'a Counts)>,
    /// The peers by stratum and fold.
    pub peers: Vec<Vec<Counts>>,
}

fn scale(unit: Unit) -> Scale {
    match unit {
        Unit::PerGame => Scale::Log,
        Unit::Share => Scale::Logit,
    }
}

fn interval(scale: Scale, value: f64, se: Option<f64>, df: usize) -> Option<Interval> {
    let df = u32::try_from(df).ok()?;
    StandardError::new(se?, df)?.interval(scale, value, LEVEL)
}

/// Events and base of each game.
fn per_game(wanted: &Wanted, own: &[(usize, &Counts)]) -> Vec<(u64, u64)> {
    own.iter()
        .map(|(_, counts)| (counts[wanted.events as usize], counts[wanted.base as usize]))
        .filter(|(events, base)| *events > 0 || *base > 0)
        .collect()
}

/// A figure with one game left out each.
fn without_a_game(games: &[(u64, u64)], on: Scale) -> Vec<f64> {
    let (events, base) = sum(games);
    games
        .iter()
        .map(|(n, d)| on.forward((events - n) as f64 / (base - d) as f64))
        .collect()
}

fn sum(games: &[(u64, u64)]) -> (u64, u64) {
    games
        .iter()
        .fold((0, 0), |(n, d), one| (n + one.0, d + one.1))
}

/// Why the player's games are too few, if they are.
fn too_few(habits: &Habits, games: usize, with_event: usize) -> Option<TooFew> {
    if (games as u64) < habits.minimum_games {
        return Some(TooFew::Games {
            have: games as u64,
            need: habits.minimum_games,
        });
    }
    ((with_event as u64) < habits.minimum_event_games).then_some(TooFew::Happened {
        have: with_event as u64,
        need: habits.minimum_event_games,
    })
}

/// The player's own figure, with its interval where the games are enough.
pub fn own_figure(
    habits: &Habits,
    wanted: &Wanted,
    own: &[(usize, &Counts)],
) -> (Figure, Option<TooFew>) {
    figure(habits, wanted.unit, &per_game(wanted, own), own.len())
}

/// A share of the player's, from its events and base in each game, with its interval where the games
/// are enough.
pub fn own_share(habits: &Habits, games: &[(u64, u64)]) -> (Figure, Option<TooFew>) {
    let counted: Vec<(u64, u64)> = games.iter().copied().filter(|game| game.1 > 0).collect();
    figure(habits, Unit::Share, &counted, games.len())
}

/// A figure from its events and base in the games that have either, of so many games.
fn figure(
    habits: &Habits,
    unit: Unit,
    games: &[(u64, u64)],
    number: usize,
) -> (Figure, Option<TooFew>) {
    let (events, base) = sum(games);
    let with_event = games.iter().filter(|(events, _)| *events > 0).count();
    let few = too_few(habits, number, with_event);
    let on = scale(unit);
    let value = (few.is_none() && base > 0).then(|| events as f64 / base as f64);
    let interval = value.and_then(|value| {
        let se = jackknife::standard_error(&without_a_game(games, on));
        interval(on, value, se, games.len().saturating_sub(1))
    });
    let figure = Figure {
        events,
        base,
        value,
        interval,
    };
    (figure, few)
}

/// Weight, events and base of a stratum, and its events and base by fold.
type Weight = (f64, u64, u64, Vec<(u64, u64)>);

/// The peers' figure as it is weighted, and with one fold left out each.
struct Weighted {
    value: f64,
    without_one: Vec<f64>,
    folds: usize,
    folds_with_event: usize,
    events: u64,
    base: u64,
}

fn weighted(wanted: &Wanted, sides: &Sides<'_>) -> Option<Weighted> {
    let mut weights = vec![0u64; sides.peers.len()];
    for (stratum, counts) in &sides.own {
        weights[*stratum] += counts[wanted.base as usize];
    }
    let (events, base) = (wanted.events as usize, wanted.base as usize);
    // Events and base of each stratum, all and by fold.
    let strata: Vec<Weight> = sides
        .peers
        .iter()
        .zip(&weights)
        .filter_map(|(folds, weight)| {
            let folds: Vec<(u64, u64)> = folds.iter().map(|c| (c[events], c[base])).collect();
            let (n, d) = sum(&folds);
            (*weight > 0 && d > 0).then_some((*weight as f64, n, d, folds))
        })
        .collect();
    if strata.is_empty() {
        return None;
    }
    let figure = |left_out: Option<usize>| {
        let mut expected = Expected::default();
        for (weight, n, d, folds) in &strata {
            let out = left_out.map_or((0, 0), |fold| folds[fold]);
            // A stratum that depends on one fold is missing without it.
            if *d > out.1 {
                let events = weight * (n - out.0) as f64 / (d - out.1) as f64;
                expected.add(*weight, events);
            }
        }
        expected.rate()
    };
    let used = |what: fn(&(u64, u64)) -> u64| -> Vec<usize> {
        (0..64)
            .filter(|&fold| strata.iter().any(|(.., folds)| what(&folds[fold]) > 0))
            .collect()
    };
    let with_base = used(|one| one.1);
    Some(Weighted {
        value: figure(None),
        without_one: with_base.iter().map(|&fold| figure(Some(fold))).collect(),
        folds: with_base.len(),
        folds_with_event: used(|one| one.0).len(),
        events: strata.iter().map(|one| one.1).sum(),
        base: strata.iter().map(|one| one.2).sum(),
    })
}

impl Weighted {
    /// Standard error on a scale; `None` where the folds do not differ.
    fn se(&self, on: Scale) -> Option<f64> {
        let values: Vec<f64> = self.without_one.iter().map(|v| on.forward(*v)).collect();
        jackknife::standard_error(&values).filter(|se| *se > 0.0)
    }
}

/// Ratio to the peers' figure and difference from it, in the games that have peers. Peers play
/// in other games than the player, so the two spreads add.
fn compare(wanted: &Wanted, sides: &Sides<'_>, theirs: &Weighted) -> (Estimate, Estimate) {
    let base = wanted.base as usize;
    let has_peers = |stratum: usize| sides.peers[stratum].iter().any(|fold| fold[base] > 0);
    let compared: Vec<(usize, &Counts)> = sides
        .own
        .iter()
        .filter(|(stratum, _)| has_peers(*stratum))
        .copied()
        .collect();
    let games = per_game(wanted, &compared);
    let (n, d) = sum(&games);
    let value = n as f64 / d as f64;
    let df = games.len().min(theirs.folds).saturating_sub(1);
    let estimate = |on: Scale, value: f64| {
        let own = jackknife::standard_error(&without_a_game(&games, on));
        let both = own.zip(theirs.se(on)).map(|(own, peers)| own.hypot(peers));
        Estimate {
            value: existing(value),
            jackknife: interval(on, value, both, df),
        }
    };
    (
        estimate(Scale::Log, value / theirs.value),
        estimate(Scale::Plain, value - theirs.value),
    )
}

/// One figure of the player compared with that of peers.
pub fn measure(habits: &Habits, wanted: &Wanted, sides: &Sides<'_>) -> Measure {
    let (you, mut few) = own_figure(habits, wanted, &sides.own);
    let on = scale(wanted.unit);
    let mut peers = Figure {
        events: 0,
        base: 0,
        value: None,
        interval: None,
    };
    let none = Estimate {
        value: None,
        jackknife: None,
    };
    let (mut ratio, mut difference) = (none, none);
    match weighted(wanted, sides) {
        None => {
            few.get_or_insert(TooFew::NoPeers);
        }
        Some(theirs) => {
            let enough = theirs.folds_with_event >= MINIMUM_FOLDS;
            peers = Figure {
                events: theirs.events,
                base: theirs.base,
                value: enough
                    .then_some(theirs.value)
                    .filter(|value| value.is_finite()),
                interval: None,
            };
            if enough {
                peers.interval = interval(on, theirs.value, theirs.se(on), theirs.folds - 1);
            } else {
                few.get_or_insert(TooFew::PeersFolds {
                    have: theirs.folds_with_event as u64,
                    need: MINIMUM_FOLDS as u64,
                });
            }
            if few.is_none() {
                (ratio, difference) = compare(wanted, sides, &theirs);
            }
        }
    }
    let label = wanted
        .label
        .replace("{long}", &habits.long.to_string())
        .replace("{within}", &habits.within.to_string());
    let verdict = verdict(&label, &ratio, few);
    Measure {
        name: wanted.name.to_owned(),
        label,
        unit: wanted.unit,
        of: wanted.of.to_owned(),
        you,
        peers,
        ratio,
        difference,
        too_few: few,
        verdict,
    }
}

fn verdict(label: &str, ratio: &Estimate, few: Option<TooFew>) -> String {
    if let Some(few) = few {
        return format!("{label}: {few}.");
    }
    match (ratio.value, ratio.jackknife) {
        (Some(value), Some(bounds)) => {
            let digits = words::ratio_digits(Some(bounds));
            let times = format!(
                "{value:.digits$} times ({:.digits$} to {:.digits$})",
                bounds.low, bounds.high
            );
            if bounds.low > 1.0 {
                format!("{label}: more than peers, {times}.")
            } else if bounds.high < 1.0 {
                format!("{label}: less than peers, {times}.")
            } else {
                format!("{label}: these games do not tell the player from peers, {times}.")
            }
        }
        _ => format!("{label}: no interval can be given, so nothing is said."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::count::COUNTS;

    fn habits() -> Habits {
        let text = include_str!("../../../notebooks-free-reports/own-habits.toml");
        Habits::parse("own-habits", "own-habits.toml", text).unwrap()
    }

    const WANTED: Wanted = Wanted {
        name: "held",
        label: "held",
        unit: Unit::PerGame,
        of: "games",
        events: Count::Spells,
        base: Count::Games,
    };

    fn counts(events: u64, games: u64) -> Counts {
        let mut counts = [0; COUNTS];
        counts[Count::Games as usize] = games;
        counts[Count::Spells as usize] = events;
        counts
    }

    /// Two strata, weights 3 : 1; the peers have 2 and 6 a game there, so 3 in the player's mix.
    #[test]
    fn peers_in_the_players_mix() {
        let own: Vec<Counts> = (0..40).map(|i| counts(5 + i % 3, 1)).collect();
        let sides = Sides {
            own: own
                .iter()
                .enumerate()
                .map(|(i, c)| (usize::from(i >= 30), c))
                .collect(),
            peers: [2, 6]
                .map(|rate| {
                    (0..64)
                        .map(|fold| counts(rate * 10 + fold % 2 * 2 - 1, 10))
                        .collect()
                })
                .to_vec(),
        };
        let got = measure(&habits(), &WANTED, &sides);
        assert!((got.peers.value.unwrap() - 3.0).abs() < 1e-12);
        let mine = got.you.value.unwrap();
        assert!((got.ratio.value.unwrap() - mine / 3.0).abs() < 1e-12);
        assert!(got.ratio.jackknife.unwrap().low > 1.0);
        assert!(got.verdict.contains("more than peers"), "{}", got.verdict);
        // A mean's jackknife is s / √n; on the plain scale the peers' spread adds to it.
        let values: Vec<f64> = own
            .iter()
            .map(|c| c[Count::Spells as usize] as f64)
            .collect();
        let variance = values.iter().map(|v| (v - mine).powi(2)).sum::<f64>() / 39.0;
        let se = got.difference.jackknife.unwrap().se.unwrap();
        assert!(se > (variance / 40.0).sqrt());
        assert_eq!(got.difference.jackknife.unwrap().df, Some(39));
    }

    #[test]
    fn too_few_games_get_no_figure() {
        let own = [counts(3, 1), counts(2, 1)];
        let sides = Sides {
            own: own.iter().map(|c| (0, c)).collect(),
            peers: vec![(0..64).map(|_| counts(20, 10)).collect()],
        };
        let got = measure(&habits(), &WANTED, &sides);
        assert_eq!((got.you.events, got.you.base, got.you.value), (5, 2, None));
        assert_eq!(got.ratio.value, None);
        assert_eq!(
            got.verdict,
            "held: too few games to tell: 2 games (asked: 20)."
        );
    }

    #[test]
    fn no_peers_and_no_games() {
        let own: Vec<Counts> = (0..30).map(|i| counts(i % 4, 1)).collect();
        let alone = Sides {
            own: own.iter().map(|c| (0, c)).collect(),
            peers: vec![vec![[0; COUNTS]; 64]],
        };
        let got = measure(&habits(), &WANTED, &alone);
        assert!(got.you.interval.is_some() && got.ratio.value.is_none());
        assert_eq!(got.too_few, Some(TooFew::NoPeers));
        let no_games = Sides {
            own: Vec::new(),
            peers: alone.peers,
        };
        assert_eq!(
            measure(&habits(), &WANTED, &no_games).too_few,
            Some(TooFew::Games { have: 0, need: 20 })
        );
    }
}
