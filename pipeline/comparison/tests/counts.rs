//! Answers from exposure tables small enough to work out by hand.

use hand_made_tables::{Exposure, exposure, manifest, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::terms::{Key, Kind, Outcome, Phase, RatingDiff, TimeClass, YesNo};
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use proptest::prelude::*;

fn question() -> Question {
    Question {
        examples: 0,
        ..Question::load("held-piece-lost").unwrap()
    }
}

/// Writes the rows as one part of one source and asks.
fn ask(rows: &[Exposure], question: &Question) -> Result<Answer, AskError> {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "exposure", "a", 0, &exposure(rows));
    manifest(dir.path(), &[("a", 1)]);
    answer(question, &Dataset::open(dir.path())?, &Overrides::default())
}

/// Held and free rows of a kind in eight folds.
fn eight(held: Exposure, free: Exposure) -> Vec<Exposure> {
    (0..8)
        .flat_map(|fold| {
            let more = |fold| u64::from(fold % 3);
            [
                Exposure {
                    fold,
                    lost: held.lost + more(fold),
                    ..held.clone()
                },
                Exposure {
                    fold,
                    lost: free.lost + more(fold + 1),
                    ..free.clone()
                },
            ]
        })
        .collect()
}

#[test]
fn kinds_and_all() {
    let mut rows = eight(
        Exposure {
            safe: 2,
            over: 5,
            ..Exposure::default()
        },
        Exposure {
            safe: 3,
            turns: 400,
            ..Exposure::default()
        },
    );
    rows.extend(eight(
        Exposure {
            kind: "queen",
            safe: 0,
            lost: 1,
            ..Exposure::default()
        },
        Exposure {
            kind: "queen",
            safe: 9,
            lost: 1,
            ..Exposure::default()
        },
    ));
    let got = ask(&rows, &question()).unwrap();
    let labels: Vec<&str> = got.rows.iter().map(|row| row.label.as_str()).collect();
    assert_eq!(labels, ["knight", "queen", "all"]);
    let knight = &got.rows[0];
    // The folds add 0, 1, 2, 0, 1, 2, 0, 1 = 7 to eight times 10, and 9 to the free ones.
    assert_eq!(
        (knight.held.turns, knight.held.outcomes, knight.held.over),
        (800, 87, 40)
    );
    assert_eq!((knight.free.turns, knight.free.outcomes), (3200, 89));
    assert_eq!(knight.held.folds, 8);
    assert_eq!(
        knight.standardised.ratio.value,
        Some(87.0 / (800.0 * (89.0 / 3200.0)))
    );
    assert!(knight.standardised.ratio.jackknife.is_some());
    let all = &got.rows[2];
    assert!(all.all);
    assert_eq!(all.group[&Key::Kind], "all");
    assert_eq!(all.held.turns, 1600);
    // Of each kind 800 held turns: (800 × 89/3200 + 800 × 17/800) / 1600.
    let want = (800.0 * 89.0 / 3200.0 + 17.0) / 1600.0;
    assert!((all.standardised.free_rate.value.unwrap() - want).abs() < 1e-15);
    assert_eq!(got.dataset.skipped_by_reason["illegal move"], 1);
}

#[test]
fn k_within_and_outcome_choose_the_counts() {
    let rows = [
        Exposure {
            safe: 2,
            lost: 10,
            traded: 20,
            sold: 30,
            over: 6,
            ..Exposure::default()
        },
        Exposure {
            safe: 3,
            lost: 2,
            ..Exposure::default()
        },
    ];
    let held = |question: &Question| {
        let row = ask(&rows, question).unwrap().rows[0].clone();
        (row.held.turns, row.held.outcomes, row.held.over)
    };
    assert_eq!(held(&question()), (100, 10, 6));
    assert_eq!(held(&Question { k: 1, ..question() }), (0, 0, 0));
    assert_eq!(held(&Question { k: 3, ..question() }), (200, 12, 6));
    assert_eq!(
        held(&Question {
            within: 3,
            ..question()
        }),
        (100, 5, 3)
    );
    for (outcome, count) in [
        (Outcome::Traded, 20),
        (Outcome::Sold, 30),
        (Outcome::Captured, 60),
    ] {
        assert_eq!(
            held(&Question {
                outcome,
                ..question()
            }),
            (100, count, 6)
        );
    }
}

/// Puts a value that a filter tells apart into a row.
type InRow = fn(&mut Exposure);
/// Asks for that value alone.
type Asked = fn(&mut Question);

/// Each filter with the turns of the one row that passes it; all numbers differ.
const FILTERS: [(u64, InRow, Asked); 8] = [
    (
        7,
        |row| row.developed = false,
        |question| question.developed = YesNo::No,
    ),
    (
        11,
        |row| row.attacked = true,
        |question| question.attacked = YesNo::Yes,
    ),
    (
        13,
        |row| row.defended = false,
        |question| question.defended = YesNo::No,
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
        |question| question.rating_diff = vec![RatingDiff::FarAbove],
    ),
    (
        31,
        |row| row.kind = "rook",
        |question| question.kinds = vec![Kind::Rook],
    ),
];

/// A row a filter, of one lost piece each.
fn a_row_a_filter() -> Vec<Exposure> {
    let row = |&(turns, in_row, _): &(u64, InRow, Asked)| {
        let mut row = Exposure {
            turns,
            lost: 1,
            ..Exposure::default()
        };
        in_row(&mut row);
        row
    };
    FILTERS.iter().map(row).collect()
}

#[test]
fn filters() {
    let rows = a_row_a_filter();
    let turns = |change: &dyn Fn(&mut Question)| {
        let mut question = question();
        change(&mut question);
        let got = ask(&rows, &question).unwrap();
        got.rows.last().unwrap().held.turns
    };
    assert_eq!(turns(&|_| {}), 150);
    for (wanted, _, asked) in FILTERS {
        assert_eq!(turns(&asked), wanted);
    }
    assert_eq!(turns(&|question| question.developed = YesNo::Yes), 143);
    let both = |question: &mut Question| {
        question.kinds = vec![Kind::Knight];
        question.phase = vec![Phase::Endgame, Phase::Opening];
    };
    assert_eq!(turns(&both), 17);
}

#[test]
fn strata() {
    let rows = a_row_a_filter();
    // Six strata by the usual keys for the knight; developed and rating difference are not
    // among them.
    let got = ask(&rows, &question()).unwrap();
    assert_eq!(got.rows[0].standardised.strata_left_out, 6);
    assert_eq!(got.rows[0].standardised.held_turns_left_out, 119);
    assert_eq!(
        got.rows[0].too_few.as_ref().map(|lack| lack.sentence()),
        Some("too few games to tell: none of 119 held turns has a comparable free piece")
    );
    let finer = Question {
        strata: vec![Key::Developed, Key::RatingDiff],
        ..question()
    };
    assert_eq!(
        ask(&rows, &finer).unwrap().rows[0]
            .standardised
            .strata_left_out,
        3
    );
}

#[test]
fn rows_in_a_readers_order() {
    let rows: Vec<Exposure> = ["missing", "1000-1199", "unrated", "800-999"]
        .into_iter()
        .flat_map(|band| {
            [true, false].map(|attacked| Exposure {
                band,
                attacked,
                ..Exposure::default()
            })
        })
        .collect();
    let by = Question {
        group_by: vec![Key::Band, Key::Attacked],
        ..question()
    };
    let got = ask(&rows, &by).unwrap();
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
    let one = Question {
        group_by: vec![],
        ..question()
    };
    let got = ask(&rows, &one).unwrap();
    assert_eq!(got.rows.len(), 1);
    assert_eq!(got.rows[0].held.turns, 800);
}

#[test]
fn nothing_passes() {
    let got = ask(
        &[Exposure::default()],
        &Question {
            kinds: vec![Kind::Queen],
            ..question()
        },
    )
    .unwrap();
    assert_eq!(got.rows.len(), 1);
    assert_eq!(got.rows[0].held.rate, None);
    assert!(
        got.notes
            .iter()
            .any(|note| note.starts_with("No turn in these tables"))
    );
}

/// Why the question cannot be answered, and the cause of that.
fn answer_error(dataset: &Dataset) -> [String; 2] {
    let error = answer(&question(), dataset, &Overrides::default()).unwrap_err();
    let cause = std::error::Error::source(&error).expect("an error of the file");
    [error.to_string(), cause.to_string()]
}

#[test]
fn tables_that_cannot_be() {
    let wrong = [Exposure {
        lost: 90,
        over: 20,
        ..Exposure::default()
    }];
    let got = ask(&wrong, &question()).unwrap_err().to_string();
    assert_eq!(
        got,
        "table \"exposure\": a row counts 90 outcomes and 20 games over in 100 turns"
    );

    let dir = tempfile::tempdir().unwrap();
    let mut rows = exposure(&[Exposure::default()]);
    rows.remove_column(rows.schema().index_of("lost_10").unwrap());
    write(dir.path(), "exposure", "a", 0, &rows);
    manifest(dir.path(), &[("a", 1)]);
    let dataset = Dataset::open(dir.path()).unwrap();
    let [got, cause] = answer_error(&dataset);
    assert!(got.ends_with("part-00000.parquet: cannot be read"), "{got}");
    assert!(cause.contains("lost_10"), "{cause}");

    let part = dir
        .path()
        .join("table=exposure/source=a/part-00000.parquet");
    std::fs::write(part, "not a table").unwrap();
    let [got, cause] = answer_error(&dataset);
    assert!(got.ends_with("part-00000.parquet: cannot be read"), "{got}");
    assert!(!got.contains(&cause), "{got}");

    std::fs::remove_dir_all(dir.path().join("table=exposure")).unwrap();
    let refused = || {
        let dataset = Dataset::open(dir.path()).unwrap();
        let answer = answer(&question(), &dataset, &Overrides::default());
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
    assert!(got.contains("has no table \"exposure\""), "{got}");
}

fn any_rows() -> impl Strategy<Value = Vec<Exposure>> {
    let row = (
        prop::sample::select(vec!["knight", "bishop", "rook", "queen"]),
        0u8..6,
        prop::sample::select(vec!["opening", "endgame"]),
        any::<bool>(),
        0u8..64,
        1u64..60,
        0u64..60,
    )
        .prop_map(
            |(kind, safe, phase, attacked, fold, turns, lost)| Exposure {
                kind,
                safe,
                phase,
                attacked,
                fold,
                turns,
                lost: lost.min(turns),
                ..Exposure::default()
            },
        );
    prop::collection::vec(row, 1..120)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// However the rows are ordered, parted and spread over sources, the answer is the same
    /// to the last bit: cubes add.
    #[test]
    fn the_same_however_parted(rows in any_rows(), cut in 0usize..120, seed in any::<u64>()) {
        let whole = ask(&rows, &question()).unwrap();
        let mut mixed = rows.clone();
        let mut state = seed | 1;
        for last in (1..mixed.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            mixed.swap(last, (state >> 33) as usize % (last + 1));
        }
        let cut = cut.min(mixed.len());
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), "exposure", "a", 0, &exposure(&mixed[..cut]));
        // A source whose name looks like a number stays a name.
        write(dir.path(), "exposure", "2024", 0, &exposure(&mixed[cut..]));
        // Of a scan that was broken off: not in the manifest.
        write(dir.path(), "exposure", "2024", 1, &exposure(&mixed));
        write(dir.path(), "exposure", "b", 0, &exposure(&mixed));
        manifest(dir.path(), &[("a", 1), ("2024", 1)]);
        let parted = answer(&question(), &Dataset::open(dir.path()).unwrap(), &Overrides::default()).unwrap();
        prop_assert_eq!(&parted.rows, &whole.rows);
        prop_assert!(parted.notes.iter().any(|note| note.contains("manifest does not name them: b.")));
    }

    /// Nothing is lost between the cube and the rows, and no interval misses its figure.
    #[test]
    fn rows_add_up(rows in any_rows()) {
        let got = ask(&rows, &question()).unwrap();
        let turns: u64 = rows.iter().map(|row| row.turns).sum();
        let lost: u64 = rows.iter().map(|row| row.lost).sum();
        let groups: Vec<_> = got.rows.iter().filter(|row| !row.all || got.rows.len() == 1).collect();
        prop_assert_eq!(groups.iter().map(|row| row.held.turns + row.free.turns).sum::<u64>(), turns);
        prop_assert_eq!(groups.iter().map(|row| row.held.outcomes + row.free.outcomes).sum::<u64>(), lost);
        for row in &got.rows {
            prop_assert_eq!(row.standardised.held_turns + row.standardised.held_turns_left_out, row.held.turns);
            for estimate in [row.standardised.ratio, row.standardised.difference, row.standardised.free_rate] {
                if let (Some(value), Some(interval)) = (estimate.value, estimate.jackknife) {
                    prop_assert!(interval.low <= value && value <= interval.high);
                }
            }
            prop_assert_eq!(row.too_few.is_some(), row.verdict.starts_with("Too few games to tell"));
        }
    }
}
