//! `hobble sift`

use std::fs;
use std::io::{Write as _, stdout};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, bail};
use hobble_conditions::any_state::AnyState;
use hobble_conditions::counting::Counting;
use hobble_dataset::Dataset;
use hobble_report::Reported as _;
use hobble_sift::grid::SHIPPED;
use hobble_sift::next;
use hobble_sift::work::{self, sift};
use hobble_sift::{Grid, Sifted, ledger};

use crate::arguments::Sift;
use crate::command::ask::write_file;
use crate::command::states;
use crate::words::{counted, line, say_unfinished};

/// Tries a grid of claims, and writes the league and the claims' files; or counts parts for it.
pub fn run(arguments: &Sift) -> anyhow::Result<bool> {
    if let Some(path) = &arguments.open {
        return open(arguments, path);
    }
    if arguments.list_files {
        return list_files(arguments);
    }
    let state = match (&arguments.state, arguments.from.is_empty()) {
        (None, true) => return whole(arguments),
        (Some(_), true) => count(arguments, next_count(arguments)?)?,
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

/// The same of all folders: one file where it is named.
fn ledgers(arguments: &Sift) -> Vec<PathBuf> {
    let folders = arguments.data.iter();
    let mut ledgers: Vec<_> = folders.map(|folder| ledger_of(arguments, folder)).collect();
    ledgers.dedup();
    ledgers
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
        of_folders(arguments, &claims)?
    };
    let done = write_league(out, &sifted)?;
    for folder in &arguments.data {
        let meaning = "what was scanned later would be new to both halves";
        say_unfinished(&Dataset::open(folder)?, folder, meaning);
    }
    Ok(done)
}

/// Counts folders one by one from the first count to the league, and writes the files of the claims.
fn of_folders(arguments: &Sift, claims: &Path) -> anyhow::Result<Sifted> {
    let ledgers = ledgers(arguments);
    work::readable(&ledgers)?;
    let grid = grid(arguments)?;
    let moves = count(arguments, next::next(&grid, None)?.counting()?)?;
    let found = count(arguments, next::next(&grid, Some(&*moves))?.counting()?)?;
    let step = next::next(&grid, Some(&*found))?.to_open()?;
    work::write_chosen(claims, &step)?;
    let last = count(arguments, Arc::new(work::open(step, &ledgers)?))?;
    let sifted = next::league(&*last)?;
    work::write(claims, &sifted.files)?;
    Ok(sifted)
}

/// Counts folders, or a share of their parts.
fn count(arguments: &Sift, counting: Arc<dyn Counting>) -> anyhow::Result<Box<dyn AnyState>> {
    let mut sum = None;
    for folder in &arguments.data {
        let dataset = Dataset::open(folder)?;
        let state = Arc::clone(&counting).count(&dataset, arguments.stripe)?;
        add(&mut sum, state, folder)?;
    }
    sum.context("no tables are named")
}

/// What is counted next of the parts, by the sum of the count before where it is named.
fn next_count(arguments: &Sift) -> anyhow::Result<Arc<dyn Counting>> {
    let first = first(arguments)?;
    Ok(next::next(&grid(arguments)?, first.as_deref())?.counting()?)
}

/// Opens the locked half for what the sum of the count before found, and writes what shares of it are given.
fn open(arguments: &Sift, to: &Path) -> anyhow::Result<bool> {
    let found = first(arguments)?.context("--first: name the sum of the count before")?;
    let folders = arguments.data.iter().map(Dataset::open);
    let folders = folders.collect::<Result<Vec<_>, _>>()?;
    let step = next::next(&grid(arguments)?, Some(&*found))?.to_open()?;
    let ledgers = ledgers(arguments);
    let step = work::open(step, &ledgers)?;
    next::opened(step.clone(), &*found, &folders)?.write(to)?;
    let mut out = stdout();
    let to = line(&to.to_string_lossy());
    match step.opening() {
        None => writeln!(out, "{to}: no claim is asked, the locked half stays locked")?,
        Some(opening) => {
            let asked = counted(step.claims()?.len() as u64, "claim");
            let ledgers: Vec<_> = ledgers
                .iter()
                .map(|one| line(&one.to_string_lossy()))
                .collect();
            let ledgers = ledgers.join(", ");
            writeln!(
                out,
                "{to}: {asked} asked of the locked half, opening {opening} of it in {ledgers}"
            )?;
        }
    }
    Ok(true)
}

/// Prints the files that are read for a count of a share of the parts, as paths in their folders.
fn list_files(arguments: &Sift) -> anyhow::Result<bool> {
    let counting = next_count(arguments)?;
    // Said here, so that no machine begins to count.
    work::readable(&ledgers(arguments))?;
    states::list_files(&arguments.data, |dataset| {
        Ok(counting.files(dataset, arguments.stripe))
    })
}

/// The sum of the count before, where it is named: of the tables that are named.
fn first(arguments: &Sift) -> anyhow::Result<Option<Box<dyn AnyState>>> {
    let Some(file) = &arguments.first else {
        return Ok(None);
    };
    let first = next::read_state(file)?;
    for folder in &arguments.data {
        if !first.about().is_of_tables(&Dataset::open(folder)?) {
            let (file, folder) = (file.display(), folder.display());
            bail!("{file}: counted of other tables than those in {folder}");
        }
    }
    Ok(Some(first))
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
