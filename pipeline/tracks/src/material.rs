//! Values of units, and the phase of the game (definitions, sections 2 and 9).

use shakmaty::{Board, Color, Role};

/// Value in pawns: 1, 3, 3, 5, 9 (common practice, no source); a king counts nothing.
#[inline]
pub const fn value(role: Role) -> i32 {
    match role {
        Role::Pawn => 1,
        Role::Knight | Role::Bishop => 3,
        Role::Rook => 5,
        Role::Queen => 9,
        Role::King => 0,
    }
}

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

/// Phase of the game by material without pawns and kings (our own cut).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(u8)]
pub enum Phase {
    /// First ten moves with at least 56 of 62 left.
    Opening = 0,
    /// Neither of the others.
    Middlegame = 1,
    /// At most 26 left.
    Endgame = 2,
}

impl Phase {
    /// All phases, in the order of a game.
    pub const ALL: [Phase; 3] = [Phase::Opening, Phase::Middlegame, Phase::Endgame];

    /// Phase at position `position` with `pieces` points of knights, bishops, rooks and
    /// queens of both sides on the board.
    #[inline]
    pub const fn at(position: usize, pieces: i32) -> Phase {
        if position < 20 && pieces >= 56 {
            Phase::Opening
        } else if pieces <= 26 {
            Phase::Endgame
        } else {
            Phase::Middlegame
        }
    }

    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            Phase::Opening => "opening",
            Phase::Middlegame => "middlegame",
            Phase::Endgame => "endgame",
        }
    }
}

/// Value of knights, bishops, rooks and queens of both sides.
pub fn piece_material(board: &Board) -> i32 {
    [Role::Knight, Role::Bishop, Role::Rook, Role::Queen]
        .iter()
        .map(|&role| board.by_role(role).count() as i32 * value(role))
        .sum()
}
