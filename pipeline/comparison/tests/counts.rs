//! Answers from tables of turns small enough to work out by hand.

use hand_made_tables::{Turn, manifest, turns, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::terms::{Key, Kind, Outcome, Phase, TimeClass, YesNo};
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use proptest::prelude::*;

/// A shipped question, without examples.
fn question(name: &str) -> Question {
    Question {
        examples: 0,
        ..Question::load(name).unwrap()
    }
}

fn held() -> Question {
    question("held-piece-lost")
}

/// Writes the rows as one part of one source and asks.
fn ask(rows: &[Turn], question: &Question) -> Result<Answer, AskError> {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "turns", "a", 0, &turns(rows));
    manifest(dir.path(), &[("a", 1)]);
    answer(question, &Dataset::open(dir.path())?, &Overrides::default())
}

/// So many rows like this one, the first of them lost at the next ply.
fn some(number: usize, lost: usize, row: &Turn) -> Vec<Turn> {
    let one = |place| {
        if place < lost {
            row.clone().lost(row.ply + 1)
        } else {
            row.clone()
        }
    };
    (0..number).map(one).collect()
}

/// A held knight of two safe squares; a free one has the five of the default.
fn held_knight() -> Turn {
    Turn {
        safe: 2,
        ..Turn::default()
    }
}

/// Ten rows held and forty free in each of eight folds; one lost of the first fold's, of the
/// others' as many as `lost` says.
fn eight(held: &Turn, free: &Turn, lost: [usize; 2]) -> Vec<Turn> {
    let of_fold = |fold: u8| {
        let more = usize::from(fold % 3);
        let in_fold = |row: &Turn| Turn {
            fold,
            ..row.clone()
        };
        let mut rows = some(10, lost[0] + more, &in_fold(held));
        rows.extend(some(40, lost[1] + more, &in_fold(free)));
        rows
    };
    (0..8).flat_map(of_fold).collect()
}

#[test]
fn kinds_and_all() {
    let queen = |safe| Turn {
        kind: "queen",
        safe,
        ..Turn::default()
    };
    let mut rows = eight(&held_knight(), &Turn::default(), [2, 1]);
    rows.extend(eight(&queen(0), &queen(9), [1, 1]));
    let got = ask(&rows, &held()).unwrap();
    let labels: Vec<&str> = got.rows.iter().map(|row| row.label.as_str()).collect();
    assert_eq!(labels, ["knight", "queen", "all"]);
    let knight = &got.rows[0];
    // The folds add 0, 1, 2, 0, 1, 2, 0, 1 = 7.
    let restricted = &knight.restricted;
    assert_eq!(
        (restricted.rows, restricted.turns, restricted.outcomes),
        (80, 80, 23)
    );
    assert_eq!((knight.free.turns, knight.free.outcomes), (320, 15));
    assert_eq!(restricted.folds, 8);
    let ratio = knight.standardised.ratio;
    assert_eq!(ratio.value, Some(23.0 / (80.0 * (15.0 / 320.0))));
    assert!(ratio.jackknife.is_some());
    let all = &got.rows[2];
    assert!(all.all);
    assert_eq!(all.group[&Key::Kind], "all");
    assert_eq!((all.restricted.turns, all.restricted.outcomes), (160, 38));
    assert_eq!(got.dataset.skipped_by_reason["illegal move"], 1);
}

/// A turn of the sample stands for sixteen; one at a landmark, where all are kept, for itself.
#[test]
fn rows_of_the_sample_are_weighted() {
    let sampled = Turn {
        landmark: false,
        sampled: true,
        ..Turn::default()
    };
    let mut rows = some(20, 4, &Turn::restrained());
    rows.extend(some(30, 3, &sampled));
    rows.extend(some(20, 1, &Turn::default()));
    let question = question("restrained-piece-lost");
    let row = &ask(&rows, &question).unwrap().rows[0];
    let counts = |side: &hobble_comparison::answer::Side| (side.rows, side.turns, side.outcomes);
    assert_eq!(counts(&row.restricted), (20, 20, 4));
    assert_eq!(counts(&row.free), (50, 30 * 16 + 20, 3 * 16 + 1));
    assert_eq!(row.standardised.free_rows, 50);
}

/// Only the landmark of a restraint counts, and only pieces that were free then are free.
#[test]
fn restrained_pieces_count_at_their_landmark() {
    let landmark = Turn {
        safe_before_last: Some(5),
        ..Turn::restrained()
    };
    let later = Turn {
        restrained: [None, Some(2), Some(2), Some(2), Some(2)],
        ..landmark.clone()
    };
    let held_otherwise = Turn {
        safe: 1,
        ..Turn::default()
    };
    let was_attacked = Turn {
        attacked_last: Some(true),
        ..Turn::default()
    };
    let just_freed = Turn {
        safe_last: Some(1),
        ..Turn::default()
    };
    let mut rows = some(30, 10, &landmark);
    for other in [later, held_otherwise, was_attacked, just_freed] {
        rows.extend(some(7, 7, &other));
    }
    rows.extend(some(40, 2, &Turn::default()));
    let question = question("restrained-piece-lost");
    let row = &ask(&rows, &question).unwrap().rows[0];
    assert_eq!((row.restricted.turns, row.restricted.outcomes), (30, 10));
    assert_eq!((row.free.turns, row.free.outcomes), (40, 2));
    assert_eq!(row.standardised.free_rate.value, Some(0.05));
}

#[test]
fn k_within_and_outcome_choose_the_counts() {
    let fate = |fate, plies: u16| Turn {
        fate,
        fate_ply: Some(28 + plies),
        ..held_knight()
    };
    let over = Turn {
        plies_left: 19,
        ..held_knight()
    };
    let rows = [
        fate("lost", 6),
        fate("lost", 20),
        fate("lost", 21),
        fate("traded", 20),
        fate("sold", 1),
        over,
        Turn::default(),
    ];
    let counts = |question: Question| {
        let row = ask(&rows, &question).unwrap().rows[0].clone();
        let side = row.restricted;
        (side.turns, side.outcomes, side.over)
    };
    assert_eq!(counts(held()), (6, 2, 1));
    assert_eq!(counts(Question { k: 1, ..held() }), (0, 0, 0));
    assert_eq!(counts(Question { k: 4, ..held() }), (6, 2, 1));
    let within = |within| counts(Question { within, ..held() });
    assert_eq!([within(3), within(15)], [(6, 1, 0), (6, 3, 1)]);
    let of = |outcome| counts(Question { outcome, ..held() }).1;
    let outcomes = [Outcome::Traded, Outcome::Sold, Outcome::Captured];
    assert_eq!(outcomes.map(of), [1, 1, 4]);
}

/// Puts a value that a filter tells apart into a row.
type InRow = fn(&mut Turn);
/// Asks for that value alone.
type Asked = fn(&mut Question);

/// Each filter with the number of rows that pass it; all numbers differ.
const FILTERS: [(usize, InRow, Asked); 9] = [
    (
        7,
        |row| row.restrained_by = Some("pawn"),
        |question| question.restrained = YesNo::No,
    ),
    (
        11,
        |row| row.attackers = 1,
        |question| question.strata = vec![Key::Attacked],
    ),
    (
        13,
        |row| row.square = "a3",
        |question| question.squares = vec!["a3".into()],
    ),
    (
        17,
        |row| row.phase = "endgame",
        |question| question.phase = vec![Phase::Endgame],
    ),
    (
        19,
        |row| row.band = "missing",
        |question| question.band = vec!["missing".into()],
    ),
    (
        23,
        |row| row.time_class = "blitz",
        |question| question.time_class = vec![TimeClass::Blitz],
    ),
    (
        29,
        |row| row.rating_diff = ">=200",
        |question| question.strata = vec![Key::RatingDiff],
    ),
    (
        31,
        |row| row.kind = "rook",
        |question| question.kinds = vec![Kind::Rook],
    ),
    (
        37,
        |row| row.balance = -2,
        |question| question.strata = vec![Key::Balance],
    ),
];

/// As many rows for each filter as it has there, each of a held piece.
fn rows_for_filters() -> Vec<Turn> {
    let rows = |&(number, in_row, _): &(usize, InRow, Asked)| {
        let mut row = held_knight();
        in_row(&mut row);
        vec![row; number]
    };
    FILTERS.iter().flat_map(rows).collect()
}

#[test]
fn filters() {
    let rows = rows_for_filters();
    let turns = |change: &dyn Fn(&mut Question)| {
        let mut question = held();
        change(&mut question);
        let got = ask(&rows, &question).unwrap();
        got.rows.last().unwrap().restricted.turns
    };
    let all: u64 = 7 + 11 + 13 + 17 + 19 + 23 + 29 + 31 + 37;
    assert_eq!(turns(&|_| {}), all);
    for (number, _, asked) in FILTERS {
        let mut changed = held();
        asked(&mut changed);
        let wanted = if changed.strata != held().strata {
            all
        } else if changed.restrained == YesNo::No {
            all - 7
        } else {
            number as u64
        };
        assert_eq!(turns(&asked), wanted);
    }
    let both = |question: &mut Question| {
        question.kinds = vec![Kind::Knight];
        question.phase = vec![Phase::Endgame, Phase::Opening];
    };
    assert_eq!(turns(&both), 17);
}

#[test]
fn strata() {
    let rows = rows_for_filters();
    // The usual keys separate the rows of six filters from the others, among the knights of five.
    let row = &ask(&rows, &held()).unwrap().rows[0];
    assert_eq!(row.standardised.strata_left_out, 6);
    assert_eq!(row.standardised.restricted_turns_left_out, 156);
    assert_eq!(
        row.too_few.as_ref().map(|lack| lack.sentence()),
        Some("too few games to tell: none of 156 held turns has enough comparable free pieces")
    );
    let coarser = |strata| Question { strata, ..held() };
    let left_out = |strata| {
        let got = ask(&rows, &coarser(strata)).unwrap();
        got.rows[0].standardised.strata_left_out
    };
    assert_eq!(left_out(vec![Key::Attacked, Key::RatingDiff]), 3);
    assert_eq!(left_out(vec![Key::Balance]), 2);
    assert_eq!(left_out(vec![]), 1);
}

#[test]
fn rows_in_a_readers_order() {
    let bands = ["missing", "1000-1199", "unrated", "800-999"];
    let of_band = |band| {
        [0, 1].map(|attackers| Turn {
            band,
            attackers,
            ..held_knight()
        })
    };
    let rows: Vec<Turn> = bands.into_iter().flat_map(of_band).collect();
    let by = |group_by| Question { group_by, ..held() };
    let got = ask(&rows, &by(vec![Key::Band, Key::Attacked])).unwrap();
    let labels: Vec<&str> = got.rows.iter().map(|row| row.label.as_str()).collect();
    assert_eq!(
        labels[..3],
        [
            "rated 800-999, not attacked",
            "rated 800-999, attacked",
            "rated 1000-1199, not attacked"
        ]
    );
    assert_eq!(labels[8], "all");
    assert_eq!(labels.len(), 9);
    let got = ask(&rows, &by(vec![])).unwrap();
    assert_eq!(got.rows.len(), 1);
    assert_eq!(got.rows[0].restricted.turns, 8);
    let got = ask(&rows, &by(vec![Key::Move, Key::SquaresBefore])).unwrap();
    assert_eq!(got.rows.len(), 1);
    assert_eq!(
        got.rows[0].label,
        "moves 11-20, 5-6 safe squares two turns before"
    );
}

#[test]
fn nothing_passes() {
    let queens = Question {
        kinds: vec![Kind::Queen],
        ..held()
    };
    let got = ask(&[Turn::default()], &queens).unwrap();
    assert_eq!(got.rows.len(), 1);
    assert_eq!(got.rows[0].restricted.rate, None);
    let none = |note: &String| note.starts_with("No turn in these tables");
    assert!(got.notes.iter().any(none));
}

/// Why the question cannot be answered, and the cause of that.
fn answer_error(dataset: &Dataset) -> [String; 2] {
    let error = answer(&held(), dataset, &Overrides::default()).unwrap_err();
    let cause = std::error::Error::source(&error).expect("an error of the file");
    [error.to_string(), cause.to_string()]
}

#[test]
fn tables_that_cannot_be() {
    let wrong = Turn {
        fate: "eaten",
        ..Turn::default()
    };
    let got = ask(&[wrong], &held()).unwrap_err().to_string();
    assert_eq!(got, "table \"turns\": row 0: invalid fate");

    let dir = tempfile::tempdir().unwrap();
    let mut rows = turns(&[Turn::default()]);
    rows.remove_column(rows.schema().index_of("fate_ply").unwrap());
    write(dir.path(), "turns", "a", 0, &rows);
    manifest(dir.path(), &[("a", 1)]);
    let dataset = Dataset::open(dir.path()).unwrap();
    let got = answer(&held(), &dataset, &Overrides::default()).unwrap_err();
    let no_column =
        "there is no column \"fate_ply\"; scan the archive again with this version of hobble";
    assert!(got.to_string().ends_with(no_column), "{got}");

    let part = dir.path().join("turns/source=a/part-00000.parquet");
    std::fs::write(part, "not a table").unwrap();
    let [got, cause] = answer_error(&dataset);
    assert!(got.ends_with("part-00000.parquet: cannot be read"), "{got}");
    assert!(!got.contains(&cause), "{got}");

    std::fs::remove_dir_all(dir.path().join("turns")).unwrap();
    let refused = || {
        let dataset = Dataset::open(dir.path()).unwrap();
        let answer = answer(&held(), &dataset, &Overrides::default());
        answer.unwrap_err().to_string()
    };
    let got = refused();
    assert!(
        got.contains("named by the manifest, but not there"),
        "{got}"
    );
    // A manifest written now names no file.
    manifest(dir.path(), &[("a", 1)]);
    let got = refused();
    assert!(got.contains("has no table \"turns\""), "{got}");
}

fn any_rows() -> impl Strategy<Value = Vec<Turn>> {
    let row = (
        prop::sample::select(vec!["knight", "bishop", "rook", "queen"]),
        0u8..6,
        prop::sample::select(vec!["opening", "endgame"]),
        0u8..2,
        0u8..64,
        any::<bool>(),
        prop::option::of(29u16..60),
    );
    let row = row.prop_map(
        |(kind, safe, phase, attackers, fold, landmark, lost)| Turn {
            kind,
            safe,
            phase,
            attackers,
            fold,
            landmark,
            sampled: !landmark,
            fate: if lost.is_some() { "lost" } else { "survived" },
            fate_ply: lost,
            ..Turn::default()
        },
    );
    prop::collection::vec(row, 1..300)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// However the rows are ordered, parted and spread over sources, the answer is the same
    /// to the last bit: counts add.
    #[test]
    fn the_same_however_parted(rows in any_rows(), cut in 0usize..300, seed in any::<u64>()) {
        let whole = ask(&rows, &held()).unwrap();
        let mut mixed = rows.clone();
        let mut state = seed | 1;
        for last in (1..mixed.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            mixed.swap(last, (state >> 33) as usize % (last + 1));
        }
        let cut = cut.min(mixed.len());
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), "turns", "a", 0, &turns(&mixed[..cut]));
        // A source whose name looks like a number stays a name.
        write(dir.path(), "turns", "2024", 0, &turns(&mixed[cut..]));
        // Of a scan that was broken off: not in the manifest.
        write(dir.path(), "turns", "2024", 1, &turns(&mixed));
        write(dir.path(), "turns", "b", 0, &turns(&mixed));
        manifest(dir.path(), &[("a", 1), ("2024", 1)]);
        let dataset = Dataset::open(dir.path()).unwrap();
        let parted = answer(&held(), &dataset, &Overrides::default()).unwrap();
        prop_assert_eq!(&parted.rows, &whole.rows);
        prop_assert!(parted.notes.iter().any(|note| note.contains("manifest does not name them: b.")));
    }

    /// Nothing is lost between the table and the rows, and no interval misses its figure.
    #[test]
    fn rows_add_up(rows in any_rows()) {
        let got = ask(&rows, &held()).unwrap();
        let weight = |row: &&Turn| if row.landmark { 1 } else { 16 };
        let turns: u64 = rows.iter().map(|row| weight(&row)).sum();
        let in_time = |row: &&Turn| row.fate_ply.is_some_and(|ply| ply <= row.ply + 20);
        let lost: u64 = rows.iter().filter(in_time).map(|row| weight(&row)).sum();
        let groups: Vec<_> = got.rows.iter().filter(|row| !row.all || got.rows.len() == 1).collect();
        let sides = || groups.iter().flat_map(|row| [&row.restricted, &row.free]);
        prop_assert_eq!(sides().map(|side| side.rows).sum::<u64>(), rows.len() as u64);
        prop_assert_eq!(sides().map(|side| side.turns).sum::<u64>(), turns);
        prop_assert_eq!(sides().map(|side| side.outcomes).sum::<u64>(), lost);
        for row in &got.rows {
            let compared = &row.standardised;
            let all = compared.restricted_turns + compared.restricted_turns_left_out;
            prop_assert_eq!(all, row.restricted.turns);
            for estimate in [compared.ratio, compared.difference, compared.free_rate] {
                if let (Some(value), Some(interval)) = (estimate.value, estimate.jackknife) {
                    prop_assert!(interval.low <= value && value <= interval.high);
                }
            }
            prop_assert_eq!(row.too_few.is_some(), row.verdict.starts_with("Too few games to tell"));
        }
    }
}
