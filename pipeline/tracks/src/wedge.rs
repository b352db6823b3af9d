//! Bishops behind a wedge of pawns (definitions, section 6).

use shakmaty::{Bitboard, Board, Color, Square, attacks};

use crate::sight::pawn_captures;

/// Whether the bishop of `color` on `square` stands behind a wedge: it has a forward diagonal
/// of two squares or more, and on each of these the first unit is an own pawn that an enemy
/// pawn blocks, or an enemy pawn that an enemy pawn protects.
pub fn is_behind_wedge(board: &Board, color: Color, square: Square) -> bool {
    let (own, enemy) = (
        board.pawns() & board.by_color(color),
        board.pawns() & board.by_color(!color),
    );
    let (left, right) = pawn_captures(!color, enemy);
    let blocked = match color {
        Color::White => Bitboard(enemy.0 >> 8),
        Color::Black => Bitboard(enemy.0 << 8),
    };
    let shut = (own & blocked) | (enemy & (left | right));
    let first_units = attacks::bishop_attacks(square, board.occupied()) & board.occupied();

    let (file, row) = (square.file().to_u32(), square.rank().to_u32());
    let rows_ahead = color.fold_wb(7 - row, row);
    let ahead = match color {
        Color::White => Bitboard((!0xff_u64) << (8 * row)),
        Color::Black => Bitboard((1_u64 << (8 * row)) - 1),
    };
    let files_left = Bitboard(0x0101_0101_0101_0101 * ((1_u64 << file) - 1));
    let files_right = !files_left & !Bitboard::from(square.file());
    let mut met = false;
    for (files, side) in [(file, files_left), (7 - file, files_right)] {
        if files.min(rows_ahead) < 2 {
            continue;
        }
        met = true;
        if !(first_units & ahead & side).intersects(shut) {
            return false;
        }
    }
    met
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wedge(fen: &str, square: &str) -> bool {
        let board = Board::from_ascii_board_fen(fen.as_bytes()).unwrap();
        let square: Square = square.parse().unwrap();
        let color = board.color_at(square).unwrap();
        is_behind_wedge(&board, color, square)
    }

    #[test]
    fn both_ways_must_be_shut() {
        // d4 is blocked by d5, b4 by b5.
        assert!(wedge("4k3/8/8/1p1p4/1P1P4/2B5/8/4K3", "c3"));
        // b4 is free to go on.
        assert!(!wedge("4k3/8/8/3p4/1P1P4/2B5/8/4K3", "c3"));
        // Nothing in the way on the left.
        assert!(!wedge("4k3/8/8/3p4/3P4/2B5/8/4K3", "c3"));
    }

    #[test]
    fn an_enemy_pawn_shuts_the_way_if_a_pawn_protects_it() {
        // f3, e4, d5 and then c6, protected by b7; h3 is a diagonal of one square.
        assert!(wedge("4k3/1p6/2p5/8/8/8/6B1/4K3", "g2"));
        assert!(!wedge("4k3/8/2p5/8/8/8/6B1/4K3", "g2"));
        // The same seen from Black.
        assert!(wedge("4k3/6b1/8/8/8/2P5/1P6/4K3", "g7"));
        // A piece in front does not shut it for good.
        assert!(!wedge("4k3/1p6/2p5/8/4N3/8/6B1/4K3", "g2"));
    }

    #[test]
    fn without_a_way_forward_there_is_no_wedge() {
        assert!(!wedge("2B1k3/8/8/8/8/8/8/4K3", "c8"));
        assert!(!wedge("4k3/2B5/8/8/8/8/8/4K3", "c7"));
    }
}
