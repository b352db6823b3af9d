//! The legal move that a move in a game's text means.

use hobble_terms::Reason;
use shakmaty::san::{San, SanError};
use shakmaty::{CastlingSide, Chess, File, Move, Position, Role, Square};

/// The move that a SAN means in a position, coordinates included.
///
/// # Errors
///
/// Where the rules do not allow it, or it could mean several.
#[inline]
pub fn resolve(san: San, position: &Chess) -> Result<Move, Reason> {
    let san = with_piece(san, position);
    san.to_move(position).map_err(|error| refusal(san, error))
}

/// A move as SAN has it where it may be written by its two squares alone (`g1f3`, `e1g1`), which
/// reads as the move of a pawn.
#[inline]
pub fn with_piece(san: San, position: &Chess) -> San {
    match san {
        San::Normal {
            role: Role::Pawn,
            file: Some(file),
            rank: Some(rank),
            capture: false,
            to,
            promotion,
        } => by_squares(Square::from_coords(file, rank), to, promotion, position).unwrap_or(san),
        _ => san,
    }
}

#[cold]
fn by_squares(from: Square, to: Square, promotion: Option<Role>, position: &Chess) -> Option<San> {
    let board = position.board();
    let ours = board.by_color(position.turn());
    let role = board.role_at(from).filter(|_| ours.contains(from))?;
    let own = ours.contains(to);
    if role == Role::King && from.rank() == to.rank() {
        // A king that takes its own rook, or goes two files or more, castles.
        let far = from.file().distance(to.file()) > 1 && [File::C, File::G].contains(&to.file());
        if own && board.role_at(to) == Some(Role::Rook) || far {
            return Some(San::Castle(CastlingSide::from_king_side(match own {
                true => from < to,
                false => to.file() == File::G,
            })));
        }
    }
    Some(San::Normal {
        role,
        file: Some(from.file()),
        rank: Some(from.rank()),
        capture: board.occupied().contains(to) || role == Role::Pawn && from.file() != to.file(),
        to,
        promotion,
    })
}

/// Why a SAN that means no move is refused.
pub fn refusal(san: San, error: SanError) -> Reason {
    match (san, error) {
        (San::Null, _) => Reason::NullMove,
        (_, SanError::AmbiguousSan) => Reason::AmbiguousMove,
        (_, SanError::IllegalSan) => Reason::IllegalMove,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_by_their_squares() {
        let fen = "r3k2r/p2q1ppp/8/3Pp3/4P3/5N2/PPP2PPP/R3K2R w KQkq e6 0 1";
        let setup: shakmaty::fen::Fen = fen.parse().unwrap();
        let position: Chess = setup
            .into_position(shakmaty::CastlingMode::Standard)
            .unwrap();
        let read = |text: &str| {
            let san = San::from_ascii(text.as_bytes()).unwrap();
            resolve(san, &position).map(|m| San::from_move(&position, m).to_string())
        };
        for (squares, san) in [
            ("f3g5", "Ng5"),
            ("f3e5", "Nxe5"),
            ("a2a4", "a4"),
            ("d5e6", "dxe6"),
            ("e1g1", "O-O"),
            ("e1a1", "O-O-O"),
            ("e1d1", "Kd1"),
        ] {
            assert_eq!(read(squares).as_deref(), Ok(san), "{squares}");
        }
        for illegal in ["e1b1", "e8g8", "h8h7", "d5c6", "f3f5"] {
            assert_eq!(read(illegal), Err(Reason::IllegalMove), "{illegal}");
        }
    }
}
