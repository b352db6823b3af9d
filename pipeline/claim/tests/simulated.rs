//! The ladder over simulated games in which the truth is known.

use hand_made_tables::{Chance, Turn};
use hobble_claim::answer::Rung;

#[path = "common/archives.rs"]
mod archives;
use archives::{GAMES, ask};

/// Simulated archives of each sort.
const ARCHIVES: u64 = 200;

/// Two knights of one side in a game. In half of the games the side stands badly: its pieces are
/// restrained more often, and lost more often, by `side` times. A restrained piece is lost
/// `piece` times as often as a free one of the same side.
fn games(chance: &mut Chance, side: f64, piece: f64) -> Vec<Turn> {
    let mut rows = Vec::new();
    for game in 0..GAMES {
        let bad = chance.is(0.5);
        let (restrained, lost) = if bad {
            (0.6, 0.08 * side)
        } else {
            (0.15, 0.08)
        };
        let others_lost_ply = chance.is(lost).then_some(40);
        for _ in 0..2 {
            let is_restrained = chance.is(restrained);
            let knight = if is_restrained {
                Turn::restrained()
            } else {
                Turn::default()
            };
            let knight = Turn {
                game,
                fold: (game % 64) as u8,
                others_lost_ply,
                ..knight
            };
            let lost = lost * if is_restrained { piece } else { 1.0 };
            rows.push(if chance.is(lost) {
                knight.lost(36)
            } else {
                knight
            });
        }
    }
    rows
}

/// Of so many archives: in how many the association holds, the twins exclude 1 either way, the
/// twins hold, the guards hold.
fn simulate(seed: u64, side: f64, piece: f64) -> [u64; 4] {
    let mut chance = Chance(seed);
    let mut counts = [0; 4];
    for _ in 0..ARCHIVES {
        let got = ask(&games(&mut chance, side, piece), "");
        let twins = got.twins[0].odds_ratio.jackknife;
        let found = [
            got.evidence.at(Rung::Association).holds(),
            twins.is_some_and(|it| it.low > 1.0 || it.high < 1.0),
            got.evidence.at(Rung::Twins).holds(),
            got.evidence.at(Rung::Guards).holds(),
        ];
        for (count, found) in counts.iter_mut().zip(found) {
            *count += u64::from(found);
        }
    }
    counts
}

/// The very fault of a bare comparison: what costs the piece is its owner's position. The
/// association is nearly always found; twins err in one archive of twenty, as an interval of
/// 95% does, and the guards hold hardly ever.
#[test]
fn an_effect_on_the_side_alone() {
    let [association, twins, _, guards] = simulate(1, 4.0, 1.0);
    assert!(association >= 190, "association in {association}");
    assert!((3..=18).contains(&twins), "twins in {twins}");
    assert!(guards <= 18, "guards in {guards}");
}

/// Without any effect each rung errs as often as its interval says.
#[test]
fn no_effect() {
    let [association, twins, ..] = simulate(2, 1.0, 1.0);
    // One side of an interval of 95%.
    assert!(association <= 12, "association in {association}");
    assert!((3..=18).contains(&twins), "twins in {twins}");
}

/// An effect on the piece is found by all.
#[test]
fn an_effect_on_the_piece() {
    let [association, _, twins, guards] = simulate(3, 1.0, 3.0);
    assert!(association >= 190, "association in {association}");
    assert!(twins >= 180, "twins in {twins}");
    assert!(guards >= 180, "guards in {guards}");
}

/// A knight a game, seen at two turns: shut out, restrained less for as long, or free. In half of the
/// games the side stands badly: it is restrained more often, either way, and scores less by `bad`.
/// With a knight that is shut out it scores less by `shut_out`.
fn shut_out(chance: &mut Chance, bad: f64, shut_out: f64) -> Vec<Turn> {
    let mut rows = Vec::new();
    for game in 0..GAMES {
        let stands_badly = chance.is(0.5);
        let often = if stands_badly { 2.0 } else { 1.0 };
        let (own, milder) = (0.15 * often, 0.2 * often);
        let drawn = chance.uniform();
        let knight = if drawn < own {
            Turn {
                restrained: [None, Some(7), Some(7), Some(7), Some(7)],
                ..Turn::restrained()
            }
        } else if drawn < own + milder {
            Turn {
                safe: 3,
                safe_last: Some(3),
                restrained: [None, None, None, Some(9), Some(9)],
                restrained_by: Some("pawn"),
                restrained_taken: Some(2),
                ..Turn::default()
            }
        } else {
            Turn::default()
        };
        let less = if stands_badly { bad } else { 0.0 };
        let less = less + if drawn < own { shut_out } else { 0.0 };
        let owner_result = if chance.is(0.6 - less) { "win" } else { "loss" };
        rows.extend([28, 30].map(|ply| Turn {
            game,
            fold: (game % 64) as u8,
            ply,
            owner_result,
            ..knight.clone()
        }));
    }
    rows
}

/// Of so many archives, how many in a hundred: the association leaves out no difference, the guard
/// leaves out none beyond it, and each interval holds the truth where squares alone count.
fn simulate_sides(seed: u64, bad: f64, effect: f64) -> [f64; 4] {
    const MANY: u64 = 600;
    let mut chance = Chance(seed);
    let mut counts = [0; 4];
    for _ in 0..MANY {
        let got = ask(
            &shut_out(&mut chance, bad, effect),
            "turns = 8\noutcome = \"score\"",
        );
        let score = got.side[0].difference.jackknife.unwrap();
        let milder = got.guards.side.unwrap().placebo.unwrap();
        let beyond = milder.beyond.jackknife.unwrap();
        let leaves_out =
            |it: hobble_statistics::Interval, what: f64| it.low > what || it.high < what;
        let found = [
            leaves_out(score, 0.0),
            leaves_out(beyond, 0.0),
            !leaves_out(score, -effect),
            !leaves_out(beyond, -effect),
        ];
        for (count, found) in counts.iter_mut().zip(found) {
            *count += u64::from(found);
        }
    }
    let shares = counts.map(|count| 100.0 * count as f64 / MANY as f64);
    println!(
        "sides, bad {bad}, effect {effect} | difference {:.1}, beyond the guard {:.1}, coverage {:.1}, {:.1} of 100",
        shares[0], shares[1], shares[2], shares[3]
    );
    shares
}

/// What costs the score is the owner's position: the association is found, the guard leaves out no
/// difference in one archive of twenty.
#[test]
fn a_side_that_stands_badly_is_not_shut_out() {
    let [association, guard, ..] = simulate_sides(4, 0.5, 0.0);
    assert!(association >= 60.0, "association in {association}");
    assert!((3.0..=7.0).contains(&guard), "guard in {guard}");
}

/// Nothing at all counts: both err as often as their intervals say.
#[test]
fn no_effect_on_the_side() {
    let [association, guard, ..] = simulate_sides(5, 0.0, 0.0);
    assert!(
        (3.0..=7.0).contains(&association),
        "association in {association}"
    );
    assert!((3.0..=7.0).contains(&guard), "guard in {guard}");
}

/// Shut out, a side scores less: both find it, and both intervals hold the truth.
#[test]
fn an_effect_on_the_side_of_the_piece() {
    let [association, guard, covers, covers_beyond] = simulate_sides(6, 0.0, 0.25);
    assert!(association >= 90.0, "association in {association}");
    assert!(guard >= 80.0, "guard in {guard}");
    for covers in [covers, covers_beyond] {
        assert!((93.0..=97.0).contains(&covers), "coverage {covers}");
    }
}
