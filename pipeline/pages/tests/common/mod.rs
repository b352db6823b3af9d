//! Answers built by hand, for the tests of the page and for the browser to look at. The
//! figures are made up; the positions are of the invented season in `small-sample`.

use std::collections::BTreeMap;

use hobble_comparison::Question;
use hobble_comparison::answer::{
    Answer, Example, FORMAT, Parameters, RawComparison, Row, Side, Standardised,
};
use hobble_conditions::QuestionText;
use hobble_conditions::terms::{Key, Kind, Phase, YesNo};
use hobble_dataset::{DatasetSummary, SourceSummary};
use hobble_examples::{ExampleBoard, GameReference, MoveReference};
use hobble_report::Method;
use hobble_statistics::{Estimate, Interval};

#[path = "parts.rs"]
mod parts;

/// Text that tries to break out of a page, turn its writing round or hide in it.
pub const HOSTILE: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)> {{ 7*7 }} \u{202e}txet\u{0}\u{7}\u{9b}31m ]]> </title></style>";

fn interval(low: f64, high: f64) -> Interval {
    Interval {
        low,
        high,
        se: Some(0.05),
        df: Some(63),
    }
}

fn estimate(value: f64, spread: f64) -> Estimate {
    Estimate {
        value: Some(value),
        jackknife: Some(interval(value - spread, value + spread)),
    }
}

fn side(turns: u64, outcomes: u64) -> Side {
    let rate = outcomes as f64 / turns as f64;
    Side {
        rows: turns / 16,
        turns,
        outcomes,
        over: turns / 9,
        folds: 64,
        outcome_folds: 51,
        rate: Some(rate),
        jackknife: Some(interval(rate * 0.85, rate * 1.17)),
    }
}

/// A row whose figures are made from two rates.
pub fn row(kind: &str, held: f64, free: f64) -> Row {
    let turns = 12_000;
    let (held_side, free_side) = (
        side(turns, (held * 12_000.0) as u64),
        side(4 * turns, (free * 40_000.0) as u64),
    );
    let ratio = held / free;
    Row {
        group: BTreeMap::from([(Key::Kind, kind.to_owned())]),
        label: kind.to_owned(),
        against_all: None,
        all: kind == "all",
        raw: RawComparison {
            ratio: estimate(ratio * 1.2, 0.2),
            difference: estimate(held - free, 0.02),
        },
        standardised: Standardised {
            strata: 69,
            strata_left_out: 2,
            restricted_turns: turns - 45,
            restricted_outcomes: held_side.outcomes - 5,
            restricted_turns_left_out: 45,
            restricted_outcomes_left_out: 5,
            free_turns: free_side.turns,
            free_outcomes: free_side.outcomes,
            free_rows: free_side.rows,
            restricted_rate: estimate(held, held * 0.12),
            free_rate: estimate(free, free * 0.07),
            ratio: Estimate {
                value: Some(ratio),
                jackknife: Some(interval(ratio * 0.86, ratio * 1.16)),
            },
            difference: estimate(held - free, 0.012),
        },
        restricted: held_side,
        free: free_side,
        too_few: None,
        verdict: format!("A held {kind} was lost in some of its turns."),
        remarks: vec![],
    }
}

/// A row with too few games: counts and a rate, no interval.
pub fn few(kind: &str) -> Row {
    let mut few = row(kind, 0.25, 0.1);
    few.restricted = Side {
        rows: 12,
        turns: 12,
        outcomes: 3,
        over: 0,
        folds: 2,
        outcome_folds: 1,
        rate: Some(0.25),
        jackknife: None,
    };
    few.raw.ratio.jackknife = None;
    few.raw.difference.jackknife = None;
    few.standardised.restricted_rate.jackknife = None;
    few.standardised.ratio.jackknife = None;
    few.standardised.difference.jackknife = None;
    few.too_few = Some(parts::lack("held turn", 12));
    few.verdict = "Too few games to tell: 12 held turns in 2 folds.".to_owned();
    few
}

fn played(ply: u32, label: &str, from: &str, to: &str) -> MoveReference {
    MoveReference {
        ply,
        label: label.to_owned(),
        san: label.split([' ', '.']).next_back().unwrap_or("").to_owned(),
        from: from.to_owned(),
        to: to.to_owned(),
    }
}

fn names(squares: &[&str]) -> Vec<String> {
    squares.iter().map(|square| (*square).to_owned()).collect()
}

fn game(number: u32, white: &str, black: &str, result: &str) -> GameReference {
    GameReference {
        source: "season.pgn".to_owned(),
        number,
        game_id: "32acf768ca6963e3".to_owned(),
        file: "small-sample/season.pgn".to_owned(),
        line: 404,
        white: Some(white.to_owned()),
        black: Some(black.to_owned()),
        white_rating: Some(1520),
        black_rating: None,
        event: Some("Orrick Vale League".to_owned()),
        date: Some("2023.09.16".to_owned()),
        round: Some("1.3".to_owned()),
        result: result.to_owned(),
        label: format!("{white} – {black}"),
    }
}

/// A queen shut in by a rook; White to restrain, so White at the bottom.
pub fn queen() -> Example {
    Example {
        game: game(17, "Kettlewing, Juno", "Pockridge, Sunniva", "1-0"),
        kind: Kind::Queen,
        color: "black".to_owned(),
        square: "b8".to_owned(),
        safe_before: 4,
        safe: 0,
        end: "lost".to_owned(),
        start_ply: 45,
        cause_ply: 45,
        end_ply: 47,
        attacked_by: "R".to_owned(),
        defended: false,
        phase: "middlegame".to_owned(),
        caption: "23. Ra8 leaves Black's queen on b8 with no safe square where it had 4; \
                  24. Qxa8+ captures it, and it is lost."
            .to_owned(),
        board: Some(ExampleBoard {
            fen_before: "1q2kb1r/4pp2/1p4p1/3Q2Bp/2PPN3/R4P1P/1P3P2/4K1R1 w - - 0 23".to_owned(),
            fen_after: "Rq2kb1r/4pp2/1p4p1/3Q2Bp/2PPN3/5P1P/1P3P2/4K1R1 b - - 1 23".to_owned(),
            cause: played(45, "23. Ra8", "a3", "a8"),
            capture: played(47, "24. Qxa8+", "d5", "a8"),
            safe_before: names(&["h2", "c7", "c8", "d8"]),
            safe_after: vec![],
            taken: names(&["h2", "c7", "c8", "d8"]),
            stretch: None,
        }),
    }
}

/// A bishop with two squares left; Black to restrain, so Black at the bottom.
pub fn bishop() -> Example {
    Example {
        game: game(366, "Yarrowcote, Hal", "Gallowglen, Rufus", "0-1"),
        kind: Kind::Bishop,
        color: "white".to_owned(),
        square: "f4".to_owned(),
        safe_before: 7,
        safe: 2,
        end: "lost".to_owned(),
        start_ply: 60,
        cause_ply: 60,
        end_ply: 62,
        attacked_by: "P".to_owned(),
        defended: false,
        phase: "endgame".to_owned(),
        caption: "30...Qxe1+ leaves White's bishop on f4 with 2 safe squares where it had 7; \
                  31...exf4 captures it, and it is lost."
            .to_owned(),
        board: Some(ExampleBoard {
            fen_before: "1r4k1/p5p1/8/2b1p2p/5B1P/5P2/PPP3P1/3qQK1R b - - 3 30".to_owned(),
            fen_after: "1r4k1/p5p1/8/2b1p2p/5B1P/5P2/PPP3P1/4qK1R w - - 0 31".to_owned(),
            cause: played(60, "30...Qxe1+", "d1", "e1"),
            capture: played(62, "31...exf4", "e5", "f4"),
            safe_before: names(&["c1", "d2", "h2", "e3", "g3", "e5", "g5"]),
            safe_after: names(&["h2", "g5"]),
            taken: names(&["c1", "d2", "e3", "g3", "e5"]),
            stretch: None,
        }),
    }
}

/// An example for which no moves were written, of a game of which little is known.
pub fn boardless() -> Example {
    let mut example = bishop();
    example.board = None;
    example.end_ply = 67;
    example.game.white = None;
    example.game.event = None;
    example.game.date = None;
    example.game.round = None;
    example
}

/// The answer these tests start from.
pub fn answer() -> Answer {
    Answer {
        format: FORMAT,
        hobble: "0.1.0".to_owned(),
        definitions: 1,
        question: QuestionText {
            name: "held-piece-lost".to_owned(),
            title: "How often is a held piece lost?".to_owned(),
            text: "A piece is held where it has two safe squares or fewer.\n\n\
                   Comparable is a piece of the same kind."
                .to_owned(),
        },
        parameters: Parameters {
            question: Question {
                defended: YesNo::No,
                phase: vec![Phase::Endgame],
                strata: vec![Key::Kind, Key::Phase, Key::Attacked],
                ..Question::load("held-piece-lost").unwrap()
            },
            level: 0.95,
        },
        dataset: DatasetSummary {
            hobble: "0.1.0".to_owned(),
            sources: vec![SourceSummary {
                source: "season.pgn".to_owned(),
                file: "small-sample/season.pgn".to_owned(),
                sha256: "9b".repeat(32),
                read: 1402,
                kept: 1400,
                skipped: BTreeMap::from([("illegal move".to_owned(), 2)]),
                ..SourceSummary::default()
            }],
            read: 1402,
            kept: 1400,
            skipped: 2,
            skipped_by_reason: BTreeMap::from([("illegal move".to_owned(), 2)]),
            ..DatasetSummary::default()
        },
        rows: vec![
            row("knight", 0.081, 0.042),
            row("bishop", 0.0485, 0.047),
            few("rook"),
            row("queen", 0.0052, 0.0061),
            row("all", 0.064, 0.041),
        ],
        examples: vec![queen(), bishop(), boardless()],
        methods: vec![Method {
            name: "delete-a-fold jackknife".to_owned(),
            text: "Works every figure out again without each fold.".to_owned(),
            source: "Tukey 1958".to_owned(),
        }],
        notes: vec!["These figures are associations in played games.".to_owned()],
    }
}

/// The same with hostile text wherever an archive, a question file or a manifest may hold
/// some.
pub fn hostile() -> Answer {
    let mut answer = answer();
    let text = || HOSTILE.to_owned();
    answer.hobble = text();
    answer.question.title = text();
    answer.question.text = text();
    answer.parameters.question.band = vec![text()];
    answer.dataset.hobble = text();
    answer.dataset.skipped_by_reason = BTreeMap::from([(text(), 2)]);
    for source in &mut answer.dataset.sources {
        source.source = text();
        source.file = text();
        source.sha256 = text();
    }
    for row in &mut answer.rows {
        row.label = format!("{} {HOSTILE}", row.label);
        row.verdict = text();
        row.remarks = vec![text()];
        row.standardised.restricted_turns_left_out = row.standardised.restricted_turns;
    }
    for example in &mut answer.examples {
        let game = &mut example.game;
        game.white = Some(text());
        game.black = Some("x".repeat(5000));
        game.event = Some(text());
        game.date = Some(text());
        game.round = Some(text());
        game.result = text();
        game.file = text();
        game.game_id = text();
        example.end = text();
        example.caption = text();
        if let Some(board) = &mut example.board {
            board.cause.label = text();
            board.capture.label = text();
        }
    }
    for method in &mut answer.methods {
        method.name = text();
        method.text = text();
        method.source = text();
    }
    answer.notes = vec![text()];
    answer
}

/// Nothing found: one group with too few games, no example.
pub fn empty() -> Answer {
    let mut answer = answer();
    answer.rows = vec![few("queen")];
    answer.examples = vec![];
    answer.methods = vec![];
    answer.notes = vec![];
    answer.dataset.sources = vec![];
    answer
}

/// Many groups, with long names: more than get a sentence each.
pub fn many() -> Answer {
    let mut answer = answer();
    let kinds = ["knight", "bishop", "rook", "queen"];
    let bands = [
        "1000-1199",
        "1200-1399",
        "1400-1599",
        "1600-1799",
        "unrated",
    ];
    let all = answer.rows.pop();
    answer.rows = kinds
        .iter()
        .enumerate()
        .flat_map(|(i, kind)| {
            bands.iter().enumerate().map(move |(j, band)| {
                let free = 0.03 + 0.01 * i as f64;
                let mut row = row(kind, free * (0.6 + 0.3 * j as f64), free);
                row.label = format!("{kind}, rated {band}, being defended");
                row
            })
        })
        .chain(all)
        .collect();
    answer
}
