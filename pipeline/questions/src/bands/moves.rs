//! Squares taken, counted by side, kind of unit that moved, and phase.
//!
//! The table of moves does not name the phase; it follows from the captures and promotions
//! before the move (definitions, section 9).

use polars::prelude::DataFrame;
use rayon::prelude::*;

use super::games::Games;
use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::terms::{Kind, Phase};

/// Place of pawns and kings among the kinds.
pub const OTHER: usize = 4;

/// Moves of one sort, and the squares they took.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moves {
    /// Moves.
    pub moves: u64,
    /// Squares they took.
    pub taken: u64,
}

/// Counts by group of games, kind of mover (the four kinds, then pawns and kings) and phase.
pub type BySort = Vec<[[Moves; 3]; 5]>;

/// One ply.
struct Ply {
    game: u32,
    ply: u16,
    taken: u8,
    mover: u8,
    /// By how much it changes the value of the pieces on the board.
    change: i8,
}

/// Row groups a few at a time, so that memory stays bounded, in the order of the table.
pub fn in_order(groups: &[(usize, usize)]) -> impl Iterator<Item = &[(usize, usize)]> {
    groups.chunks(2 * rayon::current_num_threads().max(1))
}

/// Reads the table of moves.
pub fn read(dataset: &Dataset, games: &Games) -> Result<BySort, AskError> {
    let columns = ["game", "ply", "mover", "captured", "promotion", "taken"];
    let mut out: BySort = vec![Default::default(); games.groups.len()];
    for part in dataset.parts("moves")? {
        let bad = |what: String| AskError::BadTable {
            table: part.table,
            what,
        };
        let none = || bad("a game is not among the games".to_owned());
        let source = games.source(&part.source).ok_or_else(none)?;
        // A game may go on in the next row group.
        let (mut game, mut start, mut value, mut next) = (None, source.start(0), 0, 0);
        for rows in in_order(&part.row_groups()?) {
            let read: Vec<Vec<Ply>> = rows
                .par_iter()
                .map(|&group| plies(&part.read_alone(&columns, group)?))
                .collect::<Result<_, _>>()?;
            for ply in read.into_iter().flatten() {
                if game != Some(ply.game) {
                    start = source.start(ply.game);
                    (game, value, next) = (Some(ply.game), start.value, 1);
                }
                if ply.ply != next {
                    return Err(bad(format!(
                        "ply {} of game {} stands where ply {next} is due",
                        ply.ply, ply.game
                    )));
                }
                let group = source
                    .group(ply.game, start.mover(ply.ply))
                    .ok_or_else(none)?;
                let phase = phase(ply.ply - 1, value);
                let sum = &mut out[group][usize::from(ply.mover)][phase as usize];
                sum.moves += 1;
                sum.taken += u64::from(ply.taken);
                value += i32::from(ply.change);
                next = ply.ply.saturating_add(1);
            }
        }
    }
    Ok(out)
}

/// Phase at position p (definitions, section 9).
fn phase(p: u16, value: i32) -> Phase {
    if p < 20 && value >= 56 {
        Phase::Opening
    } else if value <= 26 {
        Phase::Endgame
    } else {
        Phase::Middlegame
    }
}

fn plies(frame: &DataFrame) -> Result<Vec<Ply>, AskError> {
    let rows = Rows::new("moves", frame);
    let (game, ply) = (rows.fours("game")?, rows.pairs("ply")?);
    let taken = rows.bytes("taken")?;
    let (mover, captured) = (rows.texts("mover")?, rows.texts("captured")?);
    let promotion = rows.texts("promotion")?;
    let mut out = Vec::with_capacity(frame.height());
    for row in 0..frame.height() {
        let mover = mover
            .get(row)
            .ok_or_else(|| rows.bad("column \"mover\" holds a null".to_owned()))?;
        if ply[row] == 0 {
            return Err(rows.bad(format!("game {} has a ply 0", game[row])));
        }
        out.push(Ply {
            game: game[row],
            ply: ply[row],
            taken: taken[row],
            mover: Kind::from_word(mover).map_or(OTHER as u8, |kind| kind as u8),
            change: promotion.get(row).map_or(0, value) - captured.get(row).map_or(0, value),
        });
    }
    Ok(out)
}

fn value(kind: &str) -> i8 {
    match kind {
        "knight" | "bishop" => 3,
        "rook" => 5,
        "queen" => 9,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phases() {
        assert_eq!(phase(19, 56), Phase::Opening);
        assert_eq!(phase(20, 62), Phase::Middlegame);
        assert_eq!(phase(3, 55), Phase::Middlegame);
        assert_eq!(phase(40, 27), Phase::Middlegame);
        assert_eq!(phase(3, 26), Phase::Endgame);
    }
}
