//! Time controls, and how long players think. Whole seconds.

use crate::chance::Chance;

/// How hurried a game is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Pace {
    /// About a minute or two for the whole game.
    Bullet,
    /// Three to seven minutes.
    Blitz,
    /// Ten to twenty-five minutes.
    Rapid,
    /// Hours, or days.
    Slow,
}

/// A time control and what the file has of it.
#[derive(Clone, Copy, Debug)]
pub struct Control {
    /// The TimeControl tag (PGN standard, section 9.6); `None`: no tag.
    pub tag: Option<&'static str>,
    /// How hurried the game is.
    pub pace: Pace,
    /// The clock behind it; `None`: played without one that is written down.
    pub clock: Option<Terms>,
}

/// The terms a clock runs on.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// Seconds at the start.
    pub base: u32,
    /// Seconds added after each move.
    pub increment: u32,
    /// Seconds added once, after the move of that number.
    pub stage: Option<(u32, u32)>,
}

const fn clocked(tag: &'static str, pace: Pace, base: u32, increment: u32) -> Control {
    Control {
        tag: Some(tag),
        pace,
        clock: Some(Terms {
            base,
            increment,
            stage: None,
        }),
    }
}

const fn clockless(tag: Option<&'static str>, pace: Pace) -> Control {
    Control {
        tag,
        pace,
        clock: None,
    }
}

/// One minute for all moves.
pub const ONE_MINUTE: Control = clocked("60", Pace::Bullet, 60, 0);
/// Two minutes and a second a move.
pub const TWO_AND_ONE: Control = clocked("120+1", Pace::Bullet, 120, 1);
/// Three minutes and two seconds a move.
pub const THREE_AND_TWO: Control = clocked("180+2", Pace::Blitz, 180, 2);
/// Five minutes for all moves.
pub const FIVE_MINUTES: Control = clocked("300", Pace::Blitz, 300, 0);
/// Ten minutes and five seconds a move.
pub const TEN_AND_FIVE: Control = clocked("600+5", Pace::Rapid, 600, 5);
/// A quarter of an hour and ten seconds a move.
pub const QUARTER_AND_TEN: Control = clocked("900+10", Pace::Rapid, 900, 10);
/// An hour and a half and thirty seconds a move.
pub const LONG: Control = clocked("5400+30", Pace::Slow, 5400, 30);
/// Forty moves in an hour and a half, half an hour more for the rest.
pub const STAGED: Control = Control {
    tag: Some("40/5400:1800"),
    pace: Pace::Slow,
    clock: Some(Terms {
        base: 5400,
        increment: 0,
        stage: Some((40, 1800)),
    }),
};
/// Long games without clocks.
pub const LONG_UNWRITTEN: Control = clockless(Some("5400+30"), Pace::Slow);
/// By post, three days a move.
pub const POST: Control = clockless(Some("1/259200"), Pace::Slow);
/// By post, no control.
pub const POST_FREE: Control = clockless(Some("-"), Pace::Slow);
/// A sandclock of three minutes.
pub const SAND: Control = clockless(Some("*180"), Pace::Blitz);
/// Not recorded.
pub const UNKNOWN: Control = clockless(Some("?"), Pace::Rapid);
/// Nothing said.
pub const UNTOLD: Control = clockless(None, Pace::Rapid);

/// One player's clock.
pub struct Clock {
    terms: Terms,
    left: u32,
    moves: u32,
}

impl Clock {
    /// A clock set up.
    pub fn new(terms: Terms) -> Self {
        Self {
            terms,
            left: terms.base,
            moves: 0,
        }
    }

    /// Thinks about the next move. Gives the seconds left after it (increment included),
    /// or `None` where the flag fell before.
    pub fn think(&mut self, known: bool, slow: bool, chance: &mut Chance) -> Option<u32> {
        let increment = self.terms.increment;
        let to_go = 45u32.saturating_sub(self.moves).max(22);
        let mut share = self.left / to_go + increment * 3 / 4;
        if known {
            share /= 6;
        } else if slow {
            share = share * 3 / 2;
        }
        let mut factor = 150 + chance.below(900) + chance.below(900);
        if chance.permille(80) {
            factor *= 3;
        }
        let mut spent = share * factor / 1000;
        if share < 2 && increment == 0 {
            spent = chance.below(if known { 2 } else { 4 });
        }
        if self.left < 15 {
            spent = chance.below(2);
            if chance.permille(if increment == 0 { 180 } else { 50 }) {
                spent += chance.below(self.left);
            }
        }
        if spent >= self.left {
            // The player sees it coming, mostly.
            if chance.permille(if slow { 250 } else { 120 }) {
                return None;
            }
            spent = self.left - 1;
            if spent == 0 && increment == 0 && chance.permille(300) {
                return None;
            }
        }
        self.left -= spent;
        self.moves += 1;
        self.left += increment;
        if let Some((moves, bonus)) = self.terms.stage
            && moves == self.moves
        {
            self.left += bonus;
        }
        Some(self.left)
    }
}

/// As the clock command has it: `h:mm:ss`.
pub fn written(seconds: u32) -> String {
    format!(
        "{}:{:02}:{:02}",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(control: Control, seed: u64) -> Vec<Option<u32>> {
        let mut clock = Clock::new(control.clock.expect("the test's control has a clock"));
        let mut chance = Chance::new(seed, 0);
        let mut readings = Vec::new();
        for number in 0..150 {
            let left = clock.think(number < 6, seed.is_multiple_of(2), &mut chance);
            readings.push(left);
            if left.is_none() {
                break;
            }
        }
        readings
    }

    #[test]
    fn a_clock_never_gains_more_than_its_increment_and_stage() {
        for control in [ONE_MINUTE, TWO_AND_ONE, FIVE_MINUTES, LONG, STAGED] {
            let terms = control.clock.expect("these have clocks");
            for seed in 0..40 {
                let mut before = terms.base;
                for (number, left) in run(control, seed).into_iter().enumerate() {
                    let Some(left) = left else { break };
                    let bonus = terms
                        .stage
                        .filter(|(moves, _)| *moves == number as u32 + 1)
                        .map_or(0, |(_, bonus)| bonus);
                    assert!(left <= before + terms.increment + bonus);
                    assert!(left > 0);
                    before = left;
                }
            }
        }
    }

    #[test]
    fn flags_fall_in_fast_games_but_seldom_early() {
        let fallen: Vec<usize> = (0..60)
            .map(|seed| run(ONE_MINUTE, seed))
            .filter(|run| run.last() == Some(&None))
            .map(|run| run.len())
            .collect();
        assert!(!fallen.is_empty());
        assert!(fallen.iter().all(|&moves| moves > 12), "{fallen:?}");
    }

    #[test]
    fn seconds_are_written_with_hours() {
        assert_eq!(written(0), "0:00:00");
        assert_eq!(written(5432), "1:30:32");
    }
}
