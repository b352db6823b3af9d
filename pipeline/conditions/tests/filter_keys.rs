//! Each key, put to rows made by hand: which of them pass, on which side of a comparison.

use std::sync::Arc;

use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, BooleanArray, DictionaryArray, Int8Array, RecordBatch};
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::Mask;
use hobble_conditions::{AskError, filter_keys as keys, question_file};
use hobble_dataset::columns::Rows;

question_file! {
    /// The keys that are put to the rows, by their names.
    pub struct Keys("claim", "Keys") {
        head,
        attacked: keys::Attacked,
        by: keys::Mover,
        cause: keys::Causes,
        defended: keys::Defended,
        defended_by: keys::DefendedBy,
        defenders: keys::Defenders,
        developed: keys::Developed,
        good: keys::GoodSquares,
        k: keys::SafeSquares,
        others_held: keys::OthersHeld,
        others_restrained: keys::OthersRestrained,
        quiet: keys::Quiet,
        restrained: keys::Restrained,
        squares: keys::OnSquares,
        squares_taken: keys::SquaresTaken,
        stands: keys::Stands,
        wedge: keys::Wedge,
    }
}

fn parse(more: &str) -> Result<Keys, AskError> {
    let text = format!("format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\n{more}");
    Keys::parse("q", "q.toml", &text)
}

fn words(words: [Option<&str>; 4]) -> ArrayRef {
    Arc::new(words.into_iter().collect::<DictionaryArray<Int32Type>>())
}

fn bytes(bytes: [Option<i8>; 4]) -> ArrayRef {
    Arc::new(bytes.into_iter().collect::<Int8Array>())
}

fn flags(flags: [Option<bool>; 4]) -> ArrayRef {
    Arc::new(flags.into_iter().collect::<BooleanArray>())
}

/// Four rows, with the columns that spells and turns have in common and those of each:
/// 0: a bishop of White on a4, 1: a knight of Black on a5, 2: a rook of White on e7, 3: a queen of
/// Black on e7.
fn rows() -> Rows {
    let some = |values: [i8; 4]| bytes(values.map(Some));
    let columns = [
        ("square", words(["a4", "a5", "e7", "e7"].map(Some))),
        (
            "color",
            words(["white", "black", "white", "black"].map(Some)),
        ),
        ("wedge", flags([Some(true), None, None, None])),
        ("attacked_by", words(["", "P", "", "NQ"].map(Some))),
        (
            "attacked_last",
            flags([Some(false), Some(false), Some(true), None]),
        ),
        ("defended_by", words(["P", "", "NK", "PR"].map(Some))),
        (
            "defended",
            flags([Some(true), Some(false), Some(true), Some(true)]),
        ),
        ("defenders", some([1, 0, 2, 3])),
        ("others_held", some([0, 1, 2, 3])),
        ("others_restrained", some([3, 2, 1, 0])),
        (
            "cause",
            words(["taken", "blocked", "taken", "entered"].map(Some)),
        ),
        (
            "cause_kind",
            words(["pawn", "pawn", "king", "rook"].map(Some)),
        ),
        ("quiet", flags([Some(true), Some(false), Some(true), None])),
        ("squares_taken", bytes([Some(1), Some(2), Some(3), None])),
        (
            "restrained",
            flags([Some(true), Some(false), Some(true), Some(false)]),
        ),
        (
            "restrained_by",
            words([Some("queen"), None, Some("pawn"), None]),
        ),
        ("restrained_taken", bytes([Some(4), None, Some(1), None])),
        ("safe", some([0, 1, 2, 3])),
        ("k_low", some([0, 1, 2, 3])),
        ("k_high", some([1, 1, 2, 4])),
        ("good", some([0, 1, 2, 3])),
        (
            "developed",
            flags([Some(true), Some(false), Some(true), Some(true)]),
        ),
    ];
    Rows::new(
        "made",
        0,
        RecordBatch::try_from_iter_with_nullable(
            columns.map(|(name, values)| (name, values, true)),
        )
        .unwrap(),
    )
}

/// The rows that pass.
fn pass(keys: &str, asked: AskedRows) -> Vec<usize> {
    let keys = parse(keys).unwrap();
    let rows = rows();
    // k = 2 where it is not given; what is asked of it stands in a test of its own.
    let left_out: &[&str] = if keys.k == 2 { &["k"] } else { &[] };
    Mask::of(&rows, &keys.conditions(asked, left_out))
        .unwrap()
        .rows()
        .collect()
}

const SPELLS: AskedRows = AskedRows::Spells;
const RESTRAINED: AskedRows = AskedRows::RestrainedTurns;
const HELD: AskedRows = AskedRows::HeldTurns;
const FREE: AskedRows = AskedRows::FreeBesideRestrained;
const FREE_OF_HELD: AskedRows = AskedRows::FreeBesideHeld;

/// Where a piece stands, seen from its owner: a4 of White is a5 of Black.
#[test]
fn both_sides_are_asked_how_they_stand() {
    for (key, want) in [
        ("stands = [\"rim\"]", vec![0, 1]),
        ("stands = [\"own half\"]", vec![0, 1, 3]),
        ("stands = [\"opponent's half\"]", vec![2]),
        ("stands = [\"rim\", \"opponent's half\"]", vec![0, 1, 2]),
        ("squares = [\"a4\"]", vec![0, 1]),
        ("squares = [\"a5\", \"e2\"]", vec![3]),
        ("squares = [\"e7\"]", vec![2]),
        ("defenders = { at_least = 2 }", vec![2, 3]),
        ("defenders = { at_most = 0 }", vec![1]),
        ("defenders = { at_least = 1, at_most = 2 }", vec![0, 2]),
        ("defended_by = [\"pawn\"]", vec![0, 3]),
        ("defended_by = [\"knight\", \"rook\"]", vec![2, 3]),
        ("others_held = { at_least = 2 }", vec![2, 3]),
        ("others_restrained = { at_least = 2 }", vec![0, 1]),
        ("defended = \"no\"", vec![1]),
    ] {
        for asked in [SPELLS, RESTRAINED, HELD, FREE, FREE_OF_HELD] {
            assert_eq!(pass(key, asked), want, "{key} of {asked:?}");
        }
    }
}

/// A free piece was restricted by nothing: it is not asked.
#[test]
fn restricted_pieces_alone_are_asked_what_restricted_them() {
    let all = vec![0, 1, 2, 3];
    for (key, of_spells, of_restrained, of_held) in [
        ("by = \"pawn\"", vec![0, 1], vec![2], vec![0, 1]),
        ("by = \"piece\"", vec![2, 3], vec![0], vec![2, 3]),
        ("squares_taken = 2", vec![1, 2], vec![0], vec![1, 2]),
        ("cause = [\"taken\"]", vec![0, 2], all.clone(), vec![0, 2]),
        ("cause = [\"blocked\"]", vec![1], vec![], vec![1]),
        ("quiet = \"yes\"", vec![0, 2], all.clone(), vec![0, 2]),
        ("quiet = \"no\"", vec![1], vec![], vec![1]),
        ("restrained = \"yes\"", vec![0, 2], all.clone(), vec![0, 2]),
        ("restrained = \"no\"", vec![1, 3], vec![], vec![1, 3]),
        ("wedge = \"yes\"", vec![0], vec![0], vec![0]),
        ("wedge = \"no\"", vec![], vec![], vec![]),
        ("good = 1", vec![0, 1], vec![0, 1], vec![0, 1]),
        ("k = 1", vec![0, 1], vec![0, 1], vec![0, 1]),
        ("k = 3", vec![3], all.clone(), all.clone()),
    ] {
        assert_eq!(pass(key, SPELLS), of_spells, "{key}");
        assert_eq!(pass(key, RESTRAINED), of_restrained, "{key}");
        assert_eq!(pass(key, HELD), of_held, "{key}");
        for asked in [FREE, FREE_OF_HELD, AskedRows::Exposure] {
            assert_eq!(pass(key, asked), all, "{key} of {asked:?}");
        }
    }
}

/// At the start of its spell a restrained piece is not attacked; that is a turn before its
/// landmark.
#[test]
fn attacked_at_the_start() {
    for (key, spells, restrained, free) in [
        ("attacked = \"yes\"", vec![1, 3], vec![], vec![2]),
        (
            "attacked = \"no\"",
            vec![0, 2],
            vec![0, 1, 2, 3],
            vec![0, 1],
        ),
    ] {
        assert_eq!(pass(key, SPELLS), spells);
        assert_eq!(pass(key, HELD), spells);
        assert_eq!(pass(key, FREE_OF_HELD), spells);
        assert_eq!(pass(key, RESTRAINED), restrained);
        assert_eq!(pass(key, FREE), free);
    }
}

/// Rows of `turns` are of developed pieces.
#[test]
fn developed() {
    assert_eq!(pass("developed = \"no\"", SPELLS), [1]);
    assert_eq!(pass("developed = \"no\"", RESTRAINED), [0; 0]);
    assert_eq!(pass("developed = \"yes\"", HELD), [0, 1, 2, 3]);
}

#[test]
fn mistakes_name_line_and_field() {
    for (line, want) in [
        (
            "others_held = 2",
            "field \"others_held\": invalid type: integer `2`, expected bounds, as { at_least = 2 } or { at_most = 1 }",
        ),
        (
            "others_held = {}",
            "field \"others_held\": name at_least, at_most or both",
        ),
        (
            "others_held = { at_least = 16 }",
            "field \"others_held\": 16 is not a whole number from 0 to 15",
        ),
        (
            "defenders = { at_least = 3, at_most = 2 }",
            "field \"defenders\": no number is at least 3 and at most 2",
        ),
        (
            "defenders = { least = 3 }",
            "field \"defenders\": unknown field `least`, expected `at_least` or `at_most`",
        ),
        (
            "squares = [\"i9\"]",
            "field \"squares\": invalid square \"i9\"; squares are a1 to h8",
        ),
        (
            "squares = [\"a4\", \"a4\"]",
            "field \"squares\": \"a4\" stands here twice",
        ),
        (
            "stands = [\"centre\"]",
            "field \"stands\": \"centre\" is not one of rim, own half, opponent's half",
        ),
        (
            "defended_by = [\"dog\"]",
            "field \"defended_by\": \"dog\" is not one of pawn, knight, bishop, rook, queen, king",
        ),
    ] {
        let mistake = parse(line).unwrap_err().to_string();
        assert_eq!(mistake, format!("q.toml, line 5, {want}"));
    }
}

#[test]
fn words_for_readers() {
    let keys = parse("stands = [\"rim\"]\nsquares = [\"h4\", \"a4\"]\nwedge = \"yes\"\nothers_held = { at_least = 2 }\ndefenders = { at_most = 1 }\ndefended_by = [\"pawn\"]").unwrap();
    assert_eq!(
        keys.after_kinds(),
        [
            "on a4 or h4 seen from their owner",
            "on the rim",
            "behind a wedge of pawns"
        ]
    );
    let said: Vec<String> = keys
        .said()
        .into_iter()
        .map(|said| format!("{}: {}", said.name, said.words))
        .collect();
    assert_eq!(
        said,
        [
            "Defended by: pawn",
            "Defenders: 1 at most",
            "Other pieces held: 2 at least",
            "Squares: a4 or h4, as the owner sees the board",
            "Stands: on the rim",
            "Wedge of pawns: only pieces that stand behind one",
        ]
    );
}
