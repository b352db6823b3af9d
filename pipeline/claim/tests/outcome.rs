//! Outcomes, read from rows of `turns` made by hand.

use std::sync::Arc;

use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, DictionaryArray, Float32Array, Int16Array, RecordBatch};
use hobble_claim::outcome::{ClaimOutcome, Measure, Values};
use hobble_dataset::columns::Rows;

/// Four turns at ply 20:
/// 0: lost 6 plies later, another piece lost 21 plies later, the game lost 40 plies later;
/// 1: traded 10 plies later, two pawns down after 5 moves, the game drawn 12 plies later;
/// 2: never captured, another piece lost 20 plies later, won; no evaluation after 10 moves;
/// 3: the next ply ends the game, result unknown.
fn rows() -> Rows {
    let words = |words: [&str; 4]| -> ArrayRef {
        Arc::new(
            words
                .into_iter()
                .map(Some)
                .collect::<DictionaryArray<Int32Type>>(),
        )
    };
    let plies =
        |plies: [Option<i16>; 4]| -> ArrayRef { Arc::new(Int16Array::from(plies.to_vec())) };
    let pawns =
        |pawns: [Option<i16>; 4]| -> ArrayRef { Arc::new(Int16Array::from(pawns.to_vec())) };
    let evals =
        |evals: [Option<f32>; 4]| -> ArrayRef { Arc::new(Float32Array::from(evals.to_vec())) };
    let columns = [
        ("ply", plies([Some(20); 4])),
        ("fate", words(["lost", "traded", "survived", "survived"])),
        ("fate_ply", plies([Some(26), Some(30), None, None])),
        ("others_lost_ply", plies([Some(41), None, Some(40), None])),
        ("plies_left", plies([Some(40), Some(12), Some(60), Some(1)])),
        ("material_1", pawns([Some(0), Some(0), Some(0), None])),
        ("material_3", pawns([Some(-3), Some(-1), Some(0), None])),
        ("material_5", pawns([Some(-3), Some(-2), Some(1), None])),
        ("material_10", pawns([Some(-1), None, Some(-5), None])),
        ("material_20", pawns([Some(-1), None, Some(0), None])),
        ("owner_result", words(["loss", "draw", "win", "unknown"])),
        ("eval_1", evals([Some(0.1), Some(-0.2), Some(0.0), None])),
        ("eval_3", evals([Some(-3.0), Some(-0.5), Some(0.0), None])),
        ("eval_5", evals([Some(-3.25), Some(-2.0), Some(0.0), None])),
        ("eval_10", evals([Some(-20.0), None, None, None])),
    ];
    let columns = columns.map(|(name, values)| (name, values, true));
    Rows::new(
        "made",
        0,
        RecordBatch::try_from_iter_with_nullable(columns).unwrap(),
    )
}

fn values(outcome: ClaimOutcome, moves: u32) -> [Option<u32>; 4] {
    let rows = rows();
    let values = Values::of(&rows, outcome, moves).unwrap();
    [0, 1, 2, 3].map(|row| values.at(row))
}

#[test]
fn events_come_within_so_many_moves() {
    let [yes, no] = [Some(1), Some(0)];
    assert_eq!(values(ClaimOutcome::Lost, 3), [yes, no, no, no]);
    assert_eq!(values(ClaimOutcome::Lost, 1), [no; 4]);
    assert_eq!(values(ClaimOutcome::Captured, 10), [yes, yes, no, no]);
    assert_eq!(values(ClaimOutcome::Captured, 3), [yes, no, no, no]);
    assert_eq!(values(ClaimOutcome::AnotherLost, 10), [no, no, yes, no]);
    assert_eq!(values(ClaimOutcome::AnotherLost, 15), [yes, no, yes, no]);
}

/// Where the game ends before, the last balance that is known decides; where none is known, the row
/// is in no rate.
#[test]
fn material_at_the_end_of_a_game_counts() {
    let [yes, no] = [Some(1), Some(0)];
    assert_eq!(values(ClaimOutcome::MaterialLost, 3), [yes, no, no, None]);
    assert_eq!(values(ClaimOutcome::MaterialLost, 5), [yes, yes, no, None]);
    assert_eq!(values(ClaimOutcome::MaterialLost, 10), [no, yes, yes, None]);
    assert_eq!(values(ClaimOutcome::MaterialLost, 20), [no, yes, no, None]);
}

#[test]
fn means_by_whole_numbers() {
    assert_eq!(
        values(ClaimOutcome::Score, 10),
        [Some(0), Some(1), Some(2), None]
    );
    assert_eq!(
        values(ClaimOutcome::Evaluation, 10),
        [Some(0), Some(1800), None, None]
    );
    assert_eq!(
        values(ClaimOutcome::Evaluation, 1),
        [Some(2010), Some(1980), Some(2000), None]
    );
    let Measure::Mean { zero, per } = ClaimOutcome::Evaluation.measure() else {
        panic!("an evaluation is a mean");
    };
    assert_eq!((1800.0 - f64::from(zero)) / f64::from(per), -2.0);
}

/// Every outcome reads no other columns than it names, and knows the moves it is asked for.
#[test]
fn columns_are_named() {
    let all = rows();
    for outcome in ClaimOutcome::ALL {
        assert!(outcome.known_after(10), "{outcome}");
        assert!(Values::of(&all, outcome, 10).is_ok(), "{outcome}");
        for column in outcome.columns() {
            assert!(
                all.optional_numbers(column).is_ok()
                    || all.signed(column).is_ok()
                    || all.floats(column).is_ok()
                    || all.texts(column).is_ok(),
                "{column}"
            );
        }
    }
    assert!(!ClaimOutcome::MaterialLost.known_after(15));
    assert!(!ClaimOutcome::Evaluation.known_after(20));
}
