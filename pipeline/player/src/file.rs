//! What is asked of a player, as a small TOML file says it.

use hobble_conditions::fields::Field;
use hobble_conditions::fields::shape::{Shape, number};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::terms::About;
use hobble_conditions::{AskError, Overrides};

hobble_conditions::question_file! {
    /// A question about one player, who is named on the command line.
    pub struct Habits(About::Player, "A hobble question about one player") {
        head,
        k: keys::SafeSquares,
        within: keys::Within => "A loss counts within so many moves from the start of the restriction.",
        long: Long,
        minimum_games: MinimumGames,
        minimum_event_games: MinimumEventGames,
        replies_turns: RepliesTurns,
        games: Games,
    }
}

/// Turns from which a piece counts as left held for long.
pub enum Long {}

impl Field for Long {
    type Value = u32;
    const NAME: &'static str = "long";
    const TEXT: &'static str = "Turns from which a piece counts as left held for long.";

    fn shape() -> impl Shape<Value = u32> {
        number(2..=100)
    }

    fn default() -> u32 {
        3
    }
}

/// Least games of the player for an interval to be given.
pub enum MinimumGames {}

impl Field for MinimumGames {
    type Value = u64;
    const NAME: &'static str = "minimum_games";
    const TEXT: &'static str = "Least games of the player for an interval to be given; also the least games of a period of the trend.";

    fn shape() -> impl Shape<Value = u64> {
        number(0..=1_000_000)
    }

    fn default() -> u64 {
        20
    }
}

/// Least games in which the counted thing happened for an interval to be given.
pub enum MinimumEventGames {}

impl Field for MinimumEventGames {
    type Value = u64;
    const NAME: &'static str = "minimum_event_games";
    const TEXT: &'static str =
        "Least games in which the counted thing happened for an interval to be given.";

    fn shape() -> impl Shape<Value = u64> {
        number(0..=1_000_000)
    }

    fn default() -> u64 {
        5
    }
}

/// Most turns whose replies are played out.
pub enum RepliesTurns {}

impl Field for RepliesTurns {
    type Value = usize;
    const NAME: &'static str = "replies_turns";
    const TEXT: &'static str =
        "Most turns whose replies are played out; games are taken in the order of their ids.";

    fn shape() -> impl Shape<Value = usize> {
        number(0..=100_000)
    }

    fn default() -> usize {
        400
    }
}

/// Number of games to look at.
pub enum Games {}

impl Field for Games {
    type Value = usize;
    const NAME: &'static str = "games";
    const TEXT: &'static str = "Number of games to look at.";

    fn shape() -> impl Shape<Value = usize> {
        number(0..=20)
    }

    fn default() -> usize {
        10
    }
}

impl Habits {
    /// The question with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range, or has no meaning here.
    pub fn with(&self, overrides: &Overrides) -> Result<Habits, AskError> {
        let mut habits = self.clone();
        overrides.put(&mut habits.k, &mut habits.within)?;
        if overrides.developed.is_some() {
            return Err(AskError::Override {
                name: "developed",
                what: "a report about a player shows developed pieces, and undeveloped ones apart"
                    .to_owned(),
            });
        }
        Ok(habits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(rest: &str) -> Result<Habits, AskError> {
        let text = format!("format = 1\nabout = \"player\"\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        Habits::parse("q", "q.toml", &text)
    }

    #[test]
    fn shipped_file_says_the_defaults() {
        let text = include_str!("../../../notebooks-free-reports/own-habits.toml");
        let shipped = Habits::parse("q", "q.toml", text).unwrap();
        let default = parse("").unwrap();
        assert_eq!(
            Habits {
                title: "T".into(),
                text: "x".into(),
                ..shipped
            },
            default
        );
    }

    #[test]
    fn errors_name_line_and_field() {
        for (rest, want) in [
            (
                "k = 9",
                "q.toml, line 5, field \"k\": 9 is not a whole number from 0 to 4",
            ),
            (
                "within = 4",
                "q.toml, line 5, field \"within\": 4 moves is not one of 3, 5, 10, 15, 20",
            ),
            (
                "long = 1",
                "q.toml, line 5, field \"long\": 1 is not a whole number from 2 to 100",
            ),
        ] {
            assert_eq!(parse(rest).unwrap_err().to_string(), want);
        }
        let unknown = parse("strata = []").unwrap_err().to_string();
        assert!(
            unknown.starts_with("q.toml, line 5, field \"strata\": there is no such field"),
            "{unknown}"
        );
    }
}
