//! The third count: what the locked half says to the claims that were found.

use hobble_claim::confirmation::Confirmation;
use hobble_conditions::AskError;
use hobble_conditions::any_state::Written;
use hobble_conditions::sum::{State, Sum};
use hobble_dataset::{Dataset, PartId};
use hobble_report::Reported;
use hobble_terms::Table;
use serde::{Deserialize, Serialize};

use crate::answer::{Entry, FORMAT, League};
use crate::grid::{Tried, in_words};
use crate::league::{self, Opened};
use crate::pieces::Pieces;
use crate::search::Found;
use crate::split::{Half, Split};
use crate::step::{ABOUT, Step};

/// What is counted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Unlocked {
    pieces: Pieces,
    /// How often the half has been opened, this time included; of tables in several folders the
    /// most.
    pub(crate) opening: Option<u32>,
}

/// The answer.
#[derive(Debug)]
pub struct Sifted {
    /// The league.
    pub league: League,
    /// The files of the claims asked: name without folder, and text.
    pub files: Vec<(String, String)>,
}

impl Unlocked {
    /// Nothing yet of the half, opened so many times by now.
    pub(crate) fn opened(opening: Option<u32>) -> Unlocked {
        Unlocked {
            opening,
            ..Unlocked::default()
        }
    }
}

impl State for Unlocked {
    fn add(&mut self, other: Unlocked) {
        self.pieces.add(other.pieces);
        self.opening = self.opening.max(other.opening);
    }
}

impl Step<Found> {
    /// The claims that are asked.
    ///
    /// # Errors
    ///
    /// Where a state names one that the grid does not have.
    pub fn claims(&self) -> Result<Vec<&Tried>, AskError> {
        let claims = self.known.claims.iter();
        let claims: Option<_> = claims.map(|claim| claim.tried(&self.grid)).collect();
        claims.ok_or_else(|| AskError::State("a claim that the grid does not have".to_owned()))
    }

    /// How often the half has been opened, this time included; `None` before it is.
    pub fn opening(&self) -> Option<u32> {
        self.known.opening
    }

    /// The same after the half was opened, so many times by now.
    #[must_use]
    pub fn opened(mut self, opening: Option<u32>) -> Step<Found> {
        self.known.opening = opening;
        self
    }
}

impl Sum for Step<Found> {
    type State = Unlocked;
    type Answer = Sifted;

    fn tables(&self) -> &'static [Table] {
        &[Table::Games, Table::Turns]
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<Unlocked, AskError> {
        let claims = self.claims()?;
        let mut unlocked = Unlocked::opened(self.known.opening);
        let tables = [Table::Games, Table::Turns].map(|table| dataset.part(table, id));
        if let [Some(games), Some(turns)] = tables
            && !claims.is_empty()
        {
            let split = Split::of(&games, &self.known.shared)?;
            let sample = dataset.parameters().sample.get();
            let locked = split.games(Half::Locked);
            unlocked.pieces = Pieces::unlocked(&turns, locked, &self.grid, sample, &claims)?;
            unlocked.pieces.name_owners(&games)?;
        }
        Ok(unlocked)
    }

    fn answer(&self, dataset: &Dataset, unlocked: &Unlocked) -> Result<Sifted, AskError> {
        let (grid, found, claims) = (&self.grid, &self.known, self.claims()?);
        let sample = dataset.parameters().sample.get();
        let opened = league::open(grid, &unlocked.pieces, sample, &claims);
        let (mut entries, mut files) = (Vec::new(), Vec::new());
        for ((claim, searched), opened) in claims.iter().zip(&found.claims).zip(&opened) {
            let stamp = self.stamp(claim, opened, unlocked.opening);
            let text = match &stamp {
                Some(stamp) => stamped(&claim.text, stamp),
                None => claim.text.clone(),
            };
            files.push((claim.file_name(), text));
            entries.push(Entry {
                name: claim.claim.name.clone(),
                pieces: in_words(&claim.claim),
                hash: claim.claim.hash(),
                search: searched.search.clone(),
                locked: (&opened.asked).into(),
                twins: opened.twins.to_vec(),
                others: opened.others.clone(),
                confirmed: stamp.is_some_and(|stamp| stamp.holds()),
            });
        }
        entries.sort_by(|a, b| a.order().total_cmp(&b.order()).then(a.name.cmp(&b.name)));
        let league = League {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            grid: grid.hash(),
            games: found.games,
            tried: grid.tried().len() as u64,
            tested: found.tested,
            passed: found.passed,
            opened: claims.len() as u64,
            confirmed: entries.iter().filter(|entry| entry.confirmed).count() as u64,
            opening: unlocked.opening,
            within: grid.within(),
            outcome: grid.outcome(),
            claims: entries,
            dataset: dataset.summary().clone(),
        };
        Ok(Sifted { league, files })
    }
}

impl Step<Found> {
    /// What is written into the claim's file; `None` where the locked half has too few.
    fn stamp(&self, claim: &Tried, opened: &Opened, opening: Option<u32>) -> Option<Confirmation> {
        let compared = &opened.asked.compared;
        let interval = compared.ratio.jackknife?;
        Some(Confirmation {
            hash: claim.claim.hash(),
            opening: opening?,
            tried: self.grid.tried().len() as u64,
            opened: self.known.claims.len() as u64,
            games: self.known.games.locked,
            events: compared.compared_held_outcomes,
            ratio: compared.ratio.value?,
            low: interval.low,
            high: interval.high,
            p: opened.asked.adjusted?,
        })
    }
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

impl Written for Step<Found> {
    const ABOUT: &'static str = ABOUT;
    const COUNT: u8 = 3;

    fn name(&self) -> String {
        self.grid.hash()
    }

    fn reported(&self, sifted: Sifted) -> Result<Box<dyn Reported>, AskError> {
        Ok(Box::new(sifted.league))
    }
}
