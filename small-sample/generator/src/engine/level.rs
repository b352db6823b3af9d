//! How strength on the rating scale and the pace of a game turn into play.

use crate::clock::Pace;

/// What a player of some strength does at the board.
#[derive(Clone, Copy, Debug)]
pub struct Level {
    /// Plies looked ahead at most.
    pub depth: u32,
    /// Positions looked at before the search stops deepening.
    pub nodes: u32,
    /// Misjudgement of a move, at most, in hundredths of a pawn.
    pub noise: i32,
    /// Moves of a thousand played without looking at the reply.
    pub rash: u32,
}

impl Level {
    /// The level of a player in a game of some pace.
    pub fn of(strength: i32, pace: Pace) -> Self {
        let (depth, nodes) = match strength {
            ..1250 => (1, 400),
            1250..1700 => (2, 1200),
            1700..2050 => (3, 3000),
            _ => (4, 6000),
        };
        let short = (2300 - strength).clamp(0, 1500);
        let hurry = match pace {
            Pace::Bullet => 200,
            Pace::Blitz => 150,
            Pace::Rapid => 115,
            Pace::Slow => 100,
        };
        Self {
            depth: if pace == Pace::Bullet {
                depth.min(3)
            } else {
                depth
            },
            nodes,
            noise: (8 + short * 42 / 1400) * hurry / 100,
            rash: (2 + short * 30 / 1400) as u32 * hurry as u32 / 100,
        }
    }

    /// The one who writes the comments: careful, without misjudgement.
    pub const COMMENTATOR: Level = Level {
        depth: 4,
        nodes: 5000,
        noise: 0,
        rash: 0,
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stronger_and_the_slower_err_less() {
        let weak = Level::of(900, Pace::Slow);
        let strong = Level::of(2300, Pace::Slow);
        assert!(weak.noise > strong.noise && weak.rash > strong.rash && weak.depth < strong.depth);
        assert!(Level::of(1500, Pace::Bullet).noise > Level::of(1500, Pace::Rapid).noise);
    }
}
