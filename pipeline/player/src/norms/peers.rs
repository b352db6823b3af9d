//! Peers from norms: whether norms fit a question, and their counts in the rating bands of the question.

use std::collections::BTreeSet;
use std::path::Path;

use hobble_conditions::AskError;
use hobble_conditions::sum::State as _;
use hobble_terms::Band;

use super::{Norms, refused};
use crate::Habits;
use crate::peer_counts::PeerCounts;
use crate::sides::{Cell, Stratum};

impl Norms {
    /// Refuses norms that were counted with other words of the question.
    ///
    /// # Errors
    ///
    /// Names the first that differs.
    pub(super) fn fit(&self, path: &Path, habits: &Habits) -> Result<(), AskError> {
        let about = &self.about;
        for (name, theirs, ours) in [
            ("k", about.k.into(), habits.k.into()),
            ("within", about.within, habits.within),
            ("long", about.long, habits.long),
        ] {
            if theirs != ours {
                let what = format!(
                    "these norms were counted with {name} = {theirs}, the question says {ours}"
                );
                return Err(refused(path, what));
            }
        }
        let mut widths = (self.counts.cells.keys()).filter_map(|cell| width(&cell.stratum.band));
        match widths.find(|theirs| !habits.band_width.is_multiple_of(*theirs)) {
            None => Ok(()),
            Some(theirs) => {
                let what = format!(
                    "the rating bands of these norms are {theirs} points wide, and none {} points wide can be made of them",
                    habits.band_width
                );
                Err(refused(path, what))
            }
        }
    }

    /// What is counted in some strata, or in all where none are given. Their rating bands are `width`
    /// points wide.
    pub fn peers(&self, strata: Option<&BTreeSet<Stratum>>, width: u16) -> PeerCounts {
        let mut peers = PeerCounts {
            names: self.counts.names.clone(),
            ..PeerCounts::default()
        };
        let compared = |cell: &Cell| strata.is_none_or(|strata| strata.contains(&cell.stratum));
        for (cell, counts) in &self.counts.cells {
            let mut cell = cell.clone();
            if let Some(band) = Band::from_name(&cell.stratum.band) {
                cell.stratum.band = band.widened(width).name(width);
            }
            if compared(&cell) {
                peers.add(PeerCounts {
                    cells: [(cell, counts.clone())].into(),
                    ..PeerCounts::default()
                });
            }
        }
        peers
    }
}

/// Width in points of a rating band, by its name; `None` for sides without a rating.
fn width(band: &str) -> Option<u16> {
    let (low, high) = band.split_once('-')?;
    let (low, high): (u16, u16) = (low.parse().ok()?, high.parse().ok()?);
    high.checked_sub(low)?.checked_add(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::count::Count;
    use crate::norms::tests::{cell, norms};
    use crate::tally::TURNS;
    use hand_made_tables::question;

    #[test]
    fn bands_are_taken_together_to_those_of_the_question() {
        let mut norms = norms();
        let high = norms.counts.cells.pop_last().unwrap().1;
        let wide = cell("1200-1599", true);
        let strata = BTreeSet::from([wide.stratum.clone()]);
        let peers = norms.peers(Some(&strata), 400);
        assert_eq!((peers.cells.len(), peers.sides()), (1, 7));
        norms.counts.cells.insert(cell("1200-1399", true), high);
        let mut peers = norms.peers(Some(&strata), 400);
        assert_eq!((peers.cells.len(), peers.sides()), (1, 12));
        let mut counts = peers.cells.remove(&wide).unwrap();
        assert_eq!(counts.fold(3)[Count::Spells as usize], 11);
        assert_eq!((counts.turns[1], counts.turns[TURNS]), (4, 2));
        let on = |width: u16| question(&format!("band_width = {width}")).unwrap();
        assert!(norms.fit(Path::new("norms"), &on(600)).is_ok());
        let refused = norms
            .fit(Path::new("norms"), &on(300))
            .unwrap_err()
            .to_string();
        assert!(
            refused.contains("are 200 points wide, and none 300"),
            "{refused}"
        );
    }
}
