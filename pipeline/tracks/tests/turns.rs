//! Rows of sampled turns and landmarks, against a second reading of the definitions
//! (`common/reading.rs`, `common/turns.rs`).

mod common;

use std::collections::BTreeMap;

use common::games;
use common::reading::Reading;
use common::runner::{Tally, check};
use hobble_terms::{Fate, landmark_k};
use hobble_tracks::track::{Track, TurnRows};
use hobble_tracks::turn::TurnRow;
use proptest::prelude::*;
use shakmaty::Position;

fn rows_of(track: &Track, one_in: u16) -> Vec<TurnRow> {
    let mut made = TurnRows::default();
    // Made twice: the buffers carry nothing over.
    track.turn_rows(|_| true, &mut made);
    track.turn_rows(|ply| ply % one_in == 0, &mut made);
    made.rows().to_vec()
}

fn landmarks(reading: &Reading, position: usize) -> usize {
    let at_landmark = |&slot: &usize| {
        let unit = &reading.units.units[slot];
        unit.color == reading.positions[position].turn()
            && (0..=usize::from(landmark_k(unit.kind)))
                .any(|k| reading.restrained_turns(slot, k, position) == 1)
    };
    reading.pieces().filter(at_landmark).count()
}

/// With every turn sampled each developed piece at each of its owner's turns has a row, which
/// says what the definitions say.
#[test]
fn rows_are_what_the_definitions_say() {
    let mut met: BTreeMap<&str, u64> = BTreeMap::new();
    let counts = std::cell::RefCell::new(&mut met);
    let rows_seen = Tally::new();
    check(file!(), "turns", 200, &games(110), |game| {
        let (start, moves) = (game.start(), game.moves());
        let reading = Reading::of(&start, &moves);
        let mut track = Track::new();
        track.begin(&start);
        moves.iter().for_each(|&m| track.play(m));
        track.finish();
        let rows = rows_of(&track, 1);
        let expected: usize = reading
            .pieces()
            .map(|slot| {
                let developed = |&&turn: &&usize| reading.units.units[slot].developed(turn);
                reading.turns(slot).iter().filter(developed).count()
            })
            .sum();
        prop_assert_eq!(rows.len(), expected);
        for row in &rows {
            let (slot, p) = (usize::from(row.slot), usize::from(row.position));
            let safe = |turn: Option<usize>| Some(reading.safe(slot, turn?)? as u8);
            prop_assert_eq!(Some(row.safe), safe(Some(p)));
            prop_assert_eq!(row.last.map(|last| last.safe), safe(p.checked_sub(2)));
            prop_assert_eq!(
                row.before_last.map(|then| then.safe),
                safe(p.checked_sub(4))
            );
            prop_assert_eq!(row.around, reading.around(row.square, p));
            prop_assert_eq!(
                (row.others_held, row.others_restrained),
                reading.others(slot, p)
            );
            for (k, &turns) in row.restrained.iter().enumerate() {
                prop_assert_eq!(turns, reading.restrained_turns(slot, k, p), "k = {}", k);
            }
            prop_assert_eq!(row.landmark, landmarks(&reading, p) > 0);
            let lost = reading
                .pieces()
                .filter(|&other| other != slot && reading.units.units[other].color == row.color);
            let lost = lost.filter_map(|other| reading.capture(other));
            let lost = lost.filter(|capture| capture.fate == Fate::Lost);
            let first = lost
                .map(|capture| capture.ply)
                .filter(|&ply| ply > row.position)
                .min();
            prop_assert_eq!(row.others_lost, first);
            for (name, is) in [
                ("landmark", row.landmark),
                ("wedge", row.around.wedge == Some(true)),
                ("restrained", row.restrained[2] > 0),
                ("others restrained", row.others_restrained > 0),
                ("others lost", row.others_lost.is_some()),
            ] {
                *counts.borrow_mut().entry(name).or_default() += u64::from(is);
            }
        }
        rows_seen.add(rows.len());
        Ok(())
    });
    println!("turns: {} rows, 0 differences; {met:?}", rows_seen.sum());
    assert!(met.values().all(|&n| n >= 20), "{met:?}");
}

/// The rows of a sample are those of all turns, save that they say so; and every landmark turn
/// is among them.
#[test]
fn a_sample_is_part_of_all_turns() {
    let rows_seen = Tally::new();
    check(file!(), "sample", 200, &games(150), |game| {
        let mut track = Track::new();
        track.begin(&game.start());
        game.moves().iter().for_each(|&m| track.play(m));
        track.finish();
        let all = rows_of(&track, 1);
        let picked = rows_of(&track, 16);
        let expected: Vec<TurnRow> = all
            .into_iter()
            .map(|row| TurnRow {
                sampled: row.position % 16 == 0,
                ..row
            })
            .filter(|row| row.sampled || row.landmark)
            .collect();
        prop_assert_eq!(&picked, &expected);
        rows_seen.add(picked.len());
        Ok(())
    });
    assert!(rows_seen.sum() > 200, "{}", rows_seen.sum());
}
