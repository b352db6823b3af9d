//! What a scan skipped or passed over, for the terminal: reasons first, with a few places each.

use std::collections::BTreeMap;

use hobble_tables::scan::Oddity;
use hobble_tables::skipped::SkippedGame;
use hobble_terms::Reason;

use crate::words::grouped;

/// What happened, and what was done about it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Kind {
    what: String,
    done: [&'static str; 2],
}

/// How often it happened, and where first.
#[derive(Default)]
struct Occurrences {
    count: u64,
    places: Vec<String>,
}

/// What a scan skipped or passed over.
pub struct Summary {
    /// Places named for each reason.
    most_places: usize,
    kinds: BTreeMap<Kind, Occurrences>,
}

impl Summary {
    /// A summary that names at most so many places for each reason; with 0 it stays empty.
    pub fn new(most_places: usize) -> Summary {
        Summary {
            most_places,
            kinds: BTreeMap::new(),
        }
    }

    /// Adds a skipped game.
    pub fn skipped(&mut self, file: &str, game: &SkippedGame) {
        let words = match game.skip.words.as_str() {
            "" => String::new(),
            words => format!(" `{words}`"),
        };
        let reason = game.skip.reason;
        // Other rules have few names; moves and words that cannot be read are all different.
        let (what, words) = match reason {
            Reason::Variant => (format!("{reason}{words}"), String::new()),
            _ => (reason.to_string(), words),
        };
        let done = match reason {
            Reason::Repeat => ["game left out", "games left out"],
            _ => ["game skipped", "games skipped"],
        };
        self.add(what, done, || format!("{file}:{}{words}", game.at_line));
    }

    /// Adds something that cost no game.
    pub fn passed_over(&mut self, file: &str, oddity: &Oddity) {
        let (what, done) = match oddity {
            Oddity::UnreadableTag { .. } => ("tag line that cannot be read", "passed over"),
            Oddity::StrayText { .. } => ("stray text", "passed over"),
        };
        self.add(what.to_owned(), [done; 2], || {
            format!("{file}:{}", oddity.line())
        });
    }

    fn add(&mut self, what: String, done: [&'static str; 2], place: impl FnOnce() -> String) {
        if self.most_places == 0 {
            return;
        }
        let found = self.kinds.entry(Kind { what, done }).or_default();
        found.count += 1;
        if found.places.len() < self.most_places {
            found.places.push(place());
        }
    }

    /// A line for each reason, the most frequent first.
    pub fn lines(&self) -> Vec<String> {
        let mut kinds: Vec<_> = self.kinds.iter().collect();
        kinds.sort_by_key(|(_, found)| std::cmp::Reverse(found.count));
        let line = |(kind, found): (&Kind, &Occurrences)| {
            let more = match found.count > found.places.len() as u64 {
                true => ", …",
                false => "",
            };
            format!(
                "{} × {}: {}{more}; {}",
                grouped(found.count),
                kind.what,
                found.places.join(", "),
                kind.done[usize::from(found.count > 1)]
            )
        };
        kinds.into_iter().map(line).collect()
    }
}

#[cfg(test)]
mod tests {
    use hobble_game::skip::Skip;

    use super::*;

    #[test]
    fn reasons_come_first_with_few_places() {
        let mut summary = Summary::new(2);
        let mut skip = |reason, words: &str, line| {
            let skip = Skip::at(reason, 1, words.as_bytes());
            let game = SkippedGame {
                file: 0,
                number: 1,
                offset: 0,
                line: 1,
                at_line: line,
                skip,
            };
            summary.skipped("a.pgn", &game);
        };
        skip(Reason::IllegalMove, "Ke3", 20);
        for line in 1..=3 {
            skip(Reason::Variant, "Antichess", line);
        }
        summary.passed_over("b.pgn", &Oddity::StrayText { line: 7 });
        assert_eq!(
            summary.lines(),
            [
                "3 × variant `Antichess`: a.pgn:1, a.pgn:2, …; games skipped",
                "1 × illegal move: a.pgn:20 `Ke3`; game skipped",
                "1 × stray text: b.pgn:7; passed over",
            ]
        );
        assert!(Summary::new(0).lines().is_empty());
    }
}
