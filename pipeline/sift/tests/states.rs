//! Parts counted apart, written to files and added up, make the league of the whole.

mod common;

use std::path::{Path, PathBuf};

use common::{GRID, dataset};
use hobble_conditions::any_state::AnyState;
use hobble_dataset::Dataset;
use hobble_sift::ledger::Ledger;
use hobble_sift::next::{self, Next};
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
    ledger: &Path,
) -> Vec<PathBuf> {
    let count = |index| {
        let share = Some(Stripe { index, of: SHARES });
        let counted = match next::next(grid, first).unwrap() {
            Next::Count(counting) => counting.count(data, share),
            Next::Open(step) => {
                let step = open(*step, ledger, share).unwrap();
                hobble_conditions::counting::Counting::count(Box::new(step), data, share)
            }
        };
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

    let ledger = at("shares.json");
    let count = |first| shares(&data, &grid, first, out.path(), &ledger);
    let moves = sum(count(None));
    let found = sum(count(Some(&*moves)));
    assert!(!ledger.exists(), "opened before it was asked");
    let files = count(Some(&*found));
    let some = next::read_state(&files[0]).unwrap();
    let mut added = next::league(&*sum(files)).unwrap();
    // The manifest of hand-made tables counts games for the source alone, not for its parts.
    added.league.dataset = whole.league.dataset.clone();
    assert_eq!(added.league, whole.league);
    assert_eq!(added.files, whole.files);
    // All shares are one opening; to read one of them again is another.
    assert_eq!(Ledger::read(&ledger).unwrap().openings.len(), 1);
    count(Some(&*found));
    let openings = Ledger::read(&ledger).unwrap().openings;
    assert_eq!(openings.len(), 2);
    assert_eq!(openings[1].shares.len() as u64, SHARES);

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
    let other = Grid::parse("grid", &GRID.replace("within = 10", "within = 5")).unwrap();
    let of_other = next::next(&other, Some(&*moves)).err().unwrap().to_string();
    assert!(of_other.contains("of another question"), "{of_other}");
}
