//! Simulated games with a known truth: with no effect nothing is found, and an effect is.
//!
//! Pieces of one game share their risk. Each test prints its figures.

use hobble_claim::turn::Turn;
use hobble_conditions::terms::{Kind, Phase, RatingDiff, TimeClass};
use hobble_dataset::PartId;
use hobble_sift::Grid;
use hobble_sift::league::{chosen, open, search};
use hobble_sift::pieces::Pieces;
use hobble_terms::Fate;
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

const RUNS: u32 = 150;

const SAMPLE: u32 = 16;

const GRID: &str = r#"
format = 1
kinds = ["rook"]
k = [2]
turns = [2]
within = 10
outcome = "lost"
most_conditions = 2
open_at_most = 24

[conditions]
by = ["pawn", "piece"]
squares_taken = [2, 3]
stands = [["rim"], ["own half"]]
"#;

/// Fields of a condition stand in the order of the alphabet: by, squares_taken, stands.
const BY_PAWN: u32 = 0;
const BY_PIECE: u32 = 1;

fn turn(game: u32, restrained: bool, lost: bool) -> Turn {
    Turn {
        game,
        fold: (game % 64) as u8,
        ply: 40,
        landmark: true,
        sampled: false,
        kind: Kind::Rook,
        phase: Phase::Middlegame,
        time_class: TimeClass::Classical,
        band: 1600,
        rating_diff: RatingDiff::Unknown,
        balance: 0,
        safe: if restrained { 1 } else { 6 },
        before: [Some(if restrained { 1 } else { 6 }), Some(5)],
        attacked: false,
        attacked_last: false,
        defended: true,
        others_held: 0,
        white: true,
        forward: 2,
        at_edge: false,
        held_turns: 0,
        restrained: [0, 0, u16::from(restrained), 0, 0],
        taken: 2,
        captured: lost.then_some((10, Fate::Lost)),
        others_lost: None,
        side: Default::default(),
        passes: 1,
    }
}

/// A half: games with two rooks each, the first of which may be restrained. What pawns restrain is
/// lost `effect` times as often.
fn half(rng: &mut ChaCha8Rng, grid: &Grid, games: u32, effect: f64) -> Pieces {
    let mut rows = Vec::new();
    for game in 0..games {
        // Games differ in how dangerous they are.
        let risk = 0.06 * (0.5 + f64::from(rng.random_range(0..3)));
        for ply in 0..2 {
            let restrained = rng.random::<f64>() < 0.5;
            let pawn = rng.random::<bool>();
            let mut bits = 1 << if pawn { BY_PAWN } else { BY_PIECE };
            bits |= rng.random_range(0..16u32) << 2;
            let times = if restrained && pawn { effect } else { 1.0 };
            let lost = rng.random::<f64>() < risk * times;
            let mut one = turn(game, restrained, lost);
            one.ply += 2 * ply;
            rows.push((one, bits));
            let lost = rng.random::<f64>() < risk;
            let mut other = turn(game, false, lost);
            other.ply += 2 * ply;
            rows.push((other, rng.random_range(0..16u32) << 2));
        }
    }
    Pieces::of_turns(&rows, SAMPLE, grid)
}

fn share(what: &str, yes: u32, of: u32) -> f64 {
    let share = f64::from(yes) / f64::from(of.max(1));
    println!("{what} | {:.1} of 100 | {of}", 100.0 * share);
    share
}

/// With no effect one claim in twenty has a p-value below 0.05 in either half, and twins that leave
/// out 1; hardly a run finds one that passes, and hardly any of those is confirmed.
#[test]
fn no_effect() {
    let grid = Grid::parse("grid", GRID).unwrap();
    let tried = grid.tried();
    assert_eq!(tried.len(), 1 + 6 + 12);
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let (mut low, mut tested, mut low_locked, mut tested_locked) = (0, 0, 0, 0);
    let (mut passing_runs, mut confirming_runs, mut confirmed) = (0, 0, 0);
    let (mut apart, mut paired) = (0, 0);
    for _ in 0..RUNS {
        let found = half(&mut rng, &grid, 1500, 1.0);
        let asked = search(&grid, &found, SAMPLE);
        let p = asked.iter().filter_map(|one| one.p);
        low += p.clone().filter(|p| *p < 0.05).count() as u32;
        tested += p.count() as u32;
        passing_runs += u32::from(asked.iter().any(|one| one.passes()));
        let locked = half(&mut rng, &grid, 1500, 1.0);
        // Every claim of the grid, whatever the first half said.
        let all: Vec<_> = tried.iter().collect();
        let opened = open(&grid, &locked, SAMPLE, &all);
        let p = opened.iter().filter_map(|one| one.asked.p);
        low_locked += p.clone().filter(|p| *p < 0.05).count() as u32;
        tested_locked += p.count() as u32;
        let twins = opened
            .iter()
            .filter_map(|one| one.twins[1].odds_ratio.jackknife);
        apart += twins
            .clone()
            .filter(|it| it.low > 1.0 || it.high < 1.0)
            .count() as u32;
        paired += twins.count() as u32;
        let passed: Vec<_> = chosen(&grid, &asked)
            .into_iter()
            .map(|at| &tried[at])
            .collect();
        let opened = open(&grid, &locked, SAMPLE, &passed);
        let number = opened.iter().filter(|one| one.asked.passes()).count() as u32;
        confirmed += number;
        confirming_runs += u32::from(number > 0);
    }
    let nominal = share(
        "no effect: p below 0.05 where claims are looked for",
        low,
        tested,
    );
    assert!((0.03..=0.07).contains(&nominal));
    let nominal = share(
        "no effect: p below 0.05 in the locked half",
        low_locked,
        tested_locked,
    );
    assert!((0.03..=0.07).contains(&nominal));
    let nominal = share(
        "no effect: twins that leave out 1 in the locked half",
        apart,
        paired,
    );
    assert!((0.03..=0.07).contains(&nominal));
    assert!(
        share(
            "no effect: runs in which a claim passes",
            passing_runs,
            RUNS
        ) <= 0.08
    );
    assert!(
        share(
            "no effect: runs that confirm a claim",
            confirming_runs,
            RUNS
        ) <= 0.05
    );
    assert!(
        share(
            "no effect: claims confirmed of those tried",
            confirmed,
            tested
        ) <= 0.05
    );
}

/// Pieces that pawns restrain are lost twice as often: that is found and confirmed; that pieces
/// do it is not.
#[test]
fn an_effect_is_found() {
    let grid = Grid::parse("grid", GRID).unwrap();
    let tried = grid.tried();
    let mut rng = ChaCha8Rng::seed_from_u64(4);
    let (mut right, mut wrong, mut runs) = (0, 0, 0);
    for _ in 0..40 {
        let found = half(&mut rng, &grid, 1500, 2.0);
        let asked = search(&grid, &found, SAMPLE);
        let passed: Vec<_> = chosen(&grid, &asked)
            .into_iter()
            .map(|at| &tried[at])
            .collect();
        let locked = half(&mut rng, &grid, 1500, 2.0);
        let opened = open(&grid, &locked, SAMPLE, &passed);
        let mut confirmed = passed
            .iter()
            .zip(&opened)
            .filter(|(_, one)| one.asked.passes());
        runs += 1;
        right += u32::from(
            confirmed
                .clone()
                .any(|(claim, _)| claim.bits >> BY_PAWN & 1 == 1),
        );
        wrong += u32::from(confirmed.any(|(claim, _)| claim.bits >> BY_PIECE & 1 == 1));
        // Twins of the strongest claim see it too, in games enough.
        if let Some(first) = opened.first() {
            assert!(first.twins[0].counts.sets > 100);
        }
    }
    assert!(share("an effect of pawns: runs that confirm it", right, runs) >= 0.9);
    assert!(
        share(
            "an effect of pawns: runs that confirm one of pieces",
            wrong,
            runs
        ) <= 0.05
    );
}

/// Twins are clustered by their owners too: 40 players own all pieces.
#[test]
fn twins_of_one_owner_are_one_cluster() {
    let grid = Grid::parse("grid", GRID).unwrap();
    let tried = grid.tried();
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut pieces = half(&mut rng, &grid, 3000, 1.0);
    let clusters = |pieces: &Pieces| {
        let opened = open(&grid, pieces, SAMPLE, &[&tried[0]]);
        let interval = opened[0].twins[1].odds_ratio.jackknife.unwrap();
        interval.df.unwrap() + 1
    };
    assert!(clusters(&pieces) > 100);
    let players = |game: u32| [Some(u64::from(game % 40)), Some(100)];
    let owners = (0..3000).map(|game| (game, players(game))).collect();
    let part = PartId {
        source: "rows".to_owned(),
        number: 0,
    };
    pieces.name(&part, &owners);
    assert_eq!(clusters(&pieces), 40);
}
