//! Exchange on one square by the full minimax of definitions, section 4, over a plain array
//! of squares: a second reading, slow and without shortcuts.

use std::collections::HashMap;

use shakmaty::{Board, Color, Role, Square};

use super::worth;

/// Exchange on one square.
pub struct Minimax {
    units: [Option<(Color, Role)>; 64],
    to: (i32, i32),
    /// Values of positions met: squares emptied, side, value standing on the square.
    met: HashMap<(u64, Color, i32), i32>,
}

const DIAGONALS: [(i32, i32); 4] = [(1, 1), (1, -1), (-1, 1), (-1, -1)];
const LINES: [(i32, i32); 4] = [(1, 0), (-1, 0), (0, 1), (0, -1)];
const JUMPS: [(i32, i32); 8] = [
    (1, 2),
    (2, 1),
    (2, -1),
    (1, -2),
    (-1, -2),
    (-2, -1),
    (-2, 1),
    (-1, 2),
];

fn index(file: i32, rank: i32) -> Option<usize> {
    let on_board = (0..8).contains(&file) && (0..8).contains(&rank);
    on_board.then_some((rank * 8 + file) as usize)
}

impl Minimax {
    /// Exchange on `to`.
    pub fn on(board: &Board, to: Square) -> Minimax {
        let mut units = [None; 64];
        for (square, piece) in board.iter() {
            units[square.to_usize()] = Some((piece.color, piece.role));
        }
        Minimax {
            units,
            to: (to.file().to_u32() as i32, to.rank().to_u32() as i32),
            met: HashMap::new(),
        }
    }

    fn rise(&self, color: Color, role: Role) -> i32 {
        let last = color.fold_wb(7, 0);
        if role == Role::Pawn && self.to.1 == last {
            8
        } else {
            0
        }
    }

    /// Exchange value of going to the square from `from`; a pawn standing on `passed` is
    /// captured en passant.
    pub fn going(&mut self, from: Square, passed: Option<Square>) -> i32 {
        let (color, role) = self.units[from.to_usize()].expect("a unit goes");
        let target = passed.map_or_else(
            || index(self.to.0, self.to.1),
            |square| Some(square.to_usize()),
        );
        let captured = target
            .and_then(|target| self.units[target])
            .map_or(0, |(_, role)| worth(role));
        let mut emptied = 1_u64 << from.to_usize();
        if let Some(square) = passed {
            emptied |= 1 << square.to_usize();
        }
        let rise = self.rise(color, role);
        captured + rise - self.answer(!color, worth(role) + rise, emptied)
    }

    fn answer(&mut self, side: Color, standing: i32, emptied: u64) -> i32 {
        let key = (emptied, side, standing);
        if let Some(&value) = self.met.get(&key) {
            return value;
        }
        let mut best = 0;
        for (square, role) in self.attackers(side, emptied) {
            let left = emptied | 1 << square;
            let net = if role == Role::King {
                if !self.attackers(!side, left).is_empty() {
                    continue;
                }
                standing
            } else {
                let rise = self.rise(side, role);
                standing + rise - self.answer(!side, worth(role) + rise, left)
            };
            best = best.max(net);
        }
        self.met.insert(key, best);
        best
    }

    fn attackers(&self, side: Color, emptied: u64) -> Vec<(usize, Role)> {
        let (file, rank) = self.to;
        let unit = |file: i32, rank: i32| -> Option<(usize, Option<(Color, Role)>)> {
            let square = index(file, rank)?;
            let there = self.units[square].filter(|_| emptied >> square & 1 == 0);
            Some((square, there))
        };
        let mut found = Vec::new();
        let mut look = |file: i32, rank: i32, roles: &[Role]| {
            if let Some((square, Some((color, role)))) = unit(file, rank)
                && color == side
                && roles.contains(&role)
            {
                found.push((square, role));
            }
        };
        // A pawn captures forward: it stands a row behind the square.
        let behind = side.fold_wb(-1, 1);
        for aside in [-1, 1] {
            look(file + aside, rank + behind, &[Role::Pawn]);
        }
        for (x, y) in JUMPS {
            look(file + x, rank + y, &[Role::Knight]);
        }
        for (x, y) in DIAGONALS.into_iter().chain(LINES) {
            look(file + x, rank + y, &[Role::King]);
        }
        for (directions, slider) in [(DIAGONALS, Role::Bishop), (LINES, Role::Rook)] {
            for (x, y) in directions {
                for steps in 1.. {
                    match unit(file + steps * x, rank + steps * y) {
                        Some((_, None)) => {}
                        Some((square, Some((color, role)))) => {
                            if color == side && (role == slider || role == Role::Queen) {
                                found.push((square, role));
                            }
                            break;
                        }
                        None => break,
                    }
                }
            }
        }
        found
    }
}
