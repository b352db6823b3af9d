//! A lesson: many games, ordered by how much restraint they show.

use crate::Walkthrough;
use crate::exercises::Exercise;
use crate::heading::Heading;
use crate::themes::Show;

/// What a lesson keeps of a game once its page is written.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Number of the game in its file.
    pub number: u64,
    /// Who played.
    pub heading: Heading,
    /// Plies.
    pub plies: usize,
    /// Most safe squares of a held piece.
    pub k: u8,
    /// How much restraint it shows.
    pub show: Show,
    /// The moves that mattered.
    pub moments: usize,
    /// Positions to solve.
    pub exercises: Vec<Exercise>,
}

impl From<Walkthrough> for Entry {
    fn from(walkthrough: Walkthrough) -> Entry {
        Entry {
            number: walkthrough.at.map_or(1, |at| at.number),
            plies: walkthrough.game.plies.len(),
            heading: walkthrough.game.heading,
            k: walkthrough.k,
            show: walkthrough.show,
            moments: walkthrough.moments.len(),
            exercises: walkthrough.exercises,
        }
    }
}

/// Puts the games that show most restraint first: by the turns at which pieces were
/// restrained, added up, then by the number of restraints, then by their number.
pub fn order(entries: &mut [Entry]) {
    entries.sort_by_key(|entry| {
        (
            std::cmp::Reverse((entry.show.turns, entry.show.restraints)),
            entry.number,
        )
    });
}

/// At most `most` exercises of a lesson with their games: the first of each game in order,
/// then the second, and so on.
pub fn exercises(entries: &[Entry], most: usize) -> Vec<(&Entry, &Exercise)> {
    let deepest = entries
        .iter()
        .map(|entry| entry.exercises.len())
        .max()
        .unwrap_or(0);
    (0..deepest)
        .flat_map(|nth| {
            entries
                .iter()
                .filter_map(move |entry| Some((entry, entry.exercises.get(nth)?)))
        })
        .take(most)
        .collect()
}
