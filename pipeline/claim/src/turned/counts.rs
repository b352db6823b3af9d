//! The claim's pieces, comparable free ones and milder restraints, at every k, by stratum and fold.
//!
//! Phase, band, attacked and defended are matched in every comparison, so each stratum has one value of
//! each: to ask for some of them is to take these strata alone. Strata without one of the claim's pieces
//! or of a milder restraint bear on no figure and are left out, so that the counts stay small.

use std::collections::BTreeMap;

use hobble_conditions::terms::{MAX_K, WITHIN};
use hobble_statistics::few::FREE_ROWS;

use super::super::cells::{self, Cells};
use super::super::choice::{self, Event, Group, Varied};
use super::super::count::Count;
use super::super::file::Claim;
use super::super::stratum::{Matched, Stratum};
use super::super::turn::Turn;

/// Events counted: the outcome within each horizon, and the loss of another piece of the side.
const EVENTS: usize = 2 * WITHIN.len();

/// Numbers of a place: of all pieces, then of those to whom each event came.
pub const COLUMNS: usize = 1 + EVENTS;

/// Sides of a stratum that are counted at each k: own, free, placebo.
const SIDES: u8 = 3;

/// The counts of one side of a stratum, by fold.
pub type ByFold = BTreeMap<u8, [Count; COLUMNS]>;

/// A stratum of the claim's pieces, or of milder restraints.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sides {
    /// The claim's pieces.
    pub own: ByFold,
    /// Free pieces; none where there are too few for a rate.
    pub free: ByFold,
    /// Those of the free pieces from which a move of the claim's sort took squares, but left more than k.
    pub placebo: ByFold,
}

/// The strata at one k, in their order.
pub type AtK = BTreeMap<Stratum, Sides>;

/// What is counted of each turn.
pub struct Counter<'a> {
    /// The claim at each k.
    claims: &'a [Claim],
    sample: u32,
    matched: Matched,
}

impl Counter<'_> {
    /// Counts for a claim at each k, of tables that keep one turn in `sample`.
    pub fn new(claims: &[Claim], sample: u32) -> Counter<'_> {
        Counter {
            claims,
            sample,
            matched: choice::matched(&claims[0], Varied::Within),
        }
    }

    /// Counts a turn at each k at which it is one of the claim's pieces or free.
    pub fn count(&self, turn: &Turn, rows: &mut Vec<cells::Row>) {
        let weight = if turn.landmark { 1 } else { self.sample };
        let outcome = self.claims[0].of_piece();
        let met = WITHIN.map(|within| Event::Met(outcome, within));
        let others = WITHIN.map(Event::OthersLost);
        let events = (0..).zip(met.iter().chain(&others));
        let came = events.fold(0u16, |bits, (place, event)| {
            bits | u16::from(event.came(turn)) << place
        });
        let free = choice::free_up_to(&self.claims[0], turn);
        for (k, claim) in (0..).zip(self.claims) {
            let own = Group::Own {
                k,
                turns: claim.turns,
            };
            let sides = [
                own.has(claim, turn),
                free.is_some_and(|most| most >= k),
                Group::Placebo.has(claim, turn),
            ];
            for (side, _) in (0..).zip(sides).filter(|(_, is)| *is) {
                let stratum = Stratum::of(turn, k).matched(self.matched);
                let place = (SIDES * k + side, stratum, turn.fold);
                rows.push(cells::Row::new(place, weight, came));
            }
        }
    }
}

/// The strata at each k, from 0 on.
pub fn by_k(cells: &Cells) -> Vec<AtK> {
    (0..=MAX_K).map(|k| at_k(cells, k)).collect()
}

/// The strata at a k that have one of the claim's pieces or of a milder restraint.
fn at_k(cells: &Cells, k: u8) -> AtK {
    let columns: [usize; COLUMNS] = std::array::from_fn(|column| column);
    let of = |side: u8| cells.of(usize::from(SIDES * k + side), columns);
    let mut strata = AtK::new();
    for (stratum, fold, counts) in of(0) {
        strata.entry(stratum).or_default().own.insert(fold, counts);
    }
    for (stratum, fold, counts) in of(2) {
        let sides = strata.entry(stratum).or_default();
        sides.placebo.insert(fold, counts);
    }
    for (stratum, fold, counts) in of(1) {
        if let Some(sides) = strata.get_mut(&stratum) {
            sides.free.insert(fold, counts);
        }
    }
    for sides in strata.values_mut() {
        let rows: u64 = sides.free.values().map(|counts| counts[0].rows).sum();
        if rows < FREE_ROWS {
            sides.free.clear();
        }
    }
    strata
}
