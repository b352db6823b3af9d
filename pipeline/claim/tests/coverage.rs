//! Intervals of a claim's answer over simulated games in which the truth is known.

use std::collections::BTreeMap;

use hand_made_tables::{Chance, Turn};
use hobble_claim::ClaimAnswer;
use hobble_claim::outcome::ClaimOutcome;
use hobble_statistics::Estimate;

#[path = "common/archives.rs"]
mod archives;
use archives::{GAMES, ask};

/// Simulated archives.
const ARCHIVES: u64 = 1500;

/// How often each of two knights is restrained where the side stands badly, as it does in half of
/// the games, and where it does not.
const RESTRAINED: [f64; 2] = [0.6, 0.15];
/// How often a free knight is lost then; a restrained one twice as often.
const LOST: [f64; 2] = [0.2, 0.08];
/// How often a side loses other material, and another piece.
const OTHERS: [f64; 2] = [0.3, 0.1];
/// How often it wins; else it loses.
const WON: [f64; 2] = [0.3, 0.6];
/// Mean change of the evaluation beside a free knight; half a pawn less beside a restrained one.
const EVALUATION: [f64; 2] = [-1.0, 0.0];

/// Two knights of a side in each game. Whether the side stands badly is in no column, so the pieces
/// of a game go together, and what is compared differs by more than the restraint.
fn archive(chance: &mut Chance) -> Vec<Turn> {
    let mut rows = Vec::new();
    for game in 0..GAMES {
        let stands = usize::from(chance.is(0.5));
        let material_lost = chance.is(OTHERS[stands]);
        let another_lost = chance.is(OTHERS[stands]);
        let won = chance.is(WON[stands]);
        for _ in 0..2 {
            let restrained = chance.is(RESTRAINED[stands]);
            let less = if restrained { 0.5 } else { 0.0 };
            let evaluation = EVALUATION[stands] - less + 3.0 * (chance.uniform() - 0.5);
            let knight = Turn {
                game,
                fold: (game % 64) as u8,
                material: [0, 0, 0, if material_lost { -3 } else { 0 }, 0].map(Some),
                evals: [0.0, 0.0, 0.0, evaluation as f32].map(Some),
                others_lost_ply: another_lost.then_some(40),
                owner_result: if won { "win" } else { "loss" },
                ..if restrained {
                    Turn::restrained()
                } else {
                    Turn::default()
                }
            };
            let often = LOST[stands] * if restrained { 2.0 } else { 1.0 };
            rows.push(if chance.is(often) {
                knight.lost(36)
            } else {
                knight
            });
        }
    }
    rows
}

/// Mean over restrained knights, and over free ones, of what is so much where the side stands badly
/// and where it does not.
fn truth(restrained: [f64; 2], free: [f64; 2]) -> [f64; 2] {
    let mean = |weights: [f64; 2], values: [f64; 2]| {
        (weights[0] * values[0] + weights[1] * values[1]) / (weights[0] + weights[1])
    };
    [
        mean(RESTRAINED, restrained),
        mean(RESTRAINED.map(|often| 1.0 - often), free),
    ]
}

/// The estimates of an answer beside their true values.
fn beside_truth(got: &ClaimAnswer) -> Vec<(String, Estimate, f64)> {
    let mut all = Vec::new();
    let lost = truth(LOST.map(|often| 2.0 * often), LOST);
    let compared = got.comparison.iter().find(|row| row.within == 10).unwrap();
    all.push(("restrained, lost".to_owned(), compared.held_rate, lost[0]));
    all.push(("free, lost".to_owned(), compared.free_rate, lost[1]));
    all.push(("ratio, lost".to_owned(), compared.ratio, lost[0] / lost[1]));
    all.push((
        "difference, lost".to_owned(),
        compared.difference,
        lost[0] - lost[1],
    ));
    for row in &got.side {
        let less = EVALUATION.map(|mean| mean - 0.5);
        let [own, free] = match row.outcome {
            ClaimOutcome::Score => truth(WON, WON),
            ClaimOutcome::MaterialLost | ClaimOutcome::AnotherLost => truth(OTHERS, OTHERS),
            ClaimOutcome::Evaluation => truth(less, EVALUATION),
            ClaimOutcome::Lost | ClaimOutcome::Captured => lost,
        };
        if row.within.is_some_and(|moves| moves != 10) {
            continue;
        }
        let name = row.outcome.name();
        all.push((format!("restrained, {name}"), row.held_value, own));
        all.push((format!("free, {name}"), row.free_value, free));
        all.push((format!("difference, {name}"), row.difference, own - free));
        if let Some(ratio) = row.ratio {
            all.push((format!("ratio, {name}"), ratio, own / free));
        }
    }
    all
}

/// Every interval of 95% holds the truth in 93 to 97 archives of a hundred, where the pieces of a
/// game go together.
#[test]
fn intervals_hold_the_truth() {
    let mut chance = Chance(11);
    let mut held: BTreeMap<String, u64> = BTreeMap::new();
    for _ in 0..ARCHIVES {
        let got = ask(&archive(&mut chance), "");
        for (name, estimate, truth) in beside_truth(&got) {
            let interval = estimate.jackknife.unwrap();
            let holds = interval.low <= truth && truth <= interval.high;
            *held.entry(name).or_default() += u64::from(holds);
        }
    }
    assert_eq!(held.len(), 18, "{held:?}");
    for (name, held) in held {
        let share = 100.0 * held as f64 / ARCHIVES as f64;
        println!("{name}: {share:.1} of 100");
        assert!((93.0..=97.0).contains(&share), "{name}: {share:.1}");
    }
}
