//! Reach, legal moves, exchanges and sight against references from elsewhere: published
//! perft counts, shakmaty's legal moves, worked exchanges, and a full minimax.

mod common;

use std::path::Path;
use std::time::Instant;

use common::exchange::Minimax;
use common::runner::{Tally, check};
use common::{destination, games, position, worth};
use hobble_tracks::exchange::Exchange;
use hobble_tracks::survey::Survey;
use proptest::prelude::*;
use shakmaty::fen::Fen;
use shakmaty::{
    Bitboard, CastlingMode, Chess, Color, EnPassantMode, FromSetup, Position, PositionError, Role,
    Square,
};

// Published perft counts. A line: castling by the usual rules or by those of Chess960, the position, its
// counts for depths 1, 2, …

/// Source: Chess Programming Wiki, page "Perft Results" (start position and positions 2 to
/// 6); the same in python-chess, `examples/perft/tricky.perft`, which gives fewer depths.
/// The deepest counts of positions 3 to 6: from memory. All of them counted again with
/// python-chess 1.11.2: equal.
const PERFT_RESULTS: &str = "\
standard: rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1: 20 400 8902 197281 4865609
standard: r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1: 48 2039 97862 4085603
standard: 8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1: 14 191 2812 43238 674624 11030083
standard: r3k2r/Pppp1ppp/1b3nbN/nP6/BBP1P3/q4N2/Pp1P2PP/R2Q1RK1 w kq - 0 1: 6 264 9467 422333
standard: r2q1rk1/pP1p2pp/Q4n2/bbp1p3/Np6/1B3NBn/pPPP1PPP/R3K2R b KQ - 0 1: 6 264 9467 422333
standard: rnbq1k1r/pp1Pbppp/2p5/8/2B5/8/PPP1NnPP/RNBQK2R w KQ - 1 8: 44 1486 62379 2103487
standard: r4rk1/1pp1qppp/p1np1n2/2b1p1B1/2B1P1b1/P1NP1N2/1PP1QPPP/R4RK1 w - - 0 10: 46 2079 89890 3894594
";

/// Source: `tests/tricky.perft` of shakmaty 0.30.1 (promotions, an en passant capture that
/// answers a check, displaced rooks, 218 moves at once). Counted again with python-chess
/// 1.11.2: equal.
const TRICKY: &str = "\
standard: 8/8/8/5k2/3p4/8/4P3/4K3 w - - 0 1: 6 54 343 2810 19228
standard: 8/8/8/B2p3Q/2qPp1P1/b7/2P2PkP/4K2R b K - 0 1: 26 611 14583 366807
standard: R6R/3Q4/1Q4Q1/4Q3/2Q4Q/Q4Q2/pp1Q4/kBNN1KB1 w - - 0 1: 218 99 19073
chess960: r2r3k/p7/3p4/8/8/P6P/8/R3K2R b KQq - 0 1: 14 206 3672 64639 1320962
chess960: r1k1r2q/p1ppp1pp/8/8/8/8/P1PPP1PP/R1K1R2Q w KQkq - 0 1: 23 522 12333 285754
chess960: r1k2r1q/p1ppp1pp/8/8/8/8/P1PPP1PP/R1K2R1Q w KQkq - 0 1: 28 738 20218 541480
chess960: 8/8/8/4B2b/6nN/8/5P2/2R1K2k w Q - 0 1: 34 318 9002 118388
chess960: 2r5/8/8/8/8/8/6PP/k2KR3 w K - 0 1: 17 242 3931 57700
chess960: 4r3/3k4/8/8/8/8/6PP/qR1K1R2 w KQ - 0 1: 19 628 12858 405636
chess960: 4rrk1/pbbp2p1/1ppnp3/3n1pqp/3N1PQP/1PPNP3/PBBP2P1/4RRK1 w Ff - 0 1: 42 1743 71908
";

/// Source: Chess Programming Wiki, page "Chess960 Perft Results"; the same in python-chess,
/// `examples/perft/chess960.perft` (ids 0 to 3, 17, 78, 92, 93). Counted again with
/// python-chess 1.11.2: equal.
const CHESS960: &str = "\
chess960: bqnb1rkr/pp3ppp/3ppn2/2p5/5P2/P2P4/NPP1P1PP/BQ1BNRKR w HFhf - 2 9: 21 528 12189 326672
chess960: 2nnrbkr/p1qppppp/8/1ppb4/6PP/3PP3/PPP2P2/BQNNRBKR w HEhe - 1 9: 21 807 18002 667366
chess960: b1q1rrkb/pppppppp/3nn3/8/P7/1PPP4/4PPPP/BQNNRKRB w GE - 1 9: 20 479 10471 273318
chess960: qbbnnrkr/2pp2pp/p7/1p2pp2/8/P3PP2/1PPP1KPP/QBBNNR1R w hf - 0 9: 22 593 13440 382958
chess960: bnqnrbkr/1pp2pp1/p7/3pP2p/4P1P1/8/PPPP3P/BNQNRBKR w HEhe d6 0 9: 31 984 28677 962591
chess960: nnr1qrbb/p2kpppp/1p1p4/2p5/6P1/PP1P4/2P1PP1P/NNRKQRBB w FC - 0 9: 27 604 17043 409665
chess960: 1nrbkr1q/1pppp1pp/1n6/p4p2/N1b4P/8/PPPPPPPB/N1RBKR1Q w FCfc - 2 9: 27 862 24141 755171
chess960: nnrkrbbq/pppp2pp/8/4pp2/4P3/P7/1PPPBPPP/NNKRR1BQ w c - 0 9: 25 792 19883 636041
";

/// Destinations of shakmaty's legal moves by the square of the unit, and how many of its
/// moves share unit and destination with another one for a reason other than promotion.
fn destinations(position: &Chess) -> ([Bitboard; 64], usize) {
    let mut found = [Bitboard::EMPTY; 64];
    let mut shared = 0;
    for m in position.legal_moves() {
        let from = m.from().expect("no drops in chess");
        let to = destination(m, position.turn());
        // Castling to a square that the king may also step to (Chess960).
        shared += usize::from(found[from.to_usize()].contains(to) && !m.is_promotion());
        found[from.to_usize()] |= Bitboard::from(to);
    }
    (found, shared)
}

/// Moves of the side on move as a survey counts them, compared with shakmaty's on the way.
fn moves_of(position: &Chess) -> u64 {
    let survey = Survey::of(position);
    let (theirs, shared) = destinations(position);
    let mut pairs = 0;
    let mut promotions = 0;
    for unit in &survey.units {
        let theirs = theirs[unit.square.to_usize()];
        match unit.legal {
            Some(ours) => {
                assert_eq!(ours, theirs, "{unit:?} in {}", fen(position));
                pairs += ours.count();
                if unit.kind == Role::Pawn {
                    promotions += (ours & Bitboard::BACKRANKS).count();
                }
            }
            None => assert!(theirs.is_empty()),
        }
    }
    assert_eq!(survey.legal_total(), pairs);
    (pairs + 3 * promotions + shared) as u64
}

fn fen(position: &Chess) -> String {
    Fen::from_position(position, EnPassantMode::Legal).to_string()
}

/// Perft by the surveys' counts; adds the positions surveyed to `nodes`.
fn perft(position: &Chess, depth: usize, nodes: &mut u64) -> u64 {
    *nodes += 1;
    let own = moves_of(position);
    if depth == 1 {
        return own;
    }
    position
        .legal_moves()
        .into_iter()
        .map(|m| {
            let mut next = position.clone();
            next.play_unchecked(m);
            perft(&next, depth - 1, nodes)
        })
        .sum()
}

fn count_perft(source: &str, published: &str) {
    let started = Instant::now();
    let mut nodes = 0;
    for line in published.lines() {
        let [mode, fen, counts] = line.split(": ").collect::<Vec<_>>()[..] else {
            panic!("{line}");
        };
        let mode = match mode {
            "standard" => CastlingMode::Standard,
            "chess960" => CastlingMode::Chess960,
            _ => panic!("{line}"),
        };
        let setup = fen.parse::<Fen>().unwrap().into_setup();
        let position = Chess::from_setup(setup, mode)
            .or_else(PositionError::ignore_too_much_material)
            .unwrap();
        for (depth, published) in (1..).zip(counts.split(' ')) {
            let published: u64 = published.parse().unwrap();
            let counted = perft(&position, depth, &mut nodes);
            assert_eq!(counted, published, "perft({depth}) of {fen}");
        }
    }
    println!(
        "perft, {source}: {} positions, {nodes} nodes compared, 0 differences, {:.1} s",
        published.lines().count(),
        started.elapsed().as_secs_f64()
    );
}

#[test]
fn perft_of_the_usual_positions() {
    count_perft("Perft Results", PERFT_RESULTS);
}

#[test]
fn perft_of_tricky_positions() {
    count_perft("tricky.perft", TRICKY);
}

#[test]
fn perft_of_chess960_positions() {
    count_perft("Chess960 Perft Results", CHESS960);
}

/// Against shakmaty's legal moves, where the turn is really passed: without a check the
/// reach of the side not on move is the legal moves it would have.
#[test]
fn reach_with_the_turn_passed() {
    let compared = Tally::default();
    let games_played = check(file!(), "reach", 120, &games(80), |game| {
        for position in game.positions() {
            let Ok(swapped) = position.clone().swap_turn() else {
                continue;
            };
            let survey = Survey::of(&position);
            let (theirs, _) = destinations(&swapped);
            for unit in &survey.units {
                if unit.color == swapped.turn() {
                    prop_assert_eq!(
                        unit.reach,
                        theirs[unit.square.to_usize()],
                        "{:?} in {}",
                        unit,
                        fen(&position)
                    );
                    compared.add(1);
                }
            }
        }
        Ok(())
    });
    println!(
        "reach with the turn passed, shakmaty 0.30.1: {games_played} games, {} units, 0 differences",
        compared.sum()
    );
}

/// Sum of `legal` and every destination at each position of random games, against
/// shakmaty's legal moves.
#[test]
fn legal_moves_of_random_games() {
    let compared = Tally::default();
    let games_played = check(file!(), "legal", 120, &games(120), |game| {
        for position in game.positions() {
            prop_assert_eq!(moves_of(&position), position.legal_moves().len() as u64);
            compared.add(1);
        }
        Ok(())
    });
    println!(
        "legal moves, shakmaty 0.30.1: {games_played} games, {} positions, 0 differences",
        compared.sum()
    );
}

/// Worked exchanges of `tests/oracle/exchange-cases.json`, each with its arithmetic there.
#[test]
fn worked_exchanges() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/oracle/exchange-cases.json");
    let text = std::fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let cases: serde_json::Value = serde_json::from_str(&text).unwrap();
    let cases = cases.as_array().expect("a list of cases");
    assert!(cases.len() >= 10, "only {} cases", cases.len());
    for case in cases {
        let text = |key: &str| {
            case[key]
                .as_str()
                .unwrap_or_else(|| panic!("{key}: {case}"))
        };
        let position = position(text("fen"));
        let from: Square = text("from").parse().unwrap();
        let to: Square = text("to").parse().unwrap();
        let value = case["value"].as_i64().expect("a value");
        assert!(!text("why").is_empty(), "{case}");
        let survey = Survey::of(&position);
        let unit = survey.unit(from).unwrap_or_else(|| panic!("{case}"));
        assert!(unit.reach.contains(to), "out of reach: {case}");
        let passed = passed_pawn(&position, from, to);
        let exchange = Exchange::on(position.board(), to);
        let going = exchange.going(unit.color, unit.kind, from, passed);
        assert_eq!(i64::from(going), value, "{case}");
        assert_eq!(unit.safe.contains(to), value >= 0, "safe: {case}");
    }
    println!(
        "worked exchanges, exchange-cases.json: {} cases, 0 differences",
        cases.len()
    );
}

/// Square of the pawn that going from one square to the other captures en passant.
fn passed_pawn(position: &Chess, from: Square, to: Square) -> Option<Square> {
    let board = position.board();
    let pawn = board.role_at(from) == Some(Role::Pawn);
    (pawn && from.file() != to.file() && board.piece_at(to).is_none())
        .then(|| Square::from_coords(to.file(), from.rank()))
}

/// Against the full minimax written in `common/exchange.rs` from definitions, section 4:
/// the exchange value, its sign by the quick way, and the safe squares.
#[test]
fn exchanges_of_random_games() {
    let positions = Tally::default();
    let squares = Tally::default();
    let attacked = Tally::default();
    check(file!(), "exchange", 420, &games(110), |game| {
        for position in game.positions() {
            positions.add(1);
            let board = position.board();
            for unit in Survey::of(&position).units {
                if unit.kind == Role::King {
                    prop_assert_eq!(unit.safe, unit.reach);
                    continue;
                }
                for to in unit.reach {
                    let passed = passed_pawn(&position, unit.square, to);
                    let value = Minimax::on(board, to).going(unit.square, passed);
                    let exchange = Exchange::on(board, to);
                    let place = || format!("{:?} to {to} in {}", unit, fen(&position));
                    let going = exchange.going(unit.color, unit.kind, unit.square, passed);
                    prop_assert_eq!(going, value, "{}", place());
                    let pays = exchange.pays(unit.color, unit.kind, unit.square, passed);
                    prop_assert_eq!(pays, value > 0, "{}", place());
                    let rise = match (unit.kind, unit.color, to.rank().to_u32()) {
                        (Role::Pawn, Color::White, 7) | (Role::Pawn, Color::Black, 0) => 8,
                        _ => 0,
                    };
                    let gain = rise
                        + passed
                            .or(Some(to))
                            .and_then(|square| board.role_at(square))
                            .map_or(0, worth);
                    let mut occupied = board.occupied().without(unit.square);
                    if let Some(pawn) = passed {
                        occupied = occupied.without(pawn);
                    }
                    let holds = exchange.holds(unit.color, worth(unit.kind) + rise, gain, occupied);
                    prop_assert_eq!(holds, value >= 0, "{}", place());
                    prop_assert_eq!(unit.safe.contains(to), value >= 0, "{}", place());
                    squares.add(1);
                    attacked.add(usize::from(value != gain));
                }
            }
        }
        Ok(())
    });
    assert!(attacked.sum() * 10 > squares.sum(), "too few exchanges met");
    println!(
        "exchange, full minimax: {} positions, {} (unit, square) pairs, {} with captures, 0 differences",
        positions.sum(),
        squares.sum(),
        attacked.sum()
    );
}
