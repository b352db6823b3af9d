use hobble_game::id::Ids;
use hobble_terms::GameResult;
use hobble_terms::manifest::Stripe;
use xxhash_rust::xxh3::xxh3_64;

use super::game_key::LONG_GAME;
use super::*;

const SHORT: u16 = LONG_GAME - 1;

/// The key of a game of these moves, players and plies.
fn key(moves: u64, white: &str, black: &str, plies: u16) -> GameKey {
    let ids = Ids {
        game: moves ^ xxh3_64(format!("{white}|{black}").as_bytes()),
        moves,
    };
    let names = [white, black].map(|name| (!name.is_empty()).then_some(name));
    GameKey::of(ids, GameResult::White, plies, names, 7)
}

fn is_repeat(first: GameKey, second: GameKey) -> bool {
    let mut register = Register::default();
    assert_eq!(register.ask(&first), None);
    register.ask(&second).is_some()
}

#[test]
fn names_agree_by_case_blanks_punctuation_order_and_initials() {
    for plies in [SHORT, LONG_GAME] {
        let same = |a: &str, b: &str| {
            let other = "Burdock, Ulf";
            is_repeat(key(1, a, other, plies), key(1, b, other, plies))
        };
        for spelling in [
            "windlass,orla",
            "Orla Windlass",
            " WINDLASS  Orla ",
            "Windlass, O.",
            "O. Windlass",
            "Windlass O",
        ] {
            assert!(same("Windlass, Orla", spelling), "{spelling}");
            assert!(same(spelling, "Windlass, Orla"), "{spelling}");
        }
        for other in ["Windlass, Otto", "Windlass", "Windlass, P.", "Widlass, O."] {
            assert!(!same("Windlass, Orla", other), "{other}");
        }
        assert!(same("van der Berg, Jan", "Jan van der Berg"));
        assert!(same("van der Berg, Jan", "J. van der Berg"));
        assert!(!same("player_12", "player_13"));
    }
}

#[test]
fn one_name_may_be_missing_in_a_long_game() {
    let long = |white, black| key(1, white, black, LONG_GAME);
    assert!(is_repeat(long("A", "B"), long("A", "")));
    assert!(is_repeat(long("", "B"), long("A", "B")));
    assert!(!is_repeat(long("A", ""), long("", "B")));
    assert!(!is_repeat(long("A", "B"), long("", "")));
    assert!(!is_repeat(long("A", "B"), long("C", "")));
    assert!(!is_repeat(key(1, "A", "B", SHORT), key(1, "A", "", SHORT)));
}

#[test]
fn games_without_names_or_moves_must_have_one_game_id() {
    assert!(is_repeat(key(1, "", "", 30), key(1, "", "", 30)));
    let other = |event| {
        let ids = Ids {
            game: event,
            moves: 1,
        };
        GameKey::of(ids, GameResult::White, 30, [None, None], 7)
    };
    assert!(!is_repeat(other(1), other(2)));
    let unplayed = |event| {
        let ids = Ids {
            game: event,
            moves: 1,
        };
        GameKey::of(ids, GameResult::White, 0, [Some("A"), Some("B")], 7)
    };
    assert!(!is_repeat(unplayed(1), unplayed(2)));
    assert!(is_repeat(unplayed(1), unplayed(1)));
}

#[test]
fn other_moves_result_or_people_are_not_a_repeat() {
    let game = key(1, "A", "B", 15);
    assert!(!is_repeat(game, key(2, "A", "B", 15)));
    assert!(!is_repeat(game, key(1, "C", "D", 15)));
    let ids = Ids { game: 1, moves: 1 };
    let drawn = GameKey::of(ids, GameResult::Draw, 15, [Some("A"), Some("B")], 7);
    assert!(!is_repeat(game, drawn));
}

#[test]
fn first_game_is_named_with_its_source() {
    let mut register = Register::default();
    register.begin_source("a");
    assert_eq!(register.ask(&key(1, "A", "", LONG_GAME)), None);
    register.begin_source("b");
    assert_eq!(register.ask(&key(2, "A", "B", LONG_GAME)), None);
    let first = register.ask(&key(1, "A", "B", LONG_GAME)).unwrap();
    assert_eq!((&*first.source, first.number), ("a", 7));
    let second = register.ask(&key(2, "A", "B", LONG_GAME)).unwrap();
    assert_eq!(&*second.source, "b");
    assert_eq!(register.len(), 2);
}

#[test]
fn list_that_is_cut_off_does_not_look_whole() {
    let folder = tempfile::tempdir().unwrap();
    let about = key_files::About {
        source: "a.pgn".to_owned(),
        stripe: Stripe { index: 0, of: 1 },
        share: 0,
        shares: 1,
        definitions: hobble_terms::DEFINITIONS,
    };
    let path = folder.path().join(about.file_name());
    let write = |games: &[GameKey]| {
        let mut keys = key_files::KeyWriter::create(&path, &about).unwrap();
        games.iter().for_each(|game| keys.add(game).unwrap());
        keys.finish().unwrap();
        find(std::slice::from_ref(&path), folder.path())
    };
    let list = folder.path().join("a.pgn.csv");
    let unfinished = folder.path().join("a.pgn.csv.unfinished");
    // Both are game 7 of the archive.
    let game = key(1, "A", "B", LONG_GAME);
    assert!(write(&[game, game]).is_err());
    assert!(!list.exists() && unfinished.exists());
    let found = write(&[game]).unwrap();
    assert_eq!((found[0].list.clone(), found[0].games), (list.clone(), 1));
    assert!(list.exists() && !unfinished.exists());
}

#[test]
fn blocks_are_asked_in_order() {
    let turnstile = Turnstile::default();
    let games = [key(1, "A", "B", LONG_GAME)];
    std::thread::scope(|scope| {
        let later = scope.spawn(|| turnstile.ask(1, &games));
        let first = turnstile.ask(0, &games).unwrap();
        assert_eq!(first, [None]);
        assert!(later.join().unwrap().unwrap()[0].is_some());
    });
    turnstile.stop();
    assert_eq!(turnstile.ask(9, &games), None);
}
