//! `hobble check`

use std::io::{Read as _, Write as _, stdout};

use anyhow::{Context as _, bail};
use hobble_archive::listing::list;
use hobble_archive::stream::Stream;
use hobble_tables::recount::{Comparison, Recount, strangers};
use hobble_terms::manifest::Manifest;

use crate::arguments::Check;
use crate::words::{counted, grouped, line};

/// Counts the tables again and prints what reconciles.
pub fn run(arguments: &Check) -> anyhow::Result<bool> {
    let folder = &arguments.data;
    let manifest = Manifest::load(folder)?.with_context(|| {
        format!(
            "{}: no manifest.json; scan archives first",
            folder.display()
        )
    })?;
    let recount = Recount::of(folder, &manifest)?;
    let mut report = Report::default();
    for comparison in &recount.comparisons {
        report.compare(comparison)?;
    }
    for expectation in &arguments.expect {
        report.compare(&expected(expectation, &recount)?)?;
    }
    for archive in list(&arguments.archive)? {
        let (sha256, events) = count_text(Stream::open(&archive)?)
            .with_context(|| archive.path().display().to_string())?;
        let name = archive.name();
        let source = manifest
            .sources
            .iter()
            .find(|source| source.sha256.as_deref() == Some(&sha256));
        match source {
            None => report.fail(&format!("{name}: not among the sources (SHA-256 {sha256})"))?,
            Some(source) => {
                report.pass(&format!("{name}: SHA-256 as in the manifest ({sha256})"))?;
                report.compare(&Comparison::new(
                    &format!("games of {name}"),
                    ("lines that start with [Event", events),
                    ("games read", source.account.read),
                ))?;
            }
        }
    }
    for path in strangers(folder, &manifest)? {
        report.fail(&format!("{}: not in the manifest", path.display()))?;
    }
    for source in &manifest.sources {
        if let Some(error) = &source.error {
            report.fail(&format!("{}: {error}", source.file))?;
        } else if !source.complete {
            report.fail(&format!(
                "{}: its scan was interrupted; scan it again to go on",
                source.file
            ))?;
        }
    }
    for (n, source) in manifest.sources.iter().enumerate() {
        let twin = manifest.sources[..n]
            .iter()
            .find(|other| other.sha256.is_some() && other.sha256 == source.sha256);
        if let Some(twin) = twin {
            report.fail(&format!(
                "{}: the same bytes as {}; its games count twice",
                source.file, twin.file
            ))?;
        }
    }
    let mut out = stdout().lock();
    writeln!(
        out,
        "{} start and moves with another game",
        match recount.repeats {
            1 => "1 game shares its".to_owned(),
            n => format!("{} share their", counted(n, "game")),
        }
    )?;
    writeln!(
        out,
        "{} reconcile, {} do not",
        counted(report.passed, "check"),
        report.failed
    )?;
    Ok(report.failed == 0)
}

#[derive(Default)]
struct Report {
    passed: u64,
    failed: u64,
}

impl Report {
    fn compare(&mut self, comparison: &Comparison) -> anyhow::Result<()> {
        let [a, b] = &comparison.ways;
        let (what, sign) = (
            &comparison.what,
            if comparison.agrees() { "=" } else { "≠" },
        );
        let text = format!(
            "{what}: {} {} {sign} {} {}",
            a.0,
            grouped(a.1),
            b.0,
            grouped(b.1)
        );
        if comparison.agrees() {
            self.pass(&text)
        } else {
            self.fail(&text)
        }
    }

    fn pass(&mut self, text: &str) -> anyhow::Result<()> {
        self.passed += 1;
        Ok(writeln!(stdout(), "ok      {}", line(text))?)
    }

    fn fail(&mut self, text: &str) -> anyhow::Result<()> {
        self.failed += 1;
        Ok(writeln!(stdout(), "DIFFERS {}", line(text))?)
    }
}

/// Names of counts that can be expected.
const NAMES: [&str; 16] = [
    "games",
    "read",
    "kept",
    "skipped",
    "plies",
    "captures",
    "en_passant",
    "promotions",
    "castlings",
    "zero_move_games",
    "longest",
    "white_wins",
    "black_wins",
    "draws",
    "unfinished",
    "repeats",
];

fn expected(text: &str, recount: &Recount) -> anyhow::Result<Comparison> {
    let (name, count) = text
        .split_once('=')
        .with_context(|| format!("--expect {text}: write it as games=145716"))?;
    let count: u64 = count
        .replace([',', '_'], "")
        .parse()
        .with_context(|| format!("--expect {text}: `{count}` is no count"))?;
    let account = &recount.account;
    let result = |result: &str| account.results.get(result).copied().unwrap_or(0);
    let found = match name {
        "games" | "read" => account.read,
        "kept" => account.kept,
        "skipped" => account.skipped_total(),
        "plies" => account.plies,
        "captures" => account.captures,
        "en_passant" => account.en_passant,
        "promotions" => account.promotions,
        "castlings" => account.castlings,
        "zero_move_games" => account.zero_move_games,
        "longest" => account.longest,
        "white_wins" => result("1-0"),
        "black_wins" => result("0-1"),
        "draws" => result("1/2-1/2"),
        "unfinished" => result("*"),
        "repeats" => recount.repeats,
        _ => bail!(
            "--expect {text}: no count `{name}`; there are {}",
            NAMES.join(", ")
        ),
    };
    Ok(Comparison::new(
        name,
        ("expected", count),
        ("tables", found),
    ))
}

/// SHA-256 of an archive file, and the lines of its text that start with an Event tag.
fn count_text(mut stream: Stream) -> std::io::Result<(String, u64)> {
    const START: &[u8] = b"[Event ";
    let mut buffer = vec![0; 1 << 20];
    let (mut events, mut column) = (0, 0_usize);
    // Whether the line so far is the start of an Event tag; true at each line's start.
    let mut matching = true;
    loop {
        let length = stream.read(&mut buffer)?;
        if length == 0 {
            return Ok((stream.sha256(), events));
        }
        for &byte in &buffer[..length] {
            if byte == b'\n' {
                (column, matching) = (0, true);
            } else if matching {
                if START.get(column) == Some(&byte) {
                    column += 1;
                    if column == START.len() {
                        events += 1;
                        matching = false;
                    }
                } else {
                    // A byte order mark may stand before it.
                    matching = column == 0 && matches!(byte, 0xef | 0xbb | 0xbf);
                }
            }
        }
    }
}
