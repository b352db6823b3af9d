//! The board upside down with the colours changed.

use shakmaty::{Chess, EnPassantMode, FromSetup, Move, Position};

/// The position upside down, the colours changed.
pub fn mirrored_position(position: &Chess) -> Chess {
    let mut setup = position.to_setup(EnPassantMode::Always);
    setup.mirror();
    Chess::from_setup(setup, position.castles().mode())
        .or_else(shakmaty::PositionError::ignore_too_much_material)
        .expect("the mirror image of a position is one")
}

/// The same move there.
pub fn mirrored_move(m: Move) -> Move {
    match m {
        Move::Normal {
            role,
            from,
            capture,
            to,
            promotion,
        } => Move::Normal {
            role,
            from: from.flip_vertical(),
            capture,
            to: to.flip_vertical(),
            promotion,
        },
        Move::EnPassant { from, to } => Move::EnPassant {
            from: from.flip_vertical(),
            to: to.flip_vertical(),
        },
        Move::Castle { king, rook } => Move::Castle {
            king: king.flip_vertical(),
            rook: rook.flip_vertical(),
        },
        Move::Put { .. } => unreachable!("no drops in chess"),
    }
}
