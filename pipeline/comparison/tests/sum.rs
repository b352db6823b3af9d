//! The counts of parts, added up in any order and grouping, written and read back, give the
//! answer to all parts.

use hand_made_tables::{Turn, manifest, turns, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::Overrides;
use hobble_conditions::counted::Counted;
use hobble_conditions::sum::Sum;
use hobble_dataset::Dataset;
use proptest::prelude::*;

/// A state of all parts: the first ones counted together, written and read back; then the
/// others, one after the other.
fn added_up<S: Sum>(
    question: &S,
    dataset: &Dataset,
    turn: usize,
    split: usize,
) -> Counted<S::State> {
    let mut ids = dataset
        .part_ids(question.tables(), question.optional())
        .unwrap();
    let number = ids.len();
    ids.rotate_left(turn % number);
    ids.swap(0, number - 1);
    let (left, right) = ids.split_at(split % number);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("left.state");
    let counted = Counted::<S::State>::of(question, dataset, left).unwrap();
    counted.write(&file).unwrap();
    let mut sum = Counted::<S::State>::of(question, dataset, &[]).unwrap();
    for id in right {
        let one = Counted::of(question, dataset, std::slice::from_ref(id)).unwrap();
        sum.add(one).unwrap();
    }
    sum.add(Counted::read(&file).unwrap()).unwrap();
    sum
}

fn any_row() -> impl Strategy<Value = Turn> {
    let words = (
        prop::sample::select(vec!["knight", "bishop", "rook", "queen"]),
        prop::sample::select(vec!["opening", "middlegame", "endgame"]),
        prop::sample::select(vec!["1400-1599", "1600-1799", "missing"]),
        prop::sample::select(vec!["rapid", "blitz", "unknown"]),
    );
    let counts = (0_u8..6, 0_u8..8, 0_u16..200, any::<bool>(), -3_i16..4);
    (words, counts).prop_map(
        |((kind, phase, band, time_class), (safe, fold, ply, lost, balance))| {
            let turn = Turn {
                kind,
                phase,
                band,
                time_class,
                safe,
                fold,
                ply,
                balance,
                ..Turn::default()
            };
            if lost { turn.lost(ply + 3) } else { turn }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(30))]

    #[test]
    fn of_a_comparison(
        parts in prop::collection::vec(prop::collection::vec(any_row(), 1..60), 2..6),
        turn in 0_usize..6,
        split in 0_usize..6,
    ) {
        let dir = tempfile::tempdir().unwrap();
        for (number, rows) in parts.iter().enumerate() {
            let (source, part) = (["a", "b"][number % 2], number as u32 / 2);
            write(dir.path(), "turns", source, part, &turns(rows));
        }
        let number = parts.len() as u32;
        manifest(dir.path(), &[("a", number.div_ceil(2)), ("b", number / 2)]);
        let dataset = Dataset::open(dir.path()).unwrap();
        let question = Question::load("held-piece-lost").unwrap();
        let want = answer(&question, &dataset, &Overrides::default()).unwrap();
        let got = added_up(&question, &dataset, turn, split).answer(&question, &dataset).unwrap();
        let json = |answer: &Answer| {
            hobble_report::json(&hobble_comparison::report(answer)).unwrap()
        };
        prop_assert_eq!(json(&got), json(&want));
    }
}
