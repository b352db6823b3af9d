//! Moves in SAN resolved without generating moves.
//!
//! Each unit that could mean the move is asked for by itself: whether it goes to the square,
//! and whether its king is attacked once it stands there. Castling, captures en passant and
//! whatever contradicts itself are left to shakmaty. `tests/san.rs` compares with shakmaty.

use shakmaty::san::{San, SanError};
use shakmaty::{Bitboard, Board, Chess, Color, Move, Position, Rank, Role, Square, attacks};

/// The move that a SAN means in a position.
///
/// # Errors
///
/// As [`San::to_move`]: where the rules do not allow it, or it could mean several.
#[inline]
pub fn resolve(san: San, position: &Chess) -> Result<Move, SanError> {
    let San::Normal {
        role,
        file,
        rank,
        capture,
        to,
        promotion,
    } = san
    else {
        return san.to_move(position);
    };
    let (board, color) = (position.board(), position.turn());
    let captured = board.role_at(to);
    let (Some(king), true) = (board.king_of(color), capture == captured.is_some()) else {
        // En passant among others.
        return san.to_move(position);
    };
    let fits = match role {
        Role::Pawn => {
            let last = to.rank() == color.relative_rank(Rank::Eighth);
            promotion.map_or(!last, |role| {
                last && !matches!(role, Role::Pawn | Role::King)
            })
        }
        _ => promotion.is_none(),
    };
    let own = board.by_color(color);
    if !fits || own.contains(to) || captured == Some(Role::King) {
        return san.to_move(position);
    }
    let mut candidates = own & board.by_role(role) & origins(board, color, role, capture, to);
    if let Some(file) = file {
        candidates &= Bitboard::from(file);
    }
    if let Some(rank) = rank {
        candidates &= Bitboard::from(rank);
    }
    let mut found = None;
    for from in candidates {
        let king = if role == Role::King { to } else { king };
        let occupied = board.occupied().without(from).with(to);
        let attackers = board.attacks_to(king, !color, occupied).without(to);
        if attackers.is_empty() {
            if found.is_some() {
                return Err(SanError::AmbiguousSan);
            }
            found = Some(from);
        }
    }
    let from = found.ok_or(SanError::IllegalSan)?;
    Ok(Move::Normal {
        role,
        from,
        capture: captured,
        to,
        promotion,
    })
}

/// Squares from which a unit of a kind goes to a square, whose occupant is known to fit.
#[inline]
fn origins(board: &Board, color: Color, role: Role, capture: bool, to: Square) -> Bitboard {
    let occupied = board.occupied();
    match role {
        Role::Pawn if capture => attacks::pawn_attacks(!color, to),
        Role::Pawn => {
            let back = color.fold_wb(-8, 8);
            let Some(one) = to.offset(back) else {
                return Bitboard::EMPTY;
            };
            let fourth = color.relative_rank(Rank::Fourth);
            match one.offset(back) {
                Some(two) if to.rank() == fourth && !occupied.contains(one) => {
                    Bitboard::from_square(two)
                }
                _ => Bitboard::from_square(one),
            }
        }
        Role::Knight => attacks::knight_attacks(to),
        Role::Bishop => attacks::bishop_attacks(to, occupied),
        Role::Rook => attacks::rook_attacks(to, occupied),
        Role::Queen => attacks::queen_attacks(to, occupied),
        Role::King => attacks::king_attacks(to),
    }
}
