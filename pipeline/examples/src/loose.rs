//! What can be won at once by capturing on a square.

use hobble_terms::value;
use hobble_tracks::exchange::Exchange;
use hobble_tracks::survey::Survey;
use shakmaty::{Board, Color, Role, Square};

/// What the other side nets, in pawns, by capturing the unit on a square, as if it were on move
/// (definitions, section 4); `None` where nothing can capture it.
pub fn gain(survey: &Survey, board: &Board, square: Square) -> Option<i32> {
    let owner = board.color_at(square)?;
    let on = Exchange::on(board, square);
    survey
        .units
        .iter()
        .filter(|unit| unit.color != owner && unit.reach.contains(square))
        .map(|unit| on.going(unit.color, unit.kind, unit.square, None))
        .max()
}

/// The most that can be won at once from a side, in pawns, kings and one square left out; 0
/// where nothing can.
pub fn most(survey: &Survey, board: &Board, side: Color, but: Option<Square>) -> i32 {
    survey
        .units
        .iter()
        .filter(|unit| unit.color == side && unit.kind != Role::King && Some(unit.square) != but)
        .filter_map(|unit| gain(survey, board, unit.square))
        .fold(0, i32::max)
}

/// Balance of a side: its material less the other's.
pub fn balance(board: &Board, side: Color) -> i32 {
    let of = |side| -> i32 {
        let own = board.by_color(side);
        Role::ALL
            .into_iter()
            .map(|role| value(role) * (own & board.by_role(role)).count() as i32)
            .sum()
    };
    of(side) - of(!side)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::fen::Fen;
    use shakmaty::{CastlingMode, Chess, Position};

    /// White's rook on d4 is attacked by a pawn and covered by a pawn: a rook for a pawn, less
    /// the pawn that captured. The knight on h8 is not covered, and is attacked by the queen.
    #[test]
    fn gains_by_hand() {
        let fen: Fen = "4k2N/7q/8/2p5/3R4/4P3/8/4K3 w - - 0 1".parse().unwrap();
        let position: Chess = fen.into_position(CastlingMode::Standard).unwrap();
        let (survey, board) = (Survey::of(&position), position.board());
        assert_eq!(gain(&survey, board, Square::D4), Some(4));
        assert_eq!(gain(&survey, board, Square::H8), Some(3));
        assert_eq!(gain(&survey, board, Square::E3), None);
        assert_eq!(most(&survey, board, Color::White, None), 4);
        assert_eq!(most(&survey, board, Color::White, Some(Square::D4)), 3);
        assert_eq!(balance(board, Color::White), 9 - 10);
    }
}
