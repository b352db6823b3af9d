//! Spells and moves counted by group of games, added up by level of a split, kind and fold.

use std::ops::AddAssign;

use super::chances::{Chances, PARTS};
use super::counts::{Cells, FOLDS, KindOrAll, Place, add};
use super::games::{COLORS, Games, Group, LETTERS};
use super::measures::{Measure, Split};
use super::moves::Moves;
use super::per_side::ByGroup;
use super::spells::Spells;
use hobble_conditions::terms::{Kind, Phase, YesNo};

/// Names of the levels of a split.
fn levels(split: Split, games: &Games) -> Vec<String> {
    let owned = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
    match split {
        Split::All => vec!["all".to_owned()],
        Split::Band => games.bands.clone(),
        Split::TimeClass => games.time_classes.clone(),
        Split::Phase => Phase::ALL.iter().map(ToString::to_string).collect(),
        Split::Kind => Kind::ALL.iter().map(ToString::to_string).collect(),
        Split::Color => owned(&COLORS),
        Split::Eco => owned(&LETTERS),
    }
}

/// Number of the level a side's counts of one kind and phase belong to.
fn level(split: Split, group: &Group, kind: usize, phase: usize) -> usize {
    match split {
        Split::All => 0,
        Split::Band => group.band as usize,
        Split::TimeClass => group.time_class as usize,
        Split::Phase => phase,
        Split::Kind => kind,
        Split::Color => usize::from(group.color),
        Split::Eco => usize::from(group.letter),
    }
}

/// Place of all kinds together behind the four.
const EVERY: usize = 4;

/// Counts by level, kind (and all), and fold.
type ByLevel<T> = Vec<[[T; FOLDS]; 5]>;

fn by_level<T: Copy + Default>(levels: usize) -> ByLevel<T> {
    vec![[[T::default(); FOLDS]; 5]; levels]
}

/// Kinds that have cells of their own in a split, with their places.
fn kinds(split: Split, level: usize) -> Vec<(KindOrAll, usize)> {
    match split {
        Split::All => vec![(None, EVERY)],
        Split::Kind => vec![(Kind::ALL.get(level).copied(), EVERY)],
        _ => {
            let each = Kind::ALL.iter().map(|&kind| (Some(kind), kind as usize));
            std::iter::once((None, EVERY)).chain(each).collect()
        }
    }
}

/// Counts of a split added up: by level, kind and fold.
struct Summed<T> {
    /// Names of the levels.
    names: Vec<String>,
    sums: ByLevel<T>,
    /// Sides that had the level, and their turns.
    sides: Vec<[(u64, u64); FOLDS]>,
}

impl<T: Copy + Default + AddAssign> Summed<T> {
    /// Adds up counts by group of games, kind and phase; a kind beyond the four has no level of its own.
    fn new<const KINDS: usize>(
        games: &Games,
        split: Split,
        counts: &ByGroup<T, KINDS>,
    ) -> Summed<T> {
        let names = levels(split, games);
        let mut sums: ByLevel<T> = by_level(names.len());
        let mut sides = vec![[(0, 0); FOLDS]; names.len()];
        for (number, group) in games.groups.iter().enumerate() {
            let fold = usize::from(group.fold) % FOLDS;
            let here = games.sides[number];
            let whole = matches!(split, Split::Phase | Split::Kind);
            // A game has every phase and kind, so its players count for each of them.
            for (level, sides) in sides.iter_mut().enumerate() {
                if whole || level == self::level(split, group, 0, 0) {
                    sides[fold].0 += here.0;
                    sides[fold].1 += here.1;
                }
            }
            for (kind, phases) in counts[number].iter().enumerate() {
                if split == Split::Kind && kind >= EVERY {
                    continue;
                }
                let own = Some(kind).filter(|kind| *kind < EVERY);
                for (phase, count) in phases.iter().enumerate() {
                    let level = level(split, group, kind, phase);
                    for place in own.into_iter().chain([EVERY]) {
                        sums[level][place][fold] += *count;
                    }
                }
            }
        }
        Summed { names, sums, sides }
    }

    /// Hands out the name of each level, each kind that has cells of its own there, each fold, the
    /// counts, and the sides with their turns.
    fn each(&self, split: Split, mut put: impl FnMut(&str, KindOrAll, usize, &T, (u64, u64))) {
        for (number, name) in self.names.iter().enumerate() {
            for (kind, place) in kinds(split, number) {
                for (fold, count) in self.sums[number][place].iter().enumerate() {
                    put(name, kind, fold, count, self.sides[number][fold]);
                }
            }
        }
    }
}

/// Adds spells to the cells of their measures.
///
/// `developed` says which pieces: of developed ones the turns in spells are not all turns at which a
/// piece is held, since a spell counts by what its piece was at its start.
pub fn count_spells(
    games: &Games,
    counts: &ByGroup<Spells, { Kind::COUNT }>,
    splits: &[Split],
    developed: YesNo,
    cells: &mut Cells,
) {
    for &split in splits {
        let summed = Summed::new(games, split, counts);
        summed.each(split, |name, kind, fold, count, (sides, turns)| {
            let mut put = |measure: Measure, events, trials| {
                if measure.given(split) {
                    let place = Place::new(measure, split, name, kind);
                    add(cells, place, fold, u64::from(events), trials);
                }
            };
            put(Measure::SpellsPerGame, count.spells, sides);
            if developed == YesNo::Any {
                put(Measure::HeldTurnsPerTurn, count.turns, turns);
            }
            put(Measure::ReleaseRate, count.freed, count.turns.into());
            put(Measure::RestraintsPerGame, count.restrained, sides);
            put(
                Measure::RestraintsLost,
                count.restrained_lost,
                count.restrained.into(),
            );
            put(Measure::SpellsLost, count.lost, count.spells.into());
        });
    }
}

/// Adds chances to the cells of their measures; each stands for `sample` turns.
pub fn count_chances(
    games: &Games,
    counts: &ByGroup<Chances, { Kind::COUNT }>,
    sample: u64,
    splits: &[Split],
    cells: &mut Cells,
) {
    for &split in splits {
        let summed = Summed::new(games, split, counts);
        summed.each(split, |name, kind, fold, count, (sides, _)| {
            let mut put = |measure, events, trials| {
                let place = Place::new(measure, split, name, kind);
                add(cells, place, fold, events, trials);
            };
            let chances = u64::from(count.chances);
            let (taken, at_random) = (count.taken.into(), count.at_random.into());
            put(Measure::ChancesPerGame, chances * sample, sides);
            put(Measure::ChancesTaken, taken, chances);
            put(
                Measure::ChancesAtRandom,
                at_random,
                chances * u64::from(PARTS),
            );
        });
    }
}

/// Adds moves to the cells of their measure.
pub fn count_moves(
    games: &Games,
    counts: &ByGroup<Moves, { Kind::COUNT + 1 }>,
    splits: &[Split],
    cells: &mut Cells,
) {
    for &split in splits {
        let summed = Summed::new(games, split, counts);
        summed.each(split, |name, kind, fold, count, _| {
            let place = Place::new(Measure::SquaresTakenPerMove, split, name, kind);
            let (taken, moves) = (count.taken.into(), count.moves.into());
            add(cells, place, fold, taken, moves);
        });
    }
}
