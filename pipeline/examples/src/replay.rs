//! Replays a game from the table of moves up to an example, and reads the boards.

use hobble_terms::Table;
use hobble_terms::Variant;
use hobble_terms::start::start_position;
use hobble_tracks::survey::{Survey, UnitSurvey};
use shakmaty::fen::Fen;
use shakmaty::san::SanPlus;
use shakmaty::{Bitboard, CastlingSide, Chess, Color, EnPassantMode, Move, Position, Role, Square};

use crate::locate::Place;
use crate::reference::{ExampleBoard, MoveReference};
use hobble_conditions::AskError;
use hobble_report::number;
use hobble_terms::Kind;

/// A chosen spell.
#[derive(Debug, Clone)]
pub struct Spell {
    /// Kind of the held piece.
    pub kind: Kind,
    /// Its owner.
    pub color: Color,
    /// Where it stands when the spell starts.
    pub square: Square,
    /// Its safe squares before the ply that did it.
    pub safe_before: u8,
    /// Its safe squares when the spell starts.
    pub safe: u8,
    /// How the spell ended.
    pub end: String,
    /// Position at which it starts.
    pub start_ply: u32,
    /// Ply that did it.
    pub cause_ply: u32,
    /// Ply that captured the piece.
    pub end_ply: u32,
    /// Kinds of enemy units that attack it at the start.
    pub attacked_by: String,
    /// Whether an own unit defends it at the start.
    pub defended: bool,
    /// Phase at the start.
    pub phase: String,
}

/// One row of the table of moves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ply {
    ply: u64,
    from: Square,
    to: Square,
    promotion: Option<Role>,
    castling: bool,
}

/// The moves of a game, in order.
///
/// # Errors
///
/// Where the table is unreadable, a ply missing or a square none.
pub fn read_moves(place: &Place) -> Result<Vec<Ply>, AskError> {
    let columns = ["game", "ply", "from", "to", "promotion", "castling"];
    let mut plies = Vec::with_capacity(place.rows);
    let mut number = None;
    let bad = |what: String| AskError::bad_table(Table::Moves, what);
    for rows in place
        .part
        .read_rows(&columns, place.first..place.first + place.rows)?
    {
        let rows = rows?;
        let (game, ply) = (rows.numbers("game")?, rows.numbers("ply")?);
        let castling = rows.booleans("castling")?;
        let (from, to) = (rows.texts("from")?, rows.texts("to")?);
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

/// The boards of a spell. `game` names the game in errors.
///
/// # Errors
///
/// Where the moves cannot be played or do not agree with the spell.
pub fn board(
    plies: &[Ply],
    start_fen: Option<&str>,
    spell: &Spell,
    game: &str,
) -> Result<ExampleBoard, AskError> {
    let bad = |what: String| AskError::bad_table(Table::Moves, format!("{what}, in {game}"));
    let mut position = start(start_fen).ok_or_else(|| {
        bad(format!(
            "the start position {} cannot be played from",
            start_fen.unwrap_or_default()
        ))
    })?;
    let (mut before, mut after, mut cause, mut capture) = (None, None, None, None);
    for (number, ply) in (1..).zip(plies) {
        let played = find(&position, ply).ok_or_else(|| {
            bad(format!(
                "ply {number} ({}-{}) is not legal",
                ply.from, ply.to
            ))
        })?;
        if number == spell.cause_ply {
            before = Some(position.clone());
            cause = Some(reference(&position, played, number, ply));
        }
        if number == spell.end_ply {
            if played.capture().is_none() {
                return Err(bad(format!("ply {number} captures nothing")));
            }
            capture = Some(reference(&position, played, number, ply));
            break;
        }
        position.play_unchecked(played);
        if number == spell.cause_ply {
            after = Some(position.clone());
        }
    }
    let (Some(before), Some(after), Some(cause), Some(capture)) = (before, after, cause, capture)
    else {
        return Err(bad(format!(
            "the game has {} plies, the spell names plies {} and {}",
            plies.len(),
            spell.cause_ply,
            spell.end_ply
        )));
    };
    let safe = |position: &Chess, count: u8| -> Result<Bitboard, AskError> {
        let unit = held(position, spell)
            .ok_or_else(|| bad(format!("no {} stands on {}", spell.kind, spell.square)))?;
        if unit.safe.count() != usize::from(count) {
            return Err(bad(format!(
                "the {} on {} has {} where the table of spells says {count}",
                spell.kind,
                spell.square,
                number::counted(unit.safe.count() as u64, "safe square")
            )));
        }
        Ok(unit.safe)
    };
    let safe_before = safe(&before, spell.safe_before)?;
    let safe_after = safe(&after, spell.safe)?;
    Ok(ExampleBoard {
        fen_before: Fen::from_position(&before, EnPassantMode::Legal).to_string(),
        fen_after: Fen::from_position(&after, EnPassantMode::Legal).to_string(),
        cause,
        capture,
        safe_before: squares(safe_before),
        safe_after: squares(safe_after),
        taken: squares(safe_before & !safe_after),
    })
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

fn held(position: &Chess, spell: &Spell) -> Option<UnitSurvey> {
    let role = match spell.kind {
        Kind::Knight => Role::Knight,
        Kind::Bishop => Role::Bishop,
        Kind::Rook => Role::Rook,
        Kind::Queen => Role::Queen,
    };
    Survey::of(position)
        .unit(spell.square)
        .filter(|unit| unit.kind == role && unit.color == spell.color)
        .cloned()
}

/// Names of squares, sorted a1, b1 … h8.
pub fn squares(set: Bitboard) -> Vec<String> {
    set.into_iter().map(|square| square.to_string()).collect()
}

/// `24. hxg4` for White, `23...Bg4` for Black.
pub fn reference(position: &Chess, played: Move, number: u32, ply: &Ply) -> MoveReference {
    let san = SanPlus::from_move(position.clone(), played).to_string();
    let dots = if position.turn().is_white() {
        ". "
    } else {
        "..."
    };
    MoveReference {
        ply: number,
        label: format!("{}{dots}{san}", position.fullmoves()),
        san,
        from: ply.from.to_string(),
        to: ply.to.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plies(moves: &str) -> Vec<Ply> {
        (1..)
            .zip(moves.split_whitespace())
            .map(|(ply, text)| Ply {
                ply,
                from: text[..2].parse().unwrap(),
                to: text[2..4].parse().unwrap(),
                promotion: None,
                castling: text.ends_with('c'),
            })
            .collect()
    }

    /// 1. e4 a6 2. Bc4 b5 3. Bb3 c5 4. a3 c4 5. h3 cxb3
    const GAME: &str = "e2e4 a7a6 f1c4 b7b5 c4b3 c7c5 a2a3 c5c4 h2h3 c4b3";

    /// 4...c4 shuts the bishop on b3 in: before it, a2 and d5 are safe, after it a2 alone.
    fn spell() -> Spell {
        Spell {
            kind: Kind::Bishop,
            color: Color::White,
            square: Square::B3,
            safe_before: 2,
            safe: 1,
            end: "lost".into(),
            start_ply: 8,
            cause_ply: 8,
            end_ply: 10,
            attacked_by: "P".into(),
            defended: true,
            phase: "opening".into(),
        }
    }

    /// Positions and safe squares as `tests/oracle` reads the definitions, over python-chess
    /// 1.11.2. By hand: no enemy unit looks at a2, which the pawn left, or at d5, until the
    /// pawn on c4 stands in the way of d5; to take that pawn costs the bishop.
    #[test]
    fn boards_and_moves() {
        let board = board(&plies(GAME), None, &spell(), "a game").unwrap();
        assert_eq!(
            board.fen_before,
            "rnbqkbnr/3ppppp/p7/1pp5/4P3/PB6/1PPP1PPP/RNBQK1NR b KQkq - 0 4"
        );
        assert_eq!(
            board.fen_after,
            "rnbqkbnr/3ppppp/p7/1p6/2p1P3/PB6/1PPP1PPP/RNBQK1NR w KQkq - 0 5"
        );
        assert_eq!(board.cause.label, "4...c4");
        assert_eq!(board.capture.label, "5...cxb3");
        let ends = (board.capture.from.as_str(), board.capture.to.as_str());
        assert_eq!(ends, ("c4", "b3"));
        assert_eq!(board.safe_before, ["a2", "d5"]);
        assert_eq!(board.safe_after, ["a2"]);
        assert_eq!(board.taken, ["d5"]);
    }

    #[test]
    fn a_game_that_does_not_agree_is_refused() {
        let all = plies(GAME);
        let good = spell();
        let refuse = |plies: &[Ply], spell: &Spell| {
            board(plies, None, spell, "a game").unwrap_err().to_string()
        };
        let wrong = Spell {
            safe: good.safe + 1,
            ..good.clone()
        };
        assert!(
            refuse(&all, &wrong).contains("has 1 safe square where the table of spells says 2")
        );
        let wrong = Spell {
            square: Square::D4,
            ..good.clone()
        };
        assert!(refuse(&all, &wrong).contains("no bishop stands on d4, in a game"));
        let wrong = Spell {
            end_ply: 9,
            ..good.clone()
        };
        assert!(refuse(&all, &wrong).contains("ply 9 captures nothing"));
        assert!(refuse(&all[..9], &good).contains("the game has 9 plies"));
        assert!(refuse(&plies("e2e5"), &good).contains("ply 1 (e2-e5) is not legal"));
    }

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
