//! Every broken and odd game of the small sample is read or skipped as its folder says
//! (`small-sample/odd-games/expected.json`, whose counts and positions are python-chess's).

mod common;

use std::collections::BTreeMap;
use std::path::Path;

use arrow_array::cast::AsArray as _;
use arrow_array::types::{Int16Type, Int32Type, Int64Type};
use arrow_array::{Array as _, RecordBatch};
use serde_json::{Value, json};
use shakmaty::fen::Fen;
use shakmaty::{
    CastlingMode, Chess, EnPassantMode, FromSetup as _, Move, Position as _, PositionError, Role,
    Square,
};

/// What the tables say of the games of a file, by number.
type Games = BTreeMap<i32, Value>;

/// Keys of `expected.json` that are columns of text in the table `games`.
const TEXTS: [&str; 7] = [
    "result", "ending", "variant", "event", "site", "white", "black",
];

/// Keys that are columns of counts in the table `games`.
const COUNTS: [&str; 8] = [
    "plies",
    "captures",
    "en_passant",
    "promotions",
    "castlings",
    "clocks",
    "evals",
    "unread_tags",
];

fn text(batch: &RecordBatch, column: &str, row: usize) -> Option<String> {
    let texts = batch[column].as_string::<i32>();
    texts.is_valid(row).then(|| texts.value(row).to_owned())
}

fn long(batch: &RecordBatch, column: &str, row: usize) -> i64 {
    batch[column].as_primitive::<Int64Type>().value(row)
}

fn number(batch: &RecordBatch, row: usize) -> i32 {
    batch["game"].as_primitive::<Int32Type>().value(row)
}

fn file_name(batch: &RecordBatch, row: usize) -> String {
    let file = text(batch, "file", row).expect("a file has a name");
    file.rsplit('/').next().unwrap_or_default().to_owned()
}

/// All that the tables say of each file's games.
fn found(data: &Path) -> BTreeMap<String, Games> {
    let mut files: BTreeMap<String, Games> = BTreeMap::new();
    let games = common::table(data, "games");
    let moves = common::table(data, "moves");
    let mut first_move = 0;
    for row in 0..games.num_rows() {
        let mut game = json!({
            "verdict": "kept",
            "first_line": long(&games, "line", row),
            "repaired": games["repaired"].as_boolean().value(row),
            "stray_text": games["stray_text"].as_boolean().value(row),
        });
        for key in COUNTS {
            game[key] = json!(games[key].as_primitive::<Int16Type>().value(row));
        }
        for key in TEXTS {
            game[key] = json!(text(&games, key, row));
        }
        // Both tables have the games in one order.
        let plies = game["plies"].as_u64().unwrap() as usize;
        let own_moves = moves.slice(first_move, plies);
        first_move += plies;
        for ply in 0..plies {
            assert_eq!(number(&own_moves, ply), number(&games, row));
        }
        game["last_fen"] = json!(last_fen(&games, row, &own_moves));
        let file = files.entry(file_name(&games, row)).or_default();
        file.insert(number(&games, row), game);
    }
    assert_eq!(first_move, moves.num_rows());
    let skipped = common::table(data, "skipped");
    for row in 0..skipped.num_rows() {
        let game = json!({
            "verdict": "skipped",
            "first_line": long(&skipped, "line", row),
            "reason": text(&skipped, "reason", row),
            "line": long(&skipped, "at_line", row),
        });
        let file = files.entry(file_name(&skipped, row)).or_default();
        file.insert(number(&skipped, row), game);
    }
    files
}

/// The last position of a game, by its start and its moves in the tables.
fn last_fen(games: &RecordBatch, row: usize, moves: &RecordBatch) -> String {
    let mut position = match text(games, "start_fen", row) {
        None => Chess::default(),
        Some(fen) => {
            let setup = fen.parse::<Fen>().expect("a FEN").into_setup();
            let mode = match text(games, "variant", row).as_deref() {
                Some("chess960") => CastlingMode::Chess960,
                _ => CastlingMode::detect(&setup),
            };
            Chess::from_setup(setup, mode)
                .or_else(PositionError::ignore_invalid_castling_rights)
                .or_else(PositionError::ignore_too_much_material)
                .expect("a position to play from")
        }
    };
    for ply in 0..moves.num_rows() {
        let m = legal_move(&position, moves, ply);
        position.play_unchecked(m);
    }
    Fen::from_position(&position, EnPassantMode::Legal).to_string()
}

/// The one legal move that a row of the table `moves` means.
fn legal_move(position: &Chess, moves: &RecordBatch, row: usize) -> Move {
    let castling = moves["castling"].as_boolean().value(row);
    let promotion = text(moves, "promotion", row).map(|kind| match kind.as_str() {
        "knight" => Role::Knight,
        "bishop" => Role::Bishop,
        "rook" => Role::Rook,
        _ => Role::Queen,
    });
    let square = |column| text(moves, column, row).and_then(|square| square.parse::<Square>().ok());
    let (from, to) = (square("from_square"), square("to_square"));
    let legal = position.legal_moves();
    let mut meant = legal.iter().filter(|m| {
        let reached = match m.castling_side() {
            Some(side) => side.king_to(position.turn()),
            None => m.to(),
        };
        m.is_castle() == castling
            && m.promotion() == promotion
            && m.from() == from
            && Some(reached) == to
    });
    let m = *meant.next().expect("a legal move");
    assert_eq!(meant.next(), None, "two legal moves in one row");
    m
}

/// Where a game is not as expected. A key that the tables have nothing for is a difference.
fn differences(game: &Value, expected: &Value) -> Vec<String> {
    let expected = expected.as_object().expect("a game is an object");
    if game["verdict"] != expected["verdict"] {
        return vec![format!("{game}, not {}", expected["verdict"])];
    }
    let differs = |(key, value): (&String, &Value)| match game.get(key) {
        Some(found) if found == value => None,
        Some(found) => Some(format!("{key} {found}, not {value}")),
        None => Some(format!("{key} is compared with nothing")),
    };
    expected.iter().filter_map(differs).collect()
}

#[test]
fn every_odd_game_is_read_or_skipped_as_expected() {
    let data = tempfile::tempdir().unwrap();
    let folder = common::repository("small-sample/odd-games");
    common::scan(&[&folder], data.path(), &["--repeats", "keep"]);
    let mut found = found(data.path());
    let expected = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    let expected: Value = serde_json::from_str(&expected).unwrap();
    let files = expected.as_array().expect("a list of files");
    assert!(files.len() > 50);
    let mut wrong = Vec::new();
    for file in files {
        let name = file["file"].as_str().unwrap();
        let games = found.remove(name).unwrap_or_default();
        let expected = file["games"].as_array().unwrap();
        if games.len() != expected.len() {
            let (found, expected) = (games.len(), expected.len());
            wrong.push(format!("{name}: {found} games, not {expected}"));
        }
        for ((number, game), expected) in games.iter().zip(expected) {
            let differences = differences(game, expected);
            wrong.extend(
                differences
                    .iter()
                    .map(|d| format!("{name}, game {number}: {d}")),
            );
        }
    }
    let unlisted: Vec<_> = found.keys().collect();
    assert!(unlisted.is_empty(), "not in expected.json: {unlisted:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn key_that_is_compared_with_nothing_is_a_difference() {
    let game = json!({"verdict": "kept", "plies": 2, "event": null});
    let differs = |expected: Value| differences(&game, &expected).len();
    assert_eq!(
        differs(json!({"verdict": "kept", "plies": 2, "event": null})),
        0
    );
    assert_eq!(differs(json!({"verdict": "kept", "plies": 3})), 1);
    assert_eq!(differs(json!({"verdict": "kept", "event": "x"})), 1);
    assert_eq!(differs(json!({"verdict": "kept", "pleis": 2})), 1);
    assert_eq!(differs(json!({"verdict": "skipped", "plies": 2})), 1);
}

#[test]
fn messages_name_reason_file_line_and_what_was_done() {
    let data = tempfile::tempdir().unwrap();
    let file = common::repository("small-sample/odd-games/illegal-move.pgn");
    let output = common::scan(&[&file], data.path(), &[]);
    let said = String::from_utf8_lossy(&output.stderr);
    let line = said.lines().next().unwrap();
    assert!(line.starts_with("1 × illegal move: "), "{line}");
    assert!(
        line.ends_with("illegal-move.pgn:20 `Ke3`; game skipped"),
        "{line}"
    );
}
