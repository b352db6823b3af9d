//! What ended the spells, and what material was lost around them.

use super::answer::{Ended, MaterialLoss};
use super::by_fold::{Folds, shares};
use super::held::{End, Held};
use hobble_terms::Fate;

/// Moves within which a loss of material counts.
const WITHIN: [u32; 3] = [3, 5, 10];

/// The wider loss within each of three numbers of moves: the piece lost, or its owner two
/// pawns down on the start of the spell. The cube does not hold material, so that this has
/// no comparison.
pub fn losses(spell: &Held) -> [bool; 3] {
    std::array::from_fn(|index| {
        let lost = spell.fate == Fate::Lost
            && spell.fate_ply.saturating_sub(spell.start) <= 2 * WITHIN[index];
        lost || spell.material[index].is_some_and(|change| change <= -2)
    })
}

/// Shares of the ways the spells ended.
pub fn ends(folds: &Folds) -> Vec<Ended> {
    let shares = shares(folds, |fold| fold.ends);
    End::ALL
        .into_iter()
        .zip(shares)
        .map(|(end, share)| Ended {
            end: end.in_words().to_owned(),
            share,
        })
        .collect()
}

/// Shares of the wider loss.
pub fn material(folds: &Folds) -> Vec<MaterialLoss> {
    let shares = shares(folds, |fold| fold.material);
    WITHIN
        .into_iter()
        .zip(shares)
        .map(|(within, share)| MaterialLoss { within, share })
        .collect()
}
