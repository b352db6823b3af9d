//! `hobble scan`

use std::collections::BTreeMap;
use std::fs;
use std::io::{Write, stdout};
use std::num::NonZeroUsize;
use std::path::Path;
use std::process;
use std::thread;

use anyhow::{Context as _, bail};
use hobble_archive::error::with_causes;
use hobble_archive::listing::{Input, list};
use hobble_tables::pseudonyms::PseudonymKey;
use hobble_tables::repeats::RepeatsList;
use hobble_tables::scan::{Event, Options, Watch, scan};
use hobble_terms::Table;
use hobble_terms::account::Account;
use hobble_terms::manifest::{Manifest, Parameters, Provenance, Repeats};
use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use super::summary::Summary;
use crate::arguments::Scan;
use crate::closed_pipe::is_closed_pipe;
use crate::fixed_date::fixed_date;
use crate::progress;
use crate::words::{counted, grouped, left_out, same_bytes, say};

/// Scans archives into tables and prints the account.
pub fn run(arguments: &Scan) -> anyhow::Result<bool> {
    let inputs = list(&arguments.archives)?;
    let repeats = match &arguments.repeats_list {
        Some(_) if inputs.len() != 1 => bail!("--repeats-list: goes with one archive"),
        Some(path) => Some(RepeatsList::read(path)?),
        None => None,
    };
    let pseudonyms = arguments.pseudonyms.as_deref().map(pseudonym_key);
    let pseudonyms = pseudonyms.transpose()?;
    let options = Options {
        parameters: Parameters {
            pseudonyms: pseudonyms.as_ref().map(PseudonymKey::noted),
            repeats_list: repeats.as_ref().map(|list| list.sha256().to_owned()),
            repeats_pass: repeats.as_ref().map(|list| list.pass().to_owned()),
            ..parameters(arguments)?
        },
        threads: threads(arguments.threads),
        repeats,
        provenance: Provenance {
            origin: arguments.origin.clone(),
            licence: arguments.licence.clone(),
            commit: option_env!("HOBBLE_COMMIT").map(str::to_owned),
            date: fixed_date()?,
        },
        pseudonyms,
    };
    let total = inputs.iter().map(Input::size).sum::<Option<u64>>();
    let bar = progress::bar(total);
    let watch = Watch::default();
    let mut messages = Messages {
        bar: &bar,
        summary: Summary::new(arguments.name_skipped),
        repeats: options.parameters.repeats,
        incomplete: false,
    };
    on_interrupt()?;
    if arguments.watched {
        stop_with_input();
    }
    let result = thread::scope(|scope| {
        scope.spawn(|| match arguments.watched {
            true => progress::print(&watch),
            false => progress::draw(&bar, &watch),
        });
        let result = scan(&inputs, &arguments.out, &options, &watch, &mut |event| {
            messages.print(&event);
        });
        watch.finish();
        result
    });
    for line in messages.summary.lines() {
        say(&line);
    }
    let manifest = result?;
    for source in &manifest.sources {
        if !source.complete && !inputs.iter().any(|input| input.name() == source.file) {
            messages.incomplete = true;
            say(&format!(
                "{}: not read to its end by a former scan; name it again to go on",
                source.file
            ));
        }
    }
    if arguments.watched {
        return Ok(!messages.incomplete && manifest.account().reconciles());
    }
    match print_account(&manifest) {
        // What was scanned counts, not who reads about it.
        Err(error) if is_closed_pipe(&error) => {}
        printed => printed.context("standard output: cannot be written")?,
    }
    Ok(!messages.incomplete && manifest.account().reconciles())
}

/// Threads to work with: those asked for, or one for each core.
pub(super) fn threads(asked: Option<NonZeroUsize>) -> NonZeroUsize {
    asked.unwrap_or_else(|| thread::available_parallelism().unwrap_or(NonZeroUsize::MIN))
}

/// Prints a message if the user stops the scan. What is complete is kept anyway.
fn on_interrupt() -> anyhow::Result<()> {
    let mut signals = Signals::new([SIGINT, SIGTERM])?;
    thread::spawn(move || {
        if let Some(signal) = signals.forever().next() {
            say(STOPPED);
            // As a shell counts a death by signal (common practice, no source).
            process::exit(128 + signal);
        }
    });
    Ok(())
}

/// Stops the scan where standard input ends: whoever started it asks it to, or is gone.
fn stop_with_input() {
    thread::spawn(|| {
        let _ = std::io::copy(&mut std::io::stdin(), &mut std::io::sink());
        say(STOPPED);
        process::exit(128 + SIGINT);
    });
}

/// What is said where a scan is stopped.
const STOPPED: &str =
    "hobble: stopped; what is complete is kept, the same command goes on from there";

/// The key of pseudonyms in a file.
fn pseudonym_key(path: &Path) -> anyhow::Result<PseudonymKey> {
    let bytes = fs::read(path).with_context(|| format!("{}: cannot be read", path.display()))?;
    PseudonymKey::new(&bytes).with_context(|| {
        format!(
            "{}: {} are too few for a key of pseudonyms: {} or more are needed, at random",
            path.display(),
            counted(bytes.len() as u64, "byte"),
            PseudonymKey::LEAST_BYTES
        )
    })
}

fn parameters(arguments: &Scan) -> anyhow::Result<Parameters> {
    let mut tables = Vec::new();
    for name in &arguments.tables {
        let table = Table::from_name(name.trim()).with_context(|| {
            let names: Vec<_> = Table::ALL.iter().map(|table| table.name()).collect();
            format!(
                "--tables: no table `{name}`; there are {}",
                names.join(", ")
            )
        })?;
        if !tables.contains(&table) {
            tables.push(table);
        }
    }
    tables.sort();
    if tables.contains(&Table::Players) && !tables.contains(&Table::Games) {
        bail!("--tables: the table players is made from games: name both, or neither");
    }
    let Ok(time_cuts) = <[u32; 3]>::try_from(arguments.time_cuts.clone()) else {
        bail!("--time-cuts: three numbers of seconds, as 180,480,1500");
    };
    if !time_cuts.is_sorted() {
        bail!("--time-cuts: the numbers must not go down, as in 180,480,1500");
    }
    Ok(Parameters {
        tables,
        time_cuts,
        block_bytes: arguments.cut.block_kib as usize * 1024,
        part_blocks: arguments.cut.part_blocks,
        sample: arguments.sample,
        repeats: match arguments.repeats {
            crate::arguments::Repeats::LeaveOut => Repeats::LeaveOut,
            crate::arguments::Repeats::Keep => Repeats::Keep,
        },
        stripe: arguments.cut.stripe,
        ..Parameters::default()
    })
}

/// Messages about what happens, beside the output.
struct Messages<'a> {
    bar: &'a indicatif::ProgressBar,
    /// What was skipped, for the end.
    summary: Summary,
    /// What is done with repeats.
    repeats: Repeats,
    /// Whether an archive was not read to its end, or counts twice.
    incomplete: bool,
}

impl Messages<'_> {
    fn print(&mut self, event: &Event<'_>) {
        match event {
            Event::Begin { resumed: 0, .. } => {}
            Event::Begin { file, .. } => {
                self.say(&format!(
                    "{file}: going on where the last scan was interrupted"
                ));
            }
            Event::Done { file, error: None } => {
                self.say(&format!("{file}: scanned before, left as it is"));
            }
            Event::Done {
                error: Some(error), ..
            } => {
                self.incomplete = true;
                self.say(&format!("{error}; scanned before, left as it is"));
            }
            Event::Unopened { error } => {
                self.incomplete = true;
                self.say(&format!("{}; left out", with_causes(*error)));
            }
            Event::Skipped { file, game } => self.summary.skipped(file, game),
            Event::PassedOver { file, oddity } => self.summary.passed_over(file, oddity),
            Event::Broken { error } => {
                self.incomplete = true;
                self.say(&format!(
                    "{}; what came before is kept",
                    with_causes(*error)
                ));
            }
            Event::SameBytes { file, as_file } => match self.repeats {
                Repeats::LeaveOut => self.say(&left_out(file, as_file)),
                Repeats::Keep => {
                    self.incomplete = true;
                    self.say(&same_bytes(file, as_file));
                }
            },
        }
    }

    fn say(&self, line: &str) {
        // A hidden bar prints nothing.
        self.bar.suspend(|| say(line));
    }
}

/// Prints the games read and kept, what they hold, and the size of the tables.
pub(super) fn print_account(manifest: &Manifest) -> anyhow::Result<()> {
    let account = manifest.account();
    let mut out = stdout().lock();
    print_games(&mut out, &account)?;
    writeln!(out)?;
    print_counts(&mut out, &account)?;
    writeln!(out)?;
    for (table, size) in &manifest.tables {
        writeln!(
            out,
            "table {:<9} {:>14} rows {:>16} bytes",
            table.name(),
            grouped(size.rows),
            grouped(size.bytes)
        )?;
    }
    Ok(())
}

fn print_games(out: &mut impl Write, account: &Account) -> std::io::Result<()> {
    writeln!(out, "games read     {:>14}", grouped(account.read))?;
    writeln!(out, "games kept     {:>14}", grouped(account.kept))?;
    writeln!(out, "repeats        {:>14}", grouped(account.repeats))?;
    writeln!(
        out,
        "games skipped  {:>14}",
        grouped(account.skipped_total())
    )?;
    for (reason, n) in &account.skipped {
        writeln!(out, "  {reason:<18} {:>8}", grouped(*n))?;
    }
    let verdict = if account.reconciles() {
        "reconciles"
    } else {
        "DOES NOT RECONCILE"
    };
    writeln!(
        out,
        "read = kept + repeats + skipped: {} = {} + {} + {}: {verdict}",
        grouped(account.read),
        grouped(account.kept),
        grouped(account.repeats),
        grouped(account.skipped_total())
    )?;
    Ok(())
}

fn print_counts(out: &mut impl Write, account: &Account) -> std::io::Result<()> {
    for (name, n) in [
        ("plies", account.plies),
        ("captures", account.captures),
        ("  en passant", account.en_passant),
        ("promotions", account.promotions),
        ("castlings", account.castlings),
        ("zero-move games", account.zero_move_games),
        ("longest game, plies", account.longest),
        ("games with a rating", account.rated_games),
        ("games with repaired text", account.repaired_games),
        ("tag lines not readable", account.unread_tags),
        ("games before stray text", account.stray_texts),
        ("clock comments", account.clocks),
        ("evaluation comments", account.evals),
        ("observations", account.observations),
    ] {
        writeln!(out, "{name:<25} {:>14}", grouped(n))?;
    }
    let listed = |counts: &BTreeMap<String, u64>| {
        let counts = counts
            .iter()
            .map(|(name, n)| format!("{name} {}", grouped(*n)));
        counts.collect::<Vec<_>>().join(" · ")
    };
    writeln!(
        out,
        "results                   {}",
        listed(&account.results)
    )?;
    writeln!(out, "spells by end             {}", listed(&account.spells))?;
    Ok(())
}
