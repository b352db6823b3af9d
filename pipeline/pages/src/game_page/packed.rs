//! What the board to step through knows, packed into the page.
//!
//! Each position is a run of bytes, one position after another:
//!
//! - number of units; slot and square of each;
//! - the safe squares of each, in the same order, as a list;
//! - number of legal moves; for each: square left, square reached, flags, the square of a unit
//!   captured in passing or the rook that castles where the flags say so, number of units whose
//!   safe squares change; slot of each and the squares that change, as a list.
//!
//! A list is a count and that many squares; squares count from 0, a1, b1 … h8. A square that
//! changes is taken where it was safe before, else given. Flags: 0 to 2 the piece promoted to
//! (0 none, 2 knight, 3 bishop, 4 rook, 5 queen), 8 castling, 16 en passant. All of it is
//! written in base64. A game of 80 plies takes about 150 kB.

use anyhow::Result;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use hobble_terms::kind::unit_name;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::follow::Position;
use hobble_walkthrough::tries::Tried;
use serde_json::json;
use shakmaty::{Bitboard, Position as _};

use crate::script;

/// The flag of castling.
const CASTLING: u8 = 8;
/// The flag of a capture en passant.
const EN_PASSANT: u8 = 16;

/// The data of the board to step through, as JSON that may stand in an element of HTML.
pub(super) fn data(walkthrough: &Walkthrough) -> Result<String> {
    let game = &walkthrough.game;
    let mut bytes = Vec::new();
    for (position, tries) in game.positions.iter().zip(&walkthrough.tries) {
        pack(&mut bytes, position, tries);
    }
    let units: Vec<String> = game
        .beings
        .iter()
        .map(|being| {
            let color = being.color.fold_wb("white", "black");
            format!("{color} {}", unit_name(being.kind))
        })
        .collect();
    let moves: Vec<String> = walkthrough
        .tries
        .iter()
        .map(|tries| {
            let sans: Vec<&str> = tries.iter().map(|tried| tried.san.as_str()).collect();
            sans.join(" ")
        })
        .collect();
    let played: Vec<Option<usize>> = game
        .plies
        .iter()
        .zip(&walkthrough.tries)
        .map(|(ply, tries)| tries.iter().position(|tried| tried.played == ply.played))
        .collect();
    let numbers: Vec<u32> = game
        .positions
        .iter()
        .map(|position| position.chess.fullmoves().get())
        .collect();
    let first = game.positions[0].chess.turn().fold_wb("white", "black");
    let data = json!({
        "k": walkthrough.k,
        "first": first,
        "units": units,
        "moves": moves,
        "played": played,
        "numbers": numbers,
        "packed": STANDARD.encode(bytes),
    });
    Ok(script::data(&data)?)
}

fn pack(bytes: &mut Vec<u8>, position: &Position, tries: &[Tried]) {
    bytes.push(position.units.len() as u8);
    for unit in &position.units {
        bytes.extend([unit.slot, unit.square as u8]);
    }
    for unit in &position.units {
        squares(bytes, unit.safe);
    }
    bytes.push(tries.len() as u8);
    for tried in tries {
        let passed = tried.captured.filter(|_| tried.played.is_en_passant());
        let mut flags = tried.played.promotion().map_or(0, |role| role as u8);
        flags |= if tried.rook.is_some() { CASTLING } else { 0 };
        flags |= if passed.is_some() { EN_PASSANT } else { 0 };
        bytes.extend([tried.from as u8, tried.to as u8, flags]);
        bytes.extend(tried.rook.map(|(from, _)| from as u8));
        bytes.extend(passed.map(|square| square as u8));
        bytes.push(tried.changes.len() as u8);
        for change in &tried.changes {
            bytes.push(change.slot);
            squares(bytes, change.taken | change.given);
        }
    }
}

fn squares(bytes: &mut Vec<u8>, set: Bitboard) {
    bytes.push(set.count() as u8);
    bytes.extend(set.into_iter().map(|square| square as u8));
}
