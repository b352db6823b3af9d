//! What a position is worth, in hundredths of a pawn, for the side on move.
//! The weights are our own, found by looking at the games they give.

use shakmaty::attacks;
use shakmaty::{Bitboard, Board, Chess, Color, Position, Role, Square};

/// Value of a unit in the search (a finer scale than the 1-3-3-5-9 of the tables).
pub fn worth(role: Role) -> i32 {
    match role {
        Role::Pawn => 100,
        Role::Knight => 320,
        Role::Bishop => 330,
        Role::Rook => 500,
        Role::Queen => 900,
        Role::King => 0,
    }
}

/// How near a square is to the middle: 0 in the corners, 6 in the four middle squares.
pub fn middle(square: Square) -> i32 {
    let near = |line: i32| if line < 4 { line } else { 7 - line };
    near(i32::from(square.file())) + near(i32::from(square.rank()))
}

/// Squares all pawns of a colour attack.
pub fn pawn_cover(board: &Board, color: Color) -> Bitboard {
    (board.pawns() & board.by_color(color))
        .into_iter()
        .fold(Bitboard::EMPTY, |all, square| {
            all | attacks::pawn_attacks(color, square)
        })
}

/// Squares a piece can go to without stepping on an own unit or before an enemy pawn:
/// a rough and quick measure of its freedom.
pub fn room(board: &Board, square: Square, color: Color, enemy_pawns: Bitboard) -> i32 {
    let free = board.attacks_from(square) & !board.by_color(color) & !enemy_pawns;
    free.count() as i32
}

/// The worth of the position for the side on move.
pub fn evaluate(position: &Chess) -> i32 {
    let board = position.board();
    let heavy = Color::ALL.map(|color| {
        let own = board.by_color(color);
        (board.knights() & own).count() as i32 * 3
            + (board.bishops() & own).count() as i32 * 3
            + (board.rooks() & own).count() as i32 * 5
            + (board.queens() & own).count() as i32 * 9
    });
    let late = heavy[0] + heavy[1] <= 26;
    let sides = Color::ALL.map(|color| side(board, color, late));
    let white_less_black = {
        let white = usize::from(Color::ALL[0] != Color::White);
        let mut difference = sides[white] - sides[1 - white];
        difference += drive(board, difference);
        difference
    };
    match position.turn() {
        Color::White => white_less_black + 10,
        Color::Black => -white_less_black + 10,
    }
}

fn side(board: &Board, color: Color, late: bool) -> i32 {
    let own = board.by_color(color);
    let enemy_cover = pawn_cover(board, !color);
    let enemy_pawns = board.pawns() & board.by_color(!color);
    let own_pawns = board.pawns() & own;
    let mut sum = 0;
    for square in own {
        let Some(role) = board.role_at(square) else {
            continue;
        };
        let row = match color {
            Color::White => i32::from(square.rank()),
            Color::Black => 7 - i32::from(square.rank()),
        };
        sum += worth(role);
        sum += match role {
            Role::Pawn => {
                let file = Bitboard::from_file(square.file());
                let mut gain = if late { row * 6 } else { row * 2 };
                if middle(square) >= 5 {
                    gain += 14;
                }
                if (own_pawns & file).more_than_one() {
                    gain -= 8;
                }
                if passed(square, color, enemy_pawns) {
                    gain += row * row * if late { 4 } else { 2 };
                }
                gain
            }
            Role::Knight => {
                let room = room(board, square, color, enemy_cover);
                let asleep = if row == 0 { -14 } else { 0 };
                middle(square) * 4 + asleep + freedom(room, 4, 4)
            }
            Role::Bishop => {
                let room = room(board, square, color, enemy_cover);
                let asleep = if row == 0 { -12 } else { 0 };
                asleep + middle(square) + freedom(room, 4, 6)
            }
            Role::Rook => {
                let file = Bitboard::from_file(square.file());
                let open = if (board.pawns() & file).is_empty() {
                    18
                } else if (own_pawns & file).is_empty() {
                    10
                } else {
                    0
                };
                let seventh = if row == 6 { 15 } else { 0 };
                open + seventh + freedom(room(board, square, color, enemy_cover), 2, 7)
            }
            Role::Queen => freedom(room(board, square, color, enemy_cover), 1, 10),
            Role::King => {
                if late {
                    middle(square) * 6
                } else {
                    let shield = (attacks::king_attacks(square) & own_pawns).count() as i32;
                    shield * 9 - row * 25 - if middle(square) > 2 { 22 } else { 0 }
                }
            }
        };
    }
    if (board.bishops() & own).count() >= 2 {
        sum += 25;
    }
    sum
}

/// Room counted around the usual; a piece nearly out of squares costs extra, so that the
/// players both restrain and avoid being restrained.
fn freedom(room: i32, each: i32, usual: i32) -> i32 {
    let held = match room {
        0 => -34,
        1 => -22,
        2 => -10,
        _ => 0,
    };
    (room - usual) * each + held
}

fn passed(square: Square, color: Color, enemy_pawns: Bitboard) -> bool {
    enemy_pawns.into_iter().all(|enemy| {
        let aside = (i32::from(enemy.file()) - i32::from(square.file())).abs() > 1;
        let behind = match color {
            Color::White => enemy.rank() <= square.rank(),
            Color::Black => enemy.rank() >= square.rank(),
        };
        aside || behind
    })
}

/// With a clear lead against a nearly bare king: drive it to the rim, and come near.
fn drive(board: &Board, white_less_black: i32) -> i32 {
    let (ahead, sign) = match white_less_black {
        350.. => (Color::White, 1),
        ..=-350 => (Color::Black, -1),
        _ => return 0,
    };
    let left = board.by_color(!ahead) & !board.pawns() & !board.kings();
    if left.count() > 1 {
        return 0;
    }
    let (Some(hunter), Some(hunted)) = (board.king_of(ahead), board.king_of(!ahead)) else {
        return 0;
    };
    let apart = hunter.distance(hunted) as i32;
    sign * ((6 - middle(hunted)) * 14 + (7 - apart) * 8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::at;

    #[test]
    fn both_sides_see_the_usual_start_alike() {
        assert_eq!(evaluate(&Chess::default()), 10);
    }

    #[test]
    fn mirrored_positions_have_one_worth() {
        let white = at("r2qkb1r/ppp1pppp/2n2n2/3p1b2/3P1B2/2N1P3/PPP2PPP/R2QKBNR w KQkq - 0 1");
        let black = at("r2qkbnr/ppp2ppp/2n1p3/3p1b2/3P1B2/2N2N2/PPP1PPPP/R2QKB1R b KQkq - 0 1");
        assert_eq!(evaluate(&white), evaluate(&black));
    }

    #[test]
    fn a_shut_in_bishop_is_worth_less_than_a_free_one() {
        let shut = at("4k3/8/1p6/p7/8/1P6/P1P5/B3K3 w - - 0 1");
        let free = at("4k3/8/1p6/p7/3B4/1P6/P1P5/4K3 w - - 0 1");
        assert!(evaluate(&free) > evaluate(&shut) + 20);
    }
}
