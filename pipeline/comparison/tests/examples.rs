//! Example games from tables of one made-up game.

use std::path::Path;

use hand_made_tables::{Exposure, column, exposure, manifest, table as rows, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::terms::Phase;
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use shakmaty::{Chess, Position, san::San};

/// White's bishop goes to h7 to take a pawn, is shut in by g6 and taken by the king.
const GAME: &str = "e4 e6 Bd3 d5 e5 c5 Bxh7 g6 a3 Rxh7";

/// Safe squares of the bishop on h7 before and after 4...g6, sorted: the definitions read a
/// second time, in `tests/oracle` over python-chess 1.11.2. On g8 it takes a knight; d3 is
/// out of its reach once the pawn is on g6.
const BEFORE: [&str; 2] = ["d3", "g8"];
const AFTER: [&str; 1] = ["g8"];

/// Squares left and reached by the moves of the game.
fn played() -> (Vec<String>, Vec<String>) {
    let mut position = Chess::default();
    let (mut from, mut to) = (Vec::new(), Vec::new());
    for san in GAME.split_whitespace() {
        let found = san.parse::<San>().unwrap().to_move(&position).unwrap();
        from.push(found.from().unwrap().to_string());
        to.push(found.to().to_string());
        position.play_unchecked(found);
    }
    (from, to)
}

/// Three games alike in moves; only game 2 has a spell.
fn tables(dir: &Path, tables: &[&str], safe_before: usize) {
    let (from, to) = played();
    let plies = from.len();
    let safe_before = safe_before as u8;
    for &table in tables {
        let frame = match table {
            "exposure" => exposure(&[Exposure::default()]),
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
                column("result", vec!["*", "0-1", "*"]),
                column("white_rating", vec![None, Some(1500u16), None]),
                column("black_rating", vec![None::<u16>; 3]),
                column("start_fen", vec![None::<&str>; 3]),
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
                    "from",
                    (0..3).flat_map(|_| from.clone()).collect::<Vec<_>>(),
                ),
                column("to", (0..3).flat_map(|_| to.clone()).collect::<Vec<_>>()),
                column("promotion", vec![None::<&str>; 3 * plies]),
                column("castling", vec![false; 3 * plies]),
            ]),
            // The second row ended later than ten moves, the third was blocked by its owner.
            "spells" => rows(vec![
                column("game", vec![2u32, 3, 1]),
                column("piece", vec![5u8, 5, 5]),
                column("kind", vec!["bishop"; 3]),
                column("color", vec!["white"; 3]),
                column("k_low", vec![0u8, 0, 0]),
                column("k_high", vec![4u8, 4, 4]),
                column("start_ply", vec![8u16, 8, 8]),
                column("cause", vec!["taken", "taken", "blocked"]),
                column("cause_ply", vec![8u16, 8, 8]),
                column("safe_before", vec![Some(safe_before), Some(9), Some(9)]),
                column("square", vec!["h7"; 3]),
                column("safe", vec![AFTER.len() as u8; 3]),
                column("attacked_by", vec!["R"; 3]),
                column("defended", vec![false; 3]),
                column("developed", vec![true; 3]),
                column("phase", vec!["opening"; 3]),
                column("end", vec!["lost"; 3]),
                column("end_ply", vec![10u16, 40, 10]),
                column("band", vec!["missing"; 3]),
                column("time_class", vec!["unknown"; 3]),
                column("rating_diff", vec!["unknown"; 3]),
            ]),
            other => panic!("no table {other}"),
        };
        write(dir, table, "club", 0, &frame);
    }
    manifest(dir, &[("club", 1)]);
}

fn ask(dir: &Path) -> Result<Answer, AskError> {
    let question = Question::load("held-developed-piece-lost")?;
    answer(&question, &Dataset::open(dir)?, &Overrides::default())
}

const ALL: [&str; 4] = ["exposure", "games", "moves", "spells"];

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
        "=Bea (1500) \u{2013} Cleo, Lamp Night, round 2, 0-1 (game 2, line 20 of club.pgn)"
    );
    let board = example.board.as_ref().unwrap();
    assert_eq!(board.cause.label, "4...g6");
    assert_eq!(board.capture.label, "5...Rxh7");
    assert_eq!(
        board.fen_before,
        "rnbqkbnr/pp3ppB/4p3/2ppP3/8/8/PPPP1PPP/RNBQK1NR b KQkq - 0 4"
    );
    assert_eq!(
        board.fen_after,
        "rnbqkbnr/pp3p1B/4p1p1/2ppP3/8/8/PPPP1PPP/RNBQK1NR w KQkq - 0 5"
    );
    assert_eq!(board.safe_before, BEFORE);
    assert_eq!(board.safe_after, AFTER);
    assert_eq!(board.taken, ["d3"]);
    assert_eq!(
        example.caption,
        "4...g6 leaves White's bishop on h7 with 1 safe square where it had 2; 5...Rxh7 captures it, and it is lost."
    );
}

#[test]
fn without_moves_no_board_and_a_note() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &["exposure", "games", "spells"], 7);
    let got = ask(dir.path()).unwrap();
    assert_eq!(got.examples.len(), 1);
    assert_eq!(got.examples[0].board, None);
    assert!(
        got.examples[0]
            .caption
            .starts_with("Ply 8 leaves White's bishop on h7")
    );
    assert!(
        got.notes
            .iter()
            .any(|note| note.contains("no boards: the table of moves"))
    );
}

#[test]
fn without_spells_no_example_and_a_note() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &["exposure"], 7);
    let got = ask(dir.path()).unwrap();
    assert!(got.examples.is_empty());
    assert!(
        got.notes
            .iter()
            .any(|note| note.contains("the table of spells was not written"))
    );
}

#[test]
fn no_spell_that_fits_is_said() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &ALL, BEFORE.len());
    let question = Question {
        phase: vec![Phase::Endgame],
        ..Question::load("held-piece-lost").unwrap()
    };
    let got = answer(
        &question,
        &Dataset::open(dir.path()).unwrap(),
        &Overrides::default(),
    )
    .unwrap();
    assert!(got.examples.is_empty());
    assert!(
        got.notes
            .iter()
            .any(|note| note.starts_with("No example is given"))
    );
}

#[test]
fn a_table_that_does_not_agree_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), &ALL, BEFORE.len() + 1);
    let got = ask(dir.path()).unwrap_err().to_string();
    assert!(
        got.starts_with(
            "table \"moves\": the bishop on h7 has 2 safe squares where the table of spells says 3"
        ),
        "{got}"
    );
}
