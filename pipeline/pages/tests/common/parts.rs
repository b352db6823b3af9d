//! Parts of answers built by hand, and of the pages made from them.

#![allow(dead_code, reason = "each test file uses its own part")]

use hobble_dataset::{DatasetSummary, SourceSummary};
use hobble_examples::GameReference;
use hobble_report::few::{Lack, Nouns};
use hobble_statistics::few::{Group, Size};
use hobble_statistics::{Estimate, Interval, TooFew};

/// The section of a page that this id names.
pub fn section<'a>(html: &'a str, id: &str) -> &'a str {
    html.split_once(&format!("aria-labelledby=\"{id}\""))
        .and_then(|(_, rest)| rest.split_once("</section>"))
        .map_or("", |(inside, _)| inside)
}

/// A part of a page says all these texts.
pub fn says(part: &str, texts: &[&str]) {
    for text in texts {
        assert!(part.contains(text), "{text}: {part}");
    }
}

/// An interval of a fifth on either side.
pub fn interval(value: f64) -> Option<Interval> {
    Some(Interval {
        low: value * 0.8,
        high: value * 1.2,
        se: None,
        df: None,
    })
}

/// A figure with its interval.
pub fn estimate(value: f64) -> Estimate {
    Estimate {
        value: Some(value),
        jackknife: interval(value),
    }
}

/// Too few of something, in two folds, where twenty in five are asked for.
pub fn lack(own: &str, count: u64) -> Lack {
    let nouns = Nouns {
        nothing: "none",
        own,
        other: "other",
        incomparable: "has another",
        outcome: "",
    };
    nouns.lack(TooFew::Trials {
        of: Group::Own,
        have: Size { count, folds: 2 },
        need: Size {
            count: 20,
            folds: 5,
        },
    })
}

/// Tables of some games from one file, none skipped.
pub fn dataset(file: &str, games: u64) -> DatasetSummary {
    DatasetSummary {
        hobble: "0.1.0".to_owned(),
        sources: vec![SourceSummary {
            source: file.to_owned(),
            file: file.to_owned(),
            read: games,
            kept: games,
            ..SourceSummary::default()
        }],
        read: games,
        kept: games,
        ..DatasetSummary::default()
    }
}

/// A game of which its White alone is known.
pub fn game(white: &str, result: &str) -> GameReference {
    GameReference {
        source: "season".to_owned(),
        number: 17,
        game_id: "32acf768ca6963e3".to_owned(),
        file: "small-sample/season.pgn".to_owned(),
        line: 404,
        white: Some(white.to_owned()),
        result: result.to_owned(),
        label: format!("{white} \u{2013} unknown"),
        ..GameReference::default()
    }
}
