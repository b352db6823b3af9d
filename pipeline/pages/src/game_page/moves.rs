//! The moves in full: what each took and gave, and the scope of both sides after it.

use hobble_walkthrough::Walkthrough;
use serde::Serialize;

/// A row of the table of moves.
#[derive(Serialize)]
pub(super) struct MoveRow {
    pub ply: usize,
    pub label: String,
    pub taken: u8,
    pub given: u8,
    pub own_taken: u8,
    pub own_given: u8,
    pub white: u16,
    pub black: u16,
}

/// A row for each ply.
pub(super) fn rows(walkthrough: &Walkthrough) -> Vec<MoveRow> {
    let game = &walkthrough.game;
    (1..)
        .zip(game.plies.iter().zip(&game.positions[1..]))
        .map(|(ply, (played, position))| MoveRow {
            ply,
            label: played.label.clone(),
            taken: played.facts.taken,
            given: played.facts.given,
            own_taken: played.facts.own_taken,
            own_given: played.facts.own_given,
            white: position.scope[0],
            black: position.scope[1],
        })
        .collect()
}
