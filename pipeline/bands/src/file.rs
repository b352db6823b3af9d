//! A report by rating band, as a small TOML file says it.

use super::measures::Split;
use hobble_conditions::fields::shape::words_of;
use hobble_conditions::filter_keys as keys;

hobble_conditions::question_file! {
    /// What a report by rating band asks.
    pub struct BandReport("bands", "A hobble report by rating band") {
        head,
        k: keys::SafeSquares,
        within: keys::Within => "The loss risk looks so far ahead.",
        developed: keys::Developed => "A spell counts by what its piece was at the start; squares taken are counted from all pieces.",
        split: Splits,
        minimum_turns: keys::MinimumTurns<200> => "A cell whose denominator (turns, moves or spells) is smaller is not shown.",
        minimum_games: keys::MinimumGames => "A cell of spells per game with fewer player-games is not shown; a game is one for each of its two players.",
        minimum_folds: keys::MinimumFolds => "A cell with anything in its denominator in fewer is not shown; with anything in its numerator in fewer it has no interval.",
    }
}

impl Splits {
    /// Every split but `all`, which is always there.
    const WORDS: &'static [Split] = Split::ALL.split_at(1).1;
}

hobble_conditions::fields! {
    /// What the games are split by: one block of the table for each.
    Splits("split"): Vec<Split> = Splits::WORDS.to_vec(), in words_of(Splits::WORDS).not_empty("name at least one thing to split by");
}

#[cfg(test)]
mod tests {
    use super::*;
    use hand_made_tables::refused;

    #[test]
    fn mistakes_name_line_and_field() {
        refused::<BandReport>(&[
            (
                "split = [\"all\"]",
                "5, field \"split\": \"all\" is not one of band, time_class, phase, kind, color, eco",
            ),
            (
                "split = []",
                "5, field \"split\": name at least one thing to split by",
            ),
        ]);
    }
}
