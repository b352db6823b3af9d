//! Moves in SAN resolved with what has been measured already.
//!
//! Without a check the reach of a unit is where its legal moves lead (castling of kings
//! apart), so that no moves need be generated again. All else is left to shakmaty.

use shakmaty::san::{San, SanError};
use shakmaty::{Bitboard, Chess, Move, Position, Rank, Role, attacks};

use crate::mobility::Mobility;
use crate::sight::Sight;

/// The move that a SAN means in a position, given what its side on move measures there.
///
/// # Errors
///
/// As [`San::to_move`]: where the rules do not allow it, or it could mean several.
pub fn resolve(
    san: San,
    position: &Chess,
    sight: &Sight,
    mobility: &Mobility,
) -> Result<Move, SanError> {
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
    let color = position.turn();
    let board = &sight.board;
    let check = board
        .king_of(color)
        .is_none_or(|king| sight.control.get(!color).all.contains(king));
    let captured = board.role_at(to);
    if check || role == Role::King || capture != captured.is_some() {
        // En passant among others.
        return san.to_move(position);
    }
    let mut candidates = board.by_color(color) & board.by_role(role);
    if role == Role::Pawn {
        let last = to.rank() == color.relative_rank(Rank::Eighth);
        let fitting = match promotion {
            Some(role) => last && !matches!(role, Role::Pawn | Role::King),
            None => !last,
        };
        candidates &= match fitting {
            true if capture => attacks::pawn_attacks(!color, to),
            true => Bitboard::from(to.file()),
            false => Bitboard::EMPTY,
        };
    } else if promotion.is_some() {
        candidates = Bitboard::EMPTY;
    }
    if let Some(file) = file {
        candidates &= Bitboard::from(file);
    }
    if let Some(rank) = rank {
        candidates &= Bitboard::from(rank);
    }
    let mut found = None;
    for from in candidates {
        if mobility.of_unit(color, from, role).reach.contains(to) {
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
