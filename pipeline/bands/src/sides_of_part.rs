//! Reads the table `sides` of a part: by player, by ratings, and held pieces by fold.

use arrow_array::Int16Array;
use rayon::prelude::*;
use xxhash_rust::xxh3::xxh3_64;

use super::by_player::{ByPlayer, SPLITS};
use super::by_ratings::{ByRatings, Clusters};
use super::counts::FOLDS;
use super::file::BandReport;
use super::games::{LETTERS, colors, letter};
use super::measures::Split;
use super::of_sides::{Held, OfSides};
use super::side_counts::{SideCounts, Sums};
use super::side_products::{OfSide, SideProducts};
use super::side_tables::{DevelopedTurns, OfPhases, SideRow, SideTables};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase};
use hobble_dataset::Part;
use hobble_dataset::columns::{Numbers, Read, Rows, Texts, short};

/// Games whose sides are counted at once: their counts stay in the cache.
const GAMES: usize = 256;

/// Reads a part of the table, `tables` being what the others say of the part.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn read(part: &Part, report: &BandReport, tables: &SideTables) -> Result<OfSides, AskError> {
    let columns = Columns::of(report.k);
    let mut reading = Reading::new();
    // One batch after the other: players of several would take more memory than waiting takes time.
    part.each(&columns.names(), |rows| {
        let by_player = &mut reading.by_player;
        let number = |split, name: &str| by_player.number(split, name);
        let batch = Batch::of(rows, &columns, number)?;
        reading.in_batch(&batch, report, tables)
    })?;
    Ok(reading.end())
}

/// Numbers of the levels that are known before reading.
#[derive(Debug, Clone, Copy)]
struct Known {
    all: usize,
    letters: [usize; LETTERS.len()],
    phases: [usize; Phase::COUNT],
}

/// A side, with all that is counted of it.
struct Side {
    row: usize,
    levels: [usize; SPLITS.len()],
    /// Hash of its player's key.
    player: Option<u64>,
    of_row: SideRow,
    sums: OfPhases,
    /// What follows from the sums: in all phases and in each.
    whole: SideCounts,
    phases: [SideCounts; Phase::COUNT],
}

/// What is counted of a part.
struct Reading {
    known: Known,
    by_player: ByPlayer,
    others: Others,
    /// The sides that are counted at once.
    sides: Vec<Side>,
}

/// Counts that need no players.
#[derive(Default)]
struct Others {
    products: SideProducts,
    by_ratings: ByRatings,
    /// By number of the level, and by fold.
    held: Vec<Vec<Held>>,
}

impl Reading {
    fn new() -> Reading {
        let mut by_player = ByPlayer::default();
        let known = Known {
            all: by_player.number(Split::All, "all"),
            letters: LETTERS.map(|letter| by_player.number(Split::Eco, letter)),
            phases: Phase::ALL.map(|phase| by_player.number(Split::Phase, phase.name())),
        };
        Reading {
            known,
            by_player,
            others: Others::default(),
            sides: Vec::new(),
        }
    }

    fn in_batch(
        &mut self,
        batch: &Batch<'_>,
        report: &BandReport,
        tables: &SideTables,
    ) -> Result<(), AskError> {
        let known = self.known;
        let game = batch.rows.fours("game")?;
        let of_row = |row| Ok((batch.color(row)?, batch.levels(row, &known)?));
        let of_rows: Vec<_> = (0..game.len())
            .map(of_row)
            .collect::<Result<_, AskError>>()?;
        let side = |row: usize| {
            let ((color, levels), of_row) = (of_rows[row], batch.row(row));
            let sums = tables.counts((game[row], color), &of_row, report);
            Side {
                row,
                levels,
                player: batch.player(row),
                of_row,
                whole: sums.whole.side_counts(),
                phases: sums.phases.map(|sums| sums.side_counts()),
                sums,
            }
        };
        // The two rows of a game stand one after the other, in one batch.
        let games: Vec<&[u32]> = game.chunk_by(|a, b| a == b).collect();
        let mut first = 0;
        for games in games.chunks(GAMES) {
            let rows = first..first + games.iter().map(|rows| rows.len()).sum::<usize>();
            first = rows.end;
            let sides = &mut self.sides;
            rows.into_par_iter().map(side).collect_into_vec(sides);
            let (by_player, others) = (&mut self.by_player, &mut self.others);
            rayon::join(
                || by_player.add_sides(sides, |level, side: &Side| side.in_level(level, &known)),
                || others.add(batch, games, sides, &known),
            );
        }
        self.by_player.fit();
        Ok(())
    }

    fn end(self) -> OfSides {
        let Reading {
            mut by_player,
            others,
            ..
        } = self;
        by_player.add_products(&others.products);
        let mut of_sides = OfSides::default();
        of_sides.by_ratings = others.by_ratings;
        for (level, folds) in others.held.iter().enumerate() {
            if !folds.is_empty() {
                let (split, name) = by_player.name(level);
                of_sides.add_held(split, name, folds);
            }
        }
        by_player.put_in_order();
        of_sides.by_player = by_player;
        of_sides
    }
}

impl Side {
    /// Its player and the player's counts in a level, if it belongs to it.
    fn in_level(&self, level: usize, known: &Known) -> Option<(u64, &Sums)> {
        let phase = known.phases.iter().position(|&phase| phase == level);
        let sums = match phase {
            Some(phase) => &self.sums.phases[phase],
            None if self.levels.contains(&level) => &self.sums.whole,
            None => return None,
        };
        Some((self.player?, sums))
    }
}

impl Others {
    /// Adds the sides of some games, of each of which the rows are given.
    fn add(&mut self, batch: &Batch<'_>, games: &[&[u32]], sides: &[Side], known: &Known) {
        let mut left = sides;
        for rows in games {
            let (of_game, next) = left.split_at(rows.len());
            left = next;
            self.add_game(of_game, known);
        }
        for side in sides {
            self.add_side(batch, side);
        }
    }

    fn add_game(&mut self, sides: &[Side], known: &Known) {
        let whole = sides.iter().map(|side| OfSide {
            levels: &side.levels,
            player: side.player,
            counts: &side.whole,
        });
        self.products.add_game(&whole.collect::<Vec<_>>());
        for (phase, level) in known.phases.iter().enumerate() {
            let in_phase = sides.iter().map(|side| OfSide {
                levels: std::slice::from_ref(level),
                player: side.player,
                counts: &side.phases[phase],
            });
            self.products.add_game(&in_phase.collect::<Vec<_>>());
        }
    }

    /// Adds a side's held pieces, and its counts by ratings.
    fn add_side(&mut self, batch: &Batch<'_>, side: &Side) {
        let fold = usize::from(batch.fold[side.row]) % FOLDS;
        let held = Held::of_row(&side.of_row);
        for level in side.levels {
            if self.held.len() <= level {
                self.held.resize(level + 1, Vec::new());
            }
            let folds = &mut self.held[level];
            folds.resize(FOLDS, Held::default());
            folds[fold].add(&held);
        }
        if let [Some(own), Some(other)] = batch.ratings(side.row) {
            let player = batch.player_fold.get(side.row);
            let clusters = Clusters {
                game: fold as u8,
                player: player.map_or(fold as u8, |fold| fold as u8 % FOLDS as u8),
            };
            let counts = side.whole.of_all_kinds();
            self.by_ratings.add_side([own, other], clusters, &counts);
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
    /// Numbers of band, time class and colour.
    levels: [Read<'a, Option<usize>>; 3],
    /// Number of the ECO letter.
    letter: Read<'a, u8>,
    color: Read<'a, Option<usize>>,
    turns: &'a [i32],
    /// As [`Columns::kinds`].
    kinds: [[&'a [i32]; 3]; Kind::COUNT],
    /// As [`Columns::phases`].
    phases: [[&'a [i32]; 3]; Phase::COUNT],
}

impl<'a> Batch<'a> {
    fn of(
        rows: &'a Rows,
        columns: &Columns,
        mut number: impl FnMut(Split, &str) -> usize,
    ) -> Result<Batch<'a>, AskError> {
        let mut level = |name: &str, split: Split| -> Result<_, AskError> {
            let texts = rows.texts(name)?;
            Ok(texts.read_as(|word| Some(number(split, word?))))
        };
        Ok(Batch {
            rows,
            fold: rows.bytes("fold")?,
            player: rows.texts("player_key")?,
            player_fold: rows.optional_numbers("player_fold")?,
            ratings: [rows.signed("rating")?, rows.signed("opponent_rating")?],
            levels: [
                level("band", Split::Band)?,
                level("time_class", Split::TimeClass)?,
                level("color", Split::Color)?,
            ],
            letter: rows.texts("eco")?.read_as(letter),
            color: colors(rows)?,
            turns: rows.signed_fours("turns")?,
            kinds: counts(rows, &columns.kinds)?,
            phases: counts(rows, &columns.phases)?,
        })
    }

    /// Numbers of the levels of a side in the order of [`SPLITS`].
    fn levels(&self, row: usize, known: &Known) -> Result<[usize; SPLITS.len()], AskError> {
        let level = |at: usize, name: &str| {
            let null = || self.rows.bad(format!("column \"{name}\" holds a null"));
            self.levels[at].at(row).ok_or_else(null)
        };
        Ok([
            known.all,
            level(0, "band")?,
            level(1, "time_class")?,
            level(2, "color")?,
            known.letters[usize::from(self.letter.at(row))],
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
