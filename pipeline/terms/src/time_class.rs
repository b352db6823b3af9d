//! Time classes from the TimeControl tag (PGN standard, section 9.6; definitions, section 9).

use crate::words;

words! {
    /// Class of a game by its estimated time.
    TimeClass {
        /// Under 3 minutes by default.
        Bullet = "bullet",
        /// Under 8 minutes.
        Blitz = "blitz",
        /// Under 25 minutes.
        Rapid = "rapid",
        /// Longer.
        Classical = "classical",
        /// An hour and more a move, or no time control in use.
        Correspondence = "correspondence",
        /// Not given or not readable.
        Unknown = "unknown",
    }
}

/// Bounds of the time classes: estimated seconds below which a game is bullet, blitz, rapid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeCuts(pub [u32; 3]);

impl Default for TimeCuts {
    fn default() -> Self {
        TimeCuts([180, 480, 1500])
    }
}

/// Moves an increment is reckoned for.
const MOVES: u64 = 40;

/// Seconds a move from which a stage counts as correspondence (our own cut).
const CORRESPONDENCE: u64 = 3600;

impl TimeCuts {
    /// Class of a TimeControl value.
    pub fn class(&self, value: &[u8]) -> TimeClass {
        let value = value.trim_ascii();
        if value == b"-" {
            return TimeClass::Correspondence;
        }
        let (mut seconds, mut increment) = (0_u64, 0_u64);
        for stage in value.split(|&byte| byte == b':') {
            match Stage::parse(stage) {
                Some(stage) if stage.is_correspondence() => return TimeClass::Correspondence,
                Some(stage) => {
                    seconds = seconds.saturating_add(stage.seconds);
                    increment = increment.max(stage.increment);
                }
                None => return TimeClass::Unknown,
            }
        }
        let estimate = seconds.saturating_add(increment.saturating_mul(MOVES));
        let [bullet, blitz, rapid] = self.0.map(u64::from);
        match estimate {
            e if e < bullet => TimeClass::Bullet,
            e if e < blitz => TimeClass::Blitz,
            e if e < rapid => TimeClass::Rapid,
            _ => TimeClass::Classical,
        }
    }
}

/// Seconds a player begins with and gets for each move, by the TimeControl tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeControl {
    /// Seconds of the first stage.
    pub base: i32,
    /// Largest increment of a stage, in seconds.
    pub increment: i32,
    /// Whether the whole game is one stage.
    pub one_stage: bool,
}

impl TimeControl {
    /// Reads a TimeControl value; `None` where a stage of it cannot be read, or it names no time.
    pub fn parse(value: &[u8]) -> Option<TimeControl> {
        let mut stages = value.trim_ascii().split(|&byte| byte == b':');
        let first = Stage::parse(stages.next()?)?;
        let mut increment = first.increment;
        let mut one_stage = first.moves.is_none();
        for stage in stages {
            increment = increment.max(Stage::parse(stage)?.increment);
            one_stage = false;
        }
        Some(TimeControl {
            base: first.seconds.try_into().ok()?,
            increment: increment.try_into().ok()?,
            one_stage,
        })
    }
}

struct Stage {
    moves: Option<u64>,
    seconds: u64,
    increment: u64,
}

impl Stage {
    fn parse(stage: &[u8]) -> Option<Stage> {
        let stage = stage.strip_prefix(b"*").unwrap_or(stage);
        let (moves, rest) = match memchr::memchr(b'/', stage) {
            Some(at) => (Some(number(&stage[..at])?), &stage[at + 1..]),
            None => (None, stage),
        };
        let (seconds, increment) = match memchr::memchr(b'+', rest) {
            Some(at) => (number(&rest[..at])?, number(&rest[at + 1..])?),
            None => (number(rest)?, 0),
        };
        Some(Stage {
            moves,
            seconds,
            increment,
        })
    }

    fn is_correspondence(&self) -> bool {
        self.moves
            .is_some_and(|moves| moves > 0 && self.seconds / moves >= CORRESPONDENCE)
    }
}

fn number(digits: &[u8]) -> Option<u64> {
    if digits.is_empty() || digits.len() > 9 || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    std::str::from_utf8(digits).ok()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base_and_increment() {
        let read = |value: &str| {
            let control = TimeControl::parse(value.as_bytes())?;
            Some((control.base, control.increment, control.one_stage))
        };
        assert_eq!(read("300+5"), Some((300, 5, true)));
        assert_eq!(read(" 900 "), Some((900, 0, true)));
        assert_eq!(read("40/7200:3600+30"), Some((7200, 30, false)));
        assert_eq!(read("40/7200"), Some((7200, 0, false)));
        for odd in ["-", "?", "", "5+", "300+5:x"] {
            assert_eq!(read(odd), None, "{odd:?}");
        }
    }

    #[test]
    fn classes() {
        let class = |value: &str| TimeCuts::default().class(value.as_bytes());
        assert_eq!(class("60"), TimeClass::Bullet);
        assert_eq!(class("120+1"), TimeClass::Bullet); // 160 s
        assert_eq!(class("120+2"), TimeClass::Blitz); // 200 s
        assert_eq!(class("300+5"), TimeClass::Rapid); // 500 s
        assert_eq!(class("600+10"), TimeClass::Rapid); // 1000 s
        assert_eq!(class("40/7200:3600"), TimeClass::Classical);
        assert_eq!(class("*180"), TimeClass::Blitz);
        assert_eq!(class("1/86400"), TimeClass::Correspondence);
        assert_eq!(class("-"), TimeClass::Correspondence);
        for odd in ["", "?", "abc", "5+", "+5", "1e3"] {
            assert_eq!(class(odd), TimeClass::Unknown, "{odd:?}");
        }
    }
}
