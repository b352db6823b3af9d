//! What is asked of a player, as a small TOML file says it.

use hobble_conditions::fields::shape::number;
use hobble_conditions::filter_keys as keys;

hobble_conditions::question_file! {
    /// A question about one player, who is named on the command line.
    pub struct Habits("player", "A hobble question about one player") {
        head,
        k: keys::SafeSquares,
        within: keys::Within => "A loss counts within so many moves from the start of the restriction.",
        long: Long,
        minimum_games: keys::MinimumGames => "With fewer games of the player no interval is given; a period of the trend has at least as many.",
        minimum_event_games: MinimumEventGames,
        replies_turns: RepliesTurns,
        games: Games,
    }
}

hobble_conditions::fields! {
    /// Turns from which a piece counts as left held for long.
    Long("long"): u32 = 3, in number(2..=100);

    /// Least games in which the counted thing happened for an interval to be given.
    MinimumEventGames("minimum_event_games"): u64 = 5, in number(0..=1_000_000);

    /// Most turns whose replies are played out; games are taken in the order of their ids.
    RepliesTurns("replies_turns"): usize = 400, in number(0..=100_000);

    /// Number of games to look at.
    Games("games"): usize = 10, in number(0..=20);
}

#[cfg(test)]
mod tests {
    use super::*;
    use hand_made_tables::{question, refused};

    #[test]
    fn shipped_file_says_the_defaults() {
        let text = include_str!("../../../notebooks-free-reports/own-habits.toml");
        let shipped = Habits::parse("q", "q.toml", text).unwrap();
        let default: Habits = question("").unwrap();
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
    fn mistakes_name_line_and_field() {
        refused::<Habits>(&[(
            "long = 1",
            "5, field \"long\": 1 is not a whole number from 2 to 100",
        )]);
    }
}
