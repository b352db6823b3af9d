//! Frames hold what the batch reader reads, of several sources and parts, in row groups of five rows.

use std::fs;
use std::path::Path;

use hand_made_tables::{column, manifest, table, write};
use hobble_dataset::frame::{SOURCE, collect, number_is, text_is};
use hobble_dataset::{Dataset, DatasetError};
use hobble_terms::Table;
use polars::prelude::{DataType, JoinType, LazyFrame, UnionArgs, col, concat, len, lit};

/// Games of a part: numbers from `first`, every third without a rating, every fourth without a code.
fn games(first: u32, rows: u32) -> arrow_array::RecordBatch {
    let numbers = first..first + rows;
    let rating = |game: u32| (!game.is_multiple_of(3)).then_some(1500 + game as u16);
    let code =
        |game: u32| (!game.is_multiple_of(4)).then_some(["B12", "C45", "D"][game as usize % 3]);
    let clocks = |game: u32| (game > 4).then_some(game as f32 / 2.0);
    table(vec![
        column("game", numbers.clone().collect::<Vec<u32>>()),
        column(
            "game_id",
            numbers
                .clone()
                .map(|game| u64::MAX - u64::from(game))
                .collect::<Vec<u64>>(),
        ),
        column(
            "white_rating",
            numbers.clone().map(rating).collect::<Vec<_>>(),
        ),
        column("eco", numbers.clone().map(code).collect::<Vec<_>>()),
        column(
            "balance",
            numbers
                .clone()
                .map(|game| game as i16 - 9)
                .collect::<Vec<i16>>(),
        ),
        column(
            "pieces",
            numbers.clone().map(|game| game as u8).collect::<Vec<u8>>(),
        ),
        column("clock", numbers.clone().map(clocks).collect::<Vec<_>>()),
        column(
            "odd",
            numbers.map(|game| game % 2 == 1).collect::<Vec<bool>>(),
        ),
    ])
}

/// Three parts of two sources, 30 games.
fn dataset(dir: &Path) -> Dataset {
    write(dir, "games", "a", 0, &games(0, 12));
    write(dir, "games", "a", 1, &games(12, 8));
    write(dir, "games", "b", 0, &games(0, 10));
    manifest(dir, &[("a", 2), ("b", 1)]);
    Dataset::open(dir).unwrap()
}

fn rows(frame: LazyFrame) -> usize {
    collect(frame).unwrap().height()
}

#[test]
fn every_row_as_the_batch_reader_reads_it() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = dataset(dir.path());
    let frame = collect(dataset.frame(Table::Games).unwrap()).unwrap();
    let names: Vec<&str> = frame.get_column_names_str();
    let columns = [
        "game",
        "game_id",
        "white_rating",
        "eco",
        "balance",
        "pieces",
        "clock",
        "odd",
    ];
    assert_eq!(names[0], SOURCE);
    assert_eq!(names[1..], columns);
    let text = |name: &str| frame.column(name).unwrap().str().unwrap();
    let number = |name: &str| frame.column(name).unwrap().i32().unwrap();
    let mut at = 0;
    for part in dataset.parts(Table::Games).unwrap() {
        for group in part.groups().unwrap() {
            for batch in part.read(&columns, group).unwrap() {
                let batch = batch.unwrap();
                let (eco, clock) = (batch.texts("eco").unwrap(), batch.floats("clock").unwrap());
                let rating = batch.optional_numbers("white_rating").unwrap();
                let balance = batch.signed("balance").unwrap();
                for row in 0..batch.len() {
                    assert_eq!(text(SOURCE).get(at), Some(part.source()));
                    let game = number("game").get(at);
                    assert_eq!(game, Some(batch.fours("game").unwrap()[row] as i32));
                    let id = frame.column("game_id").unwrap().u64().unwrap().get(at);
                    assert_eq!(id, Some(batch.numbers("game_id").unwrap().at(row)));
                    let rated = number("white_rating").get(at);
                    assert_eq!(rated.map(|points| points as u64), rating.get(row));
                    assert_eq!(text("eco").get(at), eco.get(row));
                    let short = frame.column("balance").unwrap().i32().unwrap().get(at);
                    assert_eq!(short, Some(balance.value(row).into()));
                    let pieces = number("pieces").get(at);
                    assert_eq!(pieces, Some(batch.bytes("pieces").unwrap()[row].into()));
                    let left = frame.column("clock").unwrap().f32().unwrap().get(at);
                    assert_eq!(left, hobble_dataset::columns::float(clock, row));
                    let odd = frame.column("odd").unwrap().bool().unwrap().get(at);
                    assert_eq!(odd, Some(batch.booleans("odd").unwrap().value(row)));
                    at += 1;
                }
            }
        }
    }
    assert_eq!((at, frame.height()), (30, 30));
}

/// Filters, columns and a number of rows are asked of the scan itself.
#[test]
fn what_the_query_asks_for() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = dataset(dir.path());
    let games = || dataset.frame(Table::Games).unwrap();
    assert_eq!(rows(games().filter(col("game").lt(lit(7)))), 14);
    assert_eq!(rows(games().filter(col("eco").is_null())), 8);
    assert_eq!(
        rows(
            games()
                .filter(col(SOURCE).eq(lit("b")))
                .select([col("odd")])
        ),
        10
    );
    assert_eq!(rows(games().filter(col("game").gt(lit(100)))), 0);
    assert_eq!(rows(games().limit(13)), 13);
    let odd = games().filter(col("odd")).limit(13).select([col("game")]);
    assert_eq!(rows(odd), 13);
    let number = collect(games().select([len()])).unwrap();
    assert_eq!(
        number.get_columns()[0].get(0).unwrap().extract::<u64>(),
        Some(30)
    );
    let sum = games().select([col("pieces").sum(), col("balance").sum()]);
    let sum = collect(sum).unwrap();
    let of = |name: &str| sum.column(name).unwrap().get(0).unwrap().extract::<i64>();
    assert_eq!(
        (of("pieces"), of("balance")),
        (Some(190 + 45), Some(190 + 45 - 30 * 9))
    );
    let first = &dataset.parts(Table::Games).unwrap()[1];
    assert_eq!(rows(first.frame().unwrap()), 8);
}

/// Filters on values by a function, on the source, and on nothing.
#[test]
fn filters() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = dataset(dir.path());
    let games = || dataset.frame(Table::Games).unwrap();
    let coded = text_is("eco", |eco| eco.is_some_and(|eco| eco.starts_with('C')));
    // Games 1, 7, 10, 13 and 19 of one source, 1 and 7 of the other.
    let some = collect(
        games()
            .filter(coded)
            .select([col(SOURCE), col("game"), col("clock")]),
    );
    let some = some.unwrap();
    let numbers: Vec<i32> = some
        .column("game")
        .unwrap()
        .i32()
        .unwrap()
        .iter()
        .flatten()
        .collect();
    assert_eq!(numbers, [1, 7, 10, 13, 19, 1, 7]);
    let clocks = some.column("clock").unwrap().f32().unwrap();
    assert_eq!((clocks.get(0), clocks.get(4)), (None, Some(9.5)));
    let sources = some.column(SOURCE).unwrap().str().unwrap();
    assert_eq!((sources.get(4), sources.get(5)), (Some("a"), Some("b")));
    let rated = number_is("white_rating", |points| points >= 1510);
    assert_eq!(rows(games().filter(rated.and(col("odd").not()))), 3);
    assert_eq!(rows(games().filter(lit(true))), 30);
    assert_eq!(rows(games().filter(lit(false))), 0);
    let all = games()
        .filter(number_is("game", |_| true))
        .select([col("eco")]);
    assert_eq!(rows(all), 30);
}

#[test]
fn groups_and_joins() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = dataset(dir.path());
    let games = || dataset.frame(Table::Games).unwrap();
    let by_code = games()
        .group_by([col("eco")])
        .agg([
            len().alias("games"),
            col("white_rating").count().alias("rated"),
        ])
        .filter(col("eco").eq(lit("B12")));
    let by_code = collect(by_code).unwrap();
    let of = |name: &str| by_code.column(name).unwrap().u32().unwrap().get(0);
    // Games 3, 6, 9, 15 and 18 of one source, 3, 6 and 9 of the other; none of them has a rating.
    assert_eq!((of("games"), of("rated")), (Some(8), Some(0)));
    let game = [col(SOURCE), col("game")];
    let odd = games().filter(col("odd")).select(game.clone());
    let joined = games().join(odd, &game, &game, JoinType::Inner.into());
    assert_eq!(rows(joined), 15);
    let twice = concat([games(), games()], UnionArgs::default()).unwrap();
    assert_eq!(rows(twice), 60);
}

/// Whole numbers of one and two bytes have four.
#[test]
fn widths() {
    let dir = tempfile::tempdir().unwrap();
    let schema = dataset(dir.path())
        .frame(Table::Games)
        .unwrap()
        .collect_schema()
        .unwrap();
    for (name, data_type) in [
        ("pieces", DataType::Int32),
        ("white_rating", DataType::Int32),
        ("balance", DataType::Int32),
        ("game_id", DataType::UInt64),
        ("clock", DataType::Float32),
        ("odd", DataType::Boolean),
        ("eco", DataType::String),
    ] {
        assert_eq!(schema.get(name), Some(&data_type), "{name}");
    }
}

/// Faults of files keep the words of the reader; a query that does not fit says so.
#[test]
fn faults() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = dataset(dir.path());
    let frame = |table| dataset.frame(table);
    assert!(matches!(
        frame(Table::Moves),
        Err(DatasetError::NoTable { .. })
    ));
    let no_column = frame(Table::Games).unwrap().select([col("colour")]);
    let error = collect(no_column).unwrap_err();
    assert!(matches!(error, DatasetError::Frame(_)), "{error:?}");
    let games = frame(Table::Games).unwrap();
    let last = Table::Games.part_file(dir.path(), "b", 0);
    fs::write(&last, "nonsense").unwrap();
    let error = collect(games.clone()).unwrap_err();
    let of_reader = matches!(&error, DatasetError::Table { path, .. } if *path == last);
    assert!(of_reader, "{error:?}");
    fs::remove_file(&last).unwrap();
    let error = collect(games.filter(col("odd"))).unwrap_err();
    assert!(matches!(error, DatasetError::Table { .. }), "{error:?}");
    assert!(matches!(
        frame(Table::Games),
        Err(DatasetError::NoPart { .. })
    ));
}
