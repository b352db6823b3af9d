//! A claim counted at every k, for every phase and rating band, attacked or not, defended or not: what a
//! page needs to answer it for any of these terms.
//!
//! Phase, band, attacked and defended are matched in every comparison, so each stratum has one value of
//! each: to ask for some of them is to take these strata alone. Strata without one of the claim's pieces
//! bear on no figure and are left out, so that the counts stay small.

use std::collections::BTreeMap;

use hobble_conditions::AskError;
use hobble_conditions::chosen::Chooses as _;
use hobble_conditions::terms::{MAX_K, WITHIN, YesNo};
use hobble_dataset::{Dataset, Part};
use hobble_statistics::few::FREE_ROWS;
use hobble_terms::Table;
use rayon::prelude::*;

use crate::cells::{self, Cells, Count};
use crate::choice::{self, Event, Group, Varied};
use crate::file::Claim;
use crate::side;
use crate::state::filters;
use crate::stratum::{Matched, Stratum};
use crate::turn::{self, Turn};

/// Numbers of a place: of all pieces, then of those to whom the outcome came within each horizon.
pub const COLUMNS: usize = 1 + WITHIN.len();

/// The counts of one side of a stratum, by fold.
pub type ByFold = BTreeMap<u8, [Count; COLUMNS]>;

/// A stratum of the claim's pieces.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Turned {
    /// The claim's pieces.
    pub own: ByFold,
    /// Free pieces; none where there are too few for a rate.
    pub free: ByFold,
}

/// The strata at one k, in their order.
pub type AtK = BTreeMap<Stratum, Turned>;

/// Counts a claim at each k, from 0 on.
///
/// # Errors
///
/// Where the table of turns is missing, unreadable or inconsistent.
pub fn turned(dataset: &Dataset, claim: &Claim) -> Result<Vec<AtK>, AskError> {
    let claim = opened(claim);
    let chosen = claim.chosen(dataset)?;
    let sample = chosen.parameters().sample.get();
    let parts = chosen.part_ids(&[Table::Turns], &[])?;
    let cells = parts
        .par_iter()
        .map(|id| match chosen.part(Table::Turns, id) {
            Some(part) => of_part(&claim, &part, sample),
            None => Ok(Cells::default()),
        })
        .try_reduce(Cells::default, |mut sum, other| {
            sum.add(other);
            Ok(sum)
        })?;
    Ok((0..=MAX_K).map(|k| at_k(&cells, k)).collect())
}

/// The claim without the terms that are turned.
fn opened(claim: &Claim) -> Claim {
    Claim {
        phase: Vec::new(),
        band: Vec::new(),
        attacked: YesNo::Any,
        defended: YesNo::Any,
        ..claim.clone()
    }
}

fn of_part(claim: &Claim, part: &Part, sample: u32) -> Result<Cells, AskError> {
    let filters = filters(claim);
    let counter = Counter {
        claim,
        sample,
        matched: choice::matched(claim, Varied::Within),
    };
    let measured = side::measured(claim);
    let count = |turn: &Turn, rows: &mut Vec<cells::Row>| counter.count(turn, rows);
    turn::by_runs(&filters, &measured, part, count)?
        .map(|run| Ok(Cells::of_rows(vec![run?], WITHIN.len())))
        .try_reduce(Cells::default, |mut sum, other| {
            sum.add(other);
            Ok(sum)
        })
}

/// What is counted of each turn.
struct Counter<'a> {
    claim: &'a Claim,
    sample: u32,
    matched: Matched,
}

impl Counter<'_> {
    /// Counts a turn at each k at which it is one of the claim's pieces or free.
    fn count(&self, turn: &Turn, rows: &mut Vec<cells::Row>) {
        let weight = if turn.landmark { 1 } else { self.sample };
        let outcome = self.claim.of_piece();
        let horizons = (0..).zip(WITHIN);
        let came = horizons.fold(0u16, |bits, (place, within)| {
            bits | u16::from(Event::Met(outcome, within).came(turn)) << place
        });
        let free = choice::free_up_to(self.claim, turn);
        for k in 0..=MAX_K {
            let own = Group::Own {
                k,
                turns: self.claim.turns,
            };
            let sides = [
                own.has(self.claim, turn),
                free.is_some_and(|most| most >= k),
            ];
            for (side, _) in (0..).zip(sides).filter(|(_, is)| *is) {
                let stratum = Stratum::of(turn, k).matched(self.matched);
                let place = (2 * k + side, stratum, turn.fold);
                rows.push(cells::Row::new(place, weight, came));
            }
        }
    }
}

/// The strata at a k that have one of the claim's pieces.
fn at_k(cells: &Cells, k: u8) -> AtK {
    let columns: [usize; COLUMNS] = std::array::from_fn(|column| column);
    let number = 2 * usize::from(k);
    let mut strata = AtK::new();
    for (stratum, fold, counts) in cells.of(number, columns) {
        strata.entry(stratum).or_default().own.insert(fold, counts);
    }
    for (stratum, fold, counts) in cells.of(number + 1, columns) {
        if let Some(turned) = strata.get_mut(&stratum) {
            turned.free.insert(fold, counts);
        }
    }
    for turned in strata.values_mut() {
        let rows: u64 = turned.free.values().map(|counts| counts[0].rows).sum();
        if rows < FREE_ROWS {
            turned.free.clear();
        }
    }
    strata
}
