//! Replies that would have freed a piece that was lost.
//!
//! At each turn of a spell every legal reply is played, and the piece's safe squares are
//! counted after it with the turn passed. The reply would have freed the piece where they are
//! more than k; a reply by the piece itself counts only where it goes to one of its safe
//! squares. It says nothing of whether the reply was good otherwise.

use hobble_terms::Table;
use hobble_tracks::chances::Way;
use hobble_tracks::mobility::Mobility;
use hobble_tracks::rules::Rules;
use hobble_tracks::sight::Sight;
use shakmaty::fen::Fen;
use shakmaty::{Chess, Color, EnPassantMode, Move, Position, Square};

use crate::answer::Board;
use crate::own_spells::OwnSpell;
use hobble_conditions::AskError;
use hobble_examples::replay::{self, Ply};

/// A turn of a spell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// The position, with the reply that would have freed most where there is one.
    pub board: Board,
    /// Whether a reply that frees was played.
    pub played: bool,
}

/// A game to be played over.
pub struct Replay {
    /// Its start position, where not the usual one.
    pub start_fen: Option<String>,
    /// The player's side.
    pub color: Color,
    /// What it is called in errors.
    pub name: String,
}

/// The safe squares of a side, the turn passed where it is not on move.
pub fn safe(position: &Chess, color: Color) -> Mobility {
    let mut mobility = Mobility::default();
    mobility.measure(&Sight::of(position.board()), Rules::of(position), color);
    mobility
}

/// Where a piece stands after a move, and whether it was the one that moved.
pub fn follow(square: Square, played: Move, color: Color) -> (Square, bool) {
    if let Move::Castle { king, rook } = played {
        if rook == square {
            let side = shakmaty::CastlingSide::from_king_side(rook > king);
            return (side.rook_to(color), true);
        }
        return (square, false);
    }
    if played.from() == Some(square) {
        (played.to(), true)
    } else {
        (square, false)
    }
}

/// The replies at a position that free the piece, each with the safe squares it then has.
pub fn freeing(position: &Chess, square: Square, k: u8) -> Vec<(usize, Move)> {
    let color = position.turn();
    let before = safe(position, color).safe[square.to_usize()];
    let mut found = Vec::new();
    for reply in position.legal_moves() {
        let (to, moved) = follow(square, reply, color);
        if moved && !before.contains(to) && !matches!(reply, Move::Castle { .. }) {
            continue;
        }
        let mut after = position.clone();
        after.play_unchecked(reply);
        let left = safe(&after, color).safe[to.to_usize()].count();
        if left > usize::from(k) {
            found.push((left, reply));
        }
    }
    found
}

/// The turns of one spell.
///
/// # Errors
///
/// Where the moves cannot be played or do not agree with the spell.
pub fn turns(plies: &[Ply], game: &Replay, spell: &OwnSpell, k: u8) -> Result<Vec<Turn>, AskError> {
    let bad = |what: String| AskError::bad_table(Table::Moves, format!("{what}, in {}", game.name));
    let mut position = replay::start(game.start_fen.as_deref())
        .ok_or_else(|| bad("the start position cannot be played from".to_owned()))?;
    let mut square: Square = spell
        .square
        .parse()
        .map_err(|_| bad(format!("invalid square \"{}\"", spell.square)))?;
    let last = spell.start_ply + 2 * spell.turns;
    let mut turns = Vec::new();
    for (number, ply) in (1u32..).zip(plies) {
        let at = u64::from(number) - 1;
        if at >= last {
            break;
        }
        let played = replay::find(&position, ply)
            .ok_or_else(|| bad(format!("ply {number} is not legal")))?;
        if at >= spell.start_ply {
            if (at - spell.start_ply).is_multiple_of(2) {
                if position.turn() != game.color
                    || position.board().color_at(square) != Some(game.color)
                {
                    return Err(bad(format!(
                        "no {} of the player's stands on {square} at ply {at}",
                        spell.kind
                    )));
                }
                turns.push(turn(&position, at, square, played, k));
            }
            square = follow(square, played, position.turn()).0;
        }
        position.play_unchecked(played);
    }
    if turns.len() as u64 != spell.turns {
        return Err(bad(format!(
            "the spell from ply {} has {} turns, the game {}",
            spell.start_ply,
            spell.turns,
            turns.len()
        )));
    }
    Ok(turns)
}

fn turn(position: &Chess, at: u64, square: Square, played: Move, k: u8) -> Turn {
    let mut frees = freeing(position, square, k);
    let was_played = frees.iter().any(|(_, reply)| *reply == played);
    let replies = frees.len() as u64;
    let key = |reply: &Move| reply.to_uci(shakmaty::CastlingMode::Chess960).to_string();
    frees.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| key(&a.1).cmp(&key(&b.1))));
    let best = frees.first().map(|(_, reply)| *reply);
    let safe = safe(position, position.turn()).safe[square.to_usize()];
    Turn {
        played: was_played,
        board: Board {
            fen: Fen::from_position(position, EnPassantMode::Legal).to_string(),
            ply: at,
            square: square.to_string(),
            safe: safe.into_iter().map(|square| square.to_string()).collect(),
            reply: best.map(|reply| replay::label(position, reply)),
            arrow: best.map(|reply| {
                let way = Way::of(reply, position.turn());
                (way.from.to_string(), way.to.to_string())
            }),
            replies,
            played: replay::label(position, played),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn position(fen: &str) -> Chess {
        replay::start(Some(fen)).unwrap()
    }

    fn sans(position: &Chess, frees: &[(usize, Move)]) -> Vec<String> {
        let mut sans: Vec<String> = frees
            .iter()
            .map(|(_, m)| shakmaty::san::San::from_move(position, *m).to_string())
            .collect();
        sans.sort();
        sans
    }

    /// White's bishop a1 is shut in by its own pawn b2: no square. Pawn moves open the diagonal
    /// (b2-b3 and b2-b4 to h8); nothing else does.
    #[test]
    fn own_pawn_in_the_way() {
        let shut = position("4k3/8/8/8/8/8/1P6/B3K3 w - - 0 1");
        assert_eq!(sans(&shut, &freeing(&shut, Square::A1, 2)), ["b3", "b4"]);
    }

    /// White's knight a8 could go to b6 and c7 only, where a pawn and the king take it: no reply
    /// gives it a safe square, and going there frees nothing.
    #[test]
    fn going_where_it_is_taken_frees_nothing() {
        let held = position("N2k4/p7/8/8/8/8/8/4K3 w - - 0 1");
        assert_eq!(
            sans(&held, &freeing(&held, Square::A8, 0)),
            Vec::<String>::new()
        );
    }

    #[test]
    fn pieces_are_followed_through_castling() {
        let castle = Move::Castle {
            king: Square::E1,
            rook: Square::H1,
        };
        assert_eq!(follow(Square::H1, castle, Color::White), (Square::F1, true));
        assert_eq!(
            follow(Square::A1, castle, Color::White),
            (Square::A1, false)
        );
    }
}
