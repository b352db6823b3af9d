//! A stretch of a played game around a restraint: the piece followed from some plies before the
//! restraining move to the end of its spell.

use hobble_report::stretch::{Station, Stretch};
use hobble_tracks::survey::Survey;
use shakmaty::{CastlingSide, Color, Move, Position, Role, Square};

use crate::played::{Played, fen};
use crate::replay::{moved_to, squares};

/// Plies shown before the position that the restraining move is played in.
pub const BEFORE: u32 = 6;

/// A piece at a position of a game, and the ply that ends what is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Followed {
    /// Its kind.
    pub role: Role,
    /// Its owner.
    pub color: Color,
    /// Where it stands after `start` plies.
    pub square: Square,
    /// The ply of the restraining move.
    pub start: u32,
    /// The ply after which a reader sees it first.
    pub shown: u32,
    /// The last ply that is shown.
    pub end: u32,
}

/// The stretch of a game in which a piece is followed; `None` where the game has no such ply.
pub fn stretch(played: &Played, piece: Followed) -> Option<Stretch> {
    let Followed {
        role,
        color,
        square,
        start,
        shown,
        end,
    } = piece;
    played.position(start)?;
    let first = start.saturating_sub(1 + BEFORE);
    let last = end.clamp(start, played.len());
    // Where it stands, from the position shown first back and then on.
    let mut places = vec![Some(square)];
    for ply in (first + 1..=start).rev() {
        let before = places[places.len() - 1].zip(played.played(ply));
        places.push(before.and_then(|(here, by)| came_from(by, here, mover(played, ply)?, color)));
    }
    places.reverse();
    for ply in start + 1..=last {
        let before = places[places.len() - 1].zip(played.played(ply));
        places.push(before.and_then(|(here, by)| goes_to(by, here, mover(played, ply)?, color)));
    }
    let positions = (first..=last).zip(places).map(|(ply, place)| {
        let position = played.position(ply)?;
        let unit = place.and_then(|square| Survey::of(position).unit(square).cloned());
        let reference = played.reference(ply);
        Some(Station {
            ply,
            fen: fen(position),
            label: reference
                .as_ref()
                .map_or_else(String::new, |by| by.label.clone()),
            played: reference.map(|by| (by.from, by.to)),
            square: place.map(|square| square.to_string()),
            safe: unit.map_or_else(Vec::new, |unit| squares(unit.safe)),
        })
    });
    Some(Stretch {
        piece: format!(
            "{} {}",
            color.fold_wb("white", "black"),
            hobble_terms::kind::unit_name(role)
        ),
        began: (start - first) as usize,
        shown: (shown.clamp(first, last) - first) as usize,
        positions: positions.collect::<Option<_>>()?,
    })
}

/// The side that makes a ply.
fn mover(played: &Played, ply: u32) -> Option<Color> {
    Some(played.position(ply.checked_sub(1)?)?.turn())
}

/// Where the piece on a square stood before a move; `None` where it was a pawn until then.
fn came_from(by: Move, square: Square, mover: Color, owner: Color) -> Option<Square> {
    if mover != owner {
        return Some(square);
    }
    match by {
        Move::Castle { king, rook } => {
            let castling = CastlingSide::from_king_side(rook > king);
            Some(if castling.rook_to(owner) == square {
                rook
            } else {
                square
            })
        }
        _ if by.to() != square => Some(square),
        _ if by.is_promotion() => None,
        _ => by.from(),
    }
}

/// Where the piece on a square stands after a move; `None` where the move captures it.
fn goes_to(by: Move, square: Square, mover: Color, owner: Color) -> Option<Square> {
    if mover == owner {
        Some(moved_to(by, square, mover).unwrap_or(square))
    } else {
        (!(by.is_capture() && by.to() == square)).then_some(square)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{MOVES, START, game};

    fn bishop(square: Square, start: u32, end: u32) -> Followed {
        Followed {
            role: Role::Bishop,
            color: Color::Black,
            square,
            start,
            shown: start,
            end,
        }
    }

    /// As by hand in [`crate::course`]: 1. g3 leaves the bishop on h2 one square, 4. Kg2 none, and
    /// 5. Kxh2 takes it.
    #[test]
    fn a_bishop_from_free_to_taken() {
        let played = game(START, MOVES);
        let stretch = stretch(&played, bishop(Square::H2, 1, 9)).unwrap();
        assert_eq!(stretch.piece, "black bishop");
        assert_eq!((stretch.began, stretch.shown), (1, 1));
        let safe: Vec<usize> = stretch.positions.iter().map(|at| at.safe.len()).collect();
        assert_eq!(safe, [5, 1, 1, 1, 1, 0, 0, 0, 0, 0]);
        assert_eq!(stretch.taken(1), ["e5", "d6", "c7", "b8"]);
        let last = &stretch.positions[9];
        assert_eq!(
            (last.label.as_str(), last.square.clone()),
            ("5. Kxh2", None)
        );
        assert!(
            stretch.positions[..9]
                .iter()
                .all(|at| at.square.as_deref() == Some("h2"))
        );
        assert!(super::stretch(&played, bishop(Square::H2, 12, 14)).is_none());
    }

    /// A rook that castles, is followed to both sides of it; a queen was a pawn before.
    #[test]
    fn castling_and_promotion() {
        let rook = Followed {
            role: Role::Rook,
            color: Color::White,
            square: Square::F1,
            start: 3,
            shown: 4,
            end: 5,
        };
        let start = "4k3/p7/8/8/8/8/8/4K2R w K - 0 1";
        let mut moves = crate::sample::plies("h1h2 a7a6 h2h1 a6a5 e1f1");
        moves[4] = crate::replay::Ply {
            castling: false,
            ..moves[4].clone()
        };
        let played = crate::sample::played(start, moves);
        let at = |stretch: &Stretch| -> Vec<Option<String>> {
            stretch
                .positions
                .iter()
                .map(|at| at.square.clone())
                .collect()
        };
        let squares = |names: &[&str]| -> Vec<Option<String>> {
            names.iter().map(|name| Some((*name).to_owned())).collect()
        };
        let shuttle = Followed {
            square: Square::H1,
            ..rook
        };
        assert_eq!(
            at(&stretch(&played, shuttle).unwrap()),
            squares(&["h1", "h2", "h2", "h1", "h1", "h1"])
        );

        let mut castles = crate::sample::plies("e1g1 a7a6 f1f2");
        castles[0].castling = true;
        let played = crate::sample::played(start, castles);
        let castled = Followed {
            square: Square::F2,
            ..rook
        };
        assert_eq!(
            at(&stretch(&played, castled).unwrap()),
            squares(&["h1", "f1", "f1", "f2"])
        );

        let promoted = crate::sample::played(
            "4k3/P7/8/8/8/8/8/4K3 w - - 0 1",
            crate::sample::plies("a7a8q e8d7 a8a1"),
        );
        let queen = Followed {
            role: Role::Queen,
            square: Square::A1,
            ..rook
        };
        let seen = at(&stretch(&promoted, queen).unwrap());
        assert_eq!(
            seen,
            [
                None,
                Some("a8".into()),
                Some("a8".into()),
                Some("a1".into())
            ]
        );
    }
}
