//! Events and trials of each measure that a row of `sides` gives.

use super::counts::KindOrAll;
use super::measures::Measure;
use hobble_conditions::terms::Kind;

/// Measures that are given a kind of piece as well.
const BY_KIND: [Measure; 2] = [Measure::HeldShare, Measure::HeldTurnsPerTurn];

/// Number of counts: one a measure, then those by kind.
pub const PLACES: usize = Measure::COUNT + BY_KIND.len() * Kind::COUNT;

/// Events and trials.
pub type SideCounts = [(u64, u64); PLACES];

/// Where a measure stands among the counts, of all kinds or of one; `None` where it is not given.
pub fn place_of(measure: Measure, kind: KindOrAll) -> Option<usize> {
    let Some(kind) = kind else {
        return Some(measure as usize);
    };
    let at = BY_KIND.iter().position(|one| *one == measure)?;
    Some(Measure::COUNT + at * Kind::COUNT + kind as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_all_different() {
        let kinds = || std::iter::once(None).chain(Kind::ALL.into_iter().map(Some));
        let places = Measure::ALL
            .into_iter()
            .flat_map(|one| kinds().map(move |kind| place_of(one, kind)));
        let mut places: Vec<usize> = places.flatten().collect();
        places.sort_unstable();
        assert_eq!(places, (0..PLACES).collect::<Vec<_>>());
    }
}
