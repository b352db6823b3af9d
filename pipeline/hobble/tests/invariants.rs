//! The same games give the same rows and the same cube in any order, spread over any files,
//! in blocks of any size, on any number of threads, in one scan or several; and two
//! folders of tables add up to the folder of both.

mod common;
#[path = "../../archive/tests/common/runner.rs"]
mod runner;
#[path = "../../archive/tests/common/sample.rs"]
mod sample;

use std::collections::BTreeMap;
use std::fs;
use std::num::NonZeroUsize;
use std::path::Path;

use arrow_array::RecordBatch;
use arrow_array::cast::AsArray as _;
use arrow_array::types::{Int16Type, Int32Type, UInt64Type};
use arrow_select::concat::concat_batches;
use common::cube;
use hobble_archive::listing::Input;
use hobble_archive::split::Splitter;
use hobble_tables::scan::{Options, Watch, scan};
use hobble_terms::account::Account;
use hobble_terms::manifest::{Parameters, Provenance, Repeats};
use proptest::prelude::*;
use proptest::sample::Index;
use runner::{Tally, check};

/// Games that can stand in any order: each begins with the tag Event and is closed. Odd
/// ones are among them, some of which are skipped.
fn games() -> Vec<Vec<u8>> {
    let mut games = sample::odd_games(5_000);
    games.extend(sample::season(45));
    games.retain(|game| {
        let mut borders = Vec::new();
        let two = [game.as_slice(), b"[Event \"next\"]\n"].concat();
        Splitter::default().advance(&two, true, &mut borders);
        game.starts_with(b"[Event ") && borders == [game.len()]
    });
    assert!(games.len() > 80, "only {} games", games.len());
    games
}

/// How a scan is done.
#[derive(Clone, Debug)]
struct Plan {
    threads: usize,
    block: usize,
    part: u64,
    /// Where a new file begins, and whether a new scan begins with it.
    files: Vec<(Index, bool)>,
}

fn plans() -> impl Strategy<Value = Plan> {
    let files = prop::collection::vec((any::<Index>(), any::<bool>()), 0..5);
    (1..7_usize, 1..30_000_usize, 1..12_u64, files).prop_map(|(threads, block, part, files)| Plan {
        threads,
        block,
        part,
        files,
    })
}

/// Scans games as planned into the folder `tables` of a folder.
fn scan_as_planned(games: &[Vec<u8>], plan: &Plan, folder: &Path) -> Account {
    let mut starts: Vec<(usize, bool)> = plan
        .files
        .iter()
        .map(|(index, new_scan)| (index.index(games.len() + 1), *new_scan))
        .collect();
    starts.push((0, true));
    starts.sort();
    starts.dedup_by_key(|(start, _)| *start);
    let options = Options {
        parameters: Parameters {
            block_bytes: plan.block,
            part_blocks: plan.part,
            repeats: Repeats::Keep,
            ..Parameters::default()
        },
        threads: NonZeroUsize::new(plan.threads).expect("some threads"),
        provenance: Provenance::default(),
        repeats: None,
        pseudonyms: None,
    };
    let mut scans: Vec<Vec<Input>> = Vec::new();
    for (number, &(start, new_scan)) in starts.iter().enumerate() {
        let end = starts.get(number + 1).map_or(games.len(), |next| next.0);
        let path = folder.join(format!("{number}.pgn"));
        fs::write(&path, games[start..end].concat()).expect("a file can be written");
        match scans.last_mut() {
            Some(inputs) if !new_scan => inputs.push(Input::File(path)),
            _ => scans.push(vec![Input::File(path)]),
        }
    }
    let mut account = Account::default();
    for inputs in scans {
        let tables = folder.join("tables");
        account = scan(&inputs, &tables, &options, &Watch::default(), &mut |_| {})
            .expect("a scan")
            .account();
    }
    account
}

/// A table of one source.
fn table(folder: &Path, name: &str) -> RecordBatch {
    let parts = common::sorted(folder);
    let batches: Vec<_> = parts.iter().map(|part| common::by_game(part)).collect();
    assert!(!batches.is_empty(), "table {name} has no parts");
    concat_batches(&batches[0].schema(), &batches).expect("all parts have one schema")
}

/// Without the columns that say where a game stands in its file.
fn placeless(rows: RecordBatch) -> RecordBatch {
    let mut rows = rows;
    for column in ["game", "file", "byte_offset", "line"] {
        if let Ok(index) = rows.schema().index_of(column) {
            rows.remove_column(index);
        }
    }
    rows
}

/// Rows of a game in games, moves, spells and turns.
type Rows = [RecordBatch; 5];

/// Rows of each game by its id, and those of games with the same id in a set order.
fn rows(folder: &Path) -> Vec<((u64, String), Rows)> {
    let mut found = Vec::new();
    let folder = folder.join("tables");
    for source in common::sorted(&folder.join("games")) {
        let name = source.file_name().expect("a name").to_owned();
        let of = |table_name: &str| {
            let folder = folder.join(table_name).join(&name);
            if folder.exists() {
                Some(table(&folder, table_name))
            } else {
                None
            }
        };
        let games = of("games").expect("the games of a source");
        // Runs of rows by game.
        let runs = |rows: &RecordBatch| {
            let mut runs: BTreeMap<i32, (usize, usize)> = BTreeMap::new();
            for (row, &game) in rows["game"]
                .as_primitive::<Int32Type>()
                .values()
                .iter()
                .enumerate()
            {
                let run = runs.entry(game).or_insert((row, 0));
                assert_eq!(run.0 + run.1, row, "rows of a game stand together");
                run.1 += 1;
            }
            runs
        };
        let others = [of("moves"), of("spells"), of("turns"), of("decisions")];
        let runs = others.each_ref().map(|rows| rows.as_ref().map(runs));
        for row in 0..games.num_rows() {
            let number = games["game"].as_primitive::<Int32Type>().value(row);
            let id = games["game_id"].as_primitive::<UInt64Type>().value(row);
            let plies = games["plies"].as_primitive::<Int16Type>().value(row);
            let [moves, spells, turns, decisions] = [0, 1, 2, 3].map(|which| {
                let rows = others[which].as_ref().expect("a table of the source");
                let run = runs[which].as_ref().and_then(|runs| runs.get(&number));
                let (start, length) = run.copied().unwrap_or((0, 0));
                placeless(rows.slice(start, length))
            });
            assert_eq!(moves.num_rows(), plies as usize);
            let game = placeless(games.slice(row, 1));
            let tie = format!("{game:?}");
            found.push(((id, tie), [game, moves, spells, turns, decisions]));
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

#[test]
fn any_order_files_blocks_and_threads_give_the_same() {
    let games = games();
    let plain = Plan {
        threads: 1,
        block: 1 << 20,
        part: 64,
        files: Vec::new(),
    };
    let folder = tempfile::tempdir().unwrap();
    let account = scan_as_planned(&games, &plain, folder.path());
    let expected = rows(folder.path());
    let expected_cube = cube(&folder.path().join("tables"));
    assert!(expected.len() > 60, "only {} games kept", expected.len());
    assert!(account.skipped.len() > 5, "{:?}", account.skipped);
    let compared = Tally::new();
    let cases = (Just(games).prop_shuffle(), plans());
    let ran = check(file!(), "any way", 16, &cases, |(games, plan)| {
        let folder = tempfile::tempdir().unwrap();
        let scanned = scan_as_planned(&games, &plan, folder.path());
        prop_assert_eq!(&scanned, &account);
        let found = rows(folder.path());
        prop_assert_eq!(found.len(), expected.len());
        for ((key, ours), (expected_key, theirs)) in found.iter().zip(&expected) {
            prop_assert_eq!(key, expected_key);
            for (ours, theirs) in ours.iter().zip(theirs) {
                prop_assert_eq!(ours, theirs, "game id {}", key.0);
                compared.add(ours.num_rows());
            }
        }
        prop_assert_eq!(&cube(&folder.path().join("tables")), &expected_cube);
        Ok(())
    });
    println!(
        "any order, files, blocks and threads: {ran} scans, {} rows, 0 differences",
        compared.sum()
    );
}

#[test]
fn two_archives_add_up() {
    let games = games();
    let cases = (Just(games).prop_shuffle(), any::<Index>(), plans(), plans());
    let cells = Tally::new();
    let ran = check(file!(), "sum", 8, &cases, |(games, cut, one, two)| {
        let cut = 1 + cut.index(games.len() - 1);
        let folders = [(); 3].map(|()| tempfile::tempdir().unwrap());
        let [a, b, both] = [&games[..cut], &games[cut..], &games[..]];
        let mut sum = scan_as_planned(a, &one, folders[0].path());
        sum.add(&scan_as_planned(b, &two, folders[1].path()));
        let together = scan_as_planned(both, &two, folders[2].path());
        prop_assert_eq!(sum, together);
        let [mut added, other, whole] = folders
            .each_ref()
            .map(|folder| cube(&folder.path().join("tables")));
        for (key, counts) in other {
            let sums = added.entry(key).or_insert_with(|| vec![0; counts.len()]);
            for (sum, count) in sums.iter_mut().zip(counts) {
                *sum += count;
            }
        }
        cells.add(whole.len());
        prop_assert_eq!(added, whole);
        Ok(())
    });
    println!(
        "two archives added: {ran} pairs, {} cells, 0 differences",
        cells.sum()
    );
}
