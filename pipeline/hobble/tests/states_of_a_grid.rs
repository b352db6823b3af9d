//! A grid of claims counts the parts three times, and states of each count add up: the league is that of
//! one folder, byte for byte.

mod common;
/// Tables in which a claim is found; in the season none is.
#[path = "../../sift/tests/common/mod.rs"]
mod found;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use common::states::{STRIPES, TABLES, state, well};
use common::{assert_refused, file, gather, hobble, repository, scan, sorted};
use serde_json::Value;

/// Few claims, so that the season has pieces enough for some.
const GRID: &str = "format = 1\nkinds = [\"knight\", \"bishop\", \"rook\", \"queen\"]\nk = [1, 2]\nturns = [2, 3]\nwithin = 10\noutcome = \"captured\"\nmost_conditions = 1\nopen_at_most = 24\n\n[conditions]\nby = [\"pawn\", \"piece\"]\nphase = [[\"middlegame\"]]\n";

fn sift(arguments: &[&str], paths: &[PathBuf]) -> Output {
    let mut command = hobble();
    let output = command.arg("sift").args(arguments).args(paths).output();
    output.expect("the program runs")
}

/// The league and the files of its claims, by their names.
fn league(out: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = common::files(out);
    files.retain(|name, _| name.to_string_lossy() != "ledger.json");
    assert!(files.contains_key(Path::new("league.html")), "{files:?}");
    files
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path")
}

/// A grid, and the folder of the tables that it is tried on.
struct Tried {
    grid: PathBuf,
    data: PathBuf,
}

impl Tried {
    /// Runs the program on them.
    fn run(&self, more: &[&str]) -> Output {
        let asked = [text(&self.grid), "--data", text(&self.data)];
        sift(&[&asked, more].concat(), &[])
    }

    /// Counts a share into a file.
    fn share(&self, index: usize, more: &[&str], to: &Path) {
        let stripe = format!("{index}/{STRIPES}");
        let share = ["--stripe", &stripe, "--state", text(to)];
        well(self.run(&[more, &share].concat()));
    }

    /// Counts all shares, and adds them in another order.
    fn sum(&self, more: &[&str], to: &Path) -> PathBuf {
        let count = |index| {
            let path = to.with_extension(format!("{index}.state"));
            self.share(index, more, &path);
            path
        };
        let mut states: Vec<PathBuf> = (0..STRIPES).map(count).collect();
        states.rotate_right(1);
        well(sift(&["--state", text(to), "--from"], &states));
        to.to_owned()
    }

    /// Counts all shares three times, the locked half opened in the ledger named or in that of the tables.
    fn league(&self, ledger: &[&str], to: &Path) -> String {
        let at = |name: &str| to.join(name);
        let moves = self.sum(&[], &at("moves"));
        let found = self.sum(&["--first", text(&moves)], &at("found"));
        let opened = at("opened");
        let open = ["--first", text(&found), "--open", text(&opened)];
        well(self.run(&[&open, ledger].concat()));
        let last = self.sum(&["--first", text(&opened)], &at("last"));
        well(sift(&["--out", text(&at("added")), "--from"], &[last]))
    }
}

/// The openings that a ledger has.
fn openings(ledger: &Path) -> usize {
    let ledger: Value = serde_json::from_slice(&fs::read(ledger).unwrap()).unwrap();
    ledger["openings"].as_array().unwrap().len()
}

#[test]
fn shares_and_folders_make_the_league_of_the_whole() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let grid = file(folder.path(), "grid.toml", GRID);
    let ledger = |name: &str| at(name).to_str().unwrap().to_owned();
    let whole = |data: &[&str], out: &Path, ledger: &str| {
        let asked = [&[text(&grid)], data, &["--ledger", ledger, "--out"]].concat();
        well(sift(&asked, &[out.to_owned()]))
    };
    let said = whole(
        &["--data", text(TABLES.as_path())],
        &at("whole"),
        &ledger("a"),
    );

    let tried = Tried {
        grid: grid.clone(),
        data: TABLES.as_path().to_owned(),
    };
    let printed = tried.league(&["--ledger", &ledger("b")], folder.path());
    assert_eq!(league(&at("added")), league(&at("whole")));
    assert_eq!(printed.replace("/added/", "/whole/"), said);
    // No claim is found in the season: the locked half stays locked.
    assert!(!at("a").exists() && !at("b").exists());

    // Archives scanned apart, and the same gathered.
    let scanned = |(number, part): (usize, PathBuf)| {
        let out = at(&number.to_string());
        scan(&[part.as_path()], &out, &["--repeats", "keep"]);
        out
    };
    let parts = sorted(&repository("small-sample/season-parts"));
    let scans: Vec<PathBuf> = parts.into_iter().enumerate().map(scanned).collect();
    let named: Vec<&str> = scans.iter().flat_map(|one| ["--data", text(one)]).collect();
    whole(&named, &at("together"), &ledger("c"));
    let gathered = at("gathered");
    assert!(gather(&scans, &gathered).status.success());
    whole(&["--data", text(&gathered)], &at("one"), &ledger("d"));
    assert_eq!(league(&at("together")), league(&at("one")));
}

/// Tables in which a claim is found, in as many parts as there are shares.
fn tables(folder: &Path) -> Tried {
    let data = folder.join("data");
    found::dataset(&data, 2 * STRIPES as u32);
    let grid = file(folder, "grid.toml", found::GRID);
    Tried { grid, data }
}

#[test]
fn the_locked_half_is_opened_once() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let tried = tables(folder.path());
    let ledger = tried.data.join("sift-openings.json");
    let [own, out] = [at("ledger.json"), at("whole")];
    let said = well(tried.run(&["--ledger", text(&own), "--out", text(&out)]));
    let printed = tried.league(&[], folder.path());
    assert_eq!(league(&at("added")), league(&out));
    assert_eq!(printed.replace("/added/", "/whole/"), said);
    assert_eq!(league(&out).len(), 5, "a claim is asked");
    let same = fs::read(&ledger).unwrap() == fs::read(&own).unwrap();
    assert!(same && openings(&ledger) == 1);

    // A share that is counted again, from the files alone that it needs, opens nothing.
    let first = ["--first", text(&at("opened"))].map(str::to_owned);
    let first = [&*first[0], &*first[1]];
    let copy = Tried {
        grid: tried.grid.clone(),
        data: at("copy"),
    };
    let share = ["--stripe", "1/4", "--list-files"];
    let listed = well(tried.run(&[&first[..], &share].concat()));
    for name in listed.lines().chain(["manifest.json"]) {
        let to = copy.data.join(name);
        fs::create_dir_all(to.parent().unwrap()).unwrap();
        fs::copy(tried.data.join(name), to).unwrap();
    }
    let listed: Vec<&str> = listed.lines().collect();
    let of_tables = |table: &str| listed.iter().filter(|name| name.starts_with(table)).count();
    assert_eq!(
        [of_tables("games/"), of_tables("turns/"), listed.len()],
        [2, 2, 4]
    );
    copy.share(1, &first, &at("again"));
    assert_eq!(
        fs::read(at("again")).unwrap(),
        fs::read(at("last.1.state")).unwrap()
    );
    assert!(openings(&ledger) == 1 && !copy.data.join("sift-openings.json").exists());
    // The first count reads the games alone.
    let listed = well(tried.run(&["--list-files"]));
    assert_eq!(listed.lines().count(), 2 * STRIPES);
    assert!(
        listed.lines().all(|name| name.starts_with("games/")),
        "{listed}"
    );

    // To open it again is a second opening, which the league says.
    tried.league(&[], folder.path());
    assert_eq!(openings(&ledger), 2);
    let league = fs::read_to_string(at("added/league.txt")).unwrap();
    assert!(league.contains("opened 1 time before"), "{league}");
}

#[test]
fn folders_are_opened_together() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let grid = file(folder.path(), "grid.toml", found::GRID);
    let [one, two] = [at("one"), at("two")];
    found::some_parts(&one, "a", 2, 0..1);
    found::some_parts(&two, "b", 2, 1..2);
    let both = [text(&grid), "--data", text(&one), "--data", text(&two)];
    let ledgers = [&one, &two].map(|data| data.join("sift-openings.json"));
    let run = |more: &[&str]| well(sift(&[&both, more].concat(), &[]));
    run(&["--out", text(&at("whole"))]);
    assert_eq!(ledgers.each_ref().map(|ledger| openings(ledger)), [1, 1]);

    // Folder by folder: both are opened before either is counted.
    let count = |more: &[&str], to: &str| {
        let states = [(&one, "1"), (&two, "2")].map(|(data, number)| {
            let state = at(&format!("{to}.{number}"));
            let data = ["--data", text(data), "--state", text(&state)];
            well(sift(&[&[text(&grid)], more, &data].concat(), &[]));
            state
        });
        well(sift(&["--state", text(&at(to)), "--from"], &states));
    };
    count(&[], "moves");
    count(&["--first", text(&at("moves"))], "found");
    for ledger in &ledgers {
        fs::remove_file(ledger).unwrap();
    }
    let said = run(&["--first", text(&at("found")), "--open", text(&at("opened"))]);
    assert!(
        said.contains("1 claim asked of the locked half, opening 1 of it in "),
        "{said}"
    );
    count(&["--first", text(&at("opened"))], "last");
    well(sift(
        &["--out", text(&at("added")), "--from"],
        &[at("last")],
    ));
    assert_eq!(league(&at("added")), league(&at("whole")));
    assert_eq!(ledgers.each_ref().map(|ledger| openings(ledger)), [1, 1]);
    // Opened for one folder alone, the other stays locked.
    let [found, alone, none] = ["found", "alone", "none"].map(at);
    let of = |data: &Path, more: [&str; 4]| {
        let data = [text(&grid), "--data", text(data)];
        sift(&[&data[..], &more].concat(), &[])
    };
    well(of(&two, ["--first", text(&found), "--open", text(&alone)]));
    assert_eq!(ledgers.each_ref().map(|ledger| openings(ledger)), [1, 2]);
    let locked = of(&one, ["--first", text(&alone), "--state", text(&none)]);
    assert_refused(&locked, "alone: counted of other tables than those in ");
    // A ledger that is named is of both.
    let own = at("own.json");
    run(&[
        "--first",
        text(&at("found")),
        "--ledger",
        text(&own),
        "--open",
        text(&at("opened")),
    ]);
    assert_eq!(openings(&own), 1);
    assert_eq!(ledgers.each_ref().map(|ledger| openings(ledger)), [1, 2]);
}

#[test]
fn an_opening_that_does_not_fit_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let tried = tables(folder.path());
    tried.league(&[], folder.path());
    let ledger = tried.data.join("sift-openings.json");
    let [moves, found, opened] = ["moves", "found", "opened"].map(at);
    let new = at("new");
    let refused = |tried: &Tried, first: &Path, way: &str, words: &str| {
        let more = ["--first", text(first), way, text(&new)];
        assert_refused(&tried.run(&more), words);
    };
    refused(
        &tried,
        &found,
        "--state",
        "the locked half is counted next and is not open: open it with --first and --open",
    );
    refused(
        &tried,
        &moves,
        "--open",
        "not of the half in which claims are looked for",
    );
    refused(
        &tried,
        &opened,
        "--open",
        "not of the half in which claims are looked for",
    );
    refused(
        &tried,
        &at("last"),
        "--state",
        "not of a count before another",
    );
    refused(
        &tried,
        &at("last.0.state"),
        "--state",
        "not of a count before another",
    );
    let other = Tried {
        grid: file(
            folder.path(),
            "other.toml",
            found::GRID.replace("within = 10", "within = 5"),
        ),
        data: tried.data.clone(),
    };
    refused(
        &other,
        &opened,
        "--state",
        "the state is of another question",
    );
    refused(&other, &found, "--open", "the state is of another question");
    // Other tables were not opened.
    let others = Tried {
        grid: tried.grid.clone(),
        data: at("others"),
    };
    found::dataset(&others.data, 3);
    refused(
        &others,
        &opened,
        "--state",
        "opened: counted of other tables than those in ",
    );
    refused(
        &others,
        &found,
        "--open",
        "found: counted of other tables than those in ",
    );
    assert!(openings(&ledger) == 1 && !others.data.join("sift-openings.json").exists());
    // What cannot be written down is not opened.
    fs::write(&ledger, "{}").unwrap();
    refused(
        &tried,
        &found,
        "--open",
        "sift-openings.json: invalid: missing field",
    );
    // Before any count as well.
    assert_refused(
        &tried.run(&["--list-files"]),
        "sift-openings.json: invalid: missing field",
    );
    let none = at("none.toml");
    assert_refused(
        &sift(
            &[text(&none), "--data", text(&tried.data), "--list-files"],
            &[],
        ),
        "none.toml: cannot be read",
    );
    for arguments in [
        vec!["--open", text(&new)],
        vec![
            "--open",
            text(&new),
            "--first",
            text(&found),
            "--stripe",
            "0/2",
        ],
        vec!["--state", text(&new), "--ledger", "a"],
        vec!["--list-files", "--state", text(&new)],
    ] {
        let output = tried.run(&arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
    assert!(!new.exists());
}

#[test]
fn what_does_not_fit_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let tried = Tried {
        grid: file(folder.path(), "grid.toml", GRID),
        data: TABLES.as_path().to_owned(),
    };
    let moves = tried.sum(&[], &at("moves"));
    let refused = |arguments: &[&str], paths: &[PathBuf], words: &str| {
        assert_refused(&sift(arguments, paths), words);
    };
    let out = at("out");
    let league = ["--out", text(&out), "--from"];
    refused(
        &league,
        std::slice::from_ref(&moves),
        "count the parts again with --first",
    );
    let data = ["--data", text(TABLES.as_path())];
    let shipped = [&data[..], &["--first", text(&moves), "--state"]].concat();
    refused(&shipped, &[at("a")], "the state is of another question");
    let of_claim = state(
        "rook-restrained",
        TABLES.as_path(),
        Some("1/4"),
        &at("claim"),
    );
    let both = [moves, of_claim];
    refused(&league, &both, "claim: of a question, not of a grid");
    for arguments in [
        &[&data[..], &["--stripe", "0/2", "--out"]].concat(),
        &[&data[..], &["--from"]].concat(),
        &vec!["--out"],
    ] {
        let output = sift(arguments, &[at("none")]);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
    assert!(!fs::exists(at("none")).unwrap());
}
