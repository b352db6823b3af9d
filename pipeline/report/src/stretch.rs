//! A stretch of a game to step through, one piece of it followed.

use serde::{Deserialize, Serialize};

/// Positions one after another, with the safe squares of one piece at each of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// The piece, as `white knight`.
    pub piece: String,
    /// The position at which its restraint begins, counted from 0.
    pub began: usize,
    /// The one that a reader sees first.
    pub shown: usize,
    /// The positions in the order of the game.
    pub positions: Vec<Station>,
}

/// A position of a stretch. Squares are named as `e4`, sorted a1, b1 … h8.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Station {
    /// Plies played before it.
    pub ply: u32,
    /// The position as FEN.
    pub fen: String,
    /// The move that led to it, with its number, as `23...Bg4`; empty at the start of a game.
    pub label: String,
    /// The squares that move left and reached, for castling the king's; `null` at the start of a game.
    pub played: Option<(String, String)>,
    /// Where the piece stands; `null` where it was captured, or had not been promoted to yet.
    pub square: Option<String>,
    /// Its safe squares; empty where it is not on the board.
    pub safe: Vec<String>,
}

impl Stretch {
    /// Squares that the move which led to a position took from the piece: it had them as safe squares
    /// before and stands where it stood.
    pub fn taken(&self, position: usize) -> Vec<&str> {
        let standing = self.standing_since(position);
        standing.map_or_else(Vec::new, |(before, now)| before.safe_unlike(now))
    }

    /// Squares that the move which led to a position gave to the piece, as [`Stretch::taken`].
    pub fn given(&self, position: usize) -> Vec<&str> {
        let standing = self.standing_since(position);
        standing.map_or_else(Vec::new, |(before, now)| now.safe_unlike(before))
    }

    /// The position before one, and that one, where the piece stands on the same square in both.
    fn standing_since(&self, position: usize) -> Option<(&Station, &Station)> {
        let before = self.positions.get(position.checked_sub(1)?)?;
        let now = self.positions.get(position)?;
        (before.square.is_some() && before.square == now.square).then_some((before, now))
    }
}

impl Station {
    /// Safe squares here that are not safe in another position.
    fn safe_unlike(&self, other: &Station) -> Vec<&str> {
        let safe = self.safe.iter();
        let only_here = safe.filter(|square| !other.safe.contains(square));
        only_here.map(String::as_str).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn station(square: Option<&str>, safe: &[&str]) -> Station {
        Station {
            ply: 0,
            fen: String::new(),
            label: String::new(),
            played: None,
            square: square.map(str::to_owned),
            safe: safe.iter().map(|&name| name.to_owned()).collect(),
        }
    }

    #[test]
    fn squares_change_only_while_the_piece_stands() {
        let stretch = Stretch {
            piece: "white knight".into(),
            began: 1,
            shown: 1,
            positions: vec![
                station(Some("f3"), &["d4", "e5", "g5"]),
                station(Some("f3"), &["d4", "h4"]),
                station(Some("d4"), &["f3"]),
                station(None, &[]),
            ],
        };
        let all = |of: &dyn Fn(usize) -> Vec<String>| (0..5).map(of).collect::<Vec<_>>();
        let owned = |names: Vec<&str>| names.into_iter().map(str::to_owned).collect::<Vec<_>>();
        let taken = all(&|at| owned(stretch.taken(at)));
        let given = all(&|at| owned(stretch.given(at)));
        assert_eq!(
            taken,
            [
                vec![],
                vec!["e5".into(), "g5".into()],
                vec![],
                vec![],
                vec![]
            ] as [Vec<String>; 5]
        );
        assert_eq!(
            given,
            [vec![], vec!["h4".into()], vec![], vec![], vec![]] as [Vec<String>; 5]
        );
    }
}
