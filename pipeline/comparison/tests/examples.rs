//! Example games from tables of one made-up game.

use std::path::Path;

use hand_made_tables::{Column, Turn, column, manifest, table as rows, turns, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::terms::Phase;
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use shakmaty::{CastlingMode, Chess, Position, fen::Fen, san::San};

/// A made-up ending: 1. g3 shuts Black's bishop on h2 in, and the king walks to g2 and takes it.
const START: &str = "5k2/6pp/4pp2/8/8/3KP3/1P3PPb/2B5 w - - 0 1";
const GAME: &str = "g3 Ke7 Ke2 Kd6 Kf1 Kd5 Kg2 e5 Kxh2";

/// Safe squares of the bishop before and after 1. g3, sorted. By hand: pawns cover f4 and g3,
/// and the pawn on g3 shuts the rest.
const BEFORE: [&str; 5] = ["g1", "e5", "d6", "c7", "b8"];
const AFTER: [&str; 1] = ["g1"];

/// Squares left and reached by the moves of the game.
fn played() -> (Vec<String>, Vec<String>) {
    let start: Fen = START.parse().unwrap();
    let mut position: Chess = start.into_position(CastlingMode::Standard).unwrap();
    let (mut from, mut to) = (Vec::new(), Vec::new());
    for san in GAME.split_whitespace() {
        let found = san.parse::<San>().unwrap().to_move(&position).unwrap();
        from.push(found.from().unwrap().to_string());
        to.push(found.to().to_string());
        position.play_unchecked(found);
    }
    (from, to)
}

/// The second row ended later than ten moves, the third was not a restraint.
fn spells(safe_before: usize) -> Vec<Column> {
    let safe_before = safe_before as u8;
    vec![
        column("game", vec![2u32, 3, 1]),
        column("piece", vec![7u8; 3]),
        column("kind", vec!["bishop"; 3]),
        column("color", vec!["black"; 3]),
        column("k_low", vec![1u8; 3]),
        column("k_high", vec![4u8; 3]),
        column("start_ply", vec![1u16; 3]),
        column("cause", vec!["taken", "taken", "blocked"]),
        column("cause_ply", vec![1u16; 3]),
        column("restrained", vec![true, true, false]),
        column("safe_before", vec![Some(safe_before), Some(9), Some(9)]),
        column("squares_taken", vec![Some(4u8); 3]),
        column("square", vec!["h2"; 3]),
        column("safe", vec![AFTER.len() as u8; 3]),
        column("attacked_by", vec![""; 3]),
        column("defended", vec![false; 3]),
        column("developed", vec![true; 3]),
        column("phase", vec!["endgame"; 3]),
        column("balance", vec![0i16; 3]),
        column("turns", vec![4u16; 3]),
        column("ended", vec!["lost"; 3]),
        column("end_by", vec![None::<&str>; 3]),
        column("moved_away", vec![None::<bool>; 3]),
        column("end_ply", vec![9u16, 40, 9]),
        column("fate", vec!["lost"; 3]),
        column("fate_ply", vec![Some(9u16), Some(40), Some(9)]),
        column("net", vec![Some(-3i16); 3]),
        column("material_10", vec![None::<i16>; 3]),
        column("owner_result", vec!["loss"; 3]),
        column("band", vec!["missing"; 3]),
        column("time_class", vec!["unknown"; 3]),
        column("rating_diff", vec!["unknown"; 3]),
    ]
}

/// Three games alike in moves; the spell of game 2 alone fits.
fn tables(dir: &Path, tables: &[&str], safe_before: usize) {
    let (from, to) = played();
    let plies = from.len();
    for &table in tables {
        let frame = match table {
            "turns" => turns(&[Turn::default()]),
            "games" => rows(vec![
                column("game", vec![1u32, 2, 3]),
                column("game_id", vec![1u64, 0xfeed, 3]),
                column("file", vec!["club.pgn"; 3]),
                column("line", vec![1u64, 20, 40]),
                column("event", vec![None, Some("Lamp Night"), None]),
                column("date", vec![None::<&str>; 3]),
                column("round", vec![None, Some("2"), None]),
                column("white", vec![Some("Ada"), Some("=Bea"), None]),
                column("black", vec![None, Some("Cleo"), None]),
                column("result", vec!["*", "1-0", "*"]),
                column("white_rating", vec![None, Some(1500u16), None]),
                column("black_rating", vec![None::<u16>; 3]),
                column("start_fen", vec![Some(START); 3]),
            ]),
            "moves" => rows(vec![
                column(
                    "game",
                    (1..4u32).flat_map(|g| vec![g; plies]).collect::<Vec<_>>(),
                ),
                column(
                    "ply",
                    (0..3).flat_map(|_| 1..=plies as u16).collect::<Vec<_>>(),
                ),
                column(
                    "from_square",
                    (0..3).flat_map(|_| from.clone()).collect::<Vec<_>>(),
                ),
                column(
                    "to_square",
                    (0..3).flat_map(|_| to.clone()).collect::<Vec<_>>(),
                ),
                column("promotion", vec![None::<&str>; 3 * plies]),
                column("castling", vec![false; 3 * plies]),
            ]),
            "spells" => rows(spells(safe_before)),
            other => panic!("no table {other}"),
        };
        write(dir, table, "club", 0, &frame);
    }
    manifest(dir, &[("club", 1)]);
}

fn ask(dir: &Path) -> Result<Answer, AskError> {
    let question = Question::load("restrained-piece-lost")?;
    answer(&question, &Dataset::open(dir)?, &Overrides::default())
}

/// The notes, a line each.
fn notes(answer: &Answer) -> String {
    answer.notes.join("\n")
}

const ALL: [&str; 4] = ["turns", "games", "moves", "spells"];

#[test]
fn game_boards_and_squares() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &ALL, BEFORE.len());
    let got = ask(dir.path()).unwrap();
    assert_eq!(got.examples.len(), 1, "only one spell fits");
    let example = &got.examples[0];
    assert_eq!((example.game.number, example.game.line), (2, 20));
    assert_eq!(example.game.game_id, "000000000000feed");
    assert_eq!(
        example.game.label,
        "=Bea (1500) \u{2013} Cleo, Lamp Night, round 2, 1-0 (game 2, line 20 of club.pgn)"
    );
    let board = example.board.as_ref().unwrap();
    assert_eq!(board.cause.label, "1. g3");
    assert_eq!(board.capture.label, "5. Kxh2");
    assert_eq!(board.fen_before, START);
    assert_eq!(
        board.fen_after,
        "5k2/6pp/4pp2/8/8/3KP1P1/1P3P1b/2B5 b - - 0 1"
    );
    assert_eq!(board.safe_before, BEFORE);
    assert_eq!(board.safe_after, AFTER);
    assert_eq!(board.taken, ["e5", "d6", "c7", "b8"]);
    assert_eq!(
        example.caption,
        "1. g3 leaves Black's bishop on h2 with 1 safe square where it had 5; 4 moves later 5. Kxh2 captures it, and it is lost."
    );
}

#[test]
fn without_moves_no_board_and_a_note() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &["turns", "games", "spells"], 7);
    let got = ask(dir.path()).unwrap();
    assert_eq!(got.examples.len(), 1);
    assert_eq!(got.examples[0].board, None);
    assert!(
        got.examples[0]
            .caption
            .starts_with("Ply 1 leaves Black's bishop on h2")
    );
    assert!(notes(&got).contains("no boards, and were not judged on them"));
}

#[test]
fn without_spells_no_example_and_a_note() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &["turns"], 7);
    let got = ask(dir.path()).unwrap();
    assert!(got.examples.is_empty());
    assert!(notes(&got).contains("the table of spells was not written"));
}

#[test]
fn no_spell_that_fits_is_said() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &ALL, BEFORE.len());
    let question = Question {
        phase: vec![Phase::Opening],
        ..Question::load("held-piece-lost").unwrap()
    };
    let got = answer(
        &question,
        &Dataset::open(dir.path()).unwrap(),
        &Overrides::default(),
    )
    .unwrap();
    assert!(got.examples.is_empty());
    assert!(notes(&got).contains("\nNo example is given"));
}

#[test]
fn a_table_that_does_not_agree_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &ALL, BEFORE.len() + 1);
    let got = ask(dir.path()).unwrap_err().to_string();
    assert!(
        got.starts_with(
            "table \"moves\": the bishop on h2 has 5 safe squares where the table of spells says 6"
        ),
        "{got}"
    );
}
