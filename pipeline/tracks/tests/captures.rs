//! What became of captured units, against a second reading of the definitions
//! (`common/reading.rs`), and what must hold of any game.

mod common;

use std::collections::BTreeMap;

use common::reading::Reading;
use common::runner::{Tally, check};
use common::{Game, games};
use hobble_terms::{CauseKind, Fate};
use hobble_tracks::track::Track;
use proptest::prelude::*;
use shakmaty::{Move, Position as _};

/// The moves of a game, a second reading of it, and its track.
fn followed(game: &Game) -> (Vec<Move>, Reading, Track) {
    let (start, moves) = (game.start(), game.moves());
    let reading = Reading::of(&start, &moves);
    let mut track = Track::new();
    track.begin(&start);
    for &m in &moves {
        track.play(m);
    }
    track.finish();
    (moves, reading, track)
}

/// Each captured unit is lost, traded or sold once, as the second reading says, and the nets
/// of the runs add up to the change of the balance over the game.
#[test]
fn captured_units_have_one_fate() {
    let counts = [const { Tally::new() }; 3];
    let played = check(file!(), "captures", 300, &games(150), |game| {
        let (moves, reading, track) = followed(&game);
        let captured = moves.iter().filter(|m| m.is_capture()).count();
        prop_assert_eq!(track.captures().count(), captured);
        // White's net of each run that holds a capture, by the run's first ply.
        let mut nets: BTreeMap<usize, i32> = BTreeMap::new();
        for (victim, capture) in track.captures() {
            prop_assert_eq!(Some(capture), reading.capture(usize::from(victim.slot)));
            prop_assert_eq!(victim.ply, capture.ply);
            let white = victim.color.fold_wb(1, -1) * i32::from(capture.net);
            let (first, _) = reading.run(usize::from(victim.ply));
            let net = *nets.entry(first).or_insert(white);
            prop_assert_eq!(net, white, "both sides' nets are opposite");
            match capture.fate {
                Fate::Lost => prop_assert!(capture.net <= -2),
                Fate::Sold => prop_assert!(capture.net >= 2),
                Fate::Traded => {}
                Fate::Survived => prop_assert!(false, "a captured unit survived"),
            }
            counts[capture.fate as usize].add(1);
        }
        // Runs of promotions alone.
        for (index, m) in moves.iter().enumerate() {
            if m.is_promotion() {
                let (first, last) = reading.run(index + 1);
                let change = reading.balance(last) - reading.balance(first - 1);
                prop_assert_eq!(*nets.entry(first).or_insert(change), change);
            }
        }
        let total: i32 = nets.values().sum();
        prop_assert_eq!(total, reading.balance(moves.len()) - reading.balance(0));
        Ok(())
    });
    let counts = counts.map(|tally| tally.sum());
    println!("captures: {played} games, lost, traded, sold {counts:?}, 0 differences");
    assert!(counts.iter().all(|&count| count >= 100), "{counts:?}");
}

/// A restrained piece is what the definitions say, looked at position by position.
#[test]
fn restrained_pieces_are_what_the_definitions_say() {
    let seen = [const { Tally::new() }; 2];
    let played = check(file!(), "restrained", 300, &games(130), |game| {
        let (moves, reading, track) = followed(&game);
        for spell in track.spells() {
            let (slot, p) = (usize::from(spell.slot), usize::from(spell.start));
            let k = usize::from(spell.k_high);
            let owner = spell.color;
            let position = &reading.positions[p];
            let attackers = position.board().attacks_to(
                spell.state.square,
                !owner,
                position.board().occupied(),
            );
            // Turns of the owner are two plies apart, and the last position is not one.
            let landmark = p + 2 < moves.len() && reading.safe(slot, p + 2) <= Some(k);
            let there = landmark && reading.safe(slot, p + 2).is_some();
            let restrained = spell.cause.kind == CauseKind::Taken
                && p > 0
                && reading.is_quiet(p)
                && reading.units.units[slot].developed(p)
                && attackers.is_empty()
                && there;
            prop_assert_eq!(spell.is_restrained(), restrained, "{:?}", spell);
            seen[usize::from(restrained)].add(1);
        }
        Ok(())
    });
    let [not, restrained] = seen.map(|tally| tally.sum());
    println!(
        "restrained: {played} games, {restrained} of {} spells, 0 differences",
        not + restrained
    );
    assert!(restrained >= 100);
}
