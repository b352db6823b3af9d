//! Turns at which the claim's piece could have been restrained, for all terms: played against anything
//! else, by stratum, the owner's rating band and fold.

use std::collections::BTreeMap;

use hobble_conditions::AskError;
use hobble_conditions::terms::WITHIN;
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;
use hobble_statistics::few::FREE_ROWS;
use rustc_hash::FxHashMap;

use super::super::decision::unmeasured;
use super::super::decision_rows::{COLUMNS, Columns, Done, Folds, phase_of};
use super::super::file::Claim;
use super::packed::{put, put_counts};
use super::twins::place_of;

/// Numbers of a place: of all turns, then of those to which the outcome came within each horizon.
const NUMBERS: usize = 1 + WITHIN.len();

/// k, way of folding, stratum, band of the owner, whether it was played, fold.
type Place = (u8, u8, u64, u64, bool, u8);

/// Counts by fold: where it was played, and where anything else was.
type Both = [BTreeMap<u8, [u64; NUMBERS]>; 2];

/// Turns by what was played.
#[derive(Debug, Default)]
pub struct Chances {
    counts: FxHashMap<Place, [u64; NUMBERS]>,
}

/// The k's at which a claim's chances are kept, of the claim at each k.
fn measured(claims: &[Claim]) -> impl Iterator<Item = (u8, &Claim)> {
    let all = (0..).zip(claims);
    all.filter(|(_, claim)| unmeasured(claim, true).is_none())
}

impl Chances {
    /// Counts the rows of a part, for a claim at each k.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable or not of its schema.
    pub fn of(claims: &[Claim], part: &Part) -> Result<Chances, AskError> {
        if measured(claims).next().is_none() {
            return Ok(Chances::default());
        }
        let in_batch = |rows: &Rows, chances: &mut Chances| chances.in_batch(rows, claims);
        part.count(&COLUMNS, Chances::default, in_batch, Chances::add)
    }

    fn in_batch(&mut self, rows: &Rows, claims: &[Claim]) -> Result<(), AskError> {
        let columns = Columns::of(rows, &claims[0])?;
        for row in 0..rows.len() {
            for (k, claim) in measured(claims) {
                let Some((done, stratum)) = columns.done_at(row, claim)? else {
                    continue;
                };
                let first = columns.first_horizon(rows, row, claim)?;
                let counts = std::array::from_fn(|column| u64::from(column == 0 || column > first));
                let band = columns.owner_band(rows, row)?;
                for (way, fold) in (0..).zip(columns.folds(row)) {
                    let place = (k, way, stratum, band, done == Done::Played, fold);
                    self.count(place, counts);
                }
            }
        }
        Ok(())
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Chances) {
        for (place, counts) in other.counts {
            self.count(place, counts);
        }
    }

    fn count(&mut self, place: Place, counts: [u64; NUMBERS]) {
        let sums = self.counts.entry(place).or_default();
        for (sum, count) in sums.iter_mut().zip(counts) {
            *sum += count;
        }
    }

    /// Adds the counts to bytes, for each k of those measured and for both ways of folding: the number of
    /// strata; of each its phase and the number of bands; of each the place among `bands`, the counts where
    /// it was played and those where anything else was. Strata without a turn at which it was played are left
    /// out, and the other turns where these are too few for a rate.
    pub fn pack(self, bytes: &mut Vec<u8>, claims: &[Claim], bands: &[u64]) {
        let mut ways: BTreeMap<(u8, u8), BTreeMap<u64, BTreeMap<u64, Both>>> = BTreeMap::new();
        for ((k, way, stratum, band, played, fold), counts) in self.counts {
            let strata = ways.entry((k, way)).or_default();
            let both = strata.entry(stratum).or_default().entry(band).or_default();
            both[usize::from(!played)].insert(fold, counts);
        }
        let none = BTreeMap::new();
        for (k, _) in measured(claims) {
            for way in 0..Folds::ALL.len() {
                let strata = ways.get(&(k, way as u8)).unwrap_or(&none);
                let played =
                    |bands: &&BTreeMap<u64, Both>| bands.values().any(|both| !both[0].is_empty());
                let kept: Vec<_> = strata.iter().filter(|(_, bands)| played(bands)).collect();
                put(bytes, kept.len() as u64);
                for (stratum, by_band) in kept {
                    put_stratum(bytes, *stratum, by_band, bands);
                }
            }
        }
    }
}

fn put_stratum(bytes: &mut Vec<u8>, stratum: u64, by_band: &BTreeMap<u64, Both>, bands: &[u64]) {
    let others = by_band.values().flat_map(|both| both[1].values());
    let enough = others.map(|counts| counts[0]).sum::<u64>() >= FREE_ROWS;
    put(bytes, phase_of(stratum));
    put(bytes, by_band.len() as u64);
    for (band, [played, others]) in by_band {
        put(bytes, place_of(*band, bands));
        put_counts(bytes, played);
        put_counts(
            bytes,
            if enough {
                others
            } else {
                const { &BTreeMap::new() }
            },
        );
    }
}
