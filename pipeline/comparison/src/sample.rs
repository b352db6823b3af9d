//! A small answer for the tests of reports.

use std::collections::BTreeMap;

use crate::answer::{Answer, Example, FORMAT, Parameters};
use crate::observations::{Observed, Tables};
use crate::question::Question;
use crate::row::{LEVEL, row};
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::terms::{Key, Kind};
use hobble_dataset::{DatasetSummary, SourceSummary};
use hobble_examples::{ExampleBoard, GameReference, MoveReference};
use hobble_report::Method;
use hobble_statistics::standardise::Cell;

/// Knights with enough turns, bishops with too few, and an example.
pub fn answer() -> Answer {
    let cell = |fold, restricted, turns, outcomes| {
        let cell = Cell {
            turns,
            outcomes,
            over: 1,
        };
        Observed::every_turn(0, fold, restricted, cell)
    };
    let of_fold = |fold| {
        let first = u64::from(fold == 0) * 2;
        [
            cell(fold, true, 10, 2 + first),
            cell(fold, false, 40, 4 + first),
        ]
    };
    let knights: Vec<Observed> = (0..8).flat_map(of_fold).collect();
    let bishops = [cell(0, true, 3, 1), cell(1, false, 50, 1)];
    let question = Question::load("held-piece-lost").unwrap();
    let rows = vec![
        row(
            &question,
            Some(&["knight".to_owned()]),
            &Tables::of(&knights),
        ),
        row(
            &question,
            Some(&["bishop".to_owned()]),
            &Tables::of(&bishops),
        ),
    ];
    Answer {
        format: FORMAT,
        hobble: "0.1.0".into(),
        definitions: 1,
        question: question.texts(),
        parameters: Parameters::of(
            &Question {
                kinds: vec![Kind::Knight, Kind::Bishop],
                strata: vec![Key::Kind, Key::Phase],
                ..question.clone()
            },
            LEVEL,
        ),
        dataset: DatasetSummary {
            hobble: "0.1.0".into(),
            sources: vec![SourceSummary {
                source: "season".into(),
                file: "season.pgn".into(),
                sha256: "ab".into(),
                read: 3,
                kept: 2,
                skipped: BTreeMap::from([("illegal move".into(), 1)]),
                ..SourceSummary::default()
            }],
            read: 3,
            kept: 2,
            skipped: 1,
            skipped_by_reason: BTreeMap::from([("illegal move".into(), 1)]),
            ..DatasetSummary::default()
        },
        rows,
        examples: vec![example()],
        methods: vec![Method {
            name: "Delete-a-fold jackknife".into(),
            text: "One fold left out at a time.".into(),
            source: "Tukey 1958".into(),
        }],
        notes: vec!["These figures are associations, not proof of cause.".into()],
    }
}

/// A bishop shut in and taken.
fn example() -> Example {
    let played = |ply, label: &str, san: &str, from: &str, to: &str| MoveReference {
        ply,
        label: label.into(),
        san: san.into(),
        from: from.into(),
        to: to.into(),
    };
    Example {
        game: GameReference {
            source: "season".into(),
            number: 17,
            game_id: "00000000000000ff".into(),
            file: "season.pgn".into(),
            line: 204,
            white: Some("Ada".into()),
            black: Some("Bea".into()),
            white_rating: Some(1500),
            black_rating: None,
            event: Some("Club night".into()),
            date: None,
            round: None,
            result: "0-1".into(),
            label: "Ada (1500) \u{2013} Bea, Club night, 0-1 (game 17, line 204 of season.pgn)"
                .into(),
        },
        kind: Kind::Bishop,
        color: "white".into(),
        square: "c4".into(),
        safe_before: 5,
        safe: 2,
        end: "lost".into(),
        start_ply: 4,
        cause_ply: 4,
        end_ply: 6,
        attacked_by: "P".into(),
        defended: false,
        phase: "opening".into(),
        caption: "2...b5 leaves White's bishop on c4 with 2 safe squares.".into(),
        board: Some(ExampleBoard {
            fen_before: "rnbqkbnr/pppp1ppp/4p3/8/2B1P3/8/PPPP1PPP/RNBQK1NR b KQkq - 1 2".into(),
            fen_after: "rnbqkbnr/p1pp1ppp/4p3/1p6/2B1P3/8/PPPP1PPP/RNBQK1NR w KQkq - 0 3".into(),
            cause: played(4, "2...b5", "b5", "b7", "b5"),
            capture: played(6, "3...bxc4", "bxc4", "b5", "c4"),
            safe_before: vec!["f1".into(), "e2".into(), "b3".into()],
            safe_after: vec!["f1".into(), "e2".into()],
            taken: vec!["b3".into()],
            stretch: None,
        }),
    }
}
