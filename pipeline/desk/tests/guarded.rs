//! What is refused: addresses without the secret, other hosts and sites, bodies that are too large,
//! names that lead out of the folder; and a thousand random requests.

mod common;

use std::fs;

use common::Served;
use hobble_desk::{Desk, Settings};
use rand::seq::IndexedRandom as _;
use rand::{Rng as _, SeedableRng as _};

/// Every address that shows something.
const SHOWN: [&str; 24] = [
    "/",
    "/desk.css",
    "/desk.js",
    "/reading",
    "/reading.json",
    "/games",
    "/games.pgn",
    "/game",
    "/game.pgn",
    "/players",
    "/players.json",
    "/player",
    "/habits",
    "/questions",
    "/claim",
    "/claim.json",
    "/positions",
    "/handout",
    "/handout/sheet",
    "/handout.pgn",
    "/handout.json",
    "/quiz",
    "/lessons",
    "/keep",
];

#[test]
fn without_the_secret_there_is_nothing() {
    let data = tempfile::tempdir().unwrap();
    let desk = Served::on(&data.path().join("new"));
    assert_eq!(desk.get("/").status, 200);
    let mut answers = Vec::new();
    for path in [
        "/",
        "/desk.css",
        "/reading",
        "/0123456789abcdef0123456789abcdef/",
        "/%2e%2e/",
    ] {
        for method in ["GET", "POST", "PUT", "HEAD"] {
            let host = &desk.host;
            let request = format!(
                "{method} {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: close\r\n\r\n"
            );
            let answer = String::from_utf8(desk.whole(request.as_bytes())).unwrap();
            assert!(
                answer.starts_with("HTTP/1.1 404 "),
                "{method} {path}: {answer}"
            );
            if method != "HEAD" {
                let lines = answer.lines().filter(|line| !line.starts_with("date:"));
                answers.push(lines.collect::<Vec<_>>().join("\n"));
            }
        }
    }
    answers.dedup();
    assert_eq!(answers.len(), 1, "{answers:?}");
    // The secret of another host's page, or of a page that came from elsewhere.
    for headers in [
        &[("Host", "desk.example")][..],
        &[("Host", &*desk.host), ("Sec-Fetch-Site", "cross-site")],
    ] {
        assert_eq!(desk.ask("GET", "/", headers, b"").status, 404);
    }
    let foreign = [("Host", &*desk.host), ("Origin", "http://evil.example")];
    let answer = desk.ask("POST", "/reading/stop", &foreign, b"");
    assert_eq!(answer.status, 403);
}

#[test]
fn every_answer_says_what_it_may_do() {
    let data = tempfile::tempdir().unwrap();
    let desk = Served::on(data.path());
    for path in SHOWN.iter().chain(&["/nothing", "/../"]) {
        let answer = desk.get(path);
        for header in [
            "content-security-policy: default-src 'none'",
            "referrer-policy: no-referrer",
            "x-content-type-options: nosniff",
            "cache-control: no-store",
            "x-frame-options: DENY",
        ] {
            assert!(answer.head.contains(header), "{path}: {}", answer.head);
        }
        assert!(!answer.head.contains("set-cookie"), "{path}");
        assert!(answer.status < 500, "{path}: {}", answer.status);
    }
    // A folder without games says so where games are needed.
    assert_eq!(desk.get("/games").status, 409);
}

#[test]
fn two_desks_on_a_folder_are_refused() {
    let data = tempfile::tempdir().unwrap();
    let first = Served::on(data.path());
    let Err(second) = Desk::open(Settings::of(data.path())) else {
        panic!("a second desk was opened");
    };
    let line = format!("{second:#}");
    assert!(line.contains("another desk is open on this folder") && !line.contains('\n'));
    drop(first);
    Desk::open(Settings::of(data.path())).unwrap();
}

#[test]
fn uploads_stay_in_the_folder_and_in_bounds() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let desk = Served::open(Settings {
        upload_bytes: 1000,
        ..Settings::of(&data)
    });
    for (name, status) in [
        ("../../../evil.pgn", 303),
        ("..\\evil.pgn", 303),
        ("/etc/evil.pgn", 303),
        ("evil.sh", 400),
        ("", 400),
        ("..", 400),
    ] {
        assert_eq!(desk.upload(name, b"1. e4 *").status, status, "{name}");
    }
    assert_eq!(desk.upload("large.pgn", &[b' '; 1001]).status, 413);
    assert_eq!(desk.upload("fits.pgn", &[b' '; 1000]).status, 303);
    let names = |folder: &std::path::Path| {
        let entries = fs::read_dir(folder).unwrap();
        let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<_> = names.collect();
        names.sort();
        names
    };
    assert_eq!(names(root.path()), ["data"]);
    let kept = ["evil-2.pgn", "evil-3.pgn", "evil.pgn", "fits.pgn"];
    assert_eq!(names(&data.join("archives")), kept);
    // Half a file is none.
    let body = "--b\r\nContent-Disposition: form-data; name=\"archive\"; filename=\"half.pgn\"\r\n\r\n1. e4";
    let request = format!(
        "POST {}/archives HTTP/1.1\r\nHost: {}\r\nOrigin: http://{}\r\n\
         Content-Type: multipart/form-data; boundary=b\r\nContent-Length: 5000\r\n\r\n{body}",
        desk.base, desk.host, desk.host
    );
    desk.raw(request.as_bytes());
    assert_eq!(desk.get("/").status, 200);
    assert_eq!(names(&data.join("archives")), kept);
}

#[test]
fn positions_that_were_kept_are_read_or_refused_whole() {
    let data = tempfile::tempdir().unwrap();
    let desk = Served::on(data.path());
    let position = |fen: &str, nth: usize| {
        format!(
            r#"{{"heading": "Knight {nth} <b>", "caption": "It has & keeps g1.", "facts": [],
            "fen": "{fen}", "bottom": "black", "piece": "white knight", "square": "h3",
            "safe": ["g1"], "taken": [], "arrow": null, "game": {{"source": "../x", "number": 1}}}}"#
        )
    };
    let fen = "r1bqkbnr/ppp3pp/2n1pp2/3pP3/3P4/7N/PPP2PPP/RNBQKB1R w KQkq - 0 5";
    let file = |definitions: u32, positions: &[String]| {
        format!(
            r#"{{"format": 1, "about": "selection", "hobble": "0.1.0", "definitions": {definitions},
            "title": "T", "positions": [{}]}}"#,
            positions.join(", ")
        )
    };
    let add = |text: &str| desk.send_file("/handout/saved", "handout.json", text.as_bytes());
    let (now, none) = (hobble_terms::DEFINITIONS, &[] as &[String]);
    let many: Vec<String> = (0..61).map(|nth| position(fen, nth)).collect();
    let large = " ".repeat(3 << 20);
    for wrong in [
        "",
        "{",
        "\u{0}",
        &file(now - 1, &[position(fen, 1)]),
        &file(now, &[position(fen, 1), position("8/8/8", 2)]),
        &file(now, &many),
        &format!("{large}{}", file(now, none)),
    ] {
        let answer = add(wrong);
        assert!(
            (400..500).contains(&answer.status),
            "{}: {wrong:.80}",
            answer.status
        );
        assert!(!data.path().join("handout.json").exists(), "{wrong:.80}");
    }
    assert_eq!(add(&file(now, &many[..2])).status, 303);
    assert_eq!(add(&file(now, &many[1..3])).status, 303);
    let page = desk.get("/handout").body;
    assert_eq!(page.matches("<article>").count(), 3);
    assert!(page.contains("Knight 2 &lt;b&gt;") && !page.contains("source=.."));
    assert_eq!(desk.get("/handout/sheet").status, 200);
}

#[test]
fn forms_have_a_bound() {
    let data = tempfile::tempdir().unwrap();
    let desk = Served::on(data.path());
    let large = format!("archive={}", "x".repeat(300 * 1024));
    assert_eq!(desk.post("/reading", &large).status, 413);
    assert_eq!(desk.post("/reading", "archive=none.pgn").status, 400);
    let long = "x".repeat(100 * 1024);
    let answer = desk.get(&format!("/games?player={long}"));
    assert!(
        [400, 414, 431].contains(&answer.status),
        "{}",
        answer.status
    );
    assert_eq!(desk.get("/").status, 200);
}

#[test]
fn nothing_outside_the_folder_can_be_asked_for() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    fs::create_dir_all(data.join("questions")).unwrap();
    let question = "format = 1\nabout = \"claim\"\ntitle = \"Canary\"\ntext = \"Canary\"\n";
    fs::write(root.path().join("canary.toml"), question).unwrap();
    fs::write(
        root.path().join("canary.pgn"),
        "[White \"Canary\"]\n\n1. e4 *\n",
    )
    .unwrap();
    let desk = Served::on(&data);
    for path in [
        "/questions/..%2f..%2fcanary",
        "/questions/..%2fcanary?as=csv",
        "/questions/%2e%2e%2f%2e%2e%2fcanary/handout",
        "/questions/../../canary.toml",
        "/claim?from=../../canary",
        "/claim?from=..%5c..%5ccanary",
        "/../../canary.pgn",
        "/%2e%2e/%2e%2e/canary.pgn",
        "/questions/canary%00",
    ] {
        let answer = desk.get(path);
        assert!(
            [404, 409].contains(&answer.status),
            "{path}: {}",
            answer.status
        );
        assert!(!answer.body.contains("Canary"), "{path}");
    }
    for archive in ["../canary.pgn", "archives/../../canary.pgn", "/etc/passwd"] {
        let form = serde_urlencoded::to_string([("archive", archive)]).unwrap();
        assert_eq!(desk.post("/reading", &form).status, 400, "{archive}");
    }
    for name in ["../../evil", "..", "a/b", ".hidden"] {
        let form =
            serde_urlencoded::to_string([("filled", "yes"), ("kinds", "knight"), ("name", name)]);
        let answer = desk.post("/claim", &form.unwrap());
        assert!(
            [400, 409].contains(&answer.status),
            "{name}: {}",
            answer.status
        );
    }
    assert_eq!(fs::read_dir(data.join("questions")).unwrap().count(), 0);
}

/// Bytes of every kind, well-formed requests with odd parts, and forms with odd values.
#[test]
fn a_thousand_random_requests_leave_it_serving() {
    let data = tempfile::tempdir().unwrap();
    let desk = Served::on(data.path());
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(20_311_117);
    let words = [
        "..",
        "%2e%2e",
        "/",
        "\\",
        "%00",
        "%ff",
        "<script>",
        "'\"",
        "\u{202e}",
        "games",
        "questions",
        "knight-restrained-by-pawn",
        "handout",
        "claim.json",
        "?",
        "&",
        "=",
        "page",
        "-1",
        "18446744073709551616",
        "k",
        "kinds",
        "knight",
        "since",
        "9999-99-99",
        "\r\n",
        "{",
        "{{",
        "%",
    ];
    let mut statuses = std::collections::BTreeMap::new();
    for nth in 0..1000 {
        let odd: String = (0..random.random_range(0..8))
            .map(|_| *words.choose(&mut random).unwrap())
            .collect();
        let path = SHOWN.choose(&mut random).unwrap();
        let answer = match nth % 4 {
            0 => {
                let length = random.random_range(0..2000);
                let bytes: Vec<u8> = (0..length).map(|_| random.random()).collect();
                desk.raw(&bytes);
                continue;
            }
            1 => desk.get(&format!("{path}?{}", odd.replace(['\r', '\n'], " "))),
            2 => {
                let method = ["GET", "POST", "HEAD", "OPTIONS", "TRACE"].choose(&mut random);
                let host = desk.host.clone();
                let headers = [
                    ("Host", &*host),
                    ("Origin", "null"),
                    ("X-Odd", "\u{7f}\u{e9}"),
                ];
                desk.ask(
                    method.unwrap(),
                    &format!("/{odd}"),
                    &headers,
                    odd.as_bytes(),
                )
            }
            _ => {
                let posted = ["/reading", "/reading/stop", "/claim", "/archives"];
                desk.post(posted.choose(&mut random).unwrap(), &odd)
            }
        };
        *statuses.entry(answer.status).or_insert(0) += 1;
    }
    assert!(statuses.keys().all(|status| *status < 500), "{statuses:?}");
    assert!(statuses.len() > 3, "{statuses:?}");
    assert_eq!(desk.get("/").status, 200);
    for entry in fs::read_dir(data.path()).unwrap() {
        let name = entry.unwrap().file_name();
        let own = [".desk", "archives", "questions"];
        assert!(own.iter().any(|own| *own == name), "{name:?}");
    }
}
