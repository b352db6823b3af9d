//! Chances to restrain by sets, against every quiet move played and measured.

mod common;

use std::cell::RefCell;
use std::collections::BTreeMap;

use common::games;
use common::runner::{Tally, check};
use hobble_terms::landmark_k;
use hobble_tracks::chances::{Chance, Finder, Way};
use hobble_tracks::trials::{Measures, QuietMove, quiet_moves};
use proptest::prelude::*;
use shakmaty::{Chess, Position, Role};

/// The chances of a position, found by playing its quiet moves and measuring.
fn expected(position: &Chess, quiet: &[QuietMove]) -> Vec<Chance> {
    let before = Measures::of(position);
    let theirs = position.them() & !position.board().pawns() & !position.board().kings();
    let mut chances = Vec::new();
    for square in theirs {
        let kind = position.board().role_at(square).expect("a piece");
        let mut chance = Chance {
            square,
            kind,
            safe: before.unit(square).expect("a piece").safe.count() as u8,
            leaving: [0; 3],
            by_pawn: 0,
            attacking: 0,
        };
        let k = landmark_k(kind);
        for tried in quiet {
            let left = tried.pieces.iter().find(|left| left.square == square);
            let left = left.expect("it captures nothing");
            if left.is_restrained(k) {
                chance.leaving[left.after.count()] += 1;
                chance.by_pawn += u8::from(tried.played.role() == Role::Pawn);
            } else if left.attacked && left.after.count() <= usize::from(k) {
                chance.attacking += 1;
            }
        }
        if chance.safe > k && chance.moves() > 0 {
            chances.push(chance);
        }
    }
    chances
}

/// At every position of random games the same pieces can be restrained by as many moves, and
/// as many moves are quiet and give nothing away.
#[test]
fn sets_say_what_moves_played_say() {
    let met: RefCell<BTreeMap<&str, u64>> = RefCell::default();
    let positions = Tally::new();
    check(file!(), "chances", 600, &games(110), |game| {
        let mut finder = Finder::default();
        let mut position = game.start();
        let moves = game.moves();
        for at in 0..=moves.len() {
            let quiet = quiet_moves(&position);
            finder.find(&position, position.them());
            let fen = || format!("{:?}", position.board());
            let chances = expected(&position, &quiet);
            prop_assert_eq!(finder.chances(), &chances, "{}", fen());
            if !chances.is_empty() {
                let us = position.turn();
                prop_assert_eq!(finder.quiet(), quiet.len(), "{}", fen());
                prop_assert_eq!(finder.legal(), position.legal_moves().len());
                for tried in position.legal_moves() {
                    let sound = quiet.iter().any(|one| one.played == tried);
                    let said = finder.is_quiet(us, Way::of(tried, us));
                    prop_assert_eq!(said, sound, "{} {}", fen(), tried);
                }
            }
            positions.add(1);
            for (name, times) in [
                ("chances", chances.len()),
                (
                    "by pawns",
                    chances.iter().filter(|one| one.by_pawn > 0).count(),
                ),
                (
                    "attacking",
                    chances.iter().filter(|one| one.attacking > 0).count(),
                ),
                (
                    "no square left",
                    chances.iter().filter(|one| one.leaving[0] > 0).count(),
                ),
                (
                    "queens",
                    chances.iter().filter(|one| one.kind == Role::Queen).count(),
                ),
                (
                    "in check",
                    usize::from(position.is_check() && !chances.is_empty()),
                ),
            ] {
                *met.borrow_mut().entry(name).or_default() += times as u64;
            }
            if let Some(&played) = moves.get(at) {
                position.play_unchecked(played);
            }
        }
        Ok(())
    });
    let met = met.into_inner();
    println!(
        "chances: {} positions, 0 differences; {met:?}",
        positions.sum()
    );
    assert!(met.values().all(|&times| times >= 20), "{met:?}");
}
