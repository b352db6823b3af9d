//! Answers from states: what is counted of parts of the tables, on one machine or many, written to
//! files and added up, is what is counted of the whole, to the last digit.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::states::{
    SMALL, TABLES, added, ask, copy_share, questions, state, stripes, sum, well, whole,
};
use common::{assert_refused, file, gather, hobble, repository, scan, season, sorted};
use proptest::prelude::*;
use serde_json::Value;

#[test]
fn parts_of_a_scan_answer_every_question_as_the_whole() {
    let data = TABLES.as_path();
    let folder = tempfile::tempdir().unwrap();
    for question in questions() {
        let want = whole(&question, data);
        let states = stripes(&question, data, folder.path());
        let other: Vec<PathBuf> = [2, 0, 3, 1].map(|at| states[at].clone()).into();
        assert_eq!(added(&states), want, "{question}");
        assert_eq!(added(&other), want, "{question}, in another order");
        // States of states.
        let both = sum(&other[..2], &folder.path().join("both.state"));
        let three = [other[3].clone(), both, other[2].clone()];
        assert_eq!(added(&three), want, "{question}, in groups");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_cut_and_order_is_the_whole(
        of in 2_usize..9,
        keys in prop::collection::vec(any::<u32>(), 8),
        question in prop::sample::select(vec![
            "rook-restrained",
            "held-piece-lost",
            "restraint-by-band",
            "scope-of-a-side",
        ]),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut states: Vec<(u32, PathBuf)> = (0..of)
            .map(|index| {
                let path = folder.path().join(format!("{index}.state"));
                let stripe = format!("{index}/{of}");
                (keys[index], state(question, TABLES.as_path(), Some(&stripe), &path))
            })
            .collect();
        states.sort();
        let states: Vec<PathBuf> = states.into_iter().map(|(_, path)| path).collect();
        prop_assert_eq!(added(&states), whole(question, TABLES.as_path()));
    }
}

/// The answer needs no tables: not those of the examples either.
#[test]
fn tables_may_be_gone() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    scan(&[&season()], &data, &SMALL);
    let want = whole("rook-restrained", &data);
    let said: Value = serde_json::from_str(&want).unwrap();
    assert!(!said["quiz"].as_array().unwrap().is_empty());
    assert!(said["examples"][0]["game"]["white"].is_string());
    let one = state(
        "rook-restrained",
        &data,
        None,
        &folder.path().join("all.state"),
    );
    fs::remove_dir_all(&data).unwrap();
    assert_eq!(added(std::slice::from_ref(&one)), want);
    let page = folder.path().join("page.html");
    let mut command = hobble();
    command
        .args(["page", "--from"])
        .arg(&one)
        .arg("--out")
        .arg(&page);
    well(command.output().unwrap());
    assert!(fs::read_to_string(page).unwrap().contains("<svg"));
}

/// Archives scanned apart, and stripes of one archive, answer as when they are gathered; so do several
/// folders that are named at once.
#[test]
fn scans_made_apart_answer_as_gathered() {
    let folder = tempfile::tempdir().unwrap();
    let parts = sorted(&repository("small-sample/season-parts"));
    let mut scans: Vec<PathBuf> = Vec::new();
    for (number, part) in parts.iter().enumerate() {
        let out = folder.path().join(format!("archive-{number}"));
        scan(&[part.as_path()], &out, &["--repeats", "keep"]);
        scans.push(out);
    }
    compare_with_gathered(&scans, folder.path());
    let mut scans: Vec<PathBuf> = Vec::new();
    for stripe in ["0/2", "1/2"] {
        let out = folder.path().join(stripe.replace('/', "-of-"));
        scan(
            &[&season()],
            &out,
            &[&SMALL[..], &["--stripe", stripe]].concat(),
        );
        scans.push(out);
    }
    let apart = state(
        "rook-restrained",
        &scans[0],
        None,
        &folder.path().join("one.state"),
    );
    assert_refused(&ask(&["--from"], &[apart]), "stripe 1/2 of ");
    compare_with_gathered(&scans, folder.path());
}

fn compare_with_gathered(scans: &[PathBuf], folder: &Path) {
    let asked = [
        "rook-restrained",
        "restraint-by-band",
        "scope-of-a-side",
        "held-piece-lost",
    ];
    let mut answers = Vec::new();
    for question in asked {
        let of_one = |(number, data): (usize, &PathBuf)| {
            state(
                question,
                data,
                None,
                &folder.join(format!("{number}.state")),
            )
        };
        let states: Vec<PathBuf> = scans.iter().enumerate().map(of_one).collect();
        let from_states = added(&states);
        let mut together = vec![question, "--format", "json"];
        let named = scans
            .iter()
            .flat_map(|one| ["--data", one.to_str().unwrap()]);
        together.extend(named);
        assert_eq!(well(ask(&together, &[])), from_states, "{question}");
        answers.push(from_states);
    }
    let out = folder.join("gathered");
    let _ = fs::remove_dir_all(&out);
    assert!(gather(scans, &out).status.success());
    for (question, answer) in asked.into_iter().zip(answers) {
        assert_eq!(answer, whole(question, &out), "{question}");
    }
}

/// A question that looks at some games and sides alone, of which some parts have none.
#[test]
fn chosen_sides_add_up() {
    let folder = tempfile::tempdir().unwrap();
    let text =
        fs::read_to_string(repository("notebooks-free-reports/rook-restrained.toml")).unwrap();
    for filter in [
        "player = [\"Windlass, Orla\"]",
        "since = \"2024.03\"\nband_width = 400",
    ] {
        let own = file(folder.path(), "own.toml", format!("{text}\n{filter}\n"));
        let own = own.to_str().unwrap();
        let want = whole(own, TABLES.as_path());
        assert!(want.contains("\"chosen\""), "{filter}");
        assert_eq!(
            added(&stripes(own, TABLES.as_path(), folder.path())),
            want,
            "{filter}"
        );
    }
    let nobody = format!("{text}\nplayer = [\"Nobody, At All\"]\n");
    let nobody = file(folder.path(), "own.toml", nobody);
    let states = stripes(nobody.to_str().unwrap(), TABLES.as_path(), folder.path());
    assert_refused(
        &ask(&["--from"], &states),
        "no side of a game passes the filters",
    );
}

/// A share is counted where its files alone are.
#[test]
fn files_of_a_share_are_enough() {
    let folder = tempfile::tempdir().unwrap();
    for question in [
        "rook-restrained",
        "restraint-by-band",
        "held-piece-lost",
        "scope-of-a-side",
    ] {
        let mut states = Vec::new();
        for index in 0..3 {
            let stripe = format!("{index}/3");
            let some = folder.path().join(format!("{question}-{index}"));
            copy_share(&[question], TABLES.as_path(), &stripe, &some);
            let path = some.join("a.state");
            states.push(state(question, &some, Some(&stripe), &path));
        }
        assert_eq!(
            added(&states),
            whole(question, TABLES.as_path()),
            "{question}"
        );
        let first = folder.path().join(format!("{question}-0"));
        let wrong = [
            question,
            "--data",
            first.to_str().unwrap(),
            "--stripe",
            "1/3",
            "--state",
        ];
        let output = ask(&wrong, &[first.join("b.state")]);
        assert_refused(&output, "named by the manifest, but not there");
    }
}
