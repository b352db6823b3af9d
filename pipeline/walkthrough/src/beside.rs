//! What became of pieces like the restrained ones of a game in an archive.

use hobble_tracks::roster::Slot;

/// What became of such pieces in an archive, and the restraints of the game it stands beside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beside {
    /// Name of the claim it comes from.
    pub claim: String,
    /// What the claim asks.
    pub title: String,
    /// What the archive says to it, with its interval.
    pub verdict: String,
    /// The figure in a few words: `4.1% lost within ten moves (3.2% to 5.3%)`.
    pub figure: String,
    /// The highest rung of evidence that holds, or that none does: `evidence: twins`.
    pub rung: String,
    /// The restraints it fits, by piece and first turn.
    pub restraints: Vec<(Slot, usize)>,
}
