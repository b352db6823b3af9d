//! Moves in SAN resolved by what a track has measured, against shakmaty.

mod common;

use common::games;
use common::runner::{Tally, check};
use hobble_tracks::track::Track;
use proptest::prelude::*;
use shakmaty::san::{San, SanError};
use shakmaty::{File, Position, Role, Square};

/// Everything a SAN of a unit's move can say about one square.
fn sans_to(to: Square) -> impl Iterator<Item = San> {
    let maybe = |all: [u32; 8]| std::iter::once(None).chain(all.into_iter().map(Some));
    let promotions = [
        None,
        Some(Role::Queen),
        Some(Role::Knight),
        Some(Role::King),
    ];
    Role::ALL.into_iter().flat_map(move |role| {
        promotions.into_iter().flat_map(move |promotion| {
            [false, true].into_iter().flat_map(move |capture| {
                maybe(std::array::from_fn(|n| n as u32)).flat_map(move |file| {
                    [None, Some(to.rank())]
                        .into_iter()
                        .map(move |rank| San::Normal {
                            role,
                            file: file.map(File::new),
                            rank,
                            capture,
                            to,
                            promotion,
                        })
                })
            })
        })
    })
}

/// Every SAN that can be written, at positions of random games: the same move or the same
/// refusal as shakmaty's.
#[test]
fn every_san_means_what_shakmaty_says() {
    let compared = Tally::default();
    let [resolved, ambiguous] = [const { Tally::new() }; 2];
    let played = check(file!(), "san", 12, &games(80), |game| {
        let mut track = Track::new();
        track.begin(&game.start());
        for m in game.moves() {
            let position = track.position().clone();
            let castling = [
                San::Castle(shakmaty::CastlingSide::KingSide),
                San::Castle(shakmaty::CastlingSide::QueenSide),
                San::Null,
            ];
            for san in Square::ALL.into_iter().flat_map(sans_to).chain(castling) {
                let theirs = san.to_move(&position);
                match theirs {
                    Ok(_) => resolved.add(1),
                    Err(SanError::AmbiguousSan) => ambiguous.add(1),
                    Err(SanError::IllegalSan) => {}
                }
                let text = |error: SanError| error.to_string();
                let ours = track.resolve(san);
                prop_assert_eq!(ours.map_err(text), theirs.map_err(text), "{}", san);
                compared.add(1);
            }
            prop_assert!(position.is_legal(m));
            track.play(m);
        }
        Ok(())
    });
    assert!(resolved.sum() > 1000 && ambiguous.sum() > 10);
    println!(
        "SAN, shakmaty 0.30.1: {played} games, {} words, {} of them moves, {} ambiguous, 0 differences",
        compared.sum(),
        resolved.sum(),
        ambiguous.sum()
    );
}
