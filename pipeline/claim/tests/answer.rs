//! A claim put to a scan of a few rows worked out by hand.

use arrow_array::RecordBatch;
use hand_made_tables::{Turn, column, manifest, table, turns, write};
use hobble_claim::{Claim, State};
use hobble_conditions::AskError;
use hobble_conditions::counted::Counted;
use hobble_dataset::Dataset;
use hobble_terms::Table;
use proptest::prelude::*;

/// One spell of a knight of White; unnamed columns are the same in every row.
#[derive(Debug, Clone)]
struct Spell {
    game: u32,
    fold: u8,
    turns: u16,
    end: &'static str,
    fate: &'static str,
    fate_ply: Option<u16>,
    plies_left: u16,
}

fn spells(rows: &[Spell]) -> RecordBatch {
    let n = rows.len();
    let texts = |name: &str, value: &str| column(name, vec![value; n]);
    let bytes = |name: &str, value: u8| column(name, vec![value; n]);
    let none = |name: &str| column(name, vec![None::<i16>; n]);
    let columns = vec![
        column("game", rows.iter().map(|r| r.game).collect::<Vec<_>>()),
        column("fold", rows.iter().map(|r| r.fold).collect::<Vec<_>>()),
        bytes("piece", 1),
        texts("kind", "knight"),
        texts("color", "white"),
        bytes("k_low", 1),
        bytes("k_high", 2),
        column("start_ply", vec![20_u16; n]),
        texts("cause", "taken"),
        texts("cause_by", "opponent"),
        texts("cause_kind", "pawn"),
        bytes("safe_before", 4),
        bytes("squares_taken", 3),
        column("restrained", vec![false; n]),
        texts("square", "c3"),
        bytes("safe", 1),
        bytes("good", 0),
        texts("attacked_by", ""),
        column("defended", vec![true; n]),
        column("developed", vec![true; n]),
        texts("phase", "middlegame"),
        column("balance", vec![0_i16; n]),
        column("turns", rows.iter().map(|r| r.turns).collect::<Vec<_>>()),
        column("ended", rows.iter().map(|r| r.end).collect::<Vec<_>>()),
        column("end_ply", vec![30_u16; n]),
        column(
            "end_by",
            rows.iter()
                .map(|r| (r.end == "freed").then_some("own"))
                .collect::<Vec<_>>(),
        ),
        column(
            "moved_away",
            rows.iter()
                .map(|r| (r.end == "freed").then_some(true))
                .collect::<Vec<_>>(),
        ),
        column("fate", rows.iter().map(|r| r.fate).collect::<Vec<_>>()),
        column(
            "fate_ply",
            rows.iter().map(|r| r.fate_ply).collect::<Vec<_>>(),
        ),
        none("net"),
        none("material_3"),
        none("material_5"),
        none("material_10"),
        column(
            "plies_left",
            rows.iter().map(|r| r.plies_left).collect::<Vec<_>>(),
        ),
        texts("owner_result", "loss"),
        texts("band", "1400-1599"),
        texts("time_class", "rapid"),
    ];
    table(columns)
}

fn claim(more: &str) -> Claim {
    let text = format!("format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\n{more}");
    Claim::parse("c", "c.toml", &text).unwrap()
}

fn ask(
    rows: &[Spell],
    pieces: &[Turn],
    claim: &Claim,
) -> Result<hobble_claim::ClaimAnswer, AskError> {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "spells", "a", 0, &spells(rows));
    write(dir.path(), "turns", "a", 0, &turns(pieces));
    manifest(dir.path(), &[("a", 1)]);
    hobble_claim::answer(&Dataset::open(dir.path())?, claim)
}

/// Eight folds of eight spells; in each, `lost` of them are lost three moves after the start.
fn folds(lost: u32) -> Vec<Spell> {
    (0..8)
        .flat_map(|fold: u8| {
            (0..8).map(move |i: u32| {
                let lost = i < lost + u32::from(fold % 2);
                Spell {
                    game: u32::from(fold) * 8 + i,
                    fold,
                    turns: 3,
                    end: if lost { "lost" } else { "freed" },
                    fate: if lost { "lost" } else { "survived" },
                    fate_ply: lost.then_some(26),
                    plies_left: 60,
                }
            })
        })
        .collect()
}

/// Eight folds of ten knights at the first turn they are held, and ten free ones; in each `own`
/// and `free` of them are lost, in odd folds one more.
fn pieces(own: u32, free: u32) -> Vec<Turn> {
    let knight = |fold: u8, held: bool, i: u32, lost: u32| {
        let piece = Turn {
            game: u32::from(fold) * 64 + i,
            fold,
            safe: if held { 1 } else { 5 },
            held_turns: held.then_some(1),
            ..Turn::default()
        };
        if i < lost + u32::from(fold % 2) {
            piece.lost(34)
        } else {
            piece
        }
    };
    (0..8)
        .flat_map(|fold| [(fold, true, own), (fold, false, free)])
        .flat_map(|(fold, held, lost)| (0..10).map(move |i| knight(fold, held, i, lost)))
        .collect()
}

/// Time runs from the turn that is asked for: with three turns the loss, three moves after the
/// start, comes one move after the third turn.
#[test]
fn counted_from_the_turn_asked_for() {
    let rows = folds(2);
    for (turns, first) in [(1, 3), (2, 2), (3, 1)] {
        let got = ask(
            &rows,
            &pieces(4, 1),
            &claim(&format!("k = 2\nturns = {turns}")),
        )
        .unwrap();
        assert_eq!(got.spells, 64);
        for point in &got.curve {
            let want = if point.moves >= first { 20 } else { 0 };
            assert_eq!(
                point.lost.count, want,
                "turns {turns}, move {}",
                point.moves
            );
        }
    }
    let got = ask(&rows, &pieces(4, 1), &claim("k = 2\nturns = 4")).unwrap();
    assert_eq!(got.spells, 0);
    assert!(got.ends.iter().all(|end| end.share.count == 0));
}

/// A game that ends before the horizon with the piece there is over, not lost; one that ends
/// right at it is neither.
#[test]
fn the_games_end_competes() {
    let mut rows = folds(2);
    for spell in &mut rows {
        if spell.fate == "survived" {
            spell.end = "game over";
            spell.plies_left = 10;
        }
    }
    let got = ask(&rows, &pieces(4, 1), &claim("k = 2")).unwrap();
    let over: Vec<u64> = got
        .curve
        .iter()
        .take(7)
        .map(|point| point.over.count)
        .collect();
    assert_eq!(over, [0, 0, 0, 0, 0, 44, 44]);
    assert_eq!(got.ends[6].share.count, 44);
    assert_eq!(got.ends.iter().map(|end| end.share.count).sum::<u64>(), 64);
}

#[test]
fn every_rendering_says_the_verdict_or_its_figures() {
    let got = ask(&folds(4), &pieces(4, 1), &claim("k = 2")).unwrap();
    let text = hobble_report::text(&hobble_claim::report(&got))
        .replace('\n', " ")
        .replace("  ", " ");
    assert!(
        text.contains("more often than comparable free ones"),
        "{text}"
    );
    let markdown = hobble_report::markdown(&hobble_claim::report(&got));
    for sentence in got.sentences.iter().chain([&got.verdict.to_string()]) {
        assert!(markdown.contains(sentence), "{sentence}\n{markdown}");
    }
    let json: serde_json::Value =
        serde_json::from_str(&hobble_report::json(&hobble_claim::report(&got)).unwrap()).unwrap();
    assert_eq!(json["spells"], 64);
    let csv = hobble_report::csv(&hobble_claim::report(&got));
    // The reader refuses a line with another number of values than the first.
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let lines: Result<Vec<csv::StringRecord>, _> = reader.records().collect();
    assert!(!lines.unwrap().is_empty(), "{csv}");
    assert_eq!(hobble_claim::pgn(&got.examples), "");
}

/// The games of these spells, won by either side, with the ids that give their folds.
fn games(rows: &[Spell]) -> RecordBatch {
    let mut of_game: Vec<(u32, u8)> = rows.iter().map(|row| (row.game, row.fold)).collect();
    of_game.sort_unstable();
    of_game.dedup_by_key(|game| game.0);
    let n = of_game.len();
    let texts = |name: &str, value: &str| column(name, vec![value; n]);
    let id = |&(game, fold): &(u32, u8)| u64::from(game) * 64 + u64::from(fold);
    let result = |&(game, _): &(u32, u8)| ["1-0", "0-1", "1/2-1/2", "*"][game as usize % 4];
    table(vec![
        column(
            "game",
            of_game.iter().map(|game| game.0).collect::<Vec<_>>(),
        ),
        column("game_id", of_game.iter().map(id).collect::<Vec<_>>()),
        column("result", of_game.iter().map(result).collect::<Vec<_>>()),
        column("white_rating", vec![Some(1500_u16); n]),
        column("black_rating", vec![None::<u16>; n]),
        texts("white_band", "1400-1599"),
        texts("black_band", "missing"),
        texts("time_class", "rapid"),
    ])
}

/// Some parts of two sources, each with spells, free turns and games.
fn in_parts(parts: &[Vec<Spell>]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (number, rows) in parts.iter().enumerate() {
        let (source, part) = (["a", "b"][number % 2], number as u32 / 2);
        write(dir.path(), "spells", source, part, &spells(rows));
        write(
            dir.path(),
            "turns",
            source,
            part,
            &turns(&pieces(number as u32, 1)),
        );
        write(dir.path(), "games", source, part, &games(rows));
    }
    let number = parts.len() as u32;
    manifest(dir.path(), &[("a", number.div_ceil(2)), ("b", number / 2)]);
    dir
}

fn any_spell() -> impl Strategy<Value = Spell> {
    (0_u32..6, 1_u16..5, 0_u16..4, 0_u16..40).prop_map(|(game, turns, fate, wait)| {
        let (end, fate, fate_ply) = match fate {
            0 => ("lost", "lost", Some(20 + wait)),
            1 => ("traded", "traded", Some(20 + wait)),
            2 => ("freed", "survived", None),
            _ => ("game over", "survived", None),
        };
        Spell {
            game,
            fold: (game * 11 % 64) as u8,
            turns,
            end,
            fate,
            fate_ply,
            plies_left: wait,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// States of parts, added in any order and grouping, written and read back, are the state
    /// of all parts and give its answer.
    #[test]
    fn states_add_up_in_any_order(
        parts in prop::collection::vec(prop::collection::vec(any_spell(), 1..30), 2..6),
        order in any::<prop::sample::Index>(),
        split in any::<prop::sample::Index>(),
    ) {
        let dir = in_parts(&parts);
        let dataset = Dataset::open(dir.path()).unwrap();
        let claim = claim("k = 2\nturns = 2");
        let mut ids = dataset.part_ids(&[Table::Spells, Table::Turns], &[Table::Games]).unwrap();
        let whole = Counted::<State>::of(&claim, &dataset, &ids).unwrap();
        let number = ids.len();
        ids.rotate_left(order.index(number));
        ids.swap(0, number - 1);
        let (left, right) = ids.split_at(split.index(number));
        let file = dir.path().join("left.state");
        Counted::<State>::of(&claim, &dataset, left).unwrap().write(&file).unwrap();
        let read = Counted::<State>::read(&file).unwrap();
        let mut sum = Counted::<State>::of(&claim, &dataset, &[]).unwrap();
        for id in right {
            let one = Counted::of(&claim, &dataset, std::slice::from_ref(id)).unwrap();
            sum.add(one).unwrap();
        }
        sum.add(read).unwrap();
        prop_assert_eq!(&sum, &whole);
        let json = |answer| hobble_report::json(&hobble_claim::report(&answer)).unwrap();
        let want = json(hobble_claim::answer(&dataset, &claim).unwrap());
        prop_assert_eq!(&json(sum.answer(&claim, &dataset).unwrap()), &want);
    }
}

/// States that do not belong together are refused, and so is an answer with parts missing.
#[test]
fn states_that_do_not_fit_are_refused() {
    let dir = in_parts(&[folds(2), folds(3), folds(4)]);
    let dataset = Dataset::open(dir.path()).unwrap();
    let (own, other) = (claim("k = 2"), claim("k = 1"));
    let ids = dataset.part_ids(&[Table::Spells], &[]).unwrap();
    let mut sum = Counted::<State>::of(&own, &dataset, &ids[..2]).unwrap();
    let refused = |result: Result<(), AskError>| result.unwrap_err().to_string();
    assert_eq!(
        refused(sum.add(Counted::of(&own, &dataset, &ids[1..]).unwrap())),
        "state: part 1 of a is counted twice"
    );
    assert_eq!(
        refused(sum.add(Counted::of(&other, &dataset, &ids[2..]).unwrap())),
        "state: states of different questions cannot be added"
    );
    assert_eq!(
        refused(sum.answer(&own, &dataset).map(|_| ())),
        "state: part 0 of b is not counted"
    );
    sum.add(Counted::of(&own, &dataset, &ids[2..]).unwrap())
        .unwrap();
    assert_eq!(sum.answer(&own, &dataset).unwrap().spells, 192);
    assert_eq!(
        refused(sum.answer(&other, &dataset).map(|_| ())),
        "state: the state is of another question"
    );
    let file = dir.path().join("cut.state");
    sum.write(&file).unwrap();
    let text = std::fs::read(&file).unwrap();
    std::fs::write(&file, &text[..text.len() / 2]).unwrap();
    let cut = Counted::<State>::read(&file).unwrap_err().to_string();
    assert!(
        cut.contains("cut.state: ") && cut.contains("damaged"),
        "{cut}"
    );
}

/// A spell whose game is not in the table of games of its part is an error, not a game that
/// is silently left out of the scores.
#[test]
fn a_game_that_is_missing_is_named() {
    let dir = in_parts(&[folds(2), folds(2)]);
    let fewer: Vec<Spell> = folds(2).into_iter().filter(|row| row.game != 9).collect();
    write(dir.path(), "games", "b", 0, &games(&fewer));
    let error =
        hobble_claim::answer(&Dataset::open(dir.path()).unwrap(), &claim("k = 2")).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("game 9 of part 0 of b has spells but is missing"),
        "{error}"
    );
}
