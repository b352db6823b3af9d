//! What a report takes from the table `sides`: sums by player, by ratings, and held pieces by fold.

use std::collections::BTreeMap;

use arrow_array::Int16Array;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::by_player::{ByPlayer, OfSide, SPLITS};
use super::by_ratings::{ByRatings, Clusters};
use super::chances::PARTS;
use super::counts::{Cells, FOLDS, Place, add};
use super::file::BandReport;
use super::games::{LETTERS, letter};
use super::measures::{Measure, Split};
use super::side_counts::{PLACES, SideCounts, place_of};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, YesNo};
use hobble_dataset::Part;
use hobble_dataset::columns::{Numbers, Read, Rows, Texts, short};

/// The horizon of the losses in `sides`, in moves.
const WITHIN: u32 = 10;

/// What is counted of sides.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct OfSides {
    /// By player.
    pub by_player: ByPlayer,
    /// By own and opponent's rating.
    pub by_ratings: ByRatings,
    /// Held and developed pieces by level and fold.
    held: BTreeMap<Split, BTreeMap<String, Vec<Held>>>,
}

/// Piece-turns of developed pieces by kind, and turns of their sides.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Held {
    held: [u64; Kind::COUNT],
    developed: [u64; Kind::COUNT],
    turns: u64,
}

impl Held {
    fn add(&mut self, other: &Held) {
        self.turns += other.turns;
        for kind in 0..Kind::COUNT {
            self.held[kind] += other.held[kind];
            self.developed[kind] += other.developed[kind];
        }
    }

    /// Held and developed piece-turns, of a kind or of all.
    fn of(&self, kind: Option<Kind>) -> (u64, u64) {
        match kind {
            Some(kind) => (self.held[kind as usize], self.developed[kind as usize]),
            None => (self.held.iter().sum(), self.developed.iter().sum()),
        }
    }
}

impl OfSides {
    /// Reads a part of the table; one turn in `sample` is in the sample.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable or not of its schema.
    pub fn read(part: &Part, report: &BandReport, sample: u64) -> Result<OfSides, AskError> {
        let columns = Columns::of(report.k);
        let in_batch = |rows: &Rows, out: &mut OfSides| {
            let batch = Batch::of(rows, &columns)?;
            out.in_batch(&batch, report, sample)
        };
        part.count(&columns.names(), OfSides::default, in_batch, OfSides::add)
    }

    /// Adds what was counted elsewhere.
    pub fn add(&mut self, other: OfSides) {
        self.by_player.add(other.by_player);
        self.by_ratings.add(other.by_ratings);
        for (split, levels) in other.held {
            for (level, folds) in levels {
                let sums = self.held(split, &level);
                for (sum, count) in sums.iter_mut().zip(&folds) {
                    sum.add(count);
                }
            }
        }
    }

    fn held(&mut self, split: Split, level: &str) -> &mut Vec<Held> {
        let levels = self.held.entry(split).or_default();
        if !levels.contains_key(level) {
            levels.insert(level.to_owned(), vec![Held::default(); FOLDS]);
        }
        levels.entry(level.to_owned()).or_default()
    }

    fn in_batch(
        &mut self,
        batch: &Batch<'_>,
        report: &BandReport,
        sample: u64,
    ) -> Result<(), AskError> {
        let game = batch.rows.fours("game")?;
        // The two rows of a game stand one after the other, in one batch.
        let mut sides: Vec<OfSide<'_>> = Vec::with_capacity(2);
        for row in 0..batch.rows.len() {
            let side = batch.side(row, report, sample)?;
            let fold = usize::from(batch.fold[row]) % FOLDS;
            let held = batch.held(row);
            for (split, level) in SPLITS.into_iter().zip(side.levels) {
                self.held(split, level)[fold].add(&held);
            }
            if let [Some(own), Some(other)] = batch.ratings(row) {
                let player = batch.player_fold.get(row);
                let clusters = Clusters {
                    game: fold as u8,
                    player: player.map_or(fold as u8, |fold| fold as u8 % FOLDS as u8),
                };
                self.by_ratings
                    .add_side([own, other], clusters, &side.counts);
            }
            sides.push(side);
            if game.get(row + 1) != Some(&game[row]) {
                self.by_player.add_game(&sides);
                sides.clear();
            }
        }
        self.by_player.fit();
        Ok(())
    }

    /// Adds held pieces to the cells of their measures: how many at a turn, and their share in splits
    /// that the cube does not know.
    pub fn count(&self, splits: &[Split], cells: &mut Cells) {
        for &split in splits {
            // Of the split by kind the levels are the kinds of all sides.
            let read = if split == Split::Kind {
                Split::All
            } else {
                split
            };
            for (level, folds) in self.held.get(&read).into_iter().flatten() {
                let kinds = Kind::ALL.into_iter().map(Some);
                let kinds: Vec<Option<Kind>> = match split {
                    Split::All => vec![None],
                    Split::Kind => kinds.collect(),
                    _ => std::iter::once(None).chain(kinds).collect(),
                };
                for kind in kinds {
                    let level = match kind {
                        Some(kind) if split == Split::Kind => kind.name(),
                        _ => level.as_str(),
                    };
                    for (fold, held) in folds.iter().enumerate() {
                        let (events, developed) = held.of(kind);
                        let mut put = |measure, trials| {
                            let place = Place::new(measure, split, level, kind);
                            add(cells, place, fold, events, trials);
                        };
                        put(Measure::HeldTurnsPerTurn, held.turns);
                        if matches!(split, Split::Color | Split::Eco) {
                            put(Measure::HeldShare, developed);
                        }
                    }
                }
            }
        }
    }
}

/// Whether a measure of this report is the quotient of sums of columns of `sides`.
fn given(measure: Measure, report: &BandReport) -> bool {
    match measure {
        Measure::LossRiskStandardised => false,
        Measure::SquaresTakenPerMove
        | Measure::ChancesPerGame
        | Measure::ChancesTaken
        | Measure::ChancesAtRandom => true,
        Measure::RestraintsLost | Measure::LossRisk => {
            report.developed == YesNo::Yes && report.within == WITHIN
        }
        _ => report.developed == YesNo::Yes,
    }
}

/// Names of the columns that are added up at some k.
struct Columns {
    spells: Vec<String>,
    restraints: [String; 2],
    held: Vec<String>,
    developed: Vec<String>,
    held_lost: String,
    turns: [String; 3],
}

impl Columns {
    fn of(k: u8) -> Columns {
        let ends = ["lost", "traded", "sold", "freed", "game_over"];
        let kinds = || Kind::ALL.iter();
        Columns {
            spells: ends.iter().map(|end| format!("end_{end}_{k}")).collect(),
            restraints: [format!("restraints_{k}"), format!("restraints_lost_{k}")],
            held: kinds().map(|kind| format!("held_{kind}_{k}")).collect(),
            developed: kinds()
                .map(|kind| format!("developed_turns_{kind}"))
                .collect(),
            held_lost: format!("held_lost_{k}"),
            turns: [
                format!("spell_turns_{k}"),
                format!("end_freed_{k}"),
                format!("end_lost_{k}"),
            ],
        }
    }

    fn names(&self) -> Vec<&str> {
        let fixed = [
            "game",
            "fold",
            "color",
            "player_key",
            "player_fold",
            "rating",
            "opponent_rating",
            "band",
            "time_class",
            "eco",
            "turns",
            "taken",
            "chances",
            "chances_taken",
            "chances_at_random",
        ];
        let of_k = self.spells.iter().chain(&self.restraints).chain(&self.held);
        let of_k = of_k
            .chain(&self.developed)
            .chain([&self.held_lost, &self.turns[0]]);
        fixed.into_iter().chain(of_k.map(String::as_str)).collect()
    }
}

/// Columns of a batch.
struct Batch<'a> {
    rows: &'a Rows,
    fold: &'a [u8],
    player: Texts<'a>,
    player_fold: Numbers<'a>,
    /// Own and opponent's.
    ratings: [&'a Int16Array; 2],
    levels: [Texts<'a>; 3],
    letter: Read<'a, u8>,
    spells: Vec<&'a [i32]>,
    restraints: [&'a [i32]; 2],
    held: Vec<&'a [i32]>,
    developed: Vec<&'a [i32]>,
    held_lost: &'a [i32],
    spell_turns: &'a [i32],
    freed: &'a [i32],
    lost: &'a [i32],
    turns: &'a [i32],
    taken: &'a [i32],
    chances: [&'a [i32]; 3],
}

impl<'a> Batch<'a> {
    fn of(rows: &'a Rows, columns: &Columns) -> Result<Batch<'a>, AskError> {
        let all = |names: &[String]| -> Result<Vec<&'a [i32]>, AskError> {
            let columns = names.iter().map(|name| Ok(rows.signed_fours(name)?));
            columns.collect()
        };
        Ok(Batch {
            rows,
            fold: rows.bytes("fold")?,
            player: rows.texts("player_key")?,
            player_fold: rows.optional_numbers("player_fold")?,
            ratings: [rows.signed("rating")?, rows.signed("opponent_rating")?],
            levels: [
                rows.texts("band")?,
                rows.texts("time_class")?,
                rows.texts("color")?,
            ],
            letter: rows.texts("eco")?.read_as(letter),
            spells: all(&columns.spells)?,
            restraints: [
                rows.signed_fours(&columns.restraints[0])?,
                rows.signed_fours(&columns.restraints[1])?,
            ],
            held: all(&columns.held)?,
            developed: all(&columns.developed)?,
            held_lost: rows.signed_fours(&columns.held_lost)?,
            spell_turns: rows.signed_fours(&columns.turns[0])?,
            freed: rows.signed_fours(&columns.turns[1])?,
            lost: rows.signed_fours(&columns.turns[2])?,
            turns: rows.signed_fours("turns")?,
            taken: rows.signed_fours("taken")?,
            chances: [
                rows.signed_fours("chances")?,
                rows.signed_fours("chances_taken")?,
                rows.signed_fours("chances_at_random")?,
            ],
        })
    }

    /// A side: its levels in the order of [`SPLITS`], its player and its counts.
    fn side(&self, row: usize, report: &BandReport, sample: u64) -> Result<OfSide<'a>, AskError> {
        let level = |at: usize, name: &str| {
            let null = || self.rows.bad(format!("column \"{name}\" holds a null"));
            self.levels[at].get(row).ok_or_else(null)
        };
        let player = self.player.get(row);
        Ok(OfSide {
            levels: [
                "all",
                level(0, "band")?,
                level(1, "time_class")?,
                level(2, "color")?,
                LETTERS[usize::from(self.letter.at(row))],
            ],
            player: player.map(|key| xxh3_64(key.as_bytes())),
            counts: self.counts(row, report, sample),
        })
    }

    /// Own and opponent's rating.
    fn ratings(&self, row: usize) -> [Option<u16>; 2] {
        let of = |column| short(column, row).and_then(|rating| u16::try_from(rating).ok());
        self.ratings.map(of)
    }

    fn held(&self, row: usize) -> Held {
        let all = |columns: &[&[i32]]| std::array::from_fn(|kind| count(columns[kind], row));
        Held {
            held: all(&self.held),
            developed: all(&self.developed),
            turns: count(self.turns, row),
        }
    }

    /// Events and trials of a row, for the measures that the report takes from it.
    fn counts(&self, row: usize, report: &BandReport, sample: u64) -> SideCounts {
        let one = |column: &[i32]| count(column, row);
        let spells = self.spells.iter().map(|column| one(column)).sum::<u64>();
        let held = self.held(row);
        let (of_all, developed) = held.of(None);
        let restraints = one(self.restraints[0]);
        let chances = one(self.chances[0]);
        let mut counts = [(0, 0); PLACES];
        for measure in Measure::ALL.into_iter().filter(|one| given(*one, report)) {
            counts[measure as usize] = match measure {
                Measure::SpellsPerGame => (spells, 1),
                Measure::RestraintsPerGame => (restraints, 1),
                Measure::RestraintsLost => (one(self.restraints[1]), restraints),
                Measure::SquaresTakenPerMove => (one(self.taken), held.turns),
                Measure::HeldShare => (of_all, developed),
                Measure::HeldTurnsPerTurn => (of_all, held.turns),
                Measure::LossRisk => (one(self.held_lost), of_all),
                Measure::LossRiskStandardised => (0, 0),
                Measure::ReleaseRate => (one(self.freed), one(self.spell_turns)),
                Measure::SpellsLost => (one(self.lost), spells),
                Measure::ChancesPerGame => (chances * sample, 1),
                Measure::ChancesTaken => (one(self.chances[1]), chances),
                Measure::ChancesAtRandom => (one(self.chances[2]), chances * PARTS),
            };
            for kind in Kind::ALL {
                let Some(place) = place_of(measure, Some(kind)) else {
                    continue;
                };
                let (events, developed) = held.of(Some(kind));
                counts[place] = match measure {
                    Measure::HeldShare => (events, developed),
                    _ => (events, held.turns),
                };
            }
        }
        counts
    }
}

/// A count; the table has none below 0.
fn count(column: &[i32], row: usize) -> u64 {
    u64::try_from(column[row]).unwrap_or(0)
}
