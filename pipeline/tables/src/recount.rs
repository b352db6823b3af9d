//! The tables counted again from the files, for [`hobble_terms::manifest`] and the user to check
//! against.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use arrow_array::cast::AsArray as _;
use arrow_array::types::{UInt16Type, UInt32Type, UInt64Type};
use arrow_array::{Array as _, RecordBatch};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::errors::ParquetError;
use shakmaty::fen::Fen;
use shakmaty::{Color, Role};

use crate::part::{self, PartError};
use hobble_terms::Table;
use hobble_terms::account::{Account, count};
use hobble_terms::manifest::Manifest;

/// What can stop a recount.
#[derive(Debug, thiserror::Error)]
pub enum RecountError {
    /// A file is not what the manifest says.
    #[error(transparent)]
    Part(#[from] PartError),
    /// A file cannot be opened.
    #[error("{path}: {error}", path = path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: std::io::Error,
    },
    /// A file cannot be read as Parquet.
    #[error("{path}: {error}", path = path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the reader said.
        error: ParquetError,
    },
    /// A column is not what its schema says.
    #[error("{path}: column {column} is not as schemas/{table}.json says", path = path.display())]
    Column {
        /// The file.
        path: PathBuf,
        /// The table.
        table: &'static str,
        /// The column.
        column: String,
    },
}

/// One comparison: a figure by two ways of counting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// What is counted.
    pub what: String,
    /// The two ways, and what each gives.
    pub ways: [(String, u64); 2],
}

impl Comparison {
    /// A comparison of two counts.
    pub fn new(what: &str, a: (&str, u64), b: (&str, u64)) -> Comparison {
        Comparison {
            what: what.to_owned(),
            ways: [a, b].map(|(name, n)| (name.to_owned(), n)),
        }
    }

    /// Whether the two agree.
    pub fn agrees(&self) -> bool {
        self.ways[0].1 == self.ways[1].1
    }
}

/// The result of a recount.
#[derive(Debug, Default)]
pub struct Recount {
    /// What was compared.
    pub comparisons: Vec<Comparison>,
    /// What the tables say of games read, added up anew.
    pub account: Account,
    /// Games whose start and moves stand in another game as well.
    pub repeats: u64,
}

/// A file read batch by batch.
fn read(
    path: &Path,
    table: Table,
    columns: &[&str],
    mut batch: impl FnMut(&RecordBatch) -> Option<()>,
) -> Result<(), RecountError> {
    let parquet = |error| RecountError::Parquet {
        path: path.to_owned(),
        error,
    };
    let file = File::open(path).map_err(|error| RecountError::Io {
        path: path.to_owned(),
        error,
    })?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(parquet)?;
    let mask = ProjectionMask::columns(builder.parquet_schema(), columns.iter().copied());
    let reader = builder
        .with_projection(mask)
        .with_batch_size(65_536)
        .build()
        .map_err(parquet)?;
    for record in reader {
        let record = record.map_err(|error| parquet(error.into()))?;
        batch(&record).ok_or_else(|| RecountError::Column {
            path: path.to_owned(),
            table: table.name(),
            column: columns.join(", "),
        })?;
    }
    Ok(())
}

/// Sum of a column of small numbers.
fn sum16(batch: &RecordBatch, name: &str) -> Option<u64> {
    let column = batch
        .column_by_name(name)?
        .as_primitive_opt::<UInt16Type>()?;
    Some(column.values().iter().map(|&n| u64::from(n)).sum())
}

fn trues(batch: &RecordBatch, name: &str) -> Option<u64> {
    Some(batch.column_by_name(name)?.as_boolean_opt()?.true_count() as u64)
}

fn present(batch: &RecordBatch, name: &str) -> Option<u64> {
    let column = batch.column_by_name(name)?;
    Some((column.len() - column.null_count()) as u64)
}

/// Adds up how often each text stands in a column.
fn texts(batch: &RecordBatch, name: &str, counts: &mut BTreeMap<String, u64>) -> Option<()> {
    for text in batch.column_by_name(name)?.as_string_opt::<i32>()? {
        count(counts, text.unwrap_or("(null)"), 1);
    }
    Some(())
}

/// Knights, bishops, rooks and queens of each side at the start of a game.
fn pieces_at_start(fen: Option<&str>) -> Option<[u64; 2]> {
    let board = match fen {
        None => return Some([7, 7]),
        Some(fen) => {
            Fen::from_ascii(fen.trim().as_bytes())
                .ok()?
                .into_setup()
                .board
        }
    };
    let pieces = !board.pawns() & !board.kings();
    Some([Color::White, Color::Black].map(|side| (board.by_color(side) & pieces).count() as u64))
}

fn is_piece_name(name: &str) -> bool {
    [Role::Knight, Role::Bishop, Role::Rook, Role::Queen]
        .iter()
        .any(|&role| hobble_terms::kind::unit_name(role) == name)
}

/// Counts of one source that only its rows in order give.
#[derive(Default)]
struct Follow {
    /// For each game by number: pieces at the start, side on move first, plies.
    starts: BTreeMap<u32, ([u64; 2], usize, u32)>,
    /// Numbers of games seen, kept or skipped.
    numbers: u64,
    number_sum: u128,
    highest: u64,
}

impl Recount {
    /// Counts the tables of a folder again.
    ///
    /// # Errors
    ///
    /// Where a file the manifest names cannot be read.
    pub fn of(folder: &Path, manifest: &Manifest) -> Result<Recount, RecountError> {
        part::verify(folder, manifest, false)?;
        let mut recount = Recount::default();
        let mut moves_ids: Vec<u64> = Vec::new();
        let has = |table| manifest.parameters.tables.contains(&table);
        let mut rows: BTreeMap<Table, u64> = BTreeMap::new();
        let mut plies_of_games = 0;
        let mut moves = Account::default();
        let mut observations_of_moves = 0;
        let mut broken_games = 0;
        let mut numbers = (0_u64, 0_u64);
        for source in &manifest.sources {
            let mut follow = Follow::default();
            for part in &source.parts {
                let path = |table: Table| table.part_file(folder, &source.source, part.part);
                if has(Table::Games) {
                    let account = &mut recount.account;
                    games(&path(Table::Games), account, &mut follow, &mut moves_ids)?;
                }
                if has(Table::Skipped) {
                    let columns = ["game", "reason"];
                    let skipped = &mut recount.account.skipped;
                    read(&path(Table::Skipped), Table::Skipped, &columns, |batch| {
                        follow.number(batch)?;
                        texts(batch, "reason", skipped)
                    })?;
                }
                if has(Table::Moves) {
                    self::moves(
                        &path(Table::Moves),
                        &mut moves,
                        &mut follow,
                        &mut observations_of_moves,
                        &mut broken_games,
                    )?;
                }
                if has(Table::Spells) {
                    let spells = &mut recount.account.spells;
                    read(&path(Table::Spells), Table::Spells, &["end"], |batch| {
                        texts(batch, "end", spells)
                    })?;
                }
                if has(Table::Exposure) {
                    let observations = &mut recount.account.observations;
                    read(
                        &path(Table::Exposure),
                        Table::Exposure,
                        &["turns"],
                        |batch| {
                            let turns = batch.column_by_name("turns")?;
                            let turns = turns.as_primitive_opt::<UInt64Type>()?;
                            *observations += turns.values().iter().sum::<u64>();
                            Some(())
                        },
                    )?;
                }
                for &table in &manifest.parameters.tables {
                    *rows.entry(table).or_default() += rows_of(&path(table))?;
                }
            }
            broken_games += follow.starts.len() as u64;
            plies_of_games += source.account.plies;
            // Every number from 1 to the last exactly once: so many, with this sum.
            let full = u128::from(follow.highest) * u128::from(follow.highest + 1) / 2;
            numbers.0 += follow.numbers;
            numbers.1 += if follow.number_sum == full {
                follow.highest
            } else {
                0
            };
        }
        let account = &mut recount.account;
        account.read = account.kept + account.skipped.values().sum::<u64>();
        let written = manifest.account();
        let mut compare = |what: &str, a: (&str, u64), b: (&str, u64)| {
            recount.comparisons.push(Comparison::new(what, a, b));
        };
        for (&table, &found) in &rows {
            let said = manifest.tables.get(&table).map_or(0, |size| size.rows);
            let what = format!("rows of {}", table.name());
            compare(&what, ("manifest", said), ("files", found));
        }
        let games = &recount.account;
        if has(Table::Games) {
            compare(
                "games kept",
                ("manifest", written.kept),
                ("games", games.kept),
            );
            for (what, said, found) in [
                ("plies", written.plies, games.plies),
                ("captures", written.captures, games.captures),
                ("en passant", written.en_passant, games.en_passant),
                ("promotions", written.promotions, games.promotions),
                ("castlings", written.castlings, games.castlings),
                (
                    "zero-move games",
                    written.zero_move_games,
                    games.zero_move_games,
                ),
                ("longest game", written.longest, games.longest),
                ("clock comments", written.clocks, games.clocks),
                ("evaluation comments", written.evals, games.evals),
            ] {
                compare(what, ("manifest", said), ("games", found));
            }
            for (result, &said) in &written.results {
                let found = games.results.get(result).copied().unwrap_or(0);
                compare(
                    &format!("result {result}"),
                    ("manifest", said),
                    ("games", found),
                );
            }
        }
        if has(Table::Skipped) {
            let names: std::collections::BTreeSet<_> =
                written.skipped.keys().chain(games.skipped.keys()).collect();
            for reason in names {
                let of = |counts: &BTreeMap<String, u64>| counts.get(reason).copied().unwrap_or(0);
                compare(
                    &format!("skipped: {reason}"),
                    ("manifest", of(&written.skipped)),
                    ("skipped", of(&games.skipped)),
                );
            }
        }
        if has(Table::Games) && has(Table::Skipped) {
            compare(
                "games read",
                ("manifest", written.read),
                ("games + skipped", games.read),
            );
            compare(
                "games numbered 1, 2, 3 … without gap",
                ("rows", numbers.0),
                ("last numbers", numbers.1),
            );
        }
        if has(Table::Moves) {
            for (what, of_games, of_moves) in [
                ("plies", plies_of_games, moves.plies),
                ("captures", written.captures, moves.captures),
                ("en passant", written.en_passant, moves.en_passant),
                ("promotions", written.promotions, moves.promotions),
                ("castlings", written.castlings, moves.castlings),
            ] {
                compare(what, ("manifest", of_games), ("moves", of_moves));
            }
        }
        if has(Table::Games) && has(Table::Moves) {
            compare(
                "games whose plies are not 1, 2, 3 … to their number",
                ("expected", 0),
                ("moves", broken_games),
            );
        }
        if has(Table::Games) && has(Table::Moves) && has(Table::Exposure) {
            compare(
                "turns × pieces",
                ("moves, pieces counted down", observations_of_moves),
                ("exposure", recount.account.observations),
            );
        }
        if has(Table::Exposure) {
            let found = recount.account.observations;
            compare(
                "observations",
                ("manifest", written.observations),
                ("exposure", found),
            );
        }
        if has(Table::Spells) {
            for (end, &said) in &written.spells {
                let found = recount.account.spells.get(end).copied().unwrap_or(0);
                compare(
                    &format!("spells {end}"),
                    ("manifest", said),
                    ("spells", found),
                );
            }
        }
        moves_ids.sort_unstable();
        recount.repeats = moves_ids
            .chunk_by(|a, b| a == b)
            .filter(|same| same.len() > 1)
            .map(|same| same.len() as u64)
            .sum();
        Ok(recount)
    }
}

fn rows_of(path: &Path) -> Result<u64, RecountError> {
    let mut rows = 0;
    let file = File::open(path).map_err(|error| RecountError::Io {
        path: path.to_owned(),
        error,
    })?;
    let builder =
        ParquetRecordBatchReaderBuilder::try_new(file).map_err(|error| RecountError::Parquet {
            path: path.to_owned(),
            error,
        })?;
    for group in builder.metadata().row_groups() {
        rows += group.num_rows() as u64;
    }
    Ok(rows)
}

impl Follow {
    fn number(&mut self, batch: &RecordBatch) -> Option<()> {
        let games = batch
            .column_by_name("game")?
            .as_primitive_opt::<UInt32Type>()?;
        for &game in games.values() {
            self.numbers += 1;
            self.number_sum += u128::from(game);
            self.highest = self.highest.max(u64::from(game));
        }
        Some(())
    }
}

fn games(
    path: &Path,
    account: &mut Account,
    follow: &mut Follow,
    moves_ids: &mut Vec<u64>,
) -> Result<(), RecountError> {
    let columns = [
        "game",
        "moves_id",
        "result",
        "white_rating",
        "black_rating",
        "start_fen",
        "plies",
        "captures",
        "en_passant",
        "promotions",
        "castlings",
        "clocks",
        "evals",
        "repaired",
    ];
    read(path, Table::Games, &columns, |batch| {
        follow.number(batch)?;
        account.kept += batch.num_rows() as u64;
        account.plies += sum16(batch, "plies")?;
        account.captures += sum16(batch, "captures")?;
        account.en_passant += sum16(batch, "en_passant")?;
        account.promotions += sum16(batch, "promotions")?;
        account.castlings += sum16(batch, "castlings")?;
        account.clocks += sum16(batch, "clocks")?;
        account.evals += sum16(batch, "evals")?;
        account.repaired_games += trues(batch, "repaired")?;
        texts(batch, "result", &mut account.results)?;
        let ids = batch
            .column_by_name("moves_id")?
            .as_primitive_opt::<UInt64Type>()?;
        moves_ids.extend(ids.values());
        let numbers = batch
            .column_by_name("game")?
            .as_primitive_opt::<UInt32Type>()?;
        let plies = batch
            .column_by_name("plies")?
            .as_primitive_opt::<UInt16Type>()?;
        let fens = batch.column_by_name("start_fen")?.as_string_opt::<i32>()?;
        let white = batch.column_by_name("white_rating")?;
        let black = batch.column_by_name("black_rating")?;
        for row in 0..batch.num_rows() {
            let plies = plies.value(row);
            account.zero_move_games += u64::from(plies == 0);
            account.longest = account.longest.max(u64::from(plies));
            account.rated_games += u64::from(white.is_valid(row) || black.is_valid(row));
            if plies > 0 {
                let fen = fens.is_valid(row).then(|| fens.value(row));
                let pieces = pieces_at_start(fen)?;
                let black = fen.is_some_and(|fen| fen.split_whitespace().nth(1) == Some("b"));
                let start = (pieces, usize::from(black), u32::from(plies));
                follow.starts.insert(numbers.value(row), start);
            }
        }
        Some(())
    })
}

/// Counts plies, and turns × pieces by counting the pieces down from the start of each
/// game; a game whose plies came whole leaves `follow.starts`.
fn moves(
    path: &Path,
    account: &mut Account,
    follow: &mut Follow,
    observations: &mut u64,
    broken: &mut u64,
) -> Result<(), RecountError> {
    let columns = [
        "game",
        "ply",
        "captured",
        "promotion",
        "castling",
        "en_passant",
    ];
    // The game a batch broke off in.
    let mut open: Option<(u32, [u64; 2], usize, u32, u32)> = None;
    read(path, Table::Moves, &columns, |batch| {
        account.plies += batch.num_rows() as u64;
        account.captures += present(batch, "captured")?;
        account.promotions += present(batch, "promotion")?;
        account.castlings += trues(batch, "castling")?;
        account.en_passant += trues(batch, "en_passant")?;
        let games = batch
            .column_by_name("game")?
            .as_primitive_opt::<UInt32Type>()?;
        let plies = batch
            .column_by_name("ply")?
            .as_primitive_opt::<UInt16Type>()?;
        let captured = batch.column_by_name("captured")?.as_string_opt::<i32>()?;
        let promotion = batch.column_by_name("promotion")?.as_string_opt::<i32>()?;
        for row in 0..batch.num_rows() {
            let game = games.value(row);
            if open.is_none_or(|(number, ..)| number != game) {
                *broken += u64::from(open.is_some());
                open = match follow.starts.remove(&game) {
                    Some((pieces, side, plies)) => Some((game, pieces, side, plies, 0)),
                    None => {
                        *broken += 1;
                        None
                    }
                };
            }
            let Some((_, pieces, side, of, seen)) = &mut open else {
                continue;
            };
            *seen += 1;
            if u32::from(plies.value(row)) != *seen {
                *broken += 1;
            }
            *observations += pieces[*side];
            if captured.is_valid(row) && is_piece_name(captured.value(row)) {
                pieces[1 - *side] = pieces[1 - *side].saturating_sub(1);
            }
            if promotion.is_valid(row) {
                pieces[*side] += 1;
            }
            *side = 1 - *side;
            if seen == of {
                open = None;
            }
        }
        Some(())
    })?;
    *broken += u64::from(open.is_some());
    Ok(())
}

/// Parquet files in the folder of tables that the manifest does not name.
///
/// # Errors
///
/// Where a folder cannot be listed.
pub fn strangers(folder: &Path, manifest: &Manifest) -> Result<Vec<PathBuf>, RecountError> {
    let known: std::collections::HashSet<PathBuf> = manifest
        .sources
        .iter()
        .flat_map(|source| source.parts.iter().map(move |part| (source, part)))
        .flat_map(|(source, p)| {
            p.tables
                .keys()
                .map(|&t| t.part_file(Path::new(""), &source.source, p.part))
        })
        .collect();
    let mut found = Vec::new();
    for table in Table::ALL {
        let root = table.folder(folder);
        for source in listing(&root)? {
            for file in listing(&source)? {
                let own = file.strip_prefix(folder).unwrap_or(&file).to_owned();
                if !known.contains(&own) {
                    found.push(own);
                }
            }
        }
    }
    found.sort();
    Ok(found)
}

fn listing(folder: &Path) -> Result<Vec<PathBuf>, RecountError> {
    let io = |error| RecountError::Io {
        path: folder.to_owned(),
        error,
    };
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    fs::read_dir(folder)
        .map_err(io)?
        .map(|entry| entry.map(|entry| entry.path()).map_err(io))
        .collect()
}
