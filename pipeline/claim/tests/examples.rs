//! Examples of a claim from tables of made-up games.

use std::path::Path;

use hand_made_tables::{column, manifest, table, write};
use hobble_claim::answer::ExampleRole;
use hobble_claim::{Claim, Examples, Wanted, examples_text, find_examples, pgn};
use hobble_dataset::Dataset;
use hobble_terms::Phase;
use shakmaty::{CastlingMode, Chess, Position, fen::Fen, san::San};

/// A game, its restraint and what the tables say of both.
struct Game {
    start: &'static str,
    moves: &'static str,
    white: &'static str,
    black: &'static str,
    rating: u16,
    eco: &'static str,
    result: &'static str,
    kind: &'static str,
    color: &'static str,
    square: &'static str,
    before: u8,
    after: u8,
    taken: u8,
    turns: u16,
    end_ply: u16,
    freed: bool,
    phase: &'static str,
}

/// 1. g3 shuts Black's bishop on h2 in, and the king walks to g2 and takes it.
const LOSS: Game = Game {
    start: "5k2/6pp/4pp2/8/8/3KP3/1P3PPb/2B5 w - - 0 1",
    moves: "g3 Ke7 Ke2 Kd6 Kf1 Kd5 Kg2 e5 Kxh2",
    white: "Ada",
    black: "Bea",
    rating: 1500,
    eco: "C42",
    result: "1-0",
    kind: "bishop",
    color: "black",
    square: "h2",
    before: 5,
    after: 1,
    taken: 4,
    turns: 4,
    end_ply: 9,
    freed: false,
    phase: "endgame",
};

/// The same among more pawns.
const ANOTHER: Game = Game {
    start: "5k2/p5pp/4pp2/8/8/3KP3/PP3PPb/2B5 w - - 0 1",
    white: "Cleo",
    rating: 2000,
    eco: "B90",
    ..LOSS
};

/// 1...g6 takes f5 and h5 from the knight on g3; by e1 and f1 it gets away.
const ESCAPE: Game = Game {
    start: "5rk1/5ppp/8/3p4/8/3p2N1/5PPP/5R1K b - - 0 1",
    moves: "g6 Re1 Kg7 h3 Rd8 Nf1 Rd6 Nd2",
    white: "Dora",
    black: "Cleo",
    rating: 1500,
    eco: "C42",
    result: "1/2-1/2",
    kind: "knight",
    color: "white",
    square: "g3",
    before: 2,
    after: 0,
    taken: 2,
    turns: 3,
    end_ply: 6,
    freed: true,
    phase: "endgame",
};

/// Squares left and reached by the moves of a game.
fn played(game: &Game) -> Vec<(String, String)> {
    let start: Fen = game.start.parse().unwrap();
    let mut position: Chess = start.into_position(CastlingMode::Standard).unwrap();
    let mut squares = Vec::new();
    for san in game.moves.split_whitespace() {
        let found = san.parse::<San>().unwrap().to_move(&position).unwrap();
        squares.push((found.from().unwrap().to_string(), found.to().to_string()));
        position.play_unchecked(found);
    }
    squares
}

/// The table of the moves of these games.
fn moves(dir: &Path, games: &[Game]) {
    let mut rows: Vec<(u32, u16, String, String)> = Vec::new();
    for (number, game) in (1..).zip(games) {
        let plies = (1..).zip(played(game));
        rows.extend(plies.map(|(ply, (from, to))| (number, ply, from, to)));
    }
    let of_moves = table(vec![
        column("game", rows.iter().map(|row| row.0).collect::<Vec<_>>()),
        column("ply", rows.iter().map(|row| row.1).collect::<Vec<_>>()),
        column(
            "from_square",
            rows.iter().map(|row| row.2.clone()).collect::<Vec<_>>(),
        ),
        column(
            "to_square",
            rows.iter().map(|row| row.3.clone()).collect::<Vec<_>>(),
        ),
        column("promotion", vec![None::<&str>; rows.len()]),
        column("castling", vec![false; rows.len()]),
    ]);
    write(dir, "moves", "club", 0, &of_moves);
}

/// Tables of these games, each with its restraint, numbered from 1.
fn tables(dir: &Path, games: &[Game]) {
    let n = games.len();
    let numbers = || (1..=n as u32).collect::<Vec<_>>();
    macro_rules! of {
        ($field:ident) => {
            games.iter().map(|game| game.$field).collect::<Vec<_>>()
        };
    }
    let none = vec![None::<&str>; n];
    let ratings = || {
        games
            .iter()
            .map(|game| Some(game.rating))
            .collect::<Vec<_>>()
    };
    let of_games = table(vec![
        column("game", numbers()),
        column("game_id", (1..=n as u64).collect::<Vec<_>>()),
        column("file", vec!["club.pgn"; n]),
        column("line", (1..=n as u64).collect::<Vec<_>>()),
        column("event", none.clone()),
        column("date", none.clone()),
        column("round", none.clone()),
        column("white", of!(white)),
        column("black", of!(black)),
        column("white_rating", ratings()),
        column("black_rating", ratings()),
        column("eco", of!(eco)),
        column("result", of!(result)),
        column("start_fen", of!(start)),
    ]);
    write(dir, "games", "club", 0, &of_games);
    moves(dir, games);
    let by = |lost: &'static str, freed: &'static str| {
        let word = |game: &Game| if game.freed { freed } else { lost };
        games.iter().map(word).collect::<Vec<_>>()
    };
    let own = |game: &Game| game.freed.then_some("own");
    let away = |game: &Game| game.freed.then_some(true);
    let fate_ply = |game: &Game| (!game.freed).then_some(game.end_ply);
    let net = |game: &Game| (!game.freed).then_some(-3i16);
    let of_spells = table(vec![
        column("game", numbers()),
        column("kind", of!(kind)),
        column("color", of!(color)),
        column("k_low", vec![1u8; n]),
        column("k_high", vec![1u8; n]),
        column("square", of!(square)),
        column("start_ply", vec![1u16; n]),
        column("restrained", vec![true; n]),
        column("developed", vec![true; n]),
        column("turns", of!(turns)),
        column("cause", vec!["taken"; n]),
        column("safe_before", of!(before)),
        column("safe", of!(after)),
        column("squares_taken", of!(taken)),
        column("ended", by("lost", "freed")),
        column("end_by", games.iter().map(own).collect::<Vec<_>>()),
        column("moved_away", games.iter().map(away).collect::<Vec<_>>()),
        column("end_ply", of!(end_ply)),
        column("fate", by("lost", "survived")),
        column("fate_ply", games.iter().map(fate_ply).collect::<Vec<_>>()),
        column("net", games.iter().map(net).collect::<Vec<_>>()),
        column("balance", vec![0i16; n]),
        column("material_10", vec![Some(0i16); n]),
        column("phase", of!(phase)),
        column("owner_result", by("loss", "draw")),
        column("defended", vec![false; n]),
    ]);
    write(dir, "spells", "club", 0, &of_spells);
    manifest(dir, &[("club", 1)]);
}

fn find(games: &[Game], wanted: &Wanted) -> Examples {
    let dir = tempfile::tempdir().unwrap();
    tables(dir.path(), games);
    let text =
        "format = 1\nabout = \"claim\"\ntitle = \"T\"\ntext = \"X\"\nk = 1\nrestrained = \"yes\"";
    let claim = Claim::parse("c", "c.toml", text).unwrap();
    let claim = claim.with(&Default::default()).unwrap();
    find_examples(&Dataset::open(dir.path()).unwrap(), &claim, wanted).unwrap()
}

fn wanted(count: usize) -> Wanted {
    Wanted {
        count,
        ..Wanted::default()
    }
}

fn shown(found: &Examples) -> Vec<(ExampleRole, u32)> {
    let examples = found.examples.iter();
    examples.map(|one| (one.role, one.game.number)).collect()
}

/// The second game repeats the first, and is not shown beside it.
#[test]
fn clearest_typical_and_one_that_got_away() {
    let found = find(&[LOSS, LOSS, ANOTHER, ESCAPE], &wanted(3));
    assert_eq!(
        shown(&found),
        [
            (ExampleRole::Clearest, 1),
            (ExampleRole::Typical, 3),
            (ExampleRole::CounterExample, 4)
        ]
    );
    let [clearest, typical, escape] = &found.examples[..] else {
        panic!("three")
    };
    assert_eq!(clearest.fen_before, LOSS.start);
    assert_eq!(clearest.taken, ["e5", "d6", "c7", "b8"]);
    assert_eq!(clearest.threat.as_ref().unwrap().label, "4. Kg2");
    assert_eq!(
        clearest.chosen,
        "Chosen because 1. g3 is a quiet, safe move, the bishop restrained on h2 had 3 turns without a threat and did not get free, it had no safe square after 4. Kg2 threatened it, and material was level until then."
    );
    assert_eq!(
        clearest.caption,
        "White's 1. g3 takes e5, d6, c7 and b8 from the bishop on h2: only g1 is left. It stayed restrained for 4 turns. 4. Kg2 threatens to win it. It was lost by 5. Kxh2. Result: 1-0."
    );
    assert!(
        typical
            .chosen
            .contains("nearest the middle of the 3 pieces lost in time")
    );
    assert_eq!(
        escape.chosen,
        "Chosen because 1...g6 is a quiet, safe move that took 2 squares and kept the knight restrained for 3 turns, yet White freed it by 4. Nf1 and drew."
    );
    assert!(found.notes.is_empty());
    let text = examples_text(&found);
    assert!(text.contains(" 1. clearest  1. g3 takes e5, d6, c7 and b8 from Black's bishop on h2; 4 turns; lost by 5. Kxh2. Ada (1500) \u{2013} Bea (1500)"), "{text}");
    assert!(text.contains(" 3. got away  1...g6 takes f5 and h5 from White's knight on g3; 3 turns; freed by 4. Nf1."), "{text}");
    let games = pgn(&found.examples);
    assert!(games.contains("{4. Kg2 threatens to win it.}"), "{games}");
}

#[test]
fn no_more_than_asked_for() {
    for (count, roles) in [
        (1, vec![ExampleRole::Clearest]),
        (2, vec![ExampleRole::Clearest, ExampleRole::CounterExample]),
    ] {
        let found = find(&[LOSS, ANOTHER, ESCAPE], &wanted(count));
        let shown: Vec<ExampleRole> = found.examples.iter().map(|one| one.role).collect();
        assert_eq!(shown, roles);
    }
}

#[test]
fn fewer_are_given_where_fewer_show_it() {
    let found = find(&[LOSS, LOSS, ESCAPE], &wanted(20));
    assert_eq!(
        shown(&found),
        [(ExampleRole::Clearest, 1), (ExampleRole::CounterExample, 3)]
    );
    assert_eq!(
        found.notes,
        ["2 of the 20 examples asked for: no other game shows it clearly."]
    );
}

#[test]
fn filters_leave_games_out() {
    let of = |wanted: Wanted| {
        let found = find(&[LOSS, ANOTHER, ESCAPE], &wanted);
        let games = found.examples.iter().map(|one| one.game.number);
        games.collect::<Vec<_>>()
    };
    assert_eq!(of(wanted(3)), [1, 2, 3]);
    let opening = vec!["C".parse().unwrap()];
    assert_eq!(
        of(Wanted {
            opening,
            ..wanted(3)
        }),
        [1, 3]
    );
    let player = Some("CLEO".to_owned());
    assert_eq!(
        of(Wanted {
            player,
            ..wanted(3)
        }),
        [2, 3]
    );
    let rating = Some((1600, 2200));
    assert_eq!(
        of(Wanted {
            rating,
            ..wanted(3)
        }),
        [2]
    );
    let phase = vec![Phase::Opening];
    assert!(of(Wanted { phase, ..wanted(3) }).is_empty());
}

/// Black is a rook up: no clear loss, so the nearest is shown with what speaks against it.
#[test]
fn the_nearest_where_none_is_clear() {
    let rook_up = Game {
        start: "r4k2/6pp/4pp2/8/8/3KP3/1P3PPb/2B5 w - - 0 1",
        ..LOSS
    };
    let found = find(&[rook_up], &wanted(3));
    assert_eq!(shown(&found), [(ExampleRole::Nearest, 1)]);
    assert_eq!(
        found.examples[0].chosen,
        "Chosen because no game shows it clearly and this one comes nearest; against it speaks that material was not level."
    );
}
