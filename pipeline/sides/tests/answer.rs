//! Questions about sides on tables made by hand from real moves.

use std::path::Path;

use arrow_array::RecordBatch;
use hand_made_tables::{Column, Turn, column, manifest, question, table, turns, write};
use hobble_conditions::counted::Counted;
use hobble_dataset::Dataset;
use hobble_sides::answer::{Account, Finds, Squares};
use hobble_sides::{SideQuestion, SidesAnswer, State};
use hobble_terms::kind::unit_name;
use hobble_tracks::survey::Survey;
use shakmaty::san::San;
use shakmaty::{CastlingSide, Chess, Color, Move, Position};

/// An opening with a capture at ply 12, which Black answers by recapturing at ply 13.
const MOVES: &str = "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6 O-O Be7 d4 exd4 Nxd4 Nxd4 Qxd4 O-O Nc3 b5 \
                     Bb3 Bb7 Bf4 d6 Rad1 Re8 Rfe1 Bf8 a3 Qd7 h3 Rad8";

/// Plies at which a turn is in the table, sampled.
const SAMPLED: [u16; 5] = [10, 13, 17, 18, 25];

/// A position and the ply that led to it.
struct Reached {
    played: Move,
    before: Chess,
    /// Safe squares by colour and kind of unit.
    safe: [[u16; 6]; 2],
    /// White's balance.
    balance: i16,
}

fn play() -> Vec<Reached> {
    let mut position = Chess::default();
    let mut balance = 0;
    MOVES
        .split_whitespace()
        .map(|san| {
            let before = position.clone();
            let played = San::from_ascii(san.as_bytes())
                .unwrap()
                .to_move(&position)
                .unwrap();
            position.play_unchecked(played);
            if let Some(captured) = played.capture() {
                let value = hobble_terms::value(captured) as i16;
                balance += before.turn().fold_wb(value, -value);
            }
            let mut safe = [[0; 6]; 2];
            for unit in Survey::of(&position).units {
                safe[unit.color as usize][unit.kind as usize - 1] += unit.safe.count() as u16;
            }
            Reached {
                played,
                before,
                safe: [safe[Color::White as usize], safe[Color::Black as usize]],
                balance,
            }
        })
        .collect()
}

/// Scope of a colour, 0 for White.
fn scope(reached: &Reached, color: usize) -> u16 {
    reached.safe[color].iter().copied().sum()
}

fn moves(games: &[u32]) -> RecordBatch {
    let reached = play();
    let rows: Vec<(u32, u16, &Reached)> = games
        .iter()
        .flat_map(|&game| {
            (1..)
                .zip(&reached)
                .map(move |(ply, reached)| (game, ply, reached))
        })
        .collect();
    let texts = |of: fn(&Reached) -> Option<&'static str>| -> Vec<Option<&str>> {
        rows.iter().map(|row| of(row.2)).collect()
    };
    let squares =
        |of: fn(&Reached) -> String| -> Vec<String> { rows.iter().map(|row| of(row.2)).collect() };
    let to = |reached: &Reached| match reached.played {
        Move::Castle { king, rook } => {
            let side = CastlingSide::from_king_side(rook > king);
            side.king_to(reached.before.turn()).to_string()
        }
        played => played.to().to_string(),
    };
    let from = |reached: &Reached| reached.played.from().unwrap().to_string();
    let mut columns: Vec<Column> = vec![
        column("game", rows.iter().map(|row| row.0).collect::<Vec<_>>()),
        column("ply", rows.iter().map(|row| row.1).collect::<Vec<_>>()),
        column("from_square", squares(from)),
        column("to_square", squares(to)),
        column(
            "captured",
            texts(|reached| reached.played.capture().map(unit_name)),
        ),
        column("promotion", texts(|_| None)),
        column("gives_check", vec![false; rows.len()]),
        column(
            "castling",
            rows.iter()
                .map(|row| row.2.played.is_castle())
                .collect::<Vec<_>>(),
        ),
    ];
    for (color, side) in ["white", "black"].into_iter().enumerate() {
        for (kind, unit) in ["pawn", "knight", "bishop", "rook", "queen", "king"]
            .into_iter()
            .enumerate()
        {
            let safe: Vec<u16> = rows.iter().map(|row| row.2.safe[color][kind]).collect();
            columns.push(column(&format!("{side}_{unit}"), safe));
        }
    }
    table(columns)
}

fn games(numbers: &[u32]) -> RecordBatch {
    let n = numbers.len();
    let even = |number: &u32| number.is_multiple_of(2);
    table(vec![
        column("game", numbers.to_vec()),
        column(
            "game_id",
            numbers.iter().map(|&n| u64::from(n)).collect::<Vec<_>>(),
        ),
        column(
            "white",
            numbers
                .iter()
                .map(|n| format!("Reed, {n}"))
                .collect::<Vec<_>>(),
        ),
        column("black", vec!["Ash, Ida"; n]),
        column(
            "white_rating",
            numbers
                .iter()
                .map(|n| even(n).then_some(1500u16))
                .collect::<Vec<_>>(),
        ),
        column("black_rating", vec![Some(1400u16); n]),
        column("start_fen", vec![None::<&str>; n]),
        column(
            "result",
            numbers
                .iter()
                .map(|n| result(*n, true).0)
                .collect::<Vec<_>>(),
        ),
        column("file", vec!["a.pgn"; n]),
        column("line", vec![1u64; n]),
        column("byte_offset", vec![1u64; n]),
        column("event", vec![None::<&str>; n]),
        column("date", vec![None::<&str>; n]),
        column("round", vec![None::<&str>; n]),
    ])
}

/// White wins every third game, game 7 has no result, the rest are drawn.
fn result(game: u32, white: bool) -> (&'static str, &'static str) {
    match (game, game % 3) {
        (7, _) => ("*", "unknown"),
        (_, 0) => ("1-0", if white { "win" } else { "loss" }),
        _ => ("1/2-1/2", "draw"),
    }
}

/// Two rows a turn: one piece held, and by ply 18 the second as well. At ply 20 a turn that is in
/// the table as a landmark alone.
fn rows(games: &[u32]) -> Vec<Turn> {
    let reached = play();
    let mut rows = Vec::new();
    for &game in games {
        for (ply, sampled) in SAMPLED
            .map(|ply| (ply, true))
            .into_iter()
            .chain([(26, false)])
        {
            let white = ply % 2 == 0;
            let here = &reached[usize::from(ply) - 1];
            let color = usize::from(!white);
            for piece in 0..2 {
                rows.push(Turn {
                    game,
                    fold: (game % 64) as u8,
                    ply,
                    sampled,
                    landmark: !sampled,
                    color: if white { "white" } else { "black" },
                    safe: if piece == 0 || ply >= 18 { 2 } else { 3 },
                    restrained: [None, None, (piece == 0).then_some(3), Some(3), Some(3)],
                    scope_own: scope(here, color),
                    scope_other: scope(here, 1 - color),
                    balance: if white { here.balance } else { -here.balance },
                    phase: "opening",
                    rating_diff: match (game % 2, white) {
                        (0, true) => "50..199",
                        (0, false) => "-199..-50",
                        _ => "unknown",
                    },
                    owner_result: result(game, white).1,
                    ..Turn::default()
                });
            }
        }
    }
    rows
}

fn part(dir: &Path, number: u32, of: &[u32]) {
    write(dir, "games", "a", number, &games(of));
    write(dir, "moves", "a", number, &moves(of));
    write(dir, "turns", "a", number, &turns(&rows(of)));
}

/// Thirty games, in two parts.
fn tables(dir: &Path) -> Dataset {
    part(dir, 0, &(1..=20).collect::<Vec<_>>());
    part(dir, 1, &(21..=30).collect::<Vec<_>>());
    manifest(dir, &[("a", 2)]);
    Dataset::open(dir).unwrap()
}

fn asked() -> SideQuestion {
    question("from_ply = 12\nto_ply = 26\nwithin = 3").unwrap()
}

fn answered() -> SidesAnswer {
    let dir = tempfile::tempdir().unwrap();
    hobble_sides::answer(&tables(dir.path()), &asked()).unwrap()
}

/// Of plies 13, 17, 18, 25: ply 13 follows a capture; game 7 has no result.
#[test]
fn positions_are_counted_once_and_left_out_by_reason() {
    let answer = answered();
    let account = Account {
        sampled: 120,
        counted: 87,
        games: 29,
        filtered: 0,
        not_level: 0,
        no_result: 4,
        not_quiet: 29,
    };
    assert_eq!(answer.account, account);
    assert!(answer.account.reconciles());
    let held: Vec<u64> = answer.held.iter().map(|level| level.positions).collect();
    // One piece held at ply 17, two at plies 18 and 25.
    assert_eq!(held, [0, 29, 58, 0, 0, 0]);
    assert_eq!(answer.held[2].games, Some(29));
    let restrained: Vec<u64> = answer
        .restrained
        .iter()
        .map(|level| level.positions)
        .collect();
    assert_eq!(restrained, [0, 87, 0, 0]);
    let positions: u64 = answer.scope.iter().map(|level| level.positions).sum();
    assert_eq!(positions, 87);
}

/// At ply 17 and 25 Black is on move. Of the 29 games White wins ten and nineteen are drawn.
#[test]
fn scores_are_those_of_the_side_on_move() {
    let answer = answered();
    let score = |level: usize| answer.held[level].score.value.unwrap();
    assert!((score(1) - 9.5 / 29.0).abs() < 1e-15);
    assert!((score(2) - (9.5 + 19.5) / 58.0).abs() < 1e-15);
    let levels = &answer.scope;
    assert!(
        levels
            .iter()
            .all(|level| level.half_points <= 2 * level.positions)
    );
}

#[test]
fn squares_three_moves_before() {
    let answer = answered();
    let reached = play();
    // Material changed between plies 12 and 18; ply 17 has as much as ply 11.
    let steady: u64 = answer.changes.iter().map(|change| change.positions).sum();
    let same = |ply: usize| reached[ply - 1].balance == reached[ply - 7].balance;
    let plies = [17, 18, 25].into_iter().filter(|ply| same(*ply)).count();
    assert_eq!(
        (steady, answer.taking.positions),
        (29 * plies as u64, steady)
    );
    let apart = |ply: usize| {
        let here = &reached[ply - 1];
        i32::from(scope(here, 1)) - i32::from(scope(here, 0))
    };
    let of_25 = (Squares::of(apart(19)), Squares::of(apart(25)));
    assert!(
        answer
            .changes
            .iter()
            .any(|change| (change.before, change.now) == of_25)
    );
}

/// The state of two parts is the sum of theirs, in any order, read back from a file or not.
#[test]
fn states_add_up() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = tables(dir.path());
    let ids = dataset
        .part_ids(&[hobble_terms::Table::Turns], &[])
        .unwrap();
    let question = asked();
    let of = |parts: &[_]| Counted::<State>::of(&question, &dataset, parts).unwrap();
    let (whole, mut sum) = (of(&ids), of(&ids[1..]));
    let path = dir.path().join("state");
    of(&ids[..1]).write(&path).unwrap();
    sum.add(Counted::read(&path).unwrap()).unwrap();
    assert_eq!(whole, sum);
    let answer = sum.answer(&question, &dataset).unwrap();
    assert_eq!(answer, hobble_sides::answer(&dataset, &question).unwrap());
}

#[test]
fn the_report_says_it_in_every_form() {
    let answer = answered();
    let report = hobble_sides::report(&answer);
    // Thirty times the same positions: no model can tell squares from structure.
    let text = hobble_report::text(&report);
    assert!(text.contains("Too few games."), "{text}");
    let tidy = hobble_report::csv(&report);
    assert!(tidy.lines().count() > 50);
    let json: serde_json::Value =
        serde_json::from_str(&hobble_report::json(&report).unwrap()).unwrap();
    assert_eq!(json["account"]["counted"], 87);
    // A board of the position, with as many squares as the turn says.
    let example = answer.examples.first().unwrap();
    let kinds: usize = example.own.kinds.iter().map(|kind| kind.2).sum();
    assert_eq!(kinds, usize::from(example.own.scope));
    assert!(example.fen.starts_with("r"), "{}", example.fen);
}

#[test]
fn too_few_positions_have_no_answer() {
    let dir = tempfile::tempdir().unwrap();
    part(dir.path(), 0, &[1, 2, 3]);
    manifest(dir.path(), &[("a", 1)]);
    let dataset = Dataset::open(dir.path()).unwrap();
    let answer = hobble_sides::answer(&dataset, &asked()).unwrap();
    assert_eq!(answer.verdict.finds, Finds::TooFew { have: 9, need: 20 });
    assert!(answer.sentences.is_empty());
    assert!(hobble_report::text(&hobble_sides::report(&answer)).contains("9 of the 20 positions"));
}

#[test]
fn tables_that_do_not_agree_are_refused() {
    let refused = |turns_of: Vec<Turn>, moves_of: &[u32]| {
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), "games", "a", 0, &games(&[1, 2]));
        write(dir.path(), "moves", "a", 0, &moves(moves_of));
        write(dir.path(), "turns", "a", 0, &turns(&turns_of));
        manifest(dir.path(), &[("a", 1)]);
        let dataset = Dataset::open(dir.path()).unwrap();
        hobble_sides::answer(&dataset, &asked())
            .unwrap_err()
            .to_string()
    };
    let missing = refused(rows(&[1, 2]), &[1]);
    assert!(
        missing.contains("4 turns of part 0 of a are of games that are not there"),
        "{missing}"
    );
    let mut other = rows(&[1, 2]);
    for row in &mut other {
        row.scope_own += 1;
    }
    let differ = refused(other, &[1, 2]);
    assert!(
        differ.contains("safe squares of game 1 after ply 17 differ"),
        "{differ}"
    );
    let mut late = rows(&[1, 2]);
    late.retain(|row| row.game == 1);
    late.extend(rows(&[2]).into_iter().map(|row| Turn {
        game: 2,
        ply: row.ply,
        ..row
    }));
    let unknown = refused(late, &[1, 2, 3]);
    assert!(
        unknown.contains("game 3 of part 0 of a is not among the games"),
        "{unknown}"
    );
}
