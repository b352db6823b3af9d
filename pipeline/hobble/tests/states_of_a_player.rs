//! A question about a player counts the parts twice, and states of both counts add up: the answer is that
//! of one folder, to the last digit.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::states::{
    SMALL, STRIPES, TABLES, added, answered, ask, copy_share, counted, stripes_of, sum, well,
};
use common::{assert_refused, file, gather, hobble, repository, scan, season, sorted};
use serde_json::Value;

const PLAYER: [&str; 4] = ["--player", "Windlass, Orla", "--alias", "Windlass, O."];

/// A question about the player, and the sum of the states of its first count.
fn again<'a>(asked: &[&'a str], first: &'a Path) -> Vec<&'a str> {
    [asked, &["--first", first.to_str().unwrap()]].concat()
}

/// The shipped question with a line more.
fn habits(more: &str) -> String {
    let text = fs::read_to_string(repository("notebooks-free-reports/own-habits.toml")).unwrap();
    format!("{text}\n{more}\n")
}

#[test]
fn both_counts_add_up() {
    let (data, folder) = (TABLES.as_path(), tempfile::tempdir().unwrap());
    let at = |name: &str| folder.path().join(name);
    let own = |name: &str, more: &str| file(folder.path(), name, habits(more));
    let norms = at("norms.parquet");
    let mut command = hobble();
    command
        .args(["norms", "--data"])
        .arg(data)
        .arg("--out")
        .arg(&norms);
    well(command.output().unwrap());
    let peers = ["--peers", norms.to_str().unwrap()];
    let files = [
        own("since.toml", "since = \"2023.10\""),
        own("bands.toml", "band_width = 400"),
    ];
    let asked = files.iter().map(|file| (file.to_str().unwrap(), &[][..]));
    for (question, more) in asked.chain([("own-habits", &[][..]), ("own-habits", &peers[..])]) {
        let asked = [&[question][..], &PLAYER, more].concat();
        let want = answered(&asked, data);
        let first = sum(&stripes_of(&asked, data, folder.path()), &at("first.state"));
        let mut states = stripes_of(&again(&asked, &first), data, folder.path());
        states.rotate_left(1);
        assert_eq!(added(&states), want, "{asked:?}");
        let two = sum(&states[..2], &at("two.state"));
        let rest = [&states[2..], &[two]].concat();
        assert_eq!(added(&rest), want, "{asked:?}, in groups");
    }
}

/// Shares in which no side of a peer passes the filters have games of the player's.
#[test]
fn peers_may_be_in_some_parts_alone() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(season()).unwrap();
    let late = (text.len() / 4 * 3..).find(|at| text.is_char_boundary(*at));
    let (before, after) = text.split_at(late.unwrap());
    let text = before.to_owned() + &after.replace("Ambersley, Corvin", "Quillon, Bram");
    let archive = file(folder.path(), "late.pgn", text);
    let data = folder.path().join("data");
    scan(&[&archive], &data, &SMALL);
    let asked = file(
        folder.path(),
        "own.toml",
        habits("player = [\"Quillon, Bram\"]"),
    );
    let asked = [&[asked.to_str().unwrap()][..], &PLAYER].concat();
    // Part by part.
    let parts = sorted(&data.join("spells/source=late.pgn")).len();
    let of_parts = |asked: &[&str]| -> Vec<PathBuf> {
        let of_one = |part| {
            let to = folder.path().join(format!("{part}.state"));
            counted(asked, &data, Some(&format!("{part}/{parts}")), &to)
        };
        (0..parts).map(of_one).collect()
    };
    let first = sum(&of_parts(&asked), &folder.path().join("first.state"));
    let want = answered(&asked, &data);
    assert_eq!(added(&of_parts(&again(&asked, &first))), want);
    let said: Value = serde_json::from_str(&want).unwrap();
    assert!(said["player"]["games"].as_u64() > Some(20), "{said}");
}

/// The answer needs no tables, and shows games all the same.
#[test]
fn tables_may_be_gone() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    scan(&[&season()], &data, &SMALL);
    let asked = [&["own-habits"][..], &PLAYER].concat();
    let want = answered(&asked, &data);
    let said: Value = serde_json::from_str(&want).unwrap();
    assert!(said["games"][0]["board"]["fen"].is_string());
    assert!(said["missed_chances"][0]["fen"].is_string());
    let first = counted(&asked, &data, None, &folder.path().join("first.state"));
    let second = counted(
        &again(&asked, &first),
        &data,
        None,
        &folder.path().join("all.state"),
    );
    fs::remove_dir_all(&data).unwrap();
    assert_eq!(added(std::slice::from_ref(&second)), want);
    let page = folder.path().join("page.html");
    let mut command = hobble();
    command
        .args(["page", "--from"])
        .arg(&second)
        .arg("--out")
        .arg(&page);
    well(command.output().unwrap());
    assert!(fs::read_to_string(page).unwrap().contains("<svg"));
}

/// Archives scanned apart answer together as when they are gathered.
#[test]
fn folders_answer_together() {
    let folder = tempfile::tempdir().unwrap();
    let of_part = |(number, part): (usize, PathBuf)| {
        let out = folder.path().join(number.to_string());
        scan(&[part.as_path()], &out, &["--repeats", "keep"]);
        out
    };
    let parts = sorted(&repository("small-sample/season-parts"));
    let scans: Vec<PathBuf> = parts.into_iter().enumerate().map(of_part).collect();
    let asked = [&["own-habits"][..], &PLAYER].concat();
    let named = (scans.iter()).flat_map(|one| ["--data", one.to_str().unwrap()]);
    let named: Vec<&str> = named.chain(["--format", "json"]).collect();
    let together = well(ask(&[&asked[..], &named].concat(), &[]));
    let gathered = folder.path().join("gathered");
    assert!(gather(&scans, &gathered).status.success());
    assert_eq!(together, answered(&asked, &gathered));
}

/// A share is counted where its files alone are, in both counts.
#[test]
fn files_of_a_share_are_enough() {
    let folder = tempfile::tempdir().unwrap();
    let asked = [&["own-habits"][..], &PLAYER].concat();
    let of_shares = |asked: &[&str], count: &str| -> Vec<PathBuf> {
        let of_one = |index| {
            let stripe = format!("{index}/{STRIPES}");
            let some = folder.path().join(format!("{count}-{index}"));
            copy_share(asked, TABLES.as_path(), &stripe, &some);
            counted(asked, &some, Some(&stripe), &some.join("a.state"))
        };
        (0..STRIPES).map(of_one).collect()
    };
    let first = sum(
        &of_shares(&asked, "first"),
        &folder.path().join("first.state"),
    );
    let second = of_shares(&again(&asked, &first), "second");
    assert_eq!(added(&second), answered(&asked, TABLES.as_path()));
}

#[test]
fn what_does_not_fit_is_refused() {
    let (data, folder) = (TABLES.as_path(), tempfile::tempdir().unwrap());
    let at = |name: &str| folder.path().join(name);
    let path = data.to_str().unwrap();
    let asked = [&["own-habits"][..], &PLAYER, &["--data", path]].concat();
    let count = |more: &[&str]| ask(&[&asked[..], more, &["--state"]].concat(), &[at("a.state")]);
    let states = stripes_of(&asked[..5], data, folder.path());
    assert_refused(
        &ask(&["--from"], &states),
        "count the parts again with --first",
    );
    let some = sum(&states[..2], &at("some.state"));
    let some = ["--first", some.to_str().unwrap()];
    assert_refused(&count(&some), "not all is counted: ");
    let all = sum(&states, &at("first.state"));
    let all = ["--first", all.to_str().unwrap()];
    let other = [&["--k", "1"][..], &all].concat();
    assert_refused(&count(&other), "the state is of another question");
    assert_refused(
        &ask(&[&asked[..], &all].concat(), &[]),
        "name a file with --state",
    );
    assert_refused(&count(&["--peers", path]), "give norms of them");
    well(count(&all));
    let both = [states[0].clone(), at("a.state")];
    assert_refused(&ask(&["--from"], &both), "states of different questions");
    let second = at("a.state");
    let second = ["--first", second.to_str().unwrap()];
    assert_refused(&count(&second), "not of a player's games");
}
