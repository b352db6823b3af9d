//! Material on a board (definitions, section 2).

use hobble_terms::value;
use shakmaty::{Board, Color, Role};

/// What a pawn gains by becoming a queen on its last row.
pub const PROMOTION_RISE: i32 = value(Role::Queen) - value(Role::Pawn);

/// Material of one side in pawns.
pub fn material(board: &Board, color: Color) -> i32 {
    let own = board.by_color(color);
    Role::ALL
        .iter()
        .map(|&role| (own & board.by_role(role)).count() as i32 * value(role))
        .sum()
}

/// White's material less Black's, in pawns.
pub fn balance(board: &Board) -> i32 {
    material(board, Color::White) - material(board, Color::Black)
}

/// Value of knights, bishops, rooks and queens of both sides.
pub fn piece_material(board: &Board) -> i32 {
    [Role::Knight, Role::Bishop, Role::Rook, Role::Queen]
        .iter()
        .map(|&role| board.by_role(role).count() as i32 * value(role))
        .sum()
}
