//! Examples on request: how many, and of which games.

use hobble_conditions::{AskError, Opening, chosen};
use hobble_dataset::Dataset;
use hobble_dataset::part::Part;
use hobble_examples::seats::{Asked, Seat};
use hobble_terms::{Phase, Table};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use serde::Serialize;

use super::answer::ClaimExample;
use super::candidates::Candidates;
use super::examples;
use super::file::Claim;

/// Which examples are wanted. What is empty or `None` asks nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Wanted {
    /// How many, at most.
    pub count: usize,
    /// Openings of which the game must have one.
    pub opening: Vec<Opening>,
    /// Ratings from the first to the second that both players must have.
    pub rating: Option<(u16, u16)>,
    /// Part of the name of a player, in either case.
    pub player: Option<String>,
    /// Phases of the game at the restraining move.
    pub phase: Vec<Phase>,
}

/// Examples of a claim, by themselves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Examples {
    /// Version of this shape.
    pub format: u32,
    /// Version of the program.
    pub hobble: String,
    /// Version of the program that made the tables; not in the JSON.
    #[serde(skip)]
    pub tables_by: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The claim.
    pub claim: Claim,
    /// What was wanted.
    pub wanted: Wanted,
    /// The examples: losses, the clearest first, then pieces that got away.
    pub examples: Vec<ClaimExample>,
    /// Notes, in full sentences.
    pub notes: Vec<String>,
}

/// Version of the shape of [`Examples`].
pub const FORMAT: u32 = 1;

impl Wanted {
    /// The games of a part in which both players are rated so and one is named so; `None` where
    /// nothing is asked of games.
    fn games(&self, dataset: &Dataset, part: &Part) -> Result<Option<FxHashSet<u64>>, AskError> {
        let asked = Asked {
            opening: &self.opening,
            rating: self.rating,
            player: self.player.as_deref(),
        };
        let passes = |seats: &[Seat; 2]| {
            seats.iter().all(|seat| seat.rated) && seats.iter().any(|seat| seat.named)
        };
        let seats = asked.seats(dataset, part)?;
        Ok(seats.map(|games| {
            let passing = games.into_iter().filter(|(_, seats)| passes(seats));
            passing.map(|(game, _)| game).collect()
        }))
    }
}

/// Examples of a claim.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn find(dataset: &Dataset, claim: &Claim, wanted: &Wanted) -> Result<Examples, AskError> {
    let chosen = chosen::of_question(claim, dataset)?;
    let dataset = &*chosen;
    let mut narrowed = claim.clone();
    let mut notes = Vec::new();
    if !wanted.phase.is_empty() {
        narrowed.phase = wanted.phase.clone();
        narrowed
            .phase
            .retain(|phase| claim.phase.is_empty() || claim.phase.contains(phase));
    }
    let asks_nothing = narrowed.phase.is_empty() && !wanted.phase.is_empty();
    let candidates = if asks_nothing {
        notes.push("The claim leaves out the phase asked for.".to_owned());
        Candidates::default()
    } else {
        candidates(dataset, &narrowed, wanted)?
    };
    let (examples, more) = examples::listed(dataset, &narrowed, &candidates, wanted.count)?;
    notes.extend(more);
    Ok(Examples {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        tables_by: dataset.summary().hobble.clone(),
        definitions: dataset.definitions(),
        claim: claim.clone(),
        wanted: wanted.clone(),
        examples,
        notes,
    })
}

/// The candidates of all parts.
fn candidates(dataset: &Dataset, claim: &Claim, wanted: &Wanted) -> Result<Candidates, AskError> {
    let of_part = |part: &Part| -> Result<Candidates, AskError> {
        let games = wanted.games(dataset, part)?;
        let passes = |game| games.as_ref().is_none_or(|games| games.contains(&game));
        let groups = part.groups()?.into_par_iter();
        groups
            .map(|group| Candidates::of(claim, part, group, &passes))
            .try_reduce(Candidates::default, |mut sum, more| {
                sum.add(more);
                Ok(sum)
            })
    };
    let mut sum = Candidates::default();
    for part in dataset.parts(Table::Spells)? {
        sum.add(of_part(&part)?);
    }
    Ok(sum)
}
