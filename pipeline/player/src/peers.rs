//! A player's figures beside those of peers.
//!
//! Peers in other games are standardised to the player's mix of strata; their games are others than
//! the player's, so the two spreads add. Opponents are compared game by game: what one side does
//! is not independent of the other, so a game is left out on both sides at once.

use crate::Habits;
use crate::answer::{Figure, Measure, TooFew};
use crate::count::Counts;
use crate::figure::{Wanted, interval, own_figure, per_game, scale, sum, without_a_game};
use crate::standardised::{Standardised, satterthwaite, standardised, whole};
use hobble_statistics::few::COVERED;
use hobble_statistics::interval::existing;
use hobble_statistics::risk::Scale;
use hobble_statistics::{Estimate, jackknife};

/// Least folds in which the counted thing happened for an interval of the peers' figure.
pub const MINIMUM_FOLDS: usize = 5;

/// Beside opponents, the counted thing must have happened in so many times the sides of games that
/// one side alone must have. How often it happened on both sides says nothing of which side did it
/// more, so the choice favours neither; to ask a number of each side alone would drop the rounds in
/// which they differ by chance, and of the intervals left 99 % held the truth.
const TOGETHER: u64 = 4;

/// Whom the player is compared with.
#[derive(Debug, Clone)]
pub enum Others<'a> {
    /// Sides in other games, by stratum and fold.
    Apart(Vec<Vec<Counts>>),
    /// The opponents, game by game, in the order of the player's games.
    Opponents(Vec<&'a Counts>),
}

/// The sides a figure is worked out from.
#[derive(Debug, Clone)]
pub struct Sides<'a> {
    /// The player's games: stratum and counts.
    pub own: Vec<(usize, &'a Counts)>,
    /// The others.
    pub others: Others<'a>,
}

/// What is said of the others, and of the player beside them.
struct Beside {
    peers: Figure,
    ratio: Estimate,
    difference: Estimate,
    covered: Option<f64>,
    too_few: Option<TooFew>,
}

impl Beside {
    fn none(too_few: TooFew) -> Beside {
        let none = Estimate {
            value: None,
            jackknife: None,
        };
        Beside {
            peers: Figure {
                events: 0,
                base: 0,
                value: None,
                interval: None,
            },
            ratio: none,
            difference: none,
            covered: None,
            too_few: Some(too_few),
        }
    }
}

fn apart(
    wanted: &Wanted,
    own: &[(usize, &Counts)],
    peers: &[Vec<Counts>],
    few: Option<TooFew>,
) -> Beside {
    let on = scale(wanted.unit);
    let share = on == Scale::Logit;
    let Some(theirs) = standardised(wanted, share, own, peers) else {
        return Beside::none(few.unwrap_or(TooFew::NoPeers));
    };
    let covered = theirs.covered as f64 / theirs.of as f64;
    let few_of_peers = if covered < COVERED {
        Some(TooFew::Covered {
            have: theirs.covered,
            of: theirs.of,
        })
    } else if theirs.folds_with_event < MINIMUM_FOLDS {
        Some(TooFew::PeersFolds {
            have: theirs.folds_with_event as u64,
            need: MINIMUM_FOLDS as u64,
        })
    } else {
        None
    };
    let mut beside = Beside::none(TooFew::NoPeers);
    beside.covered = Some(covered);
    beside.peers.events = theirs.events;
    beside.peers.base = theirs.base;
    beside.too_few = few.or(few_of_peers);
    if few_of_peers.is_none() {
        beside.peers.value = existing(theirs.value);
        beside.peers.interval = interval(on, theirs.value, theirs.se(on), whole(theirs.df()));
    }
    if beside.too_few.is_none() {
        (beside.ratio, beside.difference) = compare(wanted, own, &theirs);
    }
    beside
}

/// Ratio to the peers' figure and difference from it, in the strata compared.
fn compare(
    wanted: &Wanted,
    own: &[(usize, &Counts)],
    theirs: &Standardised,
) -> (Estimate, Estimate) {
    let compared = own.iter().filter(|(stratum, _)| theirs.compares(*stratum));
    let games = per_game(wanted, &compared.copied().collect::<Vec<_>>());
    let (n, d) = sum(&games);
    let value = wanted.unit.each() * n as f64 / d as f64;
    let estimate = |on: Scale, value: f64| {
        let own = jackknife::standard_error(&without_a_game(wanted.unit, &games, on));
        let both = own.zip(theirs.se(on));
        let (se, df) = both.map_or((None, 0.0), |(own, peers)| {
            let parts = [
                (own.powi(2), games.len() as f64 - 1.0),
                (peers.powi(2), theirs.df()),
            ];
            (Some(own.hypot(peers)), satterthwaite(&parts))
        });
        Estimate {
            value: existing(value),
            jackknife: interval(on, value, se, whole(df)),
        }
    };
    (
        estimate(Scale::Log, value / theirs.value),
        estimate(Scale::Plain, value - theirs.value),
    )
}

/// The player beside the opponents of the same games.
fn paired(
    habits: &Habits,
    wanted: &Wanted,
    own: &[(usize, &Counts)],
    opponents: &[&Counts],
    few: Option<TooFew>,
) -> Beside {
    let theirs: Vec<(usize, &Counts)> = opponents.iter().map(|counts| (0, *counts)).collect();
    let (peers, few_of_theirs) = own_figure(habits, wanted, &theirs);
    let few_of_theirs = few_of_theirs.map(|few| match few {
        TooFew::Happened { have, need } => TooFew::OpponentsHappened { have, need },
        other => other,
    });
    let mut beside = Beside::none(TooFew::NoPeers);
    beside.covered = Some(1.0);
    beside.peers = peers;
    let (events, base) = (wanted.events as usize, wanted.base as usize);
    let of_own = own.iter().filter(|(_, counts)| counts[events] > 0).count();
    let of_theirs = opponents.iter().filter(|counts| counts[events] > 0);
    let have = (of_own + of_theirs.count()) as u64;
    let need = TOGETHER * habits.minimum_event_games;
    let together = (have < need).then_some(TooFew::Together { have, need });
    beside.too_few = few.or(few_of_theirs).or(together);
    if beside.too_few.is_some() {
        return beside;
    }
    let games: Vec<[(u64, u64); 2]> = own
        .iter()
        .zip(opponents)
        .map(|((_, own), other)| [(own[events], own[base]), (other[events], other[base])])
        .filter(|sides| sides.iter().any(|(n, d)| n + d > 0))
        .collect();
    let whole = [0, 1].map(|side| sum(&games.iter().map(|game| game[side]).collect::<Vec<_>>()));
    let rate = |(n, d): (u64, u64)| wanted.unit.each() * n as f64 / d as f64;
    let estimate = |on: Scale, value: f64| {
        let without = |game: &[(u64, u64); 2]| {
            let [own, other] = [0, 1].map(|side| {
                let (n, d) = (whole[side].0 - game[side].0, whole[side].1 - game[side].1);
                on.forward(rate((n, d)))
            });
            own - other
        };
        let replicates: Vec<f64> = games.iter().map(without).collect();
        let se = jackknife::standard_error(&replicates);
        Estimate {
            value: existing(value),
            jackknife: interval(on, value, se, games.len().saturating_sub(1)),
        }
    };
    let [own, other] = whole.map(rate);
    beside.ratio = estimate(Scale::Log, own / other);
    beside.difference = estimate(Scale::Plain, own - other);
    beside
}

/// One figure of the player compared with that of others. Whether it stands out is judged with
/// all figures together.
pub fn measure(habits: &Habits, wanted: &Wanted, sides: &Sides<'_>) -> Measure {
    let (you, few) = own_figure(habits, wanted, &sides.own);
    let beside = match &sides.others {
        Others::Apart(peers) => apart(wanted, &sides.own, peers, few),
        Others::Opponents(opponents) => paired(habits, wanted, &sides.own, opponents, few),
    };
    let label = wanted
        .label
        .replace("{long}", &habits.long.to_string())
        .replace("{within}", &habits.within.to_string());
    Measure {
        name: wanted.name.to_owned(),
        label,
        unit: wanted.unit,
        of: wanted.of.to_owned(),
        you,
        peers: beside.peers,
        ratio: beside.ratio,
        difference: beside.difference,
        covered: beside.covered,
        sampled: wanted.sampled,
        adjusted: None,
        stands_out: false,
        too_few: beside.too_few,
        verdict: String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answer::Unit;
    use crate::count::{COUNTS, Count};

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
        sampled: false,
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
            others: Others::Apart(
                [2, 6]
                    .map(|rate| {
                        (0..64)
                            .map(|fold| counts(rate * 10 + fold % 2 * 2 - 1, 10))
                            .collect()
                    })
                    .to_vec(),
            ),
        };
        let got = measure(&habits(), &WANTED, &sides);
        assert!((got.peers.value.unwrap() - 3.0).abs() < 1e-12);
        let mine = got.you.value.unwrap();
        assert!((got.ratio.value.unwrap() - mine / 3.0).abs() < 1e-12);
        assert!(got.ratio.jackknife.unwrap().low > 1.0);
        // A mean's jackknife is s / √n; on the plain scale the peers' spread adds to it.
        let values: Vec<f64> = own
            .iter()
            .map(|c| c[Count::Spells as usize] as f64)
            .collect();
        let variance = values.iter().map(|v| (v - mine).powi(2)).sum::<f64>() / 39.0;
        let se = got.difference.jackknife.unwrap().se.unwrap();
        assert!(se > (variance / 40.0).sqrt());
        // The peers' spread is small beside the player's: hardly more degrees than the player's 39.
        let df = got.difference.jackknife.unwrap().df.unwrap();
        assert!((39..60).contains(&df), "{df}");
        assert_eq!(got.covered, Some(1.0));
    }

    #[test]
    fn too_few_games_get_no_figure() {
        let own = [counts(3, 1), counts(2, 1)];
        let sides = Sides {
            own: own.iter().map(|c| (0, c)).collect(),
            others: Others::Apart(vec![(0..64).map(|_| counts(20, 10)).collect()]),
        };
        let got = measure(&habits(), &WANTED, &sides);
        assert_eq!((got.you.events, got.you.base, got.you.value), (5, 2, None));
        assert_eq!(got.ratio.value, None);
        assert_eq!(got.too_few, Some(TooFew::Games { have: 2, need: 20 }));
    }

    #[test]
    fn no_peers_and_no_games() {
        let own: Vec<Counts> = (0..30).map(|i| counts(i % 4, 1)).collect();
        let alone = Sides {
            own: own.iter().map(|c| (0, c)).collect(),
            others: Others::Apart(vec![vec![[0; COUNTS]; 64]]),
        };
        let got = measure(&habits(), &WANTED, &alone);
        assert!(got.you.interval.is_some() && got.ratio.value.is_none());
        assert_eq!(got.too_few, Some(TooFew::NoPeers));
        let no_games = Sides {
            own: Vec::new(),
            others: alone.others,
        };
        assert_eq!(
            measure(&habits(), &WANTED, &no_games).too_few,
            Some(TooFew::Games { have: 0, need: 20 })
        );
    }

    /// The player's losses are one in ten throughout. In the stratum with most of them the peers have
    /// three games without a loss: that is not a rate, and what is left covers too little.
    #[test]
    fn strata_with_three_games_of_peers() {
        let own: Vec<Counts> = (0..1000)
            .map(|i| counts(u64::from(i % 10 == 0), 1))
            .collect();
        let mut few = vec![[0; COUNTS]; 64];
        few[..3].fill(counts(0, 1));
        let many = (0..64).map(|_| counts(1, 10)).collect::<Vec<_>>();
        let sides = |first: usize| Sides {
            own: (own.iter().enumerate())
                .map(|(i, c)| (usize::from(i >= first), c))
                .collect(),
            others: Others::Apart(vec![few.clone(), many.clone()]),
        };
        let got = measure(&habits(), &WANTED, &sides(700));
        let covered = TooFew::Covered {
            have: 300,
            of: 1000,
        };
        assert_eq!((got.too_few, got.ratio.value), (Some(covered), None));
        assert_eq!(got.covered, Some(0.3));
        // With a tenth there, the rest is compared alone.
        let got = measure(&habits(), &WANTED, &sides(100));
        assert_eq!((got.too_few, got.covered), (None, Some(0.9)));
        assert!((got.ratio.value.unwrap() - 1.0).abs() < 1e-12);
    }

    /// Of games in which both sides do the same, however different the games are, the ratio is 1
    /// without spread; and a constant factor is found though games differ a hundredfold.
    #[test]
    fn opponents_are_paired_by_game() {
        let own: Vec<Counts> = (0..40).map(|i| counts(2 * (1 + i * i % 100), 1)).collect();
        let other: Vec<Counts> = (0..40).map(|i| counts(1 + i * i % 100, 1)).collect();
        let sides = Sides {
            own: own.iter().map(|c| (0, c)).collect(),
            others: Others::Opponents(other.iter().collect()),
        };
        let got = measure(&habits(), &WANTED, &sides);
        assert!((got.ratio.value.unwrap() - 2.0).abs() < 1e-12);
        assert!(got.ratio.jackknife.is_none_or(|it| it.high - it.low < 1e-6));
        let difference = got.difference.jackknife.unwrap();
        assert!(difference.low > 0.0 && difference.df == Some(39));
    }
}
