//! `hobble check`

use std::collections::HashMap;
use std::io::{Read as _, Write as _, stdout};

use anyhow::Context as _;
use hobble_archive::listing::{Input, list};
use hobble_archive::stream::Stream;
use hobble_tables::recount::{Comparison, Recount, unlisted_files};
use hobble_terms::GameResult;
use hobble_terms::manifest::{Manifest, Repeats, Source};

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
        check_archive(&archive, &manifest, &mut report)?;
    }
    for path in unlisted_files(folder, &manifest)? {
        report.fail(&format!("{}: not in the manifest", path.display()))?;
    }
    check_sources(&manifest, &mut report)?;
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

/// Looks for an archive among the sources, by its bytes, and counts its games.
fn check_archive(archive: &Input, manifest: &Manifest, report: &mut Report) -> anyhow::Result<()> {
    let (sha256, events) =
        count_text(Stream::open(archive)?).with_context(|| archive.path().display().to_string())?;
    let name = archive.name();
    let mut files = manifest.sources.iter().flat_map(Source::files);
    let Some(file) = files.find(|file| file.sha256 == Some(&sha256)) else {
        return report.fail(&format!("{name}: not among the sources (SHA-256 {sha256})"));
    };
    report.pass(&format!("{name}: SHA-256 as in the manifest ({sha256})"))?;
    report.compare(&Comparison::new(
        &format!("games of {name}"),
        ("lines that start with [Event", events),
        ("games read", file.games),
    ))
}

/// Names sources that were not read to their end, and those with the bytes of an earlier one.
fn check_sources(manifest: &Manifest, report: &mut Report) -> anyhow::Result<()> {
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
    if manifest.parameters.repeats == Repeats::LeaveOut {
        return Ok(());
    }
    let mut first = HashMap::new();
    for file in manifest.sources.iter().flat_map(Source::files) {
        let Some(sha256) = file.sha256 else {
            continue;
        };
        if let Some(twin) = first.insert(sha256, file.file) {
            report.fail(&format!(
                "{}: the same bytes as {twin}; its games count twice",
                file.file
            ))?;
        }
    }
    Ok(())
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

/// A count that can be expected, by its name.
type Count = (&'static str, fn(&Recount) -> u64);

/// The counts that can be expected.
const COUNTS: [Count; 17] = [
    ("games", |recount| recount.account.read),
    ("read", |recount| recount.account.read),
    ("kept", |recount| recount.account.kept),
    ("repeats_left_out", |recount| recount.account.repeats),
    ("skipped", |recount| recount.account.skipped_total()),
    ("plies", |recount| recount.account.plies),
    ("captures", |recount| recount.account.captures),
    ("en_passant", |recount| recount.account.en_passant),
    ("promotions", |recount| recount.account.promotions),
    ("castlings", |recount| recount.account.castlings),
    ("zero_move_games", |recount| recount.account.zero_move_games),
    ("longest", |recount| recount.account.longest),
    ("white_wins", |recount| games(recount, GameResult::White)),
    ("black_wins", |recount| games(recount, GameResult::Black)),
    ("draws", |recount| games(recount, GameResult::Draw)),
    ("unfinished", |recount| games(recount, GameResult::Unknown)),
    ("repeats", |recount| recount.repeats),
];

/// Games with a result.
fn games(recount: &Recount, result: GameResult) -> u64 {
    let games = recount.account.results.get(result.name());
    games.copied().unwrap_or(0)
}

/// The comparison that `--expect name=count` asks for.
fn expected(text: &str, recount: &Recount) -> anyhow::Result<Comparison> {
    let (name, count) = text
        .split_once('=')
        .with_context(|| format!("--expect {text}: write it as games=145716"))?;
    let count: u64 = count
        .replace([',', '_'], "")
        .parse()
        .with_context(|| format!("--expect {text}: invalid count `{count}`"))?;
    let (name, of) = COUNTS
        .into_iter()
        .find(|(known, _)| *known == name)
        .with_context(|| {
            let names = COUNTS.map(|(name, _)| name).join(", ");
            format!("--expect {text}: unknown count `{name}`; there are {names}")
        })?;
    Ok(Comparison::new(
        name,
        ("expected", count),
        ("tables", of(recount)),
    ))
}

/// SHA-256 of an archive file, and the lines of its text that start with an Event tag.
fn count_text(mut stream: Stream) -> std::io::Result<(String, u64)> {
    const START: &[u8] = b"[Event ";
    let mut buffer = vec![0; 1 << 20];
    let (mut events, mut column) = (0, 0_usize);
    // Whether the line up to here is the start of an Event tag; true at the start of a line.
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
