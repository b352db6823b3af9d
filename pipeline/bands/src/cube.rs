//! The exposure cube, counted by cell and, for standardising, by stratum.

use std::collections::BTreeMap;
use std::ops::AddAssign;

use rayon::prelude::*;

use super::counts::{Cells, FOLDS, Place, Ratio, add};
use super::measures::{Measure, Split};
use hobble_conditions::filter::Mask;
use hobble_conditions::terms::{CUBE_KEYS, Kind, Phase, YesNo};
use hobble_conditions::{AskError, words};
use hobble_dataset::Part;
use hobble_dataset::columns::Rows;

/// Strata: kind × phase × developed × attacked × defended.
pub const STRATA: usize = 4 * 3 * 8;

/// Held turns and losses by stratum and fold.
pub type Strata = Vec<[Ratio; FOLDS]>;

/// Held turns and losses of each level and of everything.
#[derive(Debug, Clone)]
pub struct Held {
    /// By split and level.
    pub levels: BTreeMap<(Split, String), Strata>,
    /// Of everything: the standard population.
    pub all: Strata,
}

/// Number of the stratum of these keys.
pub fn stratum(kind: Kind, phase: Phase, yes: [bool; 3]) -> usize {
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

/// Turns, and the held ones among them with their losses.
#[derive(Debug, Clone, Copy, Default)]
pub struct Counted {
    /// All turns.
    pub turns: u64,
    /// Losses, over held turns.
    pub lost: Ratio,
}

impl AddAssign for Counted {
    fn add_assign(&mut self, other: Counted) {
        self.turns += other.turns;
        self.lost.add(other.lost.events, other.lost.trials);
    }
}

/// Counts by band and time class, and in these by stratum and fold.
#[derive(Debug, Default)]
struct Sums {
    bands: Vec<String>,
    classes: Vec<String>,
    counts: BTreeMap<(usize, usize), Vec<[Counted; FOLDS]>>,
}

impl Sums {
    fn add(&mut self, rows: &Rows, k: u8, lost: &str, only: YesNo) -> Result<(), AskError> {
        let (bands, classes) = (&mut self.bands, &mut self.classes);
        let band = rows
            .texts("band")?
            .read_as(|word| Some(words::number(bands, word?)));
        let class = rows
            .texts("time_class")?
            .read_as(|word| Some(words::number(classes, word?)));
        let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
        let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
        let developed = rows.booleans("developed")?;
        let (attacked, defended) = (rows.booleans("attacked")?, rows.booleans("defended")?);
        let (safe, fold) = (rows.bytes("safe")?, rows.bytes("fold")?);
        let (turns, lost) = (rows.numbers("turns")?, rows.numbers(lost)?);
        let mut mask = Mask::all(rows);
        if let Some(wanted) = only.wanted() {
            mask.is(rows, "developed", wanted)?;
        }
        for row in mask.rows() {
            let unknown = |name: &str| rows.bad(format!("column \"{name}\" holds an unknown word"));
            let place = stratum(
                kind.at(row).ok_or_else(|| unknown("kind"))?,
                phase.at(row).ok_or_else(|| unknown("phase"))?,
                [
                    developed.value(row),
                    attacked.value(row),
                    defended.value(row),
                ],
            );
            let key = (
                band.at(row).ok_or_else(|| unknown("band"))?,
                class.at(row).ok_or_else(|| unknown("time_class"))?,
            );
            let counts = self.counts.entry(key);
            let counts = counts.or_insert_with(|| vec![[Counted::default(); FOLDS]; STRATA]);
            let sum = &mut counts[place][usize::from(fold[row]) % FOLDS];
            sum.turns += turns.at(row);
            if safe[row] <= k {
                sum.lost.add(lost.at(row), turns.at(row));
            }
        }
        Ok(())
    }

    /// What was counted: band, time class, stratum, fold, counts.
    fn cells(&self) -> impl Iterator<Item = (&str, &str, usize, usize, Counted)> {
        self.counts.iter().flat_map(|(&(band, class), strata)| {
            let (band, class) = (self.bands[band].as_str(), self.classes[class].as_str());
            let folds = strata.iter().enumerate().flat_map(|(place, folds)| {
                let folds = folds.iter().copied().enumerate();
                folds.map(move |(fold, counted)| (place, fold, counted))
            });
            folds
                .filter(|(.., counted)| counted.turns > 0)
                .map(move |(place, fold, counted)| (band, class, place, fold, counted))
        })
    }
}

/// Kind of piece of a stratum.
pub fn kind_of(stratum: usize) -> Kind {
    Kind::ALL[stratum / 24 % 4]
}

/// Reads a part of the cube into cells and strata.
pub fn read(
    part: &Part,
    (k, within): (u8, u32),
    developed: YesNo,
    splits: &[Split],
    cells: &mut Cells,
) -> Result<Held, AskError> {
    let lost = format!("lost_{within}");
    let columns: Vec<&str> = CUBE_KEYS.into_iter().chain([lost.as_str()]).collect();
    let read: Vec<Sums> = part
        .groups()?
        .into_par_iter()
        .map(|group| {
            let mut sums = Sums::default();
            for rows in part.read(&columns, group)? {
                sums.add(&rows?, k, &lost, developed)?;
            }
            Ok(sums)
        })
        .collect::<Result<_, AskError>>()?;
    let mut held = Held::default();
    for (band, class, place, fold, counted) in read.iter().flat_map(Sums::cells) {
        held.count([band, class], (place, fold), counted, splits, cells);
    }
    Ok(held)
}

impl Held {
    /// Counts a stratum of a fold in every level it belongs to.
    pub fn count(
        &mut self,
        [band, class]: [&str; 2],
        (place, fold): (usize, usize),
        Counted { turns, lost }: Counted,
        splits: &[Split],
        cells: &mut Cells,
    ) {
        self.all[place][fold].add(lost.events, lost.trials);
        let kind = kind_of(place);
        for &split in splits {
            let level = match split {
                Split::All => "all",
                Split::Band => band,
                Split::TimeClass => class,
                Split::Phase => Phase::ALL[place / 8 % 3].name(),
                Split::Kind => kind.name(),
                Split::Color | Split::Eco => continue,
            };
            if split != Split::All {
                let strata = self.levels.entry((split, level.to_owned()));
                strata.or_insert_with(no_strata)[place][fold].add(lost.events, lost.trials);
            }
            for of in kinds(split, kind) {
                let at = |measure| Place::new(measure, split, level, of);
                add(cells, at(Measure::HeldShare), fold, lost.trials, turns);
                add(cells, at(Measure::LossRisk), fold, lost.events, lost.trials);
            }
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Held) {
        add_strata(&mut self.all, &other.all);
        for (level, strata) in other.levels {
            add_strata(self.levels.entry(level).or_insert_with(no_strata), &strata);
        }
    }
}

impl Default for Held {
    fn default() -> Held {
        Held {
            levels: BTreeMap::new(),
            all: no_strata(),
        }
    }
}

/// Nothing counted.
pub fn no_strata() -> Strata {
    vec![[Ratio::default(); FOLDS]; STRATA]
}

fn add_strata(sums: &mut Strata, counts: &Strata) {
    for (sums, counts) in sums.iter_mut().zip(counts) {
        for (sum, count) in sums.iter_mut().zip(counts) {
            sum.add(count.events, count.trials);
        }
    }
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
        for kind in Kind::ALL {
            for phase in Phase::ALL {
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
