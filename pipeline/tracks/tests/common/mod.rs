//! Random games, and the identity of units followed a second time.

#![allow(dead_code, reason = "each test file uses its part")]

pub mod exchange;
pub mod mirror;
pub mod reading;
#[path = "../../../archive/tests/common/runner.rs"]
pub mod runner;
pub mod turns;

use hobble_tracks::lanes::InstructionSet;
use proptest::collection::vec;
use proptest::prelude::*;
use shakmaty::fen::Fen;
use shakmaty::{
    Board, CastlingMode, CastlingSide, Chess, Color, FromSetup, Move, Position, PositionError,
    Rank, Role, Square,
};

/// Starts of our own from which random play soon meets what is rare.
pub const STARTS: [&str; 12] = [
    // Pawns about to promote on both sides, with captures beside them.
    "1n1r1b2/P1P1P1k1/8/8/8/8/1K2p1p1/3R1N1B w - - 0 1",
    // Both ways of castling open to both sides.
    "r3k2r/pppq1ppp/2np1n2/2b1p3/2B1P3/2NP1N2/PPPQ1PPP/R3K2R w KQkq - 0 1",
    // Double steps that can be taken in passing.
    "4k3/p1p1p1p1/8/1P1P1P1P/p1p1p1p1/8/1P1P1P1P/4K3 w - - 0 1",
    // In passing along a row with a king and a rook on it.
    "8/2p5/8/K2P3r/8/8/4p3/3k4 b - - 0 1",
    // Batteries on one file and one diagonal: long exchanges with units behind units.
    "3r2k1/1b1r1ppp/2n1bn2/3p1q2/3P1Q2/2N1BN2/1B1R1PPP/3R2K1 w - - 0 1",
    "2rqr1k1/1b2bppp/p1n1pn2/1p1p4/1P1P4/P1N1PN2/1B2BPPP/2RQR1K1 w - - 0 20",
    // Pieces pinned on files, rows and diagonals.
    "4r1k1/1b3ppp/8/3n4/1b2N3/2B1R3/3K1PPP/q3Q1Br w - - 0 1",
    // Open kings, checks everywhere.
    "8/1qk2r2/2n2b2/8/4P3/3K4/1B1Q2R1/8 w - - 0 1",
    // Many queens.
    "3qk2q/8/1q4q1/8/8/1Q4Q1/8/Q2QK3 w - - 0 1",
    // Rooks and the king displaced (Chess960).
    "1rk1b2r/ppp2ppp/2n2n2/3pp3/3PP3/2N2N2/PPP2PPP/1RK1B2R w HBhb - 0 1",
    "r4kr1/p3pp1p/8/8/8/8/P3PP1P/R4KR1 w GAga - 0 1",
    // Almost nothing left.
    "8/5k2/4p3/8/3P4/8/2K5/7B b - - 0 60",
];

/// Reads a position as the scan does, which accepts odd ones.
pub fn position(fen: &str) -> Chess {
    let setup = fen.parse::<Fen>().expect("a FEN").into_setup();
    let mode = CastlingMode::detect(&setup);
    Chess::from_setup(setup, mode)
        .or_else(PositionError::ignore_too_much_material)
        .unwrap_or_else(|error| panic!("{fen}: {error}"))
}

/// Start position of Chess960 by its number from 0 to 959 (Scharnagl's numbering, from
/// memory; 518 is the usual start).
pub fn chess960(number: usize) -> Chess {
    let mut row = [None; 8];
    let place = |row: &mut [Option<char>; 8], nth: usize, unit: char| {
        let free: Vec<usize> = (0..8).filter(|&file| row[file].is_none()).collect();
        row[free[nth]] = Some(unit);
    };
    row[2 * (number % 4) + 1] = Some('b');
    row[2 * (number / 4 % 4)] = Some('b');
    place(&mut row, number / 16 % 6, 'q');
    let pairs = (0..5).flat_map(|a| (a + 1..5).map(move |b| (a, b)));
    let (first, second) = pairs.clone().nth(number / 96).unwrap_or((0, 1));
    place(&mut row, second, 'n');
    place(&mut row, first, 'n');
    for unit in ['r', 'k', 'r'] {
        place(&mut row, 0, unit);
    }
    let row: String = row.into_iter().flatten().collect();
    let fen = format!(
        "{row}/pppppppp/8/8/8/8/PPPPPPPP/{} w KQkq - 0 1",
        row.to_uppercase()
    );
    let setup = fen.parse::<Fen>().expect("a FEN").into_setup();
    Chess::from_setup(setup, CastlingMode::Chess960).expect("a start position")
}

/// A random game: where it starts, and which moves are chosen.
#[derive(Clone, Debug)]
pub struct Game {
    start: Start,
    choices: Vec<u16>,
}

#[derive(Clone, Debug)]
enum Start {
    Usual,
    Own(usize),
    Chess960(usize),
}

/// Games of up to `plies` plies.
pub fn games(plies: usize) -> impl Strategy<Value = Game> {
    let start = prop_oneof![
        4 => Just(Start::Usual),
        5 => (0..STARTS.len()).prop_map(Start::Own),
        3 => (0..960_usize).prop_map(Start::Chess960),
    ];
    let choices = vec(any::<u16>(), 0..=plies);
    (start, choices).prop_map(|(start, choices)| Game { start, choices })
}

impl Game {
    /// Where it starts.
    pub fn start(&self) -> Chess {
        match self.start {
            Start::Usual => Chess::default(),
            Start::Own(index) => position(STARTS[index]),
            Start::Chess960(number) => chess960(number),
        }
    }

    /// Its moves: each choice picks a legal one, the rare kinds more often than chance would.
    pub fn moves(&self) -> Vec<Move> {
        let mut position = self.start();
        let mut moves = Vec::new();
        for &choice in &self.choices {
            let legal = position.legal_moves();
            let only = |wanted: fn(Move) -> bool| -> Vec<Move> {
                legal.iter().copied().filter(|&m| wanted(m)).collect()
            };
            let kind = match choice % 8 {
                0 => only(Move::is_en_passant),
                1 => only(|m| m.is_castle() || m.is_promotion()),
                2 | 3 => only(Move::is_capture),
                4 => only(is_double_step),
                _ => Vec::new(),
            };
            let pool: &[Move] = if kind.is_empty() { &legal } else { &kind };
            let Some(&m) = pool.get(usize::from(choice / 8) % pool.len().max(1)) else {
                break;
            };
            moves.push(m);
            position.play_unchecked(m);
        }
        moves
    }

    /// All its positions, the start first.
    pub fn positions(&self) -> Vec<Chess> {
        let mut position = self.start();
        let mut positions = vec![position.clone()];
        for m in self.moves() {
            position.play_unchecked(m);
            positions.push(position.clone());
        }
        positions
    }
}

fn is_double_step(m: Move) -> bool {
    let rows = |square: Square| square.rank().to_u32();
    m.role() == Role::Pawn
        && m.from()
            .is_some_and(|from| rows(from).abs_diff(rows(m.to())) == 2)
}

/// Names of the instruction sets that this machine has.
pub fn instruction_sets() -> String {
    let names = InstructionSet::available()
        .into_iter()
        .map(InstructionSet::name);
    names.collect::<Vec<_>>().join(", ")
}

/// Square a move leads its unit to; the king's for castling.
pub fn destination(m: Move, color: Color) -> Square {
    match m.castling_side() {
        Some(side) => side.king_to(color),
        None => m.to(),
    }
}

/// A unit of a game.
#[derive(Clone, Debug)]
pub struct Unit {
    pub kind: Role,
    pub color: Color,
    pub birth: usize,
    pub off_home: bool,
    /// Plies by which it moved (castled, was born).
    pub moved: Vec<usize>,
    /// Ply by which it was captured, and where it stood.
    pub captured: Option<(usize, Square)>,
    /// Ply by which it promoted.
    pub promoted: Option<usize>,
}

impl Unit {
    /// Last ply up to `position` by which it moved.
    pub fn moved_by(&self, position: usize) -> Option<usize> {
        self.moved.iter().copied().rfind(|&ply| ply <= position)
    }

    /// Whether it is developed at a position (definitions, section 2).
    pub fn developed(&self, position: usize) -> bool {
        self.off_home || self.moved_by(position).is_some()
    }
}

/// The units of a game by slot, and who stands where at each position: definitions,
/// section 2, read a second time.
#[derive(Clone, Debug, Default)]
pub struct Units {
    pub units: Vec<Unit>,
    pub at: Vec<[Option<usize>; 64]>,
}

impl Units {
    /// Follows a game.
    pub fn of(start: &Chess, moves: &[Move]) -> Units {
        let mut followed = Units::default();
        let mut at = [None; 64];
        for square in Square::ALL {
            if let Some(piece) = start.board().piece_at(square) {
                at[square.to_usize()] = Some(followed.units.len());
                followed.units.push(Unit {
                    kind: piece.role,
                    color: piece.color,
                    birth: 0,
                    off_home: square.rank()
                        != match piece.color {
                            Color::White => Rank::First,
                            Color::Black => Rank::Eighth,
                        },
                    moved: Vec::new(),
                    captured: None,
                    promoted: None,
                });
            }
        }
        followed.at.push(at);
        let mut position = start.clone();
        for (before, &m) in moves.iter().enumerate() {
            followed.play(&mut at, &position, m, before + 1);
            followed.at.push(at);
            position.play_unchecked(m);
        }
        followed
    }

    fn play(&mut self, at: &mut [Option<usize>; 64], position: &Chess, m: Move, ply: usize) {
        let color = position.turn();
        if let Move::Castle { king, rook } = m {
            let units = [at[king.to_usize()], at[rook.to_usize()]];
            at[king.to_usize()] = None;
            at[rook.to_usize()] = None;
            let side = if rook.file() > king.file() {
                CastlingSide::KingSide
            } else {
                CastlingSide::QueenSide
            };
            for (unit, to) in units
                .into_iter()
                .zip([side.king_to(color), side.rook_to(color)])
            {
                let unit = unit.expect("king and rook stand there");
                at[to.to_usize()] = Some(unit);
                self.units[unit].moved.push(ply);
            }
            return;
        }
        let (from, to) = (m.from().expect("no drops in chess"), m.to());
        let mover = at[from.to_usize()].take().expect("a unit moves");
        let victim_on = if m.is_en_passant() {
            Square::from_coords(to.file(), from.rank())
        } else {
            to
        };
        if let Some(victim) = at[victim_on.to_usize()].take() {
            self.units[victim].captured = Some((ply, victim_on));
        }
        match m.promotion() {
            None => {
                self.units[mover].moved.push(ply);
                at[to.to_usize()] = Some(mover);
            }
            Some(kind) => {
                self.units[mover].promoted = Some(ply);
                at[to.to_usize()] = Some(self.units.len());
                self.units.push(Unit {
                    kind,
                    color,
                    birth: ply,
                    off_home: true,
                    moved: vec![ply],
                    captured: None,
                    promoted: None,
                });
            }
        }
    }
}

/// Value in pawns (definitions, section 2).
pub use hobble_terms::value as worth;

/// White's material less Black's.
pub fn balance(board: &Board) -> i32 {
    board
        .iter()
        .map(|(_, piece)| piece.color.fold_wb(1, -1) * worth(piece.role))
        .sum()
}

/// Whether restriction is spoken of for this kind.
pub fn is_piece(role: Role) -> bool {
    !matches!(role, Role::Pawn | Role::King)
}
