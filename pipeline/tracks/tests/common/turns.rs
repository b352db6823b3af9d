//! What stands around a piece, and the other pieces of its side, read a second time.

use hobble_terms::CauseKind;
use hobble_tracks::surroundings::Surroundings;
use shakmaty::{Bitboard, Board, Color, Position, Role, Square};

use super::reading::Reading;

impl Reading {
    /// Definitions, section 6: attackers, defenders, wedge.
    pub fn around(&self, square: Square, position: usize) -> Surroundings {
        let board = self.positions[position].board();
        let piece = board.piece_at(square).expect("a piece stands there");
        let by = |color| board.attacks_to(square, color, board.occupied());
        let kinds = |units: Bitboard| {
            let met = units.into_iter().filter_map(|unit| board.role_at(unit));
            met.fold(0, |kinds, role| kinds | 1 << (role as u8 - 1))
        };
        Surroundings {
            attacked_by: kinds(by(!piece.color)),
            attackers: by(!piece.color).count() as u8,
            defended_by: kinds(by(piece.color)),
            defenders: by(piece.color).count() as u8,
            wedge: (piece.role == Role::Bishop).then(|| wedge(board, piece.color, square)),
        }
    }

    /// Definitions, section 6: others held and restrained at k = 2.
    pub fn others(&self, slot: usize, position: usize) -> (u8, u8) {
        let color = self.units.units[slot].color;
        let (mut held, mut restrained) = (0, 0);
        for other in self.pieces().filter(|&other| other != slot) {
            let unit = &self.units.units[other];
            let Some(safe) = self.safe(other, position).filter(|_| unit.color == color) else {
                continue;
            };
            held += u8::from(unit.developed(position) && safe <= 2);
            restrained += u8::from(self.restrained_turns(other, 2, position) > 0);
        }
        (held, restrained)
    }

    /// Definitions, section 8: turns from the landmark to a turn of the owner, both counted; 0
    /// where the piece is not restrained at k then.
    pub fn restrained_turns(&self, slot: usize, k: usize, position: usize) -> u16 {
        let restricted = |turn: usize| self.safe(slot, turn).is_some_and(|safe| safe <= k);
        if !restricted(position) {
            return 0;
        }
        let mut start = position;
        while start >= 2 && restricted(start - 2) {
            start -= 2;
        }
        let cause = self.cause(slot, k, start);
        let square = self.square(slot, start).expect("it is on the board");
        let restrains = cause.kind == CauseKind::Taken
            && cause.ply.is_some_and(|ply| ply.quiet)
            && self.units.units[slot].developed(start)
            && self.around(square, start).attackers == 0;
        if restrains {
            ((position - start) / 2) as u16
        } else {
            0
        }
    }
}

fn wedge(board: &Board, color: Color, bishop: Square) -> bool {
    let forward = color.fold_wb(1, -1);
    let step = |square: Square, side: i32| {
        let (file, rank) = (square.file() as i32 + side, square.rank() as i32 + forward);
        let inside = (0..8).contains(&file) && (0..8).contains(&rank);
        inside.then(|| Square::new((8 * rank + file) as u32))
    };
    let enemy_pawn = |square: Option<Square>| {
        let piece = square.and_then(|square| board.piece_at(square));
        piece.is_some_and(|piece| piece.role == Role::Pawn && piece.color != color)
    };
    let mut ways = 0;
    for side in [-1, 1] {
        let way: Vec<Square> =
            std::iter::successors(step(bishop, side), |&square| step(square, side)).collect();
        if way.len() < 2 {
            continue;
        }
        ways += 1;
        let Some(&met) = way.iter().find(|&&square| board.piece_at(square).is_some()) else {
            return false;
        };
        // An own pawn is blocked from straight ahead; an enemy pawn is protected from the two
        // squares before it.
        let own = board.color_at(met) == Some(color);
        let shut = board.role_at(met) == Some(Role::Pawn)
            && if own {
                enemy_pawn(step(met, 0))
            } else {
                enemy_pawn(step(met, -1)) || enemy_pawn(step(met, 1))
            };
        if !shut {
            return false;
        }
    }
    ways > 0
}
