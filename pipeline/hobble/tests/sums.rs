//! The work of a question about a player is two sums over the parts of the tables: in whatever order
//! and grouping parts are added, from files or not, the answer is that to all of them.

mod common;

use std::path::{Path, PathBuf};

use common::{repository, scan, sorted};
use hobble_conditions::counted::Counted;
use hobble_conditions::sum::Sum;
use hobble_conditions::{Peers, Player};
use hobble_dataset::Dataset;
use hobble_player::{BesidePeers, Habits, HabitsAnswer, OwnSides, answer};

/// The counts of all parts, in this order: the first alone, written and read back; then the rest
/// together, or one after the other.
fn added_up<S: Sum>(
    question: &S,
    dataset: &Dataset,
    order: [usize; 3],
    one_by_one: bool,
) -> Counted<S::State> {
    let ids = dataset.part_ids(question.tables(), question.optional());
    let ids = ids.expect("parts");
    assert_eq!(ids.len(), 3);
    let of = |places: &[usize]| {
        let ids: Vec<_> = places.iter().map(|place| ids[*place].clone()).collect();
        Counted::of(question, dataset, &ids).expect("counted")
    };
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("state");
    of(&order[..1]).write(&file).expect("written");
    let mut sum = Counted::read(&file).expect("read");
    if one_by_one {
        sum.add(of(&order[1..2])).expect("added");
        sum.add(of(&order[2..])).expect("added");
    } else {
        let mut rest = of(&order[1..]);
        rest.add(sum).expect("added");
        sum = rest;
    }
    sum
}

fn player() -> Player {
    Player {
        name: "Windlass, Orla".to_owned(),
        aliases: vec!["Windlass, O.".to_owned()],
    }
}

fn habits(more: &str) -> Habits {
    let file = repository("notebooks-free-reports/own-habits.toml");
    let text = std::fs::read_to_string(file).expect("question") + more;
    Habits::parse("own-habits", "own-habits.toml", &text).expect("question")
}

fn json(answer: &HabitsAnswer) -> String {
    hobble_report::json(&hobble_player::report(answer)).expect("JSON")
}

/// Asks in every order of the parts and compares with the answer to all.
fn compare(folder: &Path, habits: &Habits, peers: Option<&Peers>) {
    let (dataset, player) = (Dataset::open(folder).expect("tables"), player());
    let want = json(&answer(habits, &dataset, &player, peers).expect("answer"));
    let first = OwnSides::of(habits, &player).expect("question");
    let (mut states, mut own_states) = (Vec::new(), Vec::new());
    for order in [[0, 1, 2], [2, 1, 0], [1, 0, 2], [1, 2, 0]] {
        for one_by_one in [true, false] {
            let found = added_up(&first, &dataset, order, one_by_one);
            let own = found.answer(&first, &dataset).expect("answer");
            let second = BesidePeers::of(habits, &player, own, peers).expect("question");
            let counted = added_up(&second, &dataset, order, one_by_one);
            let got = counted.answer(&second, &dataset).expect("answer");
            assert_eq!(json(&got), want, "{order:?}, {one_by_one}");
            own_states.push(found);
            states.push(counted);
        }
    }
    assert!(states.iter().all(|state| *state == states[0]));
    assert!(own_states.iter().all(|state| *state == own_states[0]));
}

#[test]
fn of_a_player_parts_are_added_in_any_order() {
    let parts = sorted(&repository("small-sample/season-parts"));
    let parts: Vec<&Path> = parts.iter().map(PathBuf::as_path).collect();
    let scanned = tempfile::tempdir().expect("folder");
    let folder = scanned.path();
    scan(&parts, folder, &[]);
    compare(folder, &habits(""), None);
    compare(folder, &habits("\nsince = \"2023.10\"\n"), None);
    let theirs = Peers::open(folder.to_owned()).expect("tables");
    compare(folder, &habits(""), Some(&theirs));
}
