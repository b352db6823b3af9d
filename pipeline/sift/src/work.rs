//! From the tables to the league and the claims' files.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use hobble_claim::confirmation::Confirmation;
use hobble_conditions::chosen;
use hobble_dataset::Dataset;
use hobble_report::replace_file;

use crate::SiftError;
use crate::answer::{Entry, FORMAT, League};
use crate::grid::{Grid, Tried, in_words};
use crate::league::{self, Asked, Opened};
use crate::ledger::{Ledger, Opening};
use crate::pieces::Pieces;
use crate::split::{Half, Split};

/// What was sifted.
#[derive(Debug)]
pub struct Sifted {
    /// The league.
    pub league: League,
    /// Files of claims written.
    pub claims: Vec<PathBuf>,
}

/// Tries the grid on one half of the games, asks the other half what passed, and writes the files
/// of the claims asked into `folder`. The opening is written into the file `ledger` before the half
/// is read.
///
/// # Errors
///
/// Where a table is missing or unreadable, or a file cannot be written.
pub fn sift(
    dataset: &Dataset,
    grid: &Grid,
    folder: &Path,
    ledger: &Path,
) -> Result<Sifted, SiftError> {
    // A ledger that cannot be read stops before any work.
    Ledger::read(ledger)?;
    let chosen = chosen::of_question(grid.games(), dataset)?;
    let dataset = &*chosen;
    let split = Split::of(dataset)?;
    let tried = grid.tried()?;
    let searched = {
        let pieces = Pieces::read(dataset, &split, Half::Search, grid)?;
        league::search(grid, &pieces, &tried)
    };
    let asked = league::chosen(grid, &tried, &searched);
    let claims: Vec<&Tried> = asked.iter().map(|at| &tried[*at]).collect();
    let mut files = Vec::new();
    for claim in &claims {
        files.push(write(folder, claim, &claim.text)?);
    }
    let (opening, opened) = if claims.is_empty() {
        (None, Vec::new())
    } else {
        let opening = Ledger::add(
            ledger,
            Opening {
                hobble: env!("CARGO_PKG_VERSION").to_owned(),
                grid: grid.hash().to_owned(),
                tried: tried.len() as u64,
                claims: claims.iter().map(|claim| claim.claim.hash()).collect(),
            },
        )?;
        let pieces = Pieces::read(dataset, &split, Half::Locked, grid)?;
        (Some(opening), league::open(grid, &pieces, &claims))
    };
    let mut entries = Vec::new();
    for ((at, claim), opened) in asked.iter().zip(&claims).zip(&opened) {
        let stamp = stamp(claim, opened, (opening, tried.len(), claims.len()), &split);
        let text = match &stamp {
            Some(stamp) => stamped(&claim.text, stamp),
            None => claim.text.clone(),
        };
        write(folder, claim, &text)?;
        entries.push(entry(claim, &searched[*at], opened, stamp));
    }
    entries.sort_by(|a, b| a.order().total_cmp(&b.order()).then(a.name.cmp(&b.name)));
    let league = League {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        grid: grid.hash().to_owned(),
        games: split.counts,
        tried: tried.len() as u64,
        tested: searched.iter().filter(|asked| asked.p.is_some()).count() as u64,
        passed: searched.iter().filter(|asked| asked.passes()).count() as u64,
        opened: claims.len() as u64,
        confirmed: entries.iter().filter(|entry| entry.confirmed).count() as u64,
        opening,
        within: grid.within(),
        outcome: grid.outcome(),
        claims: entries,
        dataset: dataset.summary().clone(),
    };
    Ok(Sifted {
        league,
        claims: files,
    })
}

fn entry(claim: &Tried, searched: &Asked, opened: &Opened, stamp: Option<Confirmation>) -> Entry {
    Entry {
        name: claim.claim.name.clone(),
        pieces: in_words(&claim.claim),
        hash: claim.claim.hash(),
        search: searched.into(),
        locked: (&opened.asked).into(),
        twins: opened.twins.to_vec(),
        others: opened.others.clone(),
        confirmed: stamp.is_some_and(|stamp| stamp.holds()),
    }
}

/// What is written into the claim's file; `None` where the locked half has too few.
fn stamp(
    claim: &Tried,
    opened: &Opened,
    (opening, tried, asked): (Option<u32>, usize, usize),
    split: &Split,
) -> Option<Confirmation> {
    let compared = &opened.asked.compared;
    let interval = compared.ratio.jackknife?;
    Some(Confirmation {
        hash: claim.claim.hash(),
        opening: opening?,
        tried: tried as u64,
        opened: asked as u64,
        games: split.counts.locked,
        events: compared.compared_held_outcomes,
        ratio: compared.ratio.value?,
        low: interval.low,
        high: interval.high,
        p: opened.asked.adjusted?,
    })
}

/// A claim's file with what the locked half said.
fn stamped(text: &str, stamp: &Confirmation) -> String {
    let Confirmation {
        hash,
        opening,
        tried,
        opened,
        games,
        events,
        ratio,
        low,
        high,
        p,
    } = stamp;
    format!(
        "{text}\n# What the locked half said. It is void where a field above, but for title, text and quiz, is changed.\n[confirmation]\nhash = \"{hash}\"\nopening = {opening}\ntried = {tried}\nopened = {opened}\ngames = {games}\nevents = {events}\nratio = {ratio:?}\nlow = {low:?}\nhigh = {high:?}\np = {p:?}\n"
    )
}

fn write(folder: &Path, claim: &Tried, text: &str) -> Result<PathBuf, SiftError> {
    let path = folder.join(format!("{}.toml", claim.claim.name));
    replace_file(&path, |file| file.write_all(text.as_bytes())).map_err(|source| {
        SiftError::Write {
            path: path.clone(),
            source,
        }
    })?;
    Ok(path)
}
