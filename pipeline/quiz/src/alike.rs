//! Which positions are too much alike to stand in one quiz.

use std::collections::{BTreeMap, BTreeSet};

use shakmaty::{Bitboard, Board, Chess, Position as _, Role, Square};

/// Plies between two positions of one game, at least.
pub const APART: u32 = 20;

/// What a position is recognised by, whatever game it stands in and whichever side is on move:
/// Black's positions are turned round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Look {
    board: String,
    structure: (Role, Square, Bitboard, Bitboard),
}

impl Look {
    /// The look of a position with a piece to be restrained.
    pub fn of(position: &Chess, square: Square) -> Option<Look> {
        let mut board: Board = position.board().clone();
        let mut square = square;
        if position.turn().is_black() {
            board.mirror();
            square = square.flip_vertical();
        }
        let pawns = board.by_role(Role::Pawn);
        let structure = (
            board.role_at(square)?,
            square,
            pawns & board.white(),
            pawns & board.black(),
        );
        Some(Look {
            board: board.to_string(),
            structure,
        })
    }
}

/// Positions taken so far.
#[derive(Debug, Default)]
pub struct Taken {
    boards: BTreeSet<String>,
    structures: BTreeSet<(Role, Square, Bitboard, Bitboard)>,
    plies: BTreeMap<(String, u64), Vec<u32>>,
}

impl Taken {
    /// Whether a position is like none taken so far; from now on it is one of them.
    pub fn take(&mut self, game: (&str, u64), ply: u32, look: &Look) -> bool {
        let plies = self.plies.entry((game.0.to_owned(), game.1)).or_default();
        let new = plies.iter().all(|other| ply.abs_diff(*other) >= APART)
            && !self.boards.contains(&look.board)
            && !self.structures.contains(&look.structure);
        if new {
            plies.push(ply);
            self.boards.insert(look.board.clone());
            self.structures.insert(look.structure);
        }
        new
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::CastlingMode;
    use shakmaty::fen::Fen;

    fn look(fen: &str, square: Square) -> Look {
        let fen: Fen = fen.parse().unwrap();
        Look::of(&fen.into_position(CastlingMode::Standard).unwrap(), square).unwrap()
    }

    const WHITE: &str = "4k3/5ppp/8/6n1/8/8/5PPP/4K2R w - - 0 1";

    #[test]
    fn colours_turned_round_are_alike() {
        let black = "4k2r/5ppp/8/8/6N1/8/5PPP/4K3 b - - 0 1";
        assert_eq!(look(WHITE, Square::G5), look(black, Square::G4));
        let same_side = black.replace(" b ", " w ");
        assert_ne!(look(WHITE, Square::G5), look(&same_side, Square::G4));
    }

    #[test]
    fn neighbours_and_structures() {
        let mut taken = Taken::default();
        let first = look(WHITE, Square::G5);
        assert!(taken.take(("club", 1), 30, &first));
        // Another game, the rook elsewhere: the same knight in the same structure.
        let moved = look(&WHITE.replace("K2R", "KR2"), Square::G5);
        assert!(!taken.take(("club", 2), 40, &moved));
        // Another structure, but the same game 19 plies later; 20 are enough.
        let other = look(&WHITE.replace("5PPP", "5P1P"), Square::G5);
        assert!(!taken.take(("club", 1), 49, &other));
        assert!(taken.take(("club", 1), 50, &other));
    }
}
