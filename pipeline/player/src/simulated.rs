//! Intervals of a player's figures over simulated games in which the player is like the others:
//! how often they hold 1, and how often the player is called different.
//!
//! Games differ in length, sides in care; the two sides of a game share its length, and may belong to
//! different strata. The player's mix of strata is not that of the peers.

use hand_made_tables::Chance;

use crate::Habits;
use crate::count::{COUNTS, Count, Counts};
use crate::figure::Wanted;
use crate::measures::{HELD, LOST_WITHIN, RESTRAINED};
use crate::peers::{Others, Sides, measure};

/// Shares of the player's games, and of the peers', in each stratum.
const MIX: [[f64; 4]; 2] = [[0.5, 0.3, 0.15, 0.05], [0.3, 0.3, 0.2, 0.2]];
/// Pieces held a game, of those the share lost, and pieces restrained a game, by stratum.
const HELD_A_GAME: [f64; 4] = [2.0, 2.5, 3.0, 3.5];
const LOST: [f64; 4] = [0.08, 0.12, 0.1, 0.15];
const RESTRAINED_A_GAME: [f64; 4] = [0.3, 0.4, 0.5, 0.6];

/// How many games of peers, or of the player's own where opponents are compared with.
const GAMES: [usize; 4] = [20, 50, 200, 1000];
const OWN_GAMES: usize = 200;

fn one_of(chance: &mut Chance, shares: &[f64]) -> usize {
    let mut left = chance.uniform();
    let found = shares.iter().position(|share| {
        left -= share;
        left < 0.0
    });
    found.unwrap_or(shares.len() - 1)
}

fn poisson(chance: &mut Chance, mean: f64) -> u64 {
    let (mut events, mut product) = (0, chance.uniform());
    while product > (-mean).exp() {
        events += 1;
        product *= chance.uniform();
    }
    events
}

fn length(chance: &mut Chance) -> f64 {
    [0.5, 1.0, 1.5][one_of(chance, &[0.3, 0.4, 0.3])]
}

fn side(chance: &mut Chance, stratum: usize, length: f64) -> Counts {
    let care = if chance.is(0.5) { 0.7 } else { 1.3 };
    let mut counts = [0; COUNTS];
    counts[Count::Games as usize] = 1;
    let held = poisson(chance, HELD_A_GAME[stratum] * length * care);
    counts[Count::Spells as usize] = held;
    let lost = (0..held).filter(|_| chance.is(LOST[stratum] * care));
    counts[Count::LostWithin as usize] = lost.count() as u64;
    let restrained = poisson(chance, RESTRAINED_A_GAME[stratum] * length * care);
    counts[Count::Restrained as usize] = restrained;
    counts
}

fn add(to: &mut Counts, from: &Counts) {
    for (to, from) in to.iter_mut().zip(from) {
        *to += from;
    }
}

fn peers(chance: &mut Chance, games: usize) -> Vec<Vec<Counts>> {
    let mut peers = vec![vec![[0; COUNTS]; 64]; 4];
    for _ in 0..games {
        let fold = (chance.uniform() * 64.0) as usize;
        let length = length(chance);
        let white = one_of(chance, &MIX[1]);
        let black = if chance.is(0.7) {
            white
        } else {
            one_of(chance, &MIX[1])
        };
        for stratum in [white, black] {
            let counts = side(chance, stratum, length);
            add(&mut peers[stratum][fold], &counts);
        }
    }
    peers
}

/// The player's sides with their strata, and the opponents' in the same games.
fn own(chance: &mut Chance, games: usize) -> (Vec<(usize, Counts)>, Vec<Counts>) {
    let one = |chance: &mut Chance| {
        let (stratum, length) = (one_of(chance, &MIX[0]), length(chance));
        let player = side(chance, stratum, length);
        ((stratum, player), side(chance, stratum, length))
    };
    (0..games).map(|_| one(chance)).unzip()
}

/// How often an interval was given, and how often it held 1.
#[derive(Default)]
struct Held {
    given: u32,
    held: u32,
}

fn simulate(rounds: u32, opponents: bool) {
    let text = include_str!("../../../notebooks-free-reports/own-habits.toml");
    let habits = Habits::parse("own-habits", "own-habits.toml", text).unwrap();
    let figures: [Wanted; 3] = [HELD, LOST_WITHIN, RESTRAINED];
    for games in GAMES {
        let mut held: [Held; 3] = Default::default();
        let mut chance = Chance(17 + games as u64);
        for _ in 0..rounds {
            let number = if opponents { games } else { OWN_GAMES };
            let (own, others) = own(&mut chance, number);
            let sides = Sides {
                own: own.iter().map(|(stratum, one)| (*stratum, one)).collect(),
                others: if opponents {
                    Others::Opponents(others.iter().collect())
                } else {
                    Others::Apart(peers(&mut chance, games))
                },
            };
            for (held, wanted) in held.iter_mut().zip(&figures) {
                if let Some(it) = measure(&habits, wanted, &sides).ratio.jackknife {
                    held.given += 1;
                    held.held += u32::from(it.low <= 1.0 && it.high >= 1.0);
                }
            }
        }
        for (held, wanted) in held.iter().zip(&figures) {
            let share = 100.0 * f64::from(held.held) / f64::from(held.given.max(1));
            let of = if opponents { "opponents" } else { "peers" };
            println!(
                "a player like the others, {} in {games} games of {of} | simulation | {share:.1}% of {} intervals hold 1 | {rounds} rounds",
                wanted.name, held.given
            );
            // Of all rounds, those without an interval included, few call the player different.
            let called = f64::from(held.given - held.held) / f64::from(rounds);
            assert!(called <= 0.07, "{}: {called}", wanted.name);
            // Fewer than a hundredth of the rounds are not judged.
            if held.given >= rounds / 100 {
                // Two standard errors of a share of 2,000 rounds are 1%.
                let most = if rounds < 10_000 { 97.5 } else { 97.0 };
                assert!((93.0..=most).contains(&share), "{}: {share}", wanted.name);
            }
        }
    }
}

#[test]
fn beside_peers() {
    simulate(2000, false);
}

#[test]
fn beside_opponents() {
    simulate(2000, true);
}

#[test]
#[ignore = "long"]
fn beside_peers_and_opponents_long() {
    simulate(20_000, false);
    simulate(20_000, true);
}
