//! `hobble sift`

use std::fs;
use std::io::{Write as _, stdout};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use hobble_conditions::any_state::AnyState;
use hobble_dataset::Dataset;
use hobble_report::Reported as _;
use hobble_sift::grid::SHIPPED;
use hobble_sift::next::{self, Next};
use hobble_sift::work::{self, sift};
use hobble_sift::{Grid, Sifted, ledger};

use crate::arguments::Sift;
use crate::command::ask::write_file;
use crate::command::states;
use crate::words::{line, say_unfinished};

/// Tries a grid of claims, and writes the league and the claims' files; or counts parts for it.
pub fn run(arguments: &Sift) -> anyhow::Result<bool> {
    let state = match (&arguments.state, arguments.from.is_empty()) {
        (None, true) => return whole(arguments),
        (Some(_), true) => count(arguments, first(arguments)?.as_deref())?,
        (_, false) => of_files(&arguments.from)?,
    };
    match (&arguments.state, &arguments.out) {
        (Some(path), _) => {
            state.write(path)?;
            states::say_written(path, state.about())
        }
        (None, Some(out)) => {
            let claims = claims_folder(out)?;
            let sifted = next::league(&*state)?;
            work::write(&claims, &sifted.files)?;
            write_league(out, &sifted)
        }
        (None, None) => bail!("--out or --state: name where the league or what is counted goes"),
    }
}

/// The grid named, or the one that comes with the program.
fn grid(arguments: &Sift) -> anyhow::Result<Grid> {
    let Some(path) = &arguments.grid else {
        return Ok(Grid::parse("the grid of the program", SHIPPED)?);
    };
    let name = path.display().to_string();
    let text = fs::read_to_string(path).with_context(|| format!("{name}: cannot be read"))?;
    Ok(Grid::parse(&name, &text)?)
}

/// Where openings of the locked half of a folder are written down.
fn ledger_of(arguments: &Sift, folder: &Path) -> PathBuf {
    let named = arguments.ledger.clone();
    named.unwrap_or_else(|| ledger::of(folder))
}

fn claims_folder(out: &Path) -> anyhow::Result<PathBuf> {
    let claims = out.join("claims");
    fs::create_dir_all(&claims).with_context(|| format!("{}: cannot be made", claims.display()))?;
    Ok(claims)
}

/// Sifts folders from the first count to the league.
fn whole(arguments: &Sift) -> anyhow::Result<bool> {
    if arguments.stripe.is_some() || arguments.first.is_some() {
        bail!(
            "--stripe and --first: a league is of all parts; name a file with --state for what is counted"
        );
    }
    let out = arguments.out.as_deref().context("--out: name a folder")?;
    let claims = claims_folder(out)?;
    let sifted = if let [folder] = arguments.data.as_slice() {
        let dataset = Dataset::open(folder)?;
        let ledger = ledger_of(arguments, folder);
        sift(&dataset, &grid(arguments)?, &claims, &ledger)?
    } else {
        let moves = count(arguments, None)?;
        let found = count(arguments, Some(&*moves))?;
        if let Next::Open(step) = next::next(&grid(arguments)?, Some(&*found))? {
            work::write_chosen(&claims, &step)?;
        }
        let sifted = next::league(&*count(arguments, Some(&*found))?)?;
        work::write(&claims, &sifted.files)?;
        sifted
    };
    let done = write_league(out, &sifted)?;
    for folder in &arguments.data {
        let meaning = "what was scanned later would be new to both halves";
        say_unfinished(&Dataset::open(folder)?, folder, meaning);
    }
    Ok(done)
}

/// Counts folders, or a share of their parts: what comes after the sum given.
fn count(arguments: &Sift, first: Option<&dyn AnyState>) -> anyhow::Result<Box<dyn AnyState>> {
    let grid = grid(arguments)?;
    let mut sum = None;
    let mut opened = None;
    for folder in &arguments.data {
        let dataset = Dataset::open(folder)?;
        let counting = match next::next(&grid, first)? {
            Next::Count(counting) => counting,
            Next::Open(step) => {
                // A ledger that is named is of all folders: they are opened once.
                let step = match (&arguments.ledger, opened) {
                    (Some(_), Some(opening)) => step.opened(opening),
                    _ => work::open(*step, &ledger_of(arguments, folder), arguments.stripe)?,
                };
                opened = Some(step.opening());
                Box::new(step)
            }
        };
        add(
            &mut sum,
            counting.count(&dataset, arguments.stripe)?,
            folder,
        )?;
    }
    sum.context("no tables are named")
}

/// The sum of the count before, where it is named.
fn first(arguments: &Sift) -> anyhow::Result<Option<Box<dyn AnyState>>> {
    let first = arguments.first.as_deref();
    Ok(first.map(next::read_state).transpose()?)
}

fn of_files(files: &[PathBuf]) -> anyhow::Result<Box<dyn AnyState>> {
    let mut sum = None;
    for file in files {
        add(&mut sum, next::read_state(file)?, file)?;
    }
    sum.context("no states are named")
}

fn add(
    sum: &mut Option<Box<dyn AnyState>>,
    more: Box<dyn AnyState>,
    from: &Path,
) -> anyhow::Result<()> {
    match sum {
        None => *sum = Some(more),
        Some(sum) => sum.add(more).with_context(|| from.display().to_string())?,
    }
    Ok(())
}

/// Prints the league, and writes it in every format.
fn write_league(out: &Path, sifted: &Sifted) -> anyhow::Result<bool> {
    let report = sifted.league.report();
    let text = hobble_report::text(&report);
    let files = [
        ("league.html", hobble_pages::page(&report)?),
        ("league.txt", text.clone()),
        ("league.csv", hobble_report::csv(&report)),
        ("league.json", hobble_report::json(&report)?),
    ];
    let mut stdout = stdout().lock();
    stdout.write_all(text.as_bytes())?;
    writeln!(stdout)?;
    for (name, text) in files {
        let path = out.join(name);
        write_file(&path, &text)?;
        writeln!(stdout, "{}", line(&path.to_string_lossy()))?;
    }
    for (name, _) in &sifted.files {
        let path = out.join("claims").join(name);
        writeln!(stdout, "{}", line(&path.to_string_lossy()))?;
    }
    Ok(true)
}
