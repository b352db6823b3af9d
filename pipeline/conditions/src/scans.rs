//! Scans of which some parts are counted: whether states of them belong together, what they are
//! together, and which parts are missing.

use std::collections::BTreeSet;

use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Source};
use serde::{Deserialize, Serialize};

use crate::error::{AskError, refused};

/// Parts named in a message before the rest is a number.
const NAMED: usize = 3;

/// A scan, and which of its parts are counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Scan {
    manifest: Manifest,
    parts: BTreeSet<PartId>,
    /// Tables that were read.
    there: BTreeSet<Table>,
    /// Tables that the manifest names and the folder had not.
    lacking: BTreeSet<Table>,
    /// Sources that stand in the folder but not in the manifest.
    unfinished: BTreeSet<String>,
}

impl Scan {
    /// Of these parts of a dataset, which is narrowed to them, and of the tables that are looked at.
    pub fn of(dataset: &Dataset, parts: &[PartId], tables: &[Table]) -> Scan {
        let named = tables.iter().copied();
        let named = named.filter(|table| dataset.manifest().tables.contains_key(table));
        let (there, lacking) = named.partition(|table| dataset.has(*table));
        let is_read = |table: &Table| !dataset.named_parts(&[*table]).is_empty();
        let there: BTreeSet<Table> = there;
        Scan {
            manifest: dataset.manifest().clone(),
            parts: parts.iter().cloned().collect(),
            there: there.into_iter().filter(is_read).collect(),
            lacking,
            unfinished: dataset.unfinished().iter().cloned().collect(),
        }
    }

    /// Whether it is the scan of a folder.
    pub fn is_of(&self, dataset: &Dataset) -> bool {
        self.manifest == *dataset.manifest()
    }

    /// The same before any part is counted.
    pub fn uncounted(&self) -> Scan {
        Scan {
            parts: BTreeSet::new(),
            there: BTreeSet::new(),
            ..self.clone()
        }
    }

    /// The parts that are to be counted by these tables and are not, and the number of all.
    fn missing(&self, tables: &[Table]) -> (Vec<PartId>, usize) {
        let tables = tables.iter().copied();
        let tables: Vec<Table> = tables.filter(|one| !self.lacking.contains(one)).collect();
        let named = Dataset::of_manifest(self.manifest.clone(), BTreeSet::new(), Vec::new())
            .named_parts(&tables);
        let all = named.len();
        let missing = named.into_iter().filter(|id| !self.parts.contains(id));
        (missing.collect(), all)
    }
}

/// Adds the parts counted of other scans.
///
/// # Errors
///
/// Where a part is counted twice, or scans do not belong together.
pub fn add(scans: &mut Vec<Scan>, others: Vec<Scan>) -> Result<(), AskError> {
    let mut sum = scans.clone();
    for other in others {
        let Some(known) = sum.iter_mut().find(|one| one.manifest == other.manifest) else {
            if let Some(first) = sum.first() {
                agree(first, &other)?;
            }
            sum.push(other);
            continue;
        };
        if let Some(twice) = other.parts.intersection(&known.parts).next() {
            return Err(refused(format!("{twice} is counted twice")));
        }
        let here = |a: &Scan, b: &Scan| a.there.intersection(&b.lacking).next().copied();
        if let Some(table) = here(known, &other).or_else(|| here(&other, known)) {
            return Err(refused(format!(
                "the table of {table} was there for some parts and missing for others"
            )));
        }
        known.parts.extend(other.parts);
        known.there.extend(other.there);
        known.lacking.extend(other.lacking);
        known.unfinished.extend(other.unfinished);
    }
    joined(&sum)?;
    *scans = sum;
    Ok(())
}

/// Asks that two scans were made in the same way, as `hobble gather` does.
fn agree(one: &Scan, other: &Scan) -> Result<(), AskError> {
    let differ = |what: &str| Err(refused(format!("the scans counted differ in {what}")));
    let (a, b) = (&one.manifest, &other.manifest);
    if a.hobble != b.hobble {
        return differ("the version of the program");
    }
    if a.definitions != b.definitions || a.schemas != b.schemas {
        return differ("the version of the columns");
    }
    let lists = [a, b].map(|one| one.parameters.repeats_list.as_ref());
    let passes = [a, b].map(|one| one.parameters.repeats_pass.as_ref());
    if lists.iter().all(Option::is_some) && passes[0] != passes[1] {
        return Err(refused(
            "the scans counted left out repeats by lists of different passes, so that a game may count twice",
        ));
    }
    let alone = |one: &Manifest| {
        let mut parameters = one.parameters.clone();
        parameters.stripe = None;
        parameters.repeats_list = None;
        parameters.repeats_pass = None;
        parameters
    };
    if alone(a) != alone(b) {
        return differ(
            "their parameters (tables, time cuts, sample, repeats, pseudonyms, sizes of blocks and parts)",
        );
    }
    if one.lacking != other.lacking {
        return differ("which tables are there");
    }
    Ok(())
}

/// What scans are together: one manifest, as `hobble gather` would write it; archives stand in the
/// order of the scans.
fn joined(scans: &[Scan]) -> Result<Manifest, AskError> {
    let Some(first) = scans.first() else {
        return Err(refused("nothing is counted"));
    };
    let mut whole = Manifest {
        sources: Vec::new(),
        ..first.manifest.clone()
    };
    whole.parameters.stripe = None;
    // Of each source, the scan it is from.
    let mut from: Vec<&Scan> = Vec::new();
    for scan in scans {
        whole.complete &= scan.manifest.complete;
        for source in &scan.manifest.sources {
            let known = whole
                .sources
                .iter()
                .position(|one| one.source == source.source);
            match known {
                None => {
                    whole.sources.push(source.clone());
                    from.push(scan);
                }
                Some(at) => stripe(&mut whole.sources[at], source, from[at], scan)?,
            }
        }
    }
    for source in &mut whole.sources {
        source.parts.sort_by_key(|part| part.part);
        source.add_up();
    }
    Ok(whole)
}

/// Adds the parts of another stripe of the same archive.
fn stripe(known: &mut Source, source: &Source, of: &Scan, scan: &Scan) -> Result<(), AskError> {
    let file = &source.file;
    if known.file != *file || !known.contents.is_same(&source.contents) {
        return Err(refused(format!(
            "two scans counted call different archives \"{}\"; scan them into one folder",
            source.source
        )));
    }
    match (
        of.manifest.parameters.stripe,
        scan.manifest.parameters.stripe,
    ) {
        (Some(a), Some(b)) if a.of == b.of && a.index != b.index => {
            known.agree_on_time(source);
            known.join_provenance(source);
            known.parts.extend(source.parts.iter().cloned());
            Ok(())
        }
        _ => Err(refused(format!(
            "{file} is counted from two scans of it, so that its games would count twice"
        ))),
    }
}

/// All scans as one dataset without rows, whose parts by these tables are all counted. With
/// `partial` parts may be missing: then the dataset is of those that are counted, and not complete.
///
/// # Errors
///
/// Where parts are missing, and that is not allowed.
pub fn dataset(scans: &[Scan], tables: &[Table], partial: bool) -> Result<Dataset, AskError> {
    let mut whole = joined(scans)?;
    let mut missing = Vec::new();
    let mut all = 0;
    for scan in scans {
        let (of_scan, of_all) = scan.missing(tables);
        missing.extend(of_scan);
        all += of_all;
    }
    let stripes = stripes_missing(scans);
    let is_partial = !(missing.is_empty() && stripes.is_empty());
    if is_partial && !partial {
        return Err(refused(said(&missing, all, &stripes)));
    }
    if !missing.is_empty() {
        let left_out: BTreeSet<&PartId> = missing.iter().collect();
        for source in &mut whole.sources {
            let name = source.source.clone();
            source.parts.retain(|part| {
                !left_out.contains(&PartId {
                    source: name.clone(),
                    number: part.part,
                })
            });
            source.add_up();
        }
        whole.sources.retain(|source| !source.parts.is_empty());
    }
    whole.complete &= !is_partial;
    let lacking: BTreeSet<Table> = scans.iter().flat_map(|one| one.lacking.clone()).collect();
    let there = Table::ALL.into_iter().filter(|one| !lacking.contains(one));
    let unfinished: BTreeSet<String> = scans
        .iter()
        .flat_map(|one| one.unfinished.clone())
        .collect();
    let unfinished = unfinished.into_iter().collect();
    Ok(Dataset::of_manifest(whole, there.collect(), unfinished).with_partial(is_partial))
}

/// What to do about parts that are missing.
fn said(missing: &[PartId], all: usize, stripes: &[String]) -> String {
    let mut named: Vec<String> = stripes.to_vec();
    named.extend(missing.iter().map(ToString::to_string));
    let more = named.len().saturating_sub(NAMED);
    named.truncate(NAMED);
    let mut named = named.join(", ");
    if more > 0 {
        named.push_str(&format!(" and {more} more"));
    }
    let of = match missing.len() {
        0 => String::new(),
        some => format!("{some} of {all} parts, "),
    };
    format!(
        "not all is counted: {of}{named} missing; add their states, or ask with --partial for an answer to what is counted"
    )
}

/// Stripes of archives that no scan here has.
fn stripes_missing(scans: &[Scan]) -> Vec<String> {
    let mut missing = BTreeSet::new();
    for scan in scans {
        let Some(stripe) = scan.manifest.parameters.stripe else {
            continue;
        };
        for source in &scan.manifest.sources {
            let has = |index| {
                scans.iter().any(|one| {
                    let own = one
                        .manifest
                        .parameters
                        .stripe
                        .is_some_and(|own| own.index == index);
                    own && one
                        .manifest
                        .sources
                        .iter()
                        .any(|own| own.source == source.source)
                })
            };
            let without = (0..stripe.of).filter(|index| !has(*index));
            missing.extend(
                without.map(|index| format!("stripe {index}/{} of {}", stripe.of, source.file)),
            );
        }
    }
    missing.into_iter().collect()
}

/// The parts counted, of all scans.
pub fn counted(scans: &[Scan]) -> impl Iterator<Item = &PartId> {
    scans.iter().flat_map(|scan| &scan.parts)
}
