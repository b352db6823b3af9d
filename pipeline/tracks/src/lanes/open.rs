//! What is done position by position: exchanges that sets do not settle, captures en passant,
//! castling in Chess960.

use hobble_terms::value;
use shakmaty::{
    Bitboard, CastlingSide, Chess, Color, EnPassantMode, Position, Role, Square, attacks,
};

use super::sheet::{BEFORE, Positions, Sheet};
use crate::exchange::Exchange;
use crate::material::PROMOTION_RISE;
use crate::mobility::may_castle;
use crate::pawns::en_passant_is_open;

/// The step of a pawn that captures towards the a-file, and of one towards the h-file.
const CAPTURES: [usize; 2] = [2, 3];

/// Plays out the captures on squares that are left open.
pub fn play_out(positions: &[Chess], sheet: &mut Sheet) {
    for color in Color::ALL {
        let side = color.fold_wb(0, 1);
        for kind in [Role::Knight, Role::Bishop, Role::Rook, Role::Queen] {
            for nth in 0..sheet.lists[side][kind as usize - 1].count() {
                let slot = sheet.lists[side][kind as usize - 1].slot(nth);
                for lane in lanes(sheet.open_lanes[slot], positions) {
                    let board = positions[lane].board();
                    let Ok(from) = Square::try_from(sheet.squares[slot][BEFORE + lane]) else {
                        continue;
                    };
                    let occupied = board.occupied().without(from);
                    let mut safe = Bitboard::EMPTY;
                    for to in Bitboard(sheet.open[slot][lane]) {
                        let gain = board.role_at(to).map_or(0, value);
                        let exchange = Exchange::on(board, to);
                        if exchange.holds(color, value(kind), gain, occupied) {
                            safe.add(to);
                        }
                    }
                    sheet.safe[slot][BEFORE + lane] |= safe.0;
                }
            }
        }
        for step in 0..2 {
            for lane in lanes(sheet.pawn_open_lanes[side][step], positions) {
                let open = Bitboard(sheet.pawn_open[side][step][lane]);
                let safe = pushes_that_hold(&positions[lane], color, step, open);
                sheet.pawn_safe[side][step][BEFORE + lane] |= safe.0;
            }
        }
    }
}

/// The lanes of a set that have positions.
fn lanes(set: u8, positions: &[Chess]) -> impl Iterator<Item = usize> + use<> {
    let with_position = (1_u16 << positions.len()) - 1;
    let mut rest = u16::from(set) & with_position;
    std::iter::from_fn(move || {
        let lane = rest.trailing_zeros();
        rest &= rest.wrapping_sub(1);
        (lane < u16::BITS).then_some(lane as usize)
    })
}

/// Those of the squares on which a pawn pushed to them is safe.
fn pushes_that_hold(position: &Chess, color: Color, step: usize, open: Bitboard) -> Bitboard {
    let board = position.board();
    let back = color.fold_wb(-8, 8) * (step as i32 + 1);
    open.into_iter()
        .filter(|&to| {
            let from = to
                .offset(back)
                .map_or(Bitboard::EMPTY, Bitboard::from_square);
            let (worth, gain) = if Bitboard::BACKRANKS.contains(to) {
                (value(Role::Queen), PROMOTION_RISE)
            } else {
                (value(Role::Pawn), 0)
            };
            let occupied = board.occupied() & !from;
            Exchange::on(board, to).holds(color, worth, gain, occupied)
        })
        .collect()
}

/// Adds captures en passant, which are safe, and castling in Chess960.
pub fn add_rare(positions: &[Chess], planes: &Positions, sheet: &mut Sheet) {
    for lane in lanes(planes.en_passant, positions) {
        let position = &positions[lane];
        let Some(to) = position.ep_square(EnPassantMode::Always) else {
            continue;
        };
        let (board, color) = (position.board(), position.turn());
        let side = color.fold_wb(0, 1);
        let pawns = board.pawns() & board.by_color(color);
        for from in pawns & attacks::pawn_attacks(!color, to) {
            if en_passant_is_open(board, color, from, to) {
                let step = CAPTURES[usize::from(to.file() > from.file())];
                let square = Bitboard::from_square(to).0;
                sheet.pawn_reach[side][step][lane] |= square;
                sheet.pawn_safe[side][step][BEFORE + lane] |= square;
            }
        }
    }
    if planes.chess960 {
        for (lane, position) in positions.iter().enumerate() {
            for color in Color::ALL {
                castle(position, lane, color, sheet);
            }
        }
    }
}

/// Adds castling of a side by the rules of Chess960.
fn castle(position: &Chess, lane: usize, color: Color, sheet: &mut Sheet) {
    let side = color.fold_wb(0, 1);
    let castles = position.castles();
    let board = position.board();
    let (Some(king), Some(slot)) = (
        board.king_of(color).filter(|_| castles.has_color(color)),
        sheet.lists[side][Role::King as usize - 1].first(),
    ) else {
        return;
    };
    let attacked = Bitboard(sheet.attacked[side ^ 1][BEFORE + lane]);
    for castling in [CastlingSide::KingSide, CastlingSide::QueenSide] {
        if may_castle(board, attacked, castles, color, king, castling) {
            let to = Bitboard::from_square(castling.king_to(color)).0;
            sheet.reach[slot][lane] |= to;
            sheet.safe[slot][BEFORE + lane] |= to;
        }
    }
}
