//! Rows of chances to restrain: their sample, and the board upside down.

mod common;

use common::games;
use common::mirror::{mirrored_move, mirrored_position};
use common::runner::{Tally, check};
use hobble_tracks::chances::Chance;
use hobble_tracks::decision::DecisionRow;
use hobble_tracks::track::{DecisionRows, Track};
use proptest::prelude::*;
use shakmaty::{Chess, Move};

fn rows_of(start: &Chess, moves: &[Move], one_in: u16) -> Vec<DecisionRow> {
    let mut track = Track::new();
    track.begin(start);
    moves.iter().for_each(|&m| track.play(m));
    track.finish();
    let mut made = DecisionRows::default();
    // Made twice: the buffers carry nothing over.
    track.decision_rows(|_| true, &mut made);
    track.decision_rows(|ply| ply % one_in == 0, &mut made);
    made.rows().to_vec()
}

/// The rows of a sample are those of all turns that are in it.
#[test]
fn a_sample_is_part_of_all_turns() {
    let rows_seen = Tally::new();
    check(file!(), "sample of chances", 600, &games(150), |game| {
        let (start, moves) = (game.start(), game.moves());
        let all = rows_of(&start, &moves, 1);
        let picked = rows_of(&start, &moves, 16);
        let expected = all.into_iter().filter(|row| row.position % 16 == 0);
        prop_assert_eq!(&picked, &expected.collect::<Vec<_>>());
        rows_seen.add(picked.len());
        Ok(())
    });
    assert!(rows_seen.sum() > 100, "{}", rows_seen.sum());
}

/// The same game with the board upside down and the colours changed has the same chances.
#[test]
fn colours_are_treated_alike() {
    let seen = [const { Tally::new() }; 3];
    check(file!(), "chances upside down", 200, &games(150), |game| {
        let (start, moves) = (game.start(), game.moves());
        let flipped: Vec<Move> = moves.iter().copied().map(mirrored_move).collect();
        let theirs = rows_of(&mirrored_position(&start), &flipped, 1);
        // Slots of the start follow the squares, which are others now.
        let place = |row: &DecisionRow| (row.position, row.chance.square);
        let mut ours: Vec<DecisionRow> = rows_of(&start, &moves, 1)
            .into_iter()
            .map(|row| DecisionRow {
                color: !row.color,
                slot: 0,
                chance: Chance {
                    square: row.chance.square.flip_vertical(),
                    ..row.chance
                },
                ..row
            })
            .collect();
        ours.sort_by_key(place);
        let theirs: Vec<DecisionRow> = theirs
            .into_iter()
            .map(|row| DecisionRow { slot: 0, ..row })
            .collect();
        prop_assert_eq!(&ours, &theirs);
        seen[0].add(ours.len());
        seen[1].add(ours.iter().filter(|row| row.played.restrains).count());
        seen[2].add(ours.iter().filter(|row| row.played.left.is_none()).count());
        Ok(())
    });
    let [rows, taken, captured] = seen.map(|tally| tally.sum());
    println!("chances upside down: {rows} rows, {taken} taken, {captured} captured, 0 differences");
    assert!(rows > 1000 && taken > 50 && captured > 10);
}
