//! Classes of what stands around a piece, by which comparisons match: material, number of the move,
//! squares before, other pieces held.

use hobble_terms::words;

/// Balance from which an owner counts as ahead or behind, in pawns.
const AHEAD: i16 = 2;

/// Plies of one class of moves: ten moves.
const PLIES: u16 = 20;

/// Classes of moves; the last is move 71 and later.
pub const MOVES: u8 = 8;

/// Classes of squares before, the first for a piece that was not there.
pub const SQUARES_BEFORE: u8 = 5;

/// Classes of other pieces held; the last is three and more.
pub const OTHERS_HELD: u8 = 4;

/// In the words of squares before, a piece that was not on the board.
pub const NOT_THERE: &str = "not there";

words! {
    /// The owner's material less the opponent's.
    Balance {
        /// Two pawns or more down.
        Behind = "two pawns or more behind",
        /// Less than two pawns between the sides.
        Level = "level",
        /// Two pawns or more up.
        Ahead = "two pawns or more ahead",
    }
}

impl Balance {
    /// Of a balance in pawns.
    pub const fn of(pawns: i16) -> Balance {
        if pawns <= -AHEAD {
            Balance::Behind
        } else if pawns < AHEAD {
            Balance::Level
        } else {
            Balance::Ahead
        }
    }
}

/// The class of moves of a ply, from 0.
pub fn moves(ply: u16) -> u8 {
    (ply / PLIES).min(u16::from(MOVES) - 1) as u8
}

/// A class of moves in words: `11-20`.
pub fn moves_in_words(class: u8) -> String {
    let first = u32::from(class) * 10 + 1;
    if class + 1 < MOVES {
        format!("{first}-{}", first + 9)
    } else {
        format!("{first}+")
    }
}

/// The class of a piece's squares before, where at most `k` make it held: none before, at most k,
/// up to two more, up to four more, more than that.
pub fn squares_before(squares: Option<u8>, k: u8) -> u8 {
    match squares {
        None => 0,
        Some(squares) if squares <= k => 1,
        Some(squares) if squares <= k + 2 => 2,
        Some(squares) if squares <= k + 4 => 3,
        Some(_) => 4,
    }
}

/// A class of squares before in words: `2-3`.
pub fn squares_before_in_words(class: u8, k: u8) -> String {
    match class {
        0 => NOT_THERE.to_owned(),
        1 => format!("0-{k}"),
        2 => format!("{}-{}", k + 1, k + 2),
        3 => format!("{}-{}", k + 3, k + 4),
        _ => format!("{}+", k + 5),
    }
}

/// The class of other pieces held.
pub fn others_held(pieces: u8) -> u8 {
    pieces.min(OTHERS_HELD - 1)
}

/// A class of other pieces held in words.
pub fn others_held_in_words(class: u8) -> String {
    let more = if class + 1 < OTHERS_HELD { "" } else { "+" };
    format!("{class}{more}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_of_circumstances() {
        let balances = [-2, -1, 1, 2].map(Balance::of);
        let [behind, level, ahead] = Balance::ALL;
        assert_eq!(balances, [behind, level, level, ahead]);
        let said = |ply| moves_in_words(moves(ply));
        assert_eq!([said(0), said(19), said(20)], ["1-10", "1-10", "11-20"]);
        assert_eq!([said(139), said(140), said(400)], ["61-70", "71+", "71+"]);
        let before = |squares| squares_before_in_words(squares_before(squares, 1), 1);
        assert_eq!(before(None), "not there");
        let words = [0, 1, 2, 3, 4, 5, 6].map(|squares| before(Some(squares)));
        assert_eq!(words, ["0-1", "0-1", "2-3", "2-3", "4-5", "4-5", "6+"]);
        let others = [0, 2, 3, 9].map(|pieces| others_held_in_words(others_held(pieces)));
        assert_eq!(others, ["0", "2", "3+", "3+"]);
    }
}
