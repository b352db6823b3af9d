//! Neither a player nor a game stands in both halves, whatever the names.

use std::collections::{BTreeMap, BTreeSet};

use hand_made_tables::{column, manifest, table, write};
use hobble_conditions::counted::answer;
use hobble_conditions::sum::State as _;
use hobble_dataset::{Dataset, PartId};
use hobble_sift::Grid;
use hobble_sift::grid::SHIPPED;
use hobble_sift::split::{Counts, Half, Split, of_player};
use hobble_sift::step::Step;
use hobble_terms::{Table, names};
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

struct Game {
    moves: u64,
    players: [Option<String>; 2],
}

/// Games between players of sixty surnames, each spelled in several ways; now and then a name is
/// missing, and moves are few enough to come again.
fn games(rng: &mut ChaCha8Rng, number: usize) -> Vec<Game> {
    let mut name = || {
        let surname = format!("Surname{}", rng.random_range(0..60));
        let spelling = match rng.random_range(0..6) {
            0 => format!("{surname}, Anna"),
            1 => format!("{surname}, A."),
            2 => format!("Anna {surname}"),
            3 => format!("A. {}", surname.to_uppercase()),
            4 => surname,
            _ => String::new(),
        };
        (!spelling.is_empty()).then_some(spelling)
    };
    let names: Vec<_> = (0..number).map(|_| [name(), name()]).collect();
    let of = |players| Game {
        moves: rng.random_range(0..400),
        players,
    };
    names.into_iter().map(of).collect()
}

fn put(dir: &std::path::Path, part: u32, games: &[Game]) {
    let names = |side: usize| -> Vec<Option<&str>> {
        let names = games.iter().map(|game| game.players[side].as_deref());
        names.collect()
    };
    let numbers: Vec<u32> = (0..games.len() as u32).collect();
    let moves: Vec<u64> = games.iter().map(|game| game.moves).collect();
    let columns = vec![
        column("game", numbers),
        column("moves_id", moves),
        column("white", names(0)),
        column("black", names(1)),
    ];
    write(dir, "games", "a", part, &table(columns));
}

#[test]
fn no_player_and_no_game_in_both_halves() {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let dir = tempfile::tempdir().unwrap();
    let parts = [games(&mut rng, 1500), games(&mut rng, 900)];
    for (number, games) in (0..).zip(&parts) {
        put(dir.path(), number, games);
    }
    manifest(dir.path(), &[("a", 2)]);
    let dataset = Dataset::open(dir.path()).unwrap();
    let grid = Grid::parse("grid", SHIPPED).unwrap();
    let shared = answer(&Step::start(&grid), &dataset).unwrap();
    let mut counts = Counts::default();
    let mut halves: [(BTreeSet<String>, BTreeSet<u64>, u64); 2] = Default::default();
    for (number, games) in (0..).zip(&parts) {
        let part = PartId {
            source: "a".to_owned(),
            number,
        };
        let split = Split::of(&dataset.part(Table::Games, &part).unwrap(), &shared).unwrap();
        counts.add(split.counts);
        for half in [Half::Search, Half::Locked] {
            let (surnames, moves, count) = &mut halves[half as usize];
            for at in split.games(half) {
                let game = &games[*at as usize];
                *count += 1;
                moves.insert(game.moves);
                for name in &game.players {
                    let name = name.as_deref().unwrap();
                    surnames.insert(names::surname(name, &names::words(name)));
                }
            }
        }
    }
    let [search, locked] = &halves;
    assert!(
        search.2 > 100 && locked.2 > 100,
        "{} {}",
        search.2,
        locked.2
    );
    assert!(search.0.is_disjoint(&locked.0), "a surname stands in both");
    assert!(search.1.is_disjoint(&locked.1), "moves stand in both");
    assert_eq!((counts.search, counts.locked), (search.2, locked.2));
    let left_out = counts.players_apart + counts.unnamed + counts.moves_in_both;
    assert_eq!(counts.games, counts.search + counts.locked + left_out);
    assert!(counts.players_apart > 0 && counts.unnamed > 0 && counts.moves_in_both > 0);
}

/// Every spelling with the same surname stands in the same half, and both halves have players.
#[test]
fn spellings_stand_together() {
    let mut found: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
    for number in 0..200 {
        let surname = format!("Quillmark{number}");
        for name in [
            format!("{surname}, Ada"),
            format!("{surname}, A."),
            format!("Ada {surname}"),
            surname.to_uppercase(),
        ] {
            let half = of_player(&name).unwrap();
            found
                .entry(surname.clone())
                .or_default()
                .insert(half as usize);
        }
    }
    assert!(found.values().all(|halves| halves.len() == 1));
    let locked = found.values().filter(|halves| halves.contains(&1)).count();
    assert!((60..140).contains(&locked), "{locked} of 200");
    assert_eq!(of_player(" ?"), None);
}
