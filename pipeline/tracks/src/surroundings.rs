//! What stands around a piece: attackers, defenders, a wedge of pawns.

use shakmaty::{Bitboard, Board, Color, Role, Square, attacks};

use crate::wedge::is_behind_wedge;

/// What stands around a piece. Sets of kinds have bit n for the n-th of P N B R Q K; pins are
/// ignored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Surroundings {
    /// Kinds of enemy units that attack it.
    pub attacked_by: u8,
    /// Number of these units.
    pub attackers: u8,
    /// Kinds of own units that defend it.
    pub defended_by: u8,
    /// Number of these units.
    pub defenders: u8,
    /// Whether it stands behind a wedge; `None` for all but bishops.
    pub wedge: Option<bool>,
}

impl Surroundings {
    /// Nothing around.
    pub const NONE: Surroundings = Surroundings {
        attacked_by: 0,
        attackers: 0,
        defended_by: 0,
        defenders: 0,
        wedge: None,
    };

    /// What stands around the piece of `color` and kind `role` on `square`.
    pub fn of(board: &Board, color: Color, role: Role, square: Square) -> Surroundings {
        let on = attackers_of_both(board, square);
        let enemy = on & board.by_color(!color);
        let own = on & board.by_color(color);
        Surroundings {
            attacked_by: kinds_of(enemy, board),
            attackers: enemy.count() as u8,
            defended_by: kinds_of(own, board),
            defenders: own.count() as u8,
            wedge: (role == Role::Bishop).then(|| is_behind_wedge(board, color, square)),
        }
    }
}

/// Units of either side that attack a square.
fn attackers_of_both(board: &Board, square: Square) -> Bitboard {
    let occupied = board.occupied();
    let pawns = (attacks::pawn_attacks(Color::Black, square) & board.white())
        | (attacks::pawn_attacks(Color::White, square) & board.black());
    (attacks::rook_attacks(square, occupied) & board.rooks_and_queens())
        | (attacks::bishop_attacks(square, occupied) & board.bishops_and_queens())
        | (attacks::knight_attacks(square) & board.knights())
        | (attacks::king_attacks(square) & board.kings())
        | (pawns & board.pawns())
}

/// The kinds among units: bit n for the n-th of P N B R Q K.
#[inline]
pub fn kinds_of(units: Bitboard, board: &Board) -> u8 {
    let mut kinds = 0;
    if units.any() {
        for (bit, &role) in Role::ALL.iter().enumerate() {
            kinds |= u8::from(units.intersects(board.by_role(role))) << bit;
        }
    }
    kinds
}
