//! Legal moves tried on a position: what each would take and give, and which restrain a piece.
//!
//! A trial is measured from nothing, by the same code as the positions of a game.

use shakmaty::{Bitboard, CastlingSide, Chess, Color, Move, Position, Role, Square};

use crate::exchange::Exchange;
use crate::mobility::Mobility;
use crate::pawns::passed_pawn;
use crate::rules::Rules;
use crate::side::Measured;
use crate::sight::{Sight, is_piece};

/// A position with reach and safe squares of both sides (definitions, sections 3 and 4); the
/// turn is passed to the side that is not on move.
#[derive(Clone)]
pub struct Measures {
    pub(crate) sight: Sight,
    pub(crate) mobility: Box<[Mobility; 2]>,
    en_passant: Option<Square>,
    turn: Color,
}

impl Measures {
    /// Measures a position from nothing.
    pub fn of(position: &Chess) -> Measures {
        let sight = Sight::of(position.board());
        let rules = Rules::of(position);
        let mut mobility: Box<[Mobility; 2]> = Box::default();
        for color in Color::ALL {
            mobility[color as usize].measure(&sight, rules, color);
        }
        Measures {
            sight,
            mobility,
            en_passant: rules.en_passant,
            turn: rules.turn,
        }
    }

    /// Reach and safe squares of the unit on a square; `None` where there is none.
    pub fn unit(&self, square: Square) -> Option<Measured> {
        let piece = self.sight.board.piece_at(square)?;
        Some(self.mobility[piece.color as usize].of_unit(piece.color, square, piece.role))
    }

    /// Whether an enemy unit attacks the unit on a square, pins ignored.
    pub fn is_attacked(&self, square: Square) -> bool {
        self.sight
            .board
            .color_at(square)
            .is_some_and(|owner| self.sight.control.get(!owner).all.contains(square))
    }

    /// Whether the king of a side is attacked.
    pub fn in_check(&self, color: Color) -> bool {
        self.sight
            .board
            .king_of(color)
            .is_some_and(|king| self.is_attacked(king))
    }

    /// Units of a side that hang (see [`hanging`]).
    pub fn hanging(&self, color: Color) -> Bitboard {
        let en_passant = self.en_passant.filter(|_| self.turn != color);
        hanging(
            &self.sight,
            &self.mobility[!color as usize],
            en_passant,
            color,
        )
    }
}

/// Units of a side that *hang*: an enemy unit has them in its reach, and capturing them has an
/// exchange value of more than 0. `theirs` is what was measured of the other side, `en_passant`
/// the square on which it may capture in passing.
pub fn hanging(
    sight: &Sight,
    theirs: &Mobility,
    en_passant: Option<Square>,
    color: Color,
) -> Bitboard {
    let board = &sight.board;
    let mut hanging = Bitboard::EMPTY;
    for from in board.by_color(!color) {
        let role = sight.role(from);
        let reach = theirs.of_unit(!color, from, role).reach;
        for to in reach & board.by_color(color) & !hanging {
            if Exchange::on(board, to).pays(!color, role, from, None) {
                hanging |= Bitboard::from_square(to);
            }
        }
        if role == Role::Pawn
            && let Some(to) = en_passant
            && (reach & sight.attacks(from)).contains(to)
        {
            let passed = passed_pawn(from, to);
            if Exchange::on(board, to).pays(!color, role, from, Some(passed)) {
                hanging |= Bitboard::from_square(passed);
            }
        }
    }
    hanging
}

impl std::fmt::Debug for Measures {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Measures")
            .field("board", &self.sight.board)
            .field("turn", &self.turn)
            .finish_non_exhaustive()
    }
}

/// A legal move tried.
#[derive(Debug)]
pub struct Trial {
    /// The move.
    pub played: Move,
    /// Square its unit leaves; the king's for castling.
    pub from: Square,
    /// Square its unit reaches; the king's for castling.
    pub to: Square,
    /// Whether it gives check.
    pub check: bool,
    /// The position after it.
    pub after: Chess,
    /// What is measured there.
    pub measures: Measures,
}

impl Trial {
    /// Tries a legal move.
    pub fn of(position: &Chess, played: Move) -> Trial {
        let mover = position.turn();
        let mut after = position.clone();
        after.play_unchecked(played);
        let measures = Measures::of(&after);
        let to = match played.castling_side() {
            Some(side) => side.king_to(mover),
            None => played.to(),
        };
        Trial {
            played,
            from: played.from().unwrap_or(to),
            to,
            check: measures.in_check(!mover),
            after,
            measures,
        }
    }

    /// Whether it neither captures, promotes nor checks (definitions, section 5).
    pub fn is_quiet(&self) -> bool {
        !self.played.is_capture() && !self.played.is_promotion() && !self.check
    }

    /// Whether the moved unit is safe where it goes and nothing else of its side hangs that
    /// did not hang before: a move that gives nothing away. `before` is what was measured at
    /// the position it is played in, `hanging` what hung there of the mover's side.
    pub fn is_sound(&self, before: &Measures, hanging: Bitboard) -> bool {
        let mover = before.turn;
        let safe = before
            .unit(self.from)
            .is_some_and(|unit| unit.safe.contains(self.to));
        let hung = carried_over(self.played, mover, hanging);
        let new = self.measures.hanging(mover) & !hung;
        safe && new.is_empty()
    }
}

/// Units of `mover` that hung before its move, where they stand after it: the moved unit is the
/// same unit on its two squares, and so is a rook that castles.
pub fn carried_over(played: Move, mover: Color, hung: Bitboard) -> Bitboard {
    let carried = |from: Square, to: Square| {
        if hung.contains(from) {
            Bitboard::from_square(to)
        } else {
            Bitboard::EMPTY
        }
    };
    hung | match played {
        Move::Castle { king, rook } => {
            let side = CastlingSide::from_queen_side(rook < king);
            carried(rook, side.rook_to(mover))
        }
        _ => played
            .from()
            .map_or(Bitboard::EMPTY, |from| carried(from, played.to())),
    }
}

/// An enemy piece and what a move leaves it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Left {
    /// Where it stands.
    pub square: Square,
    /// Its kind: knight, bishop, rook or queen.
    pub kind: Role,
    /// Its safe squares before the move, the turn passed.
    pub before: Bitboard,
    /// Its safe squares after it.
    pub after: Bitboard,
    /// Whether it is attacked after it, pins ignored.
    pub attacked: bool,
}

impl Left {
    /// Whether the move restrains the piece at k: it had more than k safe squares, has k or
    /// fewer, and is not attacked.
    pub fn is_restrained(&self, k: u8) -> bool {
        let k = usize::from(k);
        self.before.count() > k && self.after.count() <= k && !self.attacked
    }
}

/// A quiet move that gives nothing away, and what it leaves each enemy knight, bishop, rook
/// and queen.
#[derive(Clone, Debug)]
pub struct QuietMove {
    /// The move.
    pub played: Move,
    /// The enemy pieces in the order of their squares.
    pub pieces: Vec<Left>,
}

/// The legal quiet moves of a position that give nothing away (see [`Trial::is_sound`]), with
/// the safe squares each leaves to the enemy pieces.
pub fn quiet_moves(position: &Chess) -> Vec<QuietMove> {
    let before = Measures::of(position);
    let hanging = before.hanging(position.turn());
    position
        .legal_moves()
        .into_iter()
        .filter(|played| !played.is_capture() && !played.is_promotion())
        .filter_map(|played| {
            let trial = Trial::of(position, played);
            (trial.is_quiet() && trial.is_sound(&before, hanging)).then(|| QuietMove {
                played,
                pieces: left(position, &before, &trial.measures),
            })
        })
        .collect()
}

/// What a move leaves the pieces of the side that is not on move, given that it captures none.
pub fn left(position: &Chess, before: &Measures, after: &Measures) -> Vec<Left> {
    position
        .board()
        .by_color(!position.turn())
        .into_iter()
        .filter_map(|square| {
            let kind = position.board().role_at(square)?;
            is_piece(kind).then_some(Left {
                square,
                kind,
                before: before.unit(square)?.safe,
                after: after.unit(square)?.safe,
                attacked: after.is_attacked(square),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use shakmaty::san::San;

    use super::*;
    use hobble_terms::Variant;
    use hobble_terms::start::start_position;

    fn position(fen: &str) -> Chess {
        start_position(fen.as_bytes(), Variant::Standard).unwrap()
    }

    fn tried(position: &Chess, san: &str) -> Trial {
        let san: San = san.parse().unwrap();
        Trial::of(position, san.to_move(position).unwrap())
    }

    /// By hand: the knight on b8 can go to a6, c6 and d7. The pawn's step to d5 attacks c6,
    /// so that two squares are left.
    #[test]
    fn a_pawn_takes_a_square_from_a_knight() {
        let position = position("1n5k/8/8/8/3P4/8/8/K7 w - - 0 1");
        let before = Measures::of(&position);
        let trial = tried(&position, "d5");
        assert!(trial.is_quiet() && trial.is_sound(&before, Bitboard::EMPTY));
        let pieces = left(&position, &before, &trial.measures);
        let [knight] = pieces[..] else {
            panic!("one piece, not {pieces:?}");
        };
        assert_eq!((knight.square, knight.kind), (Square::B8, Role::Knight));
        assert_eq!(knight.before.count(), 3);
        assert_eq!(
            knight.after,
            Bitboard::from(Square::A6).with(Square::D7),
            "c6 is attacked by the pawn"
        );
        assert!(knight.is_restrained(2) && !knight.is_restrained(1) && !knight.is_restrained(3));
        assert!(
            quiet_moves(&position)
                .iter()
                .any(|quiet| { quiet.played == trial.played && quiet.pieces == pieces })
        );
    }

    /// By hand: the rook on a1 guards the bishop on a7; as it leaves the file the bishop
    /// hangs to the king.
    #[test]
    fn a_move_that_leaves_a_unit_hanging_is_not_sound() {
        let position = position("8/Bk6/8/8/8/8/7K/R7 w - - 0 1");
        let before = Measures::of(&position);
        assert!(before.hanging(Color::White).is_empty());
        let trial = tried(&position, "Rc1");
        assert_eq!(
            trial.measures.hanging(Color::White),
            Bitboard::from(Square::A7)
        );
        assert!(!trial.is_sound(&before, Bitboard::EMPTY));
        assert!(tried(&position, "Ra3").is_sound(&before, Bitboard::EMPTY));
    }

    /// It hung before: it gives nothing away by passing an enemy pawn that may capture it.
    #[test]
    fn a_unit_that_hung_before_may_hang_where_it_goes() {
        let position = position("7k/8/8/8/3p4/8/r3P3/7K w - - 0 1");
        let before = Measures::of(&position);
        let hung = before.hanging(Color::White);
        assert_eq!(hung, Bitboard::from(Square::E2));
        let trial = tried(&position, "e4");
        let after = trial.measures.hanging(Color::White);
        assert_eq!(after, Bitboard::from(Square::E4));
        assert!(!trial.is_sound(&before, Bitboard::EMPTY));
        assert!(trial.is_sound(&before, hung));
    }

    /// A pawn that passes an enemy pawn hangs where capturing it in passing pays.
    #[test]
    fn a_pawn_hangs_in_passing() {
        let position = position("7k/8/8/8/3p4/8/4P3/K7 w - - 0 1");
        let trial = tried(&position, "e4");
        assert_eq!(
            trial.measures.hanging(Color::White),
            Bitboard::from(Square::E4)
        );
        assert!(!trial.is_sound(&Measures::of(&position), Bitboard::EMPTY));
    }
}
