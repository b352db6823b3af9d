//! Replays a game from the table of moves.

use hobble_terms::Table;
use hobble_terms::Variant;
use hobble_terms::start::start_position;
use shakmaty::san::SanPlus;
use shakmaty::{Bitboard, CastlingSide, Chess, Color, Move, Position, Role, Square};

use crate::locate::Place;
use crate::reference::MoveReference;
use hobble_conditions::AskError;

/// One row of the table of moves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ply {
    pub(crate) ply: u64,
    pub(crate) from: Square,
    pub(crate) to: Square,
    pub(crate) promotion: Option<Role>,
    pub(crate) castling: bool,
}

/// The moves of a game, in order.
///
/// # Errors
///
/// Where the table is unreadable, a ply missing or a square invalid.
pub fn read_moves(place: &Place) -> Result<Vec<Ply>, AskError> {
    let columns = [
        "game",
        "ply",
        "from_square",
        "to_square",
        "promotion",
        "castling",
    ];
    let mut plies = Vec::with_capacity(place.rows);
    let mut number = None;
    let bad = |what: String| AskError::bad_table(Table::Moves, what);
    let part = place.part();
    for rows in part.read_rows(&columns, place.first..place.first + place.rows)? {
        let rows = rows?;
        let (game, ply) = (rows.numbers("game")?, rows.numbers("ply")?);
        let castling = rows.booleans("castling")?;
        let (from, to) = (rows.texts("from_square")?, rows.texts("to_square")?);
        let promotion = rows.texts("promotion")?;
        let square = |text: Option<&str>| -> Result<Square, AskError> {
            text.and_then(|text| text.parse().ok()).ok_or_else(|| {
                rows.bad(format!("invalid square \"{}\"", text.unwrap_or("null")))
                    .into()
            })
        };
        for row in 0..rows.len() {
            if *number.get_or_insert(game.at(row)) != game.at(row) {
                continue;
            }
            let promotion = match promotion.get(row) {
                None => None,
                Some("knight") => Some(Role::Knight),
                Some("bishop") => Some(Role::Bishop),
                Some("rook") => Some(Role::Rook),
                Some("queen") => Some(Role::Queen),
                Some(other) => {
                    return Err(rows.bad(format!("invalid promotion \"{other}\"")).into());
                }
            };
            plies.push(Ply {
                ply: ply.at(row),
                from: square(from.get(row))?,
                to: square(to.get(row))?,
                promotion,
                castling: castling.value(row),
            });
        }
    }
    plies.sort_by_key(|ply| ply.ply);
    for (expected, ply) in (1..).zip(&plies) {
        if ply.ply != expected {
            let game = number.unwrap_or_default();
            return Err(bad(format!("game {game} lacks ply {expected}")));
        }
    }
    Ok(plies)
}

/// The start position as the scan read it.
pub fn start(fen: Option<&str>) -> Option<Chess> {
    let Some(fen) = fen else {
        return Some(Chess::default());
    };
    start_position(fen.as_bytes(), Variant::Standard).ok()
}

/// The legal move that a row of the table means.
pub fn find(position: &Chess, ply: &Ply) -> Option<Move> {
    position
        .legal_moves()
        .into_iter()
        .find(|legal| match legal {
            Move::Castle { king, rook } => {
                ply.castling
                    && *king == ply.from
                    && CastlingSide::from_king_side(rook > king).king_to(position.turn()) == ply.to
            }
            other => {
                !ply.castling
                    && other.from() == Some(ply.from)
                    && other.to() == ply.to
                    && other.promotion() == ply.promotion
            }
        })
}

/// Names of squares, sorted a1, b1 … h8.
pub fn squares(set: Bitboard) -> Vec<String> {
    set.into_iter().map(|square| square.to_string()).collect()
}

/// A move in SAN with its number: `24. hxg4` for White, `23...Bg4` for Black.
pub fn label(position: &Chess, played: Move) -> String {
    let san = SanPlus::from_move(position.clone(), played).to_string();
    numbered(position, &san)
}

fn numbered(position: &Chess, san: &str) -> String {
    let dots = if position.turn().is_white() {
        ". "
    } else {
        "..."
    };
    format!("{}{dots}{san}", position.fullmoves())
}

/// What names a move of a game.
pub fn reference(position: &Chess, played: Move, number: u32, ply: &Ply) -> MoveReference {
    let san = SanPlus::from_move(position.clone(), played).to_string();
    MoveReference {
        ply: number,
        label: numbered(position, &san),
        san,
        from: ply.from.to_string(),
        to: ply.to.to_string(),
    }
}

/// Where the unit on a square goes by this move; `None` where it stays.
pub(crate) fn moved_to(played: Move, square: Square, side: Color) -> Option<Square> {
    match played {
        Move::Castle { king, rook } => {
            let castling = CastlingSide::from_king_side(rook > king);
            (square == rook).then(|| castling.rook_to(side))
        }
        _ => (played.from() == Some(square)).then(|| played.to()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// King f1 to g1 in Chess960 may be a king's step or castling; the table says which.
    #[test]
    fn castling_by_the_kings_squares() {
        let position = start(Some("4k3/8/8/8/8/8/8/5K1R w H - 0 1")).unwrap();
        let step = Ply {
            ply: 1,
            from: Square::F1,
            to: Square::G1,
            promotion: None,
            castling: false,
        };
        let castle = Ply {
            castling: true,
            ..step.clone()
        };
        assert!(matches!(find(&position, &step), Some(Move::Normal { .. })));
        assert!(matches!(
            find(&position, &castle),
            Some(Move::Castle { .. })
        ));
        let usual = start(Some("r3k3/8/8/8/8/8/8/4K2R b Kq - 0 1")).unwrap();
        let long = Ply {
            ply: 1,
            from: Square::E8,
            to: Square::C8,
            promotion: None,
            castling: true,
        };
        assert!(matches!(find(&usual, &long), Some(Move::Castle { .. })));
    }
}
