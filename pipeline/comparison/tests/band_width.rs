//! Rating bands are as wide as the question says, whatever the tables have.

use hand_made_tables::{Turn, manifest, parameters, turns, write};
use hobble_comparison::{Answer, Question, answer};
use hobble_conditions::terms::Key;
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use hobble_terms::manifest::{Manifest, Parameters};

/// Asks tables with bands of `theirs` points, one held knight in each of these bands.
fn ask(theirs: u16, bands: &[&'static str], question: &Question) -> Result<Answer, AskError> {
    let dir = tempfile::tempdir().unwrap();
    let row = |&band: &&'static str| Turn {
        band,
        safe: 2,
        ..Turn::default()
    };
    let rows: Vec<Turn> = bands.iter().map(row).collect();
    write(dir.path(), "turns", "a", 0, &turns(&rows));
    manifest(dir.path(), &[("a", 1)]);
    let written = Manifest::load(dir.path()).unwrap().unwrap();
    let mut scanned = Manifest {
        parameters: Parameters {
            band_width: theirs,
            ..parameters()
        },
        ..written
    };
    scanned.save(dir.path()).unwrap();
    answer(question, &Dataset::open(dir.path())?, &Overrides::default())
}

fn by_band(band_width: u16) -> Question {
    Question {
        examples: 0,
        group_by: vec![Key::Band],
        band_width,
        ..Question::load("held-piece-lost").unwrap()
    }
}

/// Labels of the rows and the held turns of each.
fn rows(answer: &Answer) -> Vec<(&str, u64)> {
    let rows = answer.rows.iter();
    rows.map(|row| (row.label.as_str(), row.restricted.turns))
        .collect()
}

const NARROW: [&str; 5] = [
    "1300-1399",
    "1400-1499",
    "1500-1599",
    "1600-1699",
    "missing",
];

#[test]
fn bands_of_the_tables_are_taken_together() {
    let all = ("all", 5);
    let got = ask(100, &NARROW, &by_band(200)).unwrap();
    let wide = [
        ("rated 1200-1399", 1),
        ("rated 1400-1599", 2),
        ("rated 1600-1799", 1),
    ];
    assert_eq!(rows(&got)[..3], wide);
    assert_eq!(rows(&got).last(), Some(&all));
    let got = ask(100, &NARROW, &by_band(300)).unwrap();
    assert_eq!(
        rows(&got)[..2],
        [("rated 1200-1499", 2), ("rated 1500-1799", 2)]
    );
    let got = ask(100, &NARROW, &by_band(100)).unwrap();
    assert_eq!(
        rows(&got)[..2],
        [("rated 1300-1399", 1), ("rated 1400-1499", 1)]
    );
    assert_eq!(got.rows.len(), 6);
}

#[test]
fn a_filter_is_on_the_width_of_the_question() {
    let of = |band: &str, band_width| Question {
        band: vec![band.to_owned()],
        ..by_band(band_width)
    };
    let got = ask(100, &NARROW, &of("1400-1599", 200)).unwrap();
    assert_eq!(
        rows(&got),
        [("all", 2)].map(|(_, n)| ("rated 1400-1599", n))
    );
    for (band, width, near) in [
        ("1850-2049", 200, "as 1800-1999"),
        ("1400-1499", 200, "as 1400-1599"),
        ("1400-1599", 300, "as 1200-1499"),
    ] {
        let refused = ask(100, &NARROW, &of(band, width)).unwrap_err().to_string();
        assert!(
            refused.contains(band) && refused.contains(near),
            "{refused}"
        );
        assert!(!refused.contains('\n'));
    }
}

#[test]
fn tables_with_wider_bands_are_read_where_they_can_be() {
    let bands = ["1000-1199", "1200-1399", "1400-1599"];
    let got = ask(200, &bands, &by_band(400)).unwrap();
    assert_eq!(
        rows(&got)[..2],
        [("rated 800-1199", 1), ("rated 1200-1599", 2)]
    );
    let refused = ask(200, &bands, &by_band(300)).unwrap_err().to_string();
    assert!(
        refused.contains("are 200 points wide, and none 300 points wide can be made"),
        "{refused}"
    );
    // A damaged manifest.
    assert!(ask(0, &bands, &by_band(300)).is_err());
}
