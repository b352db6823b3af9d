//! The exposure cube, counted by cell and, for standardising, by stratum.

use std::collections::BTreeMap;

use super::counts::{Cells, FOLDS, Place, Ratio, add};
use super::measures::{Measure, Split};
use crate::columns::Rows;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::terms::{Kind, Phase, YesNo};

/// Strata: kind × phase × developed × attacked × defended.
pub const STRATA: usize = 4 * 3 * 8;

/// Held turns and losses by stratum and fold.
pub type Strata = Vec<[Ratio; FOLDS]>;

/// Held turns and losses of each level and of everything.
#[derive(Debug)]
pub struct Held {
    /// By split and level.
    pub levels: BTreeMap<(Split, String), Strata>,
    /// Of everything: the standard population.
    pub all: Strata,
}

/// Number of the stratum of these keys.
fn stratum(kind: Kind, phase: Phase, yes: [bool; 3]) -> usize {
    yes.into_iter()
        .fold(kind as usize * 3 + phase as usize, |number, is| {
            number * 2 + usize::from(is)
        })
}

/// The stratum with those keys made alike that a split or a kind has taken already.
pub fn coarse(stratum: usize, split: Split) -> usize {
    let (kind, phase, rest) = (stratum / 24, stratum / 8 % 3, stratum % 8);
    match split {
        Split::Kind => phase * 8 + rest,
        Split::Phase => kind * 24 + rest,
        _ => stratum,
    }
}

/// Kind of piece of a stratum.
pub fn kind_of(stratum: usize) -> Kind {
    Kind::ALL[stratum / 24 % 4]
}

/// Reads the cube into cells and strata.
pub fn read(
    dataset: &Dataset,
    (k, within): (u8, u32),
    developed: YesNo,
    splits: &[Split],
    cells: &mut Cells,
) -> Result<Held, AskError> {
    let lost = format!("lost_{within}");
    let columns = [
        "kind",
        "safe",
        "developed",
        "attacked",
        "defended",
        "phase",
        "band",
        "time_class",
        "fold",
        "turns",
        &lost,
    ];
    let mut held = Held {
        levels: BTreeMap::new(),
        all: vec![[Ratio::default(); FOLDS]; STRATA],
    };
    // Summed by what the levels need before any name is touched.
    type Key = (String, String, usize, u8);
    let mut sums: BTreeMap<Key, (u64, Ratio)> = BTreeMap::new();
    for part in dataset.parts("exposure")? {
        let frame = part.read(&columns, None)?;
        let rows = Rows::new(part.table, &frame);
        let (kind, phase) = (rows.texts("kind")?, rows.texts("phase")?);
        let (band, class) = (rows.texts("band")?, rows.texts("time_class")?);
        let is_developed = rows.booleans("developed")?;
        let (attacked, defended) = (rows.booleans("attacked")?, rows.booleans("defended")?);
        let (safe, fold) = (rows.bytes("safe")?, rows.bytes("fold")?);
        let (turns, lost) = (rows.numbers("turns")?, rows.numbers(&lost)?);
        for row in 0..frame.height() {
            if developed
                .wanted()
                .is_some_and(|wanted| is_developed[row] != wanted)
            {
                continue;
            }
            let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
            let kind = kind.get(row).and_then(Kind::from_word);
            let phase = phase.get(row).and_then(Phase::from_word);
            let place = stratum(
                kind.ok_or_else(|| unknown("kind"))?,
                phase.ok_or_else(|| unknown("phase"))?,
                [is_developed[row], attacked[row], defended[row]],
            );
            let key = (
                band.get(row).ok_or_else(|| unknown("band"))?.to_owned(),
                class
                    .get(row)
                    .ok_or_else(|| unknown("time_class"))?
                    .to_owned(),
                place,
                fold[row],
            );
            let sum = sums.entry(key).or_default();
            sum.0 += turns[row];
            if safe[row] <= k {
                sum.1.add(lost[row], turns[row]);
            }
        }
    }
    for ((band, class, place, fold), (turns, lost)) in sums {
        let fold = usize::from(fold) % FOLDS;
        held.all[place][fold].add(lost.events, lost.trials);
        let kind = kind_of(place);
        for &split in splits {
            let level = match split {
                Split::All => "all",
                Split::Band => band.as_str(),
                Split::TimeClass => class.as_str(),
                Split::Phase => Phase::ALL[place / 8 % 3].word(),
                Split::Kind => kind.word(),
                Split::Color | Split::Eco => continue,
            };
            if split != Split::All {
                held.levels
                    .entry((split, level.to_owned()))
                    .or_insert_with(|| vec![[Ratio::default(); FOLDS]; STRATA])[place][fold]
                    .add(lost.events, lost.trials);
            }
            for of in kinds(split, kind) {
                let at = |measure| Place::new(measure, split, level, of);
                add(cells, at(Measure::HeldShare), fold, lost.trials, turns);
                add(cells, at(Measure::LossRisk), fold, lost.events, lost.trials);
            }
        }
    }
    Ok(held)
}

/// Cells a piece of this kind counts in: with all kinds, and with its own; the split by kind
/// has its own alone.
pub fn kinds(split: Split, kind: Kind) -> Vec<Option<Kind>> {
    match split {
        Split::Kind => vec![Some(kind)],
        Split::All => vec![None],
        _ => vec![None, Some(kind)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strata_are_all_different() {
        let mut seen = [false; STRATA];
        for &kind in Kind::ALL {
            for &phase in Phase::ALL {
                for bits in 0..8u8 {
                    let place = stratum(kind, phase, [bits & 1 > 0, bits & 2 > 0, bits & 4 > 0]);
                    assert!(!std::mem::replace(&mut seen[place], true));
                    assert_eq!(kind_of(place), kind);
                    assert_eq!(Phase::ALL[place / 8 % 3], phase);
                }
            }
        }
    }
}
