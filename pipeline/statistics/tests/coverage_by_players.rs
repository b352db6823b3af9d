//! How often the interval by games and players holds the figure, in simulated archives whose players
//! differ much: a player's log odds, or log rate, has a standard deviation of 0.6.

#![allow(missing_docs)]

use std::collections::BTreeMap;

use hobble_statistics::LEVEL;
use hobble_statistics::ratio_clusters::{Products, Rows, two_way};
use hobble_statistics::risk::Scale;
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// Standard deviation of players, and of games, on the scale.
const PLAYERS: f64 = 0.6;
const GAMES: f64 = 0.3;

/// An archive: players, games, and how unequal the players' numbers of games are (Zipf's exponent).
#[derive(Clone, Copy)]
struct Archive {
    players: usize,
    games: usize,
    unequal: f64,
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (a, b): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

fn odds(log: f64) -> f64 {
    1.0 / (1.0 + (-log).exp())
}

/// Trials of a side.
const TRIALS: u64 = 20;

/// Log odds in the middle.
const MIDDLE: f64 = -1.5;

/// The mean share over players and games.
fn mean_share() -> f64 {
    let sd = PLAYERS.hypot(GAMES);
    let steps = (-4_000..=4_000).map(|step| f64::from(step) / 1_000.0);
    let (sum, weight) = steps.fold((0.0, 0.0), |(sum, weight), z| {
        let density = (-z * z / 2.0).exp();
        (sum + density * odds(MIDDLE + sd * z), weight + density)
    });
    sum / weight
}

/// Whether the interval of one archive's share holds the mean share.
fn holds(archive: Archive, random: &mut ChaCha8Rng, mean: f64) -> bool {
    let weights: Vec<f64> = (1..=archive.players)
        .scan(0.0, |sum, rank| {
            *sum += (rank as f64).powf(-archive.unequal);
            Some(*sum)
        })
        .collect();
    let total = weights[archive.players - 1];
    let skill: Vec<f64> = weights.iter().map(|_| PLAYERS * normal(random)).collect();
    let draw = |random: &mut ChaCha8Rng| {
        let at = random.random::<f64>() * total;
        weights
            .partition_point(|&sum| sum < at)
            .min(archive.players - 1)
    };
    let (mut games, mut sides) = (Products::default(), Products::default());
    let mut players: BTreeMap<usize, (u64, u64)> = BTreeMap::new();
    for _ in 0..archive.games {
        let (one, other) = (draw(random), draw(random));
        if one == other {
            continue;
        }
        let game = GAMES * normal(random);
        let mut of_game = 0;
        for player in [one, other] {
            let share = odds(MIDDLE + skill[player] + game);
            let events = (0..TRIALS)
                .filter(|_| random.random::<f64>() < share)
                .count() as u64;
            sides.add(events, TRIALS);
            of_game += events;
            let sum = players.entry(player).or_default();
            sum.0 += events;
            sum.1 += TRIALS;
        }
        games.add(of_game, 2 * TRIALS);
    }
    let rows = Rows {
        games: &games,
        sides: &sides,
        nameless: &Products::default(),
    };
    let share = sides.events as f64 / sides.trials as f64;
    two_way(Scale::Logit, rows, players.into_values())
        .and_then(|found| found.error?.interval(Scale::Logit, share, LEVEL))
        .is_some_and(|interval| interval.low <= mean && mean <= interval.high)
}

/// Share of the archives whose interval holds the mean.
fn coverage(archive: Archive, archives: u32, seed: u64) -> f64 {
    let (mut random, mean) = (ChaCha8Rng::seed_from_u64(seed), mean_share());
    let held = (0..archives)
        .filter(|_| holds(archive, &mut random, mean))
        .count();
    held as f64 / f64::from(archives)
}

#[test]
fn intervals_hold_the_share() {
    let archive = Archive {
        players: 100,
        games: 400,
        unequal: 0.4,
    };
    let got = coverage(archive, 600, 1);
    assert!((0.93..=0.97).contains(&got), "{got}");
}

/// Prints the coverage of many archives; `cargo test … -- --ignored --nocapture`.
#[test]
#[ignore = "many archives; 0.943 to 0.955 when last run"]
fn intervals_of_many_archives() {
    for (players, games, unequal) in [
        (15, 300, 0.0),
        (15, 300, 0.8),
        (60, 600, 0.0),
        (60, 600, 0.8),
        (300, 1_500, 0.0),
        (300, 1_500, 0.8),
        (300, 1_500, 1.1),
        (1_000, 3_000, 0.8),
    ] {
        let archive = Archive {
            players,
            games,
            unequal,
        };
        let got = coverage(archive, 2_000, 7);
        println!("{players} players, {games} games, exponent {unequal}: {got:.3}");
        assert!((0.93..=0.97).contains(&got), "{got}");
    }
}
