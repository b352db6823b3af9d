//! Parts counted apart, written to files and added up, make the league of the whole.

mod common;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use common::{GRID, dataset};
use hobble_conditions::any_state::AnyState;
use hobble_conditions::counting::Counting;
use hobble_dataset::Dataset;
use hobble_sift::ledger::Ledger;
use hobble_sift::next;
use hobble_sift::work::open;
use hobble_sift::{Grid, sift};
use hobble_terms::manifest::Stripe;

const PARTS: u32 = 5;
const SHARES: u64 = 3;

/// Counts each share into a file.
fn shares(
    data: &Dataset,
    grid: &Grid,
    first: Option<&dyn AnyState>,
    folder: &Path,
) -> Vec<PathBuf> {
    let counting: Arc<dyn Counting> = next::next(grid, first).unwrap().counting().unwrap();
    let count = |index| {
        let share = Some(Stripe { index, of: SHARES });
        let counted = Arc::clone(&counting).count(data, share);
        let path = folder.join(format!("{index}.state"));
        counted.unwrap().write(&path).unwrap();
        path
    };
    (0..SHARES).map(count).collect()
}

/// Their sum, in another order.
fn sum(mut files: Vec<PathBuf>) -> Box<dyn AnyState> {
    files.rotate_left(1);
    let mut states = files.iter().map(|file| next::read_state(file).unwrap());
    let mut sum = states.next().unwrap();
    for state in states {
        sum.add(state).unwrap();
    }
    sum
}

#[test]
fn shares_add_up_to_the_league() {
    let [dir, out] = [(); 2].map(|()| tempfile::tempdir().unwrap());
    let data = dataset(dir.path(), PARTS);
    let grid = Grid::parse("grid", GRID).unwrap();
    let at = |name: &str| out.path().join(name);
    let whole = sift(&data, &grid, out.path(), &at("whole.json")).unwrap();
    assert_eq!((whole.league.confirmed, whole.league.opening), (1, Some(1)));

    let ledgers = [at("shares.json"), at("other.json")];
    let count = |first| shares(&data, &grid, first, out.path());
    let moves = sum(count(None));
    let found = sum(count(Some(&*moves)));
    let next = || next::next(&grid, Some(&*found)).unwrap();
    let locked = next().counting().err().unwrap().to_string();
    assert!(locked.contains("is not open"), "{locked}");
    let step = open(next().to_open().unwrap(), &ledgers[..1]).unwrap();
    next::opened(step, &*found, std::slice::from_ref(&data))
        .unwrap()
        .write(&at("opened"))
        .unwrap();
    let opened = next::read_state(&at("opened")).unwrap();
    let files = count(Some(&*opened));
    let some = next::read_state(&files[0]).unwrap();
    let added = next::league(&*sum(files)).unwrap();
    assert_eq!(added.league, whole.league);
    assert_eq!(added.files, whole.files);
    // Shares that are counted again are no second opening.
    count(Some(&*opened));
    let openings = |ledger: &PathBuf| Ledger::read(ledger).unwrap().openings.len();
    assert_eq!(openings(&ledgers[0]), 1);
    // Of several ledgers the one with most openings says how often it was.
    let again = open(next().to_open().unwrap(), &ledgers).unwrap();
    assert_eq!(again.opening(), Some(2));
    assert_eq!(ledgers.each_ref().map(openings), [2, 1]);

    let refused = |found: Result<_, hobble_conditions::AskError>, words: &str| {
        let said = found
            .map(|_: hobble_sift::Sifted| ())
            .unwrap_err()
            .to_string();
        assert!(said.contains(words), "{said}");
    };
    refused(next::league(&*some), "not all is counted");
    refused(next::league(&*moves), "which moves both halves have");
    refused(next::league(&*found), "what was found in one half");
    refused(next::league(&*opened), "not all is counted");
    let refused = |first| next::next(&grid, Some(first)).err().unwrap().to_string();
    assert!(refused(&*some).contains("not of a count before another"));
    let other = Grid::parse("grid", &GRID.replace("within = 10", "within = 5")).unwrap();
    let of_other = next::next(&other, Some(&*moves)).err().unwrap().to_string();
    assert!(of_other.contains("of another question"), "{of_other}");
}
