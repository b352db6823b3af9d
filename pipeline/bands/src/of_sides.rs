//! What a report takes from the table `sides`: sums by player, by ratings, and held pieces by fold.

use std::collections::BTreeMap;

use arrow_array::Int16Array;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::by_player::{ByPlayer, OfSide, SPLITS};
use super::by_ratings::{ByRatings, Clusters};
use super::counts::{Cells, FOLDS, Place, add};
use super::file::BandReport;
use super::games::{LETTERS, colors, letter};
use super::measures::{Measure, Split};
use super::side_tables::{DevelopedTurns, OfPhases, SideRow, SideTables};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase};
use hobble_dataset::Part;
use hobble_dataset::columns::{Numbers, Read, Rows, Texts, short};

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
    /// Reads a part of the table, `tables` being what the others say of the part.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable or not of its schema.
    pub fn read(
        part: &Part,
        report: &BandReport,
        tables: &SideTables,
    ) -> Result<OfSides, AskError> {
        let columns = Columns::of(report.k);
        let mut out = OfSides::default();
        // One batch after the other: players take more memory than waiting for them takes time.
        part.each(&columns.names(), |rows| {
            out.in_batch(&Batch::of(rows, &columns)?, report, tables)
        })?;
        Ok(out)
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
        tables: &SideTables,
    ) -> Result<(), AskError> {
        let game = batch.rows.fours("game")?;
        // The two rows of a game stand one after the other, in one batch.
        let mut first = 0;
        for row in 0..batch.rows.len() {
            if game.get(row + 1) == Some(&game[row]) {
                continue;
            }
            let rows = first..row + 1;
            first = row + 1;
            let in_row = |row: usize| {
                let (levels, of_row) = (batch.levels(row)?, batch.row(row));
                let side = (game[row], batch.color(row)?);
                let counts = tables.counts(side, &of_row, report);
                self.add_row(batch, row, (&levels, &of_row), &counts);
                Ok((batch.player(row), levels, counts))
            };
            let read: Vec<_> = rows.map(in_row).collect::<Result<_, AskError>>()?;
            let sides = read.iter().map(|(player, levels, counts)| OfSide {
                levels: *levels,
                player: *player,
                counts,
            });
            self.by_player.add_game(&sides.collect::<Vec<_>>());
        }
        self.by_player.fit();
        Ok(())
    }

    /// Adds a side's held pieces, and its counts by ratings.
    fn add_row(
        &mut self,
        batch: &Batch<'_>,
        row: usize,
        (levels, of_row): (&[&str; SPLITS.len()], &SideRow),
        counts: &OfPhases,
    ) {
        let fold = usize::from(batch.fold[row]) % FOLDS;
        let held = Held {
            held: of_row.of_kind.map(|turns| turns.held.into()),
            developed: of_row.of_kind.map(|turns| turns.all.into()),
            turns: of_row.turns.into(),
        };
        for (split, level) in SPLITS.into_iter().zip(levels) {
            self.held(split, level)[fold].add(&held);
        }
        if let [Some(own), Some(other)] = batch.ratings(row) {
            let player = batch.player_fold.get(row);
            let clusters = Clusters {
                game: fold as u8,
                player: player.map_or(fold as u8, |fold| fold as u8 % FOLDS as u8),
            };
            let counts = counts.whole.whole_counts();
            self.by_ratings.add_side([own, other], clusters, &counts);
        }
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

/// Names of the columns that are added up at some k: of each kind and of each phase all turns of
/// developed pieces, held ones and those before a loss.
struct Columns {
    kinds: [[String; 3]; Kind::COUNT],
    phases: [[String; 3]; Phase::COUNT],
}

impl Columns {
    fn of(k: u8) -> Columns {
        let of = |word: &str| {
            [
                format!("developed_turns_{word}"),
                format!("held_{word}_{k}"),
                format!("held_lost_{word}_{k}"),
            ]
        };
        Columns {
            kinds: Kind::ALL.map(|kind| of(kind.name())),
            phases: Phase::ALL.map(|phase| of(phase.name())),
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
        ];
        let counts = self.kinds.iter().chain(&self.phases).flatten();
        fixed
            .into_iter()
            .chain(counts.map(String::as_str))
            .collect()
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
    color: Read<'a, Option<usize>>,
    turns: &'a [i32],
    /// As [`Columns::kinds`].
    kinds: [[&'a [i32]; 3]; Kind::COUNT],
    /// As [`Columns::phases`].
    phases: [[&'a [i32]; 3]; Phase::COUNT],
}

impl<'a> Batch<'a> {
    fn of(rows: &'a Rows, columns: &Columns) -> Result<Batch<'a>, AskError> {
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
            color: colors(rows)?,
            turns: rows.signed_fours("turns")?,
            kinds: counts(rows, &columns.kinds)?,
            phases: counts(rows, &columns.phases)?,
        })
    }

    /// The levels of a side in the order of [`SPLITS`].
    fn levels(&self, row: usize) -> Result<[&'a str; SPLITS.len()], AskError> {
        let level = |at: usize, name: &str| {
            let null = || self.rows.bad(format!("column \"{name}\" holds a null"));
            self.levels[at].get(row).ok_or_else(null)
        };
        Ok([
            "all",
            level(0, "band")?,
            level(1, "time_class")?,
            level(2, "color")?,
            LETTERS[usize::from(self.letter.at(row))],
        ])
    }

    /// Hash of the player's key.
    fn player(&self, row: usize) -> Option<u64> {
        let key = self.player.get(row);
        key.map(|key| xxh3_64(key.as_bytes()))
    }

    /// Number of the colour.
    fn color(&self, row: usize) -> Result<u8, AskError> {
        let unknown = || {
            self.rows
                .bad("column \"color\" holds an unknown word".to_owned())
        };
        Ok(self.color.at(row).ok_or_else(unknown)? as u8)
    }

    /// Own and opponent's rating.
    fn ratings(&self, row: usize) -> [Option<u16>; 2] {
        let of = |column| short(column, row).and_then(|rating| u16::try_from(rating).ok());
        self.ratings.map(of)
    }

    /// The counts of a row.
    fn row(&self, row: usize) -> SideRow {
        let turns = |[all, held, lost]: [&[i32]; 3]| DevelopedTurns {
            all: count(all, row),
            held: count(held, row),
            lost: count(lost, row),
        };
        SideRow {
            turns: count(self.turns, row),
            of_kind: self.kinds.map(turns),
            of_phase: self.phases.map(turns),
        }
    }
}

/// Columns of counts, as their names stand.
fn counts<'a, const N: usize>(
    rows: &'a Rows,
    names: &[[String; 3]; N],
) -> Result<[[&'a [i32]; 3]; N], AskError> {
    let mut columns = [[&[][..]; 3]; N];
    for (columns, names) in columns.iter_mut().flatten().zip(names.iter().flatten()) {
        *columns = rows.signed_fours(names)?;
    }
    Ok(columns)
}

/// A count; the table has none below 0.
fn count(column: &[i32], row: usize) -> u32 {
    u32::try_from(column[row]).unwrap_or(0)
}
