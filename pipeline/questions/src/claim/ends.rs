//! What ended the spells, and what material was lost around them.

use std::collections::BTreeMap;

use super::answer::{Ended, MaterialLoss};
use super::curve::shares;
use super::held::{End, Fate, Held};

/// Shares of the ways the spells ended.
pub fn ends(held: &[Held], k: u8, turns: u32) -> Vec<Ended> {
    let mut folds: BTreeMap<u32, (u64, [u64; 7])> = BTreeMap::new();
    for spell in held.iter().filter(|spell| spell.is(k, turns)) {
        let (spells, ends) = folds.entry(spell.fold).or_default();
        *spells += 1;
        ends[spell.end as usize] += 1;
    }
    let shares = shares(&folds);
    End::ALL
        .into_iter()
        .zip(shares)
        .map(|(end, share)| Ended {
            end: end.in_words().to_owned(),
            share,
        })
        .collect()
}

/// The wider loss: the piece lost, or its owner two pawns down on the start of the spell.
/// The cube knows nothing of material, so that this has no comparison.
pub fn material(held: &[Held], k: u8, turns: u32) -> Vec<MaterialLoss> {
    [3_u32, 5, 10]
        .into_iter()
        .enumerate()
        .map(|(index, within)| {
            let mut folds: BTreeMap<u32, (u64, [u64; 1])> = BTreeMap::new();
            for spell in held.iter().filter(|spell| spell.is(k, turns)) {
                let lost = spell.fate == Fate::Lost
                    && spell.fate_ply.saturating_sub(spell.start) <= 2 * within;
                let down = spell.material[index].is_some_and(|change| change <= -2);
                let (spells, met) = folds.entry(spell.fold).or_default();
                *spells += 1;
                met[0] += u64::from(lost || down);
            }
            let [share] = shares(&folds);
            MaterialLoss { within, share }
        })
        .collect()
}
