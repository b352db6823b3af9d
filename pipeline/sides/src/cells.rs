//! Positions counted by stratum, level and fold, for each measure: by folds of games and by folds
//! of players.

use hobble_statistics::jackknife;
use hobble_statistics::risk::Scale;
use hobble_statistics::{Interval, LEVEL};
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::level::Measure;
use super::stratum::Stratum;

/// What the folds are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Folds {
    /// Of games.
    Games,
    /// Of players on move.
    Players,
}

/// Counts of some positions.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Positions.
    pub positions: u64,
    /// What their sides scored, in half points.
    pub half_points: u64,
    /// Those whose side lost material.
    pub lost: u64,
}

impl Counts {
    /// Adds others.
    pub fn add(&mut self, other: Counts) {
        self.positions += other.positions;
        self.half_points += other.half_points;
        self.lost += other.lost;
    }

    fn take(&mut self, other: Counts) {
        self.positions -= other.positions;
        self.half_points -= other.half_points;
        self.lost -= other.lost;
    }
}

/// Counts by place: stratum, level and fold in one number.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
struct Places(#[serde(with = "hobble_conditions::sum::hashed")] FxHashMap<u32, Counts>);

/// Counts of each measure and sort of fold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cells(Vec<Places>);

impl Default for Cells {
    fn default() -> Cells {
        Cells(vec![Places::default(); 2 * Measure::COUNT])
    }
}

impl Cells {
    /// Adds a position to its cells of a measure, in the fold of its game and of its player.
    pub fn count(
        &mut self,
        stratum: Stratum,
        measure: Measure,
        level: usize,
        folds: [u8; 2],
        counts: Counts,
    ) {
        for (sort, fold) in [Folds::Games, Folds::Players].into_iter().zip(folds) {
            let places = &mut self.0[number(measure, sort)];
            let place = place(stratum, level, fold);
            places.0.entry(place).or_default().add(counts);
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Cells) {
        for (own, other) in self.0.iter_mut().zip(other.0) {
            if own.0.is_empty() {
                *own = other;
                continue;
            }
            for (place, counts) in other.0 {
                own.0.entry(place).or_default().add(counts);
            }
        }
    }

    /// The counts of a measure in strata that pass, by folds of one sort.
    pub fn table(&self, measure: Measure, sort: Folds, passes: impl Fn(Stratum) -> bool) -> Table {
        let mut cells: Vec<(Stratum, usize, u8, Counts)> = self.0[number(measure, sort)]
            .0
            .iter()
            .filter_map(|(&place, &counts)| {
                let (stratum, level, fold) = parts(place);
                passes(stratum).then_some((stratum, level, fold, counts))
            })
            .collect();
        cells.sort_unstable_by_key(|&(stratum, level, fold, _)| (fold, stratum, level));
        Table::of(measure, &cells)
    }
}

const fn number(measure: Measure, sort: Folds) -> usize {
    2 * measure as usize + sort as usize
}

fn place(stratum: Stratum, level: usize, fold: u8) -> u32 {
    u32::from(stratum.0) << 9 | (level as u32) << 6 | u32::from(fold)
}

/// Stratum, level and fold of a place.
fn parts(place: u32) -> (Stratum, usize, u8) {
    let level = (place >> 6 & 7) as usize;
    (Stratum((place >> 9) as u16), level, (place & 63) as u8)
}

/// Counts of one measure, ready for direct standardisation. As the library's
/// `standardise::Table`, all levels at once: with one of those a level and outcome the answer took
/// three times as long.
#[derive(Debug, Clone)]
pub struct Table {
    levels: usize,
    reference: usize,
    /// By stratum, then level.
    total: Vec<Counts>,
    /// By fold: places in the total, and counts.
    folds: Vec<Vec<(usize, Counts)>>,
}

/// What is known of a level, with or without one of the folds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sums {
    /// All its positions.
    pub raw: Counts,
    /// All positions of the reference level.
    pub reference: Counts,
    /// Positions in strata with both.
    pub compared: Counts,
    /// Strata with both.
    pub strata: u64,
    /// Half points that the compared positions would have at the reference's mean of their strata.
    pub expected_half_points: f64,
    /// Material losses, likewise.
    pub expected_lost: f64,
}

impl Sums {
    /// Mean score of all its positions.
    pub fn score(&self) -> f64 {
        self.raw.half_points as f64 / (2 * self.raw.positions) as f64
    }

    /// Share of all its positions that lost material.
    pub fn lost(&self) -> f64 {
        self.raw.lost as f64 / self.raw.positions as f64
    }

    /// Mean score of comparable positions of the reference level.
    pub fn comparable_score(&self) -> f64 {
        self.expected_half_points / (2 * self.compared.positions) as f64
    }

    /// Share of comparable positions of the reference level that lost material.
    pub fn comparable_lost(&self) -> f64 {
        self.expected_lost / self.compared.positions as f64
    }

    /// Mean score of those compared, less that of the comparable ones.
    pub fn score_difference(&self) -> f64 {
        let score = self.compared.half_points as f64 / (2 * self.compared.positions) as f64;
        score - self.comparable_score()
    }

    /// The same of material lost.
    pub fn lost_difference(&self) -> f64 {
        self.compared.lost as f64 / self.compared.positions as f64 - self.comparable_lost()
    }

    /// The score of the reference level and the difference to it: what a side would score in the
    /// circumstances of that level.
    pub fn adjusted_score(&self) -> f64 {
        let reference = self.reference.half_points as f64 / (2 * self.reference.positions) as f64;
        reference + self.score_difference()
    }
}

/// A level with each fold left out once.
#[derive(Debug, Clone)]
pub struct Replicates {
    /// All folds.
    pub whole: Sums,
    without: Vec<Sums>,
    /// Folds that have positions of the level, and folds in which its sides lost material.
    pub folds: [u32; 2],
}

impl Replicates {
    /// The interval of a figure; `None` where it does not exist, or not without one of the folds.
    pub fn interval(&self, scale: Scale, of: impl Fn(&Sums) -> f64) -> Option<Interval> {
        let without: Vec<f64> = self
            .without
            .iter()
            .map(|sums| scale.forward(of(sums)))
            .collect();
        jackknife::interval(scale, of(&self.whole), &without, self.folds[0], LEVEL)
    }
}

impl Table {
    /// The table of cells in the order of their folds.
    fn of(measure: Measure, cells: &[(Stratum, usize, u8, Counts)]) -> Table {
        let levels = measure.levels();
        let mut strata: Vec<Stratum> = cells.iter().map(|cell| cell.0).collect();
        strata.sort_unstable();
        strata.dedup();
        let mut total = vec![Counts::default(); strata.len() * levels];
        let folds = cells.chunk_by(|a, b| a.2 == b.2).map(|of_fold| {
            let placed = of_fold.iter().map(|&(stratum, level, _, counts)| {
                let place = strata.partition_point(|other| *other < stratum) * levels + level;
                (place, counts)
            });
            placed.collect::<Vec<_>>()
        });
        let folds: Vec<Vec<(usize, Counts)>> = folds.collect();
        for &(place, counts) in folds.iter().flatten() {
            total[place].add(counts);
        }
        Table {
            levels,
            reference: measure.reference(),
            total,
            folds,
        }
    }

    /// Every level with each fold left out once.
    pub fn replicates(&self) -> Vec<Replicates> {
        let mut levels: Vec<Replicates> = self
            .sums(&self.total)
            .into_iter()
            .map(|whole| Replicates {
                whole,
                without: Vec::with_capacity(self.folds.len()),
                folds: [0; 2],
            })
            .collect();
        let mut rest = self.total.clone();
        for fold in &self.folds {
            let mut here = vec![Counts::default(); self.levels];
            for &(place, counts) in fold {
                rest[place].take(counts);
                here[place % self.levels].add(counts);
            }
            for ((level, sums), here) in levels.iter_mut().zip(self.sums(&rest)).zip(here) {
                level.without.push(sums);
                level.folds[0] += u32::from(here.positions > 0);
                level.folds[1] += u32::from(here.lost > 0);
            }
            for &(place, counts) in fold {
                rest[place].add(counts);
            }
        }
        levels
    }

    fn sums(&self, counts: &[Counts]) -> Vec<Sums> {
        let mut levels = vec![Sums::default(); self.levels];
        let mut all = Counts::default();
        for stratum in counts.chunks_exact(self.levels) {
            let reference = stratum[self.reference];
            all.add(reference);
            let mean = 1.0 / reference.positions as f64;
            for (sums, own) in levels.iter_mut().zip(stratum) {
                sums.raw.add(*own);
                if own.positions > 0 && reference.positions > 0 {
                    sums.compared.add(*own);
                    sums.strata += 1;
                    let weight = own.positions as f64 * mean;
                    sums.expected_half_points += weight * reference.half_points as f64;
                    sums.expected_lost += weight * reference.lost as f64;
                }
            }
        }
        for sums in &mut levels {
            sums.reference = all;
        }
        levels
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_statistics::standardise;

    /// Some cells of pieces held, uneven over strata, levels and folds.
    fn cells() -> Cells {
        let mut cells = Cells::default();
        let mut seed = 7u64;
        for _ in 0..4000 {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(99);
            let draw = |from: u32, below: u64| (seed >> from) % below;
            let level = draw(20, 9).min(draw(30, 6)) as usize;
            let counts = Counts {
                positions: 1,
                half_points: draw(40, 3),
                lost: draw(50, 4) / 3,
            };
            let stratum = Stratum(draw(10, 11) as u16 * 77);
            let folds = [draw(34, 64) as u8, draw(44, 12) as u8];
            cells.count(stratum, Measure::Held, level.min(5), folds, counts);
        }
        cells
    }

    /// The library's standardisation of one level and outcome gives the same.
    #[test]
    fn as_the_library_does() {
        let cells = cells();
        for (level, got) in cells
            .table(Measure::Held, Folds::Games, |_| true)
            .replicates()
            .iter()
            .enumerate()
            .skip(1)
        {
            let mut table = standardise::Table::default();
            for (place, counts) in &cells.0[number(Measure::Held, Folds::Games)].0 {
                let (stratum, of_level, fold) = parts(*place);
                if of_level == level || of_level == 0 {
                    let cell = standardise::Cell {
                        turns: 2 * counts.positions,
                        outcomes: counts.half_points,
                        over: 0,
                    };
                    table.add(stratum.0.into(), fold.into(), of_level > 0, cell);
                }
            }
            let whole = table.figures();
            assert!((whole.difference() - got.whole.score_difference()).abs() < 1e-12);
            assert_eq!(whole.strata, got.whole.strata);
            let without = table.figures_without_one(|_| true);
            let folds = table.spread(false).0.folds;
            let (scale, of) = (Scale::Plain, standardise::Figures::difference);
            let want = standardise::interval(scale, of, whole.difference(), &without, folds, LEVEL);
            let (want, got) = (
                want.unwrap(),
                got.interval(scale, Sums::score_difference).unwrap(),
            );
            assert!((want.low - got.low).abs() < 1e-12 && (want.high - got.high).abs() < 1e-12);
        }
    }

    /// One stratum: 30 positions without a held piece score 20 points, 10 with one score 4.
    #[test]
    fn by_hand() {
        let mut cells = Cells::default();
        let of = |positions, half_points, lost| Counts {
            positions,
            half_points,
            lost,
        };
        cells.count(Stratum(5), Measure::Held, 0, [1, 2], of(30, 40, 3));
        cells.count(Stratum(5), Measure::Held, 1, [3, 4], of(10, 8, 4));
        cells.count(Stratum(6), Measure::Held, 1, [3, 4], of(5, 5, 0));
        let got = cells
            .table(Measure::Held, Folds::Players, |_| true)
            .replicates();
        let one = got[1].whole;
        assert!((one.score() - 13.0 / 30.0).abs() < 1e-15);
        assert!((one.comparable_score() - 2.0 / 3.0).abs() < 1e-15);
        assert!((one.score_difference() - (0.4 - 2.0 / 3.0)).abs() < 1e-15);
        assert!((one.adjusted_score() - 0.4).abs() < 1e-15);
        assert!((one.lost_difference() - 0.3).abs() < 1e-15);
        assert_eq!(
            (one.strata, one.compared.positions, got[1].folds),
            (1, 10, [1, 1])
        );
    }
}
