//! When a game is over: by the rules, by resigning, by agreement.

use shakmaty::{Chess, Color, Position};

use crate::chance::Chance;
use crate::engine::search::Choice;

/// Result token of a game.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Score {
    /// `1-0`
    White,
    /// `0-1`
    Black,
    /// `1/2-1/2`
    Drawn,
    /// `*`
    Open,
}

impl Score {
    /// A win for a colour.
    pub fn win(color: Color) -> Self {
        color.fold_wb(Self::White, Self::Black)
    }

    /// As PGN writes it.
    pub fn token(self) -> &'static str {
        match self {
            Self::White => "1-0",
            Self::Black => "0-1",
            Self::Drawn => "1/2-1/2",
            Self::Open => "*",
        }
    }

    /// White's points in halves, where there are any.
    pub fn points(self) -> Option<i32> {
        match self {
            Self::White => Some(2),
            Self::Black => Some(0),
            Self::Drawn => Some(1),
            Self::Open => None,
        }
    }
}

/// How a game came to its end, in the words of the Termination tag (PGN standard, 9.8.1).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Termination {
    /// By the rules, by resigning or by agreement.
    Normal,
    /// A flag fell.
    TimeForfeit,
    /// The arbiter had to decide.
    Adjudication,
    /// A player did not come, or left.
    Abandoned,
    /// Not played to the end.
    Unterminated,
}

impl Termination {
    /// As the tag has it.
    pub fn tag(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::TimeForfeit => "time forfeit",
            Self::Adjudication => "adjudication",
            Self::Abandoned => "abandoned",
            Self::Unterminated => "unterminated",
        }
    }
}

/// What happened at the end, in words, for the comment after the last move.
pub type Remark = &'static str;

/// The end by the rules, if the position is one. `past` are the keys of all positions of
/// the game, the last one included.
pub fn by_rules(position: &Chess, past: &[u64]) -> Option<(Score, Remark)> {
    if position.legal_moves().is_empty() {
        return Some(if position.is_check() {
            (Score::win(!position.turn()), "Checkmate.")
        } else {
            (Score::Drawn, "Stalemate.")
        });
    }
    if position.is_insufficient_material() {
        return Some((Score::Drawn, "Nobody can mate any more."));
    }
    if position.halfmoves() >= 100 {
        return Some((
            Score::Drawn,
            "Fifty moves without a capture or a pawn move.",
        ));
    }
    let now = past.last()?;
    if past.iter().filter(|key| *key == now).count() >= 3 {
        return Some((Score::Drawn, "The same position for the third time."));
    }
    None
}

/// What the two players have thought of the game so far.
#[derive(Default)]
pub struct Mood {
    hopeless: [u32; 2],
    level: u32,
}

impl Mood {
    /// Takes in what the player on move thinks; true if that player resigns.
    pub fn resigns(
        &mut self,
        color: Color,
        strength: i32,
        choice: &Choice,
        chance: &mut Chance,
    ) -> bool {
        let (bound, turns, willing) = match strength {
            ..1200 => (1200, 4, 120),
            1200..1600 => (800, 3, 350),
            1600..2000 => (580, 3, 550),
            _ => (430, 2, 700),
        };
        let hopeless = &mut self.hopeless[usize::from(color.is_black())];
        if choice.score < -bound {
            *hopeless += 1;
        } else {
            *hopeless = 0;
        }
        if choice.score.abs() < 50 {
            self.level += 1;
        } else {
            self.level = 0;
        }
        *hopeless >= turns && chance.permille(willing)
    }

    /// Whether the two agree on a draw after this ply.
    pub fn agree(&self, plies: usize, chance: &mut Chance) -> bool {
        plies >= 40 && self.level >= 6 && chance.permille(if plies > 110 { 150 } else { 55 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::search::key;
    use crate::tests::at;

    #[test]
    fn the_rules_end_games() {
        let ended = |fen: &str, times: usize| {
            let position = at(fen);
            by_rules(&position, &vec![key(&position); times]).map(|(score, _)| score)
        };
        assert_eq!(
            ended("R5k1/5ppp/8/8/8/8/8/4K3 b - - 0 1", 1),
            Some(Score::White)
        );
        assert_eq!(
            ended("5k2/5P2/5K2/8/8/8/8/8 b - - 0 1", 1),
            Some(Score::Drawn)
        );
        assert_eq!(
            ended("5k2/8/5K2/8/8/8/8/5B2 b - - 0 1", 1),
            Some(Score::Drawn)
        );
        assert_eq!(
            ended("5k2/8/5K2/8/8/8/8/5R2 b - - 100 90", 1),
            Some(Score::Drawn)
        );
        assert_eq!(ended("5k2/8/5K2/8/8/8/8/5R2 b - - 99 90", 2), None);
        assert_eq!(
            ended("5k2/8/5K2/8/8/8/8/5R2 b - - 9 90", 3),
            Some(Score::Drawn)
        );
    }
}
