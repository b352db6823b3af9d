//! A report by rating band, as a small TOML file says it.

use super::measures::Split;
use hobble_conditions::fields::Field;
use hobble_conditions::fields::shape::{Shape, number, words_of};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::terms::About;
use hobble_conditions::{AskError, Overrides};

hobble_conditions::question_file! {
    /// What a report by rating band asks.
    pub struct BandReport(About::Bands, "A hobble report by rating band") {
        head,
        k: keys::SafeSquares,
        within: keys::Within => "The loss risk looks so far ahead.",
        developed: keys::Developed => "A spell counts by what its piece was at the start; squares taken are counted from all pieces.",
        split: Splits,
        minimum_turns: MinimumTurns,
        minimum_games: MinimumGames,
        minimum_folds: MinimumFolds,
    }
}

/// What the games are split by.
pub enum Splits {}

impl Splits {
    /// Every split but `all`, which is always there.
    const WORDS: &'static [Split] = Split::ALL.split_at(1).1;
}

impl Field for Splits {
    type Value = Vec<Split>;
    const NAME: &'static str = "split";
    const TEXT: &'static str = "What the games are split by: one block of the table for each.";

    fn shape() -> impl Shape<Value = Vec<Split>> {
        words_of(Self::WORDS).not_empty("name at least one thing to split by")
    }

    fn default() -> Vec<Split> {
        Self::WORDS.to_vec()
    }
}

/// Least denominator for a cell to be shown.
pub enum MinimumTurns {}

impl Field for MinimumTurns {
    type Value = u64;
    const NAME: &'static str = "minimum_turns";
    const TEXT: &'static str = "Least denominator (turns, moves or spells) for a cell to be shown.";

    fn shape() -> impl Shape<Value = u64> {
        number(0..=1_000_000_000)
    }

    fn default() -> u64 {
        200
    }
}

/// Least player-games for a cell counted by games to be shown.
pub enum MinimumGames {}

impl Field for MinimumGames {
    type Value = u64;
    const NAME: &'static str = "minimum_games";
    const TEXT: &'static str = "Least player-games for a cell of spells per game to be shown; a game is one for each of its two players.";

    fn shape() -> impl Shape<Value = u64> {
        number(0..=1_000_000_000)
    }

    fn default() -> u64 {
        20
    }
}

/// Least folds with anything in them for a cell to be shown.
pub enum MinimumFolds {}

impl Field for MinimumFolds {
    type Value = u32;
    const NAME: &'static str = "minimum_folds";
    const TEXT: &'static str = "Least folds with anything in the denominator for a cell to be shown, and least folds with anything in the numerator for it to have an interval.";

    fn shape() -> impl Shape<Value = u32> {
        number(0..=64)
    }

    fn default() -> u32 {
        5
    }
}

impl BandReport {
    /// The report with what is given beside it.
    ///
    /// # Errors
    ///
    /// Where a value is out of range.
    pub fn with(&self, overrides: &Overrides) -> Result<BandReport, AskError> {
        let mut report = self.clone();
        overrides.put(&mut report.k, &mut report.within)?;
        report.developed = overrides.developed.unwrap_or(report.developed);
        Ok(report)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_conditions::terms::YesNo;

    fn parse(rest: &str) -> Result<BandReport, AskError> {
        let text = format!("format = 1\nabout = \"bands\"\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        BandReport::parse("q", "q.toml", &text)
    }

    #[test]
    fn errors_name_file_line_and_field() {
        for (rest, want) in [
            (
                "k = 7",
                "q.toml, line 5, field \"k\": 7 is not a whole number from 0 to 4",
            ),
            (
                "within = 4",
                "q.toml, line 5, field \"within\": 4 moves is not one of 3, 5, 10, 15, 20",
            ),
            (
                "split = [\"all\"]",
                "q.toml, line 5, field \"split\": \"all\" is not one of band, time_class, phase, kind, color, eco",
            ),
            (
                "split = []",
                "q.toml, line 5, field \"split\": name at least one thing to split by",
            ),
        ] {
            assert_eq!(parse(rest).unwrap_err().to_string(), want);
        }
        assert!(
            parse("kinds = [\"knight\"]")
                .unwrap_err()
                .to_string()
                .contains("no such field")
        );
        let none = BandReport::parse("q", "q.toml", "format = 1\ntitle = \"T\"\ntext = \"x\"");
        assert!(none.unwrap_err().to_string().contains("about"));
    }

    #[test]
    fn overrides_go_before_the_file() {
        let given = Overrides {
            k: Some(1),
            within: Some(5),
            developed: Some(YesNo::Yes),
        };
        let got = parse("k = 3").unwrap().with(&given).unwrap();
        assert_eq!((got.k, got.within, got.developed), (1, 5, YesNo::Yes));
        let far = Overrides {
            within: Some(4),
            ..Overrides::default()
        };
        assert!(parse("").unwrap().with(&far).is_err());
    }
}
