//! `hobble desk` from end to end: games added, read, stopped and gone on with, told and kept.

#[path = "../../desk/tests/common/client.rs"]
mod client;
mod common;

use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use client::Client;
use common::{assert_refused, check, hobble, repository, scan, season, table};
use serde_json::Value;

/// The program with a desk open, killed when it is dropped.
struct Open {
    client: Client,
    child: Child,
}

impl Open {
    fn on(data: &Path) -> Open {
        let mut child = hobble()
            .arg("desk")
            .arg("--data")
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program runs");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        let address = lines.find_map(|line| {
            let line = line.expect("a line");
            line.trim()
                .starts_with("http://")
                .then(|| line.trim().to_owned())
        });
        Open {
            client: Client::at(&address.expect("an address")),
            child,
        }
    }

    fn read(&self, archives: &[&str]) {
        let mut form = vec![("sample", "1")];
        form.extend(archives.iter().map(|name| ("archive", *name)));
        let form: Vec<_> = form
            .iter()
            .map(|(name, value)| format!("{name}={value}"))
            .collect();
        let answer = self.client.post("/reading", &form.join("&"));
        assert_eq!(answer.status, 303, "{}", answer.body);
    }

    fn state(&self) -> Value {
        serde_json::from_str(&self.client.get("/reading.json").body).expect("JSON")
    }

    /// Waits for the end of a scan, and says how it ended.
    fn ended(&self) -> String {
        let until = Instant::now() + Duration::from_secs(120);
        loop {
            let state = self.state();
            if let Some(ended) = state["ended"].as_str() {
                return ended.to_owned();
            }
            assert!(Instant::now() < until, "{state}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Games kept as PGN by the desk are, scanned again, the games that they were.
#[test]
fn games_are_read_and_come_back_from_the_tables() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let desk = Open::on(&data);
    let hostile = "[Event \"<script>alert(1)</script>\"]\n[White \"\\\"Nan\\\" \\\\ <b>Cobble</b>\"]\n\
        [Black \"{{ 7*7 }}\u{202e}\"]\n[Date \"2031.02.??\"]\n\n1. e4 {[%clk 0:01:02.5][%eval -0.31]} e5 {[%eval #3]} 2. Nf3 *\n\n\
        [White \"A\"]\n[Black \"B\"]\n\n1-0\n\n[White \"A\"]\n\n1. e4 e9 *\n";
    let odd = repository("small-sample/odd-games/chess960.pgn");
    for (name, bytes) in [
        ("Season.pgn", fs::read(season()).unwrap()),
        ("chess960.pgn", fs::read(odd).unwrap()),
        ("hostile.pgn", hostile.as_bytes().to_vec()),
    ] {
        assert_eq!(desk.client.upload(name, &bytes).status, 303);
    }
    desk.read(&[
        "archives/season.pgn",
        "archives/chess960.pgn",
        "archives/hostile.pgn",
    ]);
    assert_eq!(desk.ended(), "whole");
    check(&data);
    let account = desk.client.get("/reading").body;
    assert!(account.contains("unreadable token"), "{account}");
    assert!(account.contains("Read is kept, left out and skipped added up."));

    let list = desk.client.get("/games?event=script").body;
    assert!(list.contains("&lt;script&gt;alert(1)") && !list.contains("<script>alert"));
    assert!(!list.contains('\u{202e}'));
    let game = desk.client.get("/game?source=hostile.pgn&game=1");
    assert_eq!(game.status, 200);
    assert!(game.body.contains("&lt;b&gt;Cobble") && !game.body.contains("<b>Cobble"));
    assert!(game.head.contains("script-src 'sha256-"), "{}", game.head);

    let kept = desk.client.get("/games.pgn").body;
    let again = folder.path().join("again");
    scan(
        &[&common::file(folder.path(), "kept.pgn", kept)],
        &again,
        &["--sample", "1"],
    );
    let (first, second) = (table(&data, "games"), table(&again, "games"));
    assert!(first.num_rows() > 400);
    let columns = "game_id moves_id event site date round white black result white_rating \
        black_rating time_control time_class eco termination variant start_fen plies \
        clocks evals ending";
    for column in columns.split_whitespace() {
        let of = |batch: &arrow_array::RecordBatch| batch.column_by_name(column).unwrap().clone();
        assert_eq!(&of(&first), &of(&second), "{column}");
    }
    for column in [
        "from_square",
        "to_square",
        "clock",
        "eval",
        "mate",
        "taken",
        "given",
    ] {
        let of = |data: &Path| table(data, "moves").column_by_name(column).unwrap().clone();
        assert_eq!(&of(&data), &of(&again), "{column}");
    }
}

/// The season so many times, each time as other events.
fn large(times: usize) -> String {
    let season = fs::read_to_string(season()).unwrap();
    let numbered = |n| season.replace("[Event \"", &format!("[Event \"{n} "));
    (0..times).map(numbered).collect()
}

#[test]
fn a_stopped_scan_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let mut desk = Open::on(&data);
    assert_eq!(
        desk.client.upload("large.pgn", large(24).as_bytes()).status,
        303
    );
    let name = ["archives/large.pgn"];
    desk.read(&name);
    while desk.state()["said"]
        .as_str()
        .is_some_and(|said| said.starts_with("0 games"))
    {
        std::thread::sleep(Duration::from_millis(5));
    }
    // Nobody else may read into the folder at the same time.
    let answer = desk.client.post("/reading", "archive=archives/large.pgn");
    assert_eq!(answer.status, 409, "{}", answer.body);
    assert_eq!(desk.client.post("/reading/stop", "").status, 303);
    assert_eq!(desk.ended(), "stopped");
    assert_eq!(desk.client.get("/").status, 200);

    // A desk that is killed leaves no scan behind.
    desk.read(&name);
    desk.child.kill().unwrap();
    desk.child.wait().unwrap();
    let archive = data.join("archives/large.pgn");
    let until = Instant::now() + Duration::from_secs(20);
    drop(desk);
    let desk = Open::on(&data);
    while Instant::now() < until {
        desk.read(&name);
        if desk.ended() == "whole" {
            break;
        }
        std::thread::sleep(Duration::from_millis(200));
    }
    assert_eq!(desk.state()["ended"], "whole", "{}", desk.state());
    check(&data);
    let straight = folder.path().join("straight");
    scan(&[&archive], &straight, &["--sample", "1"]);
    // The rows of games name their file, and no game is skipped.
    let others = common::TABLES.into_iter();
    for name in others.filter(|name| !["games", "skipped"].contains(name)) {
        assert_eq!(table(&data, name), table(&straight, name), "{name}");
    }
}

#[test]
fn a_second_desk_is_refused_in_one_line() {
    let data = tempfile::tempdir().unwrap();
    let desk = Open::on(data.path());
    let second = hobble().arg("desk").arg("--data").arg(data.path()).output();
    assert_refused(&second.unwrap(), "another desk is open on this folder");
    assert_eq!(desk.client.get("/").status, 200);
}

/// The number beside the menus is the number of spells that the claim's answer counts.
#[test]
fn a_claim_is_counted_while_it_is_built_and_saved() {
    let data = tempfile::tempdir().unwrap();
    scan(&[&season()], data.path(), &[]);
    let desk = Open::on(data.path());
    for form in [
        "filled=yes&kinds=knight&k=1&restrained=yes&by=pawn&developed=yes",
        "filled=yes&kinds=bishop&kinds=queen&k=2&restrained=any&turns=3&phase=middlegame",
        "filled=yes&kinds=rook&k=2&restrained=yes&player=Windlass%2C+Orla",
    ] {
        let said: Value =
            serde_json::from_str(&desk.client.get(&format!("/claim.json?{form}")).body).unwrap();
        let saved = desk
            .client
            .post("/claim", &format!("{form}&name=built&replace=yes"));
        assert_eq!(saved.status, 303, "{}", saved.body);
        let answer = hobble()
            .args(["ask", "--format", "json", "--data"])
            .arg(data.path())
            .arg(data.path().join("questions/built.toml"))
            .output()
            .unwrap();
        let answer: Value = serde_json::from_slice(&answer.stdout).unwrap();
        let spells = answer["spells"].as_u64().unwrap();
        assert!(spells > 0);
        let number = said["number"].as_str().unwrap();
        assert!(
            number.starts_with(&format!("{spells} such piece")),
            "{number} of {spells}"
        );
        assert_eq!(desk.client.get("/questions/built").status, 200);
    }
    let wrong: Value = serde_json::from_str(
        &desk
            .client
            .get("/claim.json?filled=yes&kinds=knight&k=9")
            .body,
    )
    .unwrap();
    assert!(
        wrong["wrong"].as_str().unwrap().starts_with("k: 9 is not"),
        "{wrong}"
    );
    let again = desk
        .client
        .post("/claim", "filled=yes&kinds=knight&name=built");
    assert_eq!(again.status, 409);
    let shipped = desk
        .client
        .post("/claim", "filled=yes&kinds=knight&name=queen-restrained");
    assert_eq!(shipped.status, 409);
}
