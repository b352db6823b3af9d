//! A quiet step of one unit, and what it can change for others: by sets, without measuring
//! the position after it.
//!
//! An exchange on a square is worse for a side where the other side has an attacker more there
//! or it has one less itself, in front or behind, and nowhere else: with more attackers of its
//! own and fewer of the other's each capture that pays still does. `tests/chances.rs` compares
//! with positions played and measured.

use std::cell::OnceCell;

use shakmaty::{Bitboard, Board, Color, Move, Piece, Rank, Role, Square, attacks};

use crate::exchange::Exchange;
use crate::sight::{Sight, far_sight};

/// A position as the steps of the side on move change it.
pub struct Ways<'a> {
    /// The board before, and what is attacked on it.
    pub sight: &'a Sight,
    /// The side on move.
    pub us: Color,
    /// King of the other side.
    pub their_king: Option<Square>,
    /// Bishops, rooks and queens of the side on move.
    our_sliders: Bitboard,
    /// Those of the other side.
    their_sliders: Bitboard,
    /// Squares that any of them sees deep: own ones, the other side's.
    deep: [Bitboard; 2],
    /// Units of the side on move that alone keep one of its sliders from giving check.
    screens: Bitboard,
    /// Units of the side on move that keep an enemy unit on the same line from being pinned.
    unpinning: Bitboard,
    /// Squares from which a knight, bishop or rook would give check.
    checking: [Bitboard; 3],
}

impl<'a> Ways<'a> {
    /// The side `us` is on move.
    pub fn of(sight: &'a Sight, us: Color) -> Ways<'a> {
        let board = &sight.board;
        let their_king = board.king_of(!us);
        let occupied = board.occupied();
        let our_sliders = board.sliders() & board.by_color(us);
        let (mut screens, mut unpinning) = (Bitboard::EMPTY, Bitboard::EMPTY);
        let mut checking = [Bitboard::EMPTY; 3];
        if let Some(king) = their_king {
            for slider in our_sliders {
                let line = attacks::between(king, slider) & occupied;
                if !aims(sight.role(slider), slider, king) {
                    continue;
                }
                match line.count() {
                    1 => screens |= line & board.by_color(us),
                    2 => unpinning |= line & board.by_color(us),
                    _ => {}
                }
            }
            checking = [
                attacks::knight_attacks(king),
                attacks::bishop_attacks(king, occupied),
                attacks::rook_attacks(king, occupied),
            ];
        }
        let their_sliders = board.sliders() & board.by_color(!us);
        let deep = [our_sliders, their_sliders].map(|sliders| {
            let each = sliders.into_iter().map(|slider| sight.deep(slider));
            each.fold(Bitboard::EMPTY, |all, deep| all | deep)
        });
        Ways {
            sight,
            us,
            their_king,
            our_sliders,
            their_sliders,
            deep,
            screens,
            unpinning,
            checking,
        }
    }

    /// Squares beyond one that own sliders but the one on `but` look at through it, or come to.
    fn ours_beyond(&self, square: Square, but: Square) -> Bitboard {
        self.beyond(self.deep[0], self.our_sliders.without(but), square)
    }

    /// The same for the sliders of the other side.
    fn theirs_beyond(&self, square: Square) -> Bitboard {
        self.beyond(self.deep[1], self.their_sliders, square)
    }

    /// `deep` is what the sliders together see deep.
    fn beyond(&self, deep: Bitboard, sliders: Bitboard, square: Square) -> Bitboard {
        let mut all = Bitboard::EMPTY;
        // Most squares no slider looks at.
        if deep.contains(square) {
            for slider in sliders {
                if self.sight.deep(slider).contains(square) {
                    all |= beyond(slider, square);
                }
            }
        }
        all
    }

    /// Whether a step that captures nothing gives check.
    pub fn checks(&self, role: Role, from: Square, to: Square) -> bool {
        let Some(king) = self.their_king else {
            return false;
        };
        let [knight, diagonal, straight] = self.checking;
        let direct = match role {
            Role::Pawn => attacks::pawn_attacks(!self.us, king),
            Role::Knight => knight,
            Role::Bishop => diagonal,
            Role::Rook => straight,
            Role::Queen => diagonal | straight,
            Role::King => Bitboard::EMPTY,
        };
        direct.contains(to)
            || (self.screens.contains(from) && !attacks::ray(king, from).contains(to))
    }

    /// Whether a move is a double step of a pawn that an enemy pawn might capture in passing.
    pub fn may_be_passed(&self, tried: Move) -> bool {
        let (Role::Pawn, Some(from), to) = (tried.role(), tried.from(), tried.to()) else {
            return false;
        };
        let passed = attacks::between(from, to);
        let third = Bitboard::from(self.us.relative_rank(Rank::Third));
        (passed & third & self.sight.control.get(!self.us).pawn).any()
    }
}

/// Whether a slider of a kind would attack a square on an empty board.
fn aims(role: Role, slider: Square, square: Square) -> bool {
    on_empty(role, slider).contains(square)
}

fn on_empty(role: Role, slider: Square) -> Bitboard {
    let piece = Piece {
        color: Color::White,
        role,
    };
    attacks::attacks(slider, piece, Bitboard::EMPTY)
}

/// Squares on the line from a slider through a square, beyond it.
#[inline]
fn beyond(slider: Square, square: Square) -> Bitboard {
    let line = attacks::ray(slider, square);
    let stop = Bitboard::from_square(square);
    let near = attacks::bishop_attacks(slider, stop) | attacks::rook_attacks(slider, stop);
    line.without(slider) & !near
}

/// A step of one unit that captures nothing.
pub struct Step {
    /// The unit.
    piece: Piece,
    /// Square left.
    from: Square,
    /// Square reached.
    to: Square,
    /// The board after it: made where a set does not settle the question.
    board: OnceCell<Board>,
    /// Squares where an exchange may be worse for the other side than before.
    worse: Bitboard,
    /// Squares that a slider of the side on move comes to attack: a piece there may be pinned,
    /// and lines open behind it as it goes.
    lines: Bitboard,
}

impl Step {
    /// A move of the side on move that is not castling and captures nothing.
    pub fn of(ways: &Ways<'_>, tried: Move) -> Step {
        let board = &ways.sight.board;
        let (to, role) = (tried.to(), tried.role());
        let from = tried.from().unwrap_or(to);
        let piece = Piece {
            color: ways.us,
            role,
        };
        let (seen, deep) = far_sight(board, board.occupied().without(from), to, piece);
        let mut lines = ways.ours_beyond(from, from);
        if matches!(role, Role::Bishop | Role::Rook | Role::Queen) {
            lines |= seen;
        }
        if ways.unpinning.contains(from)
            && let Some(king) = ways.their_king
        {
            lines |= attacks::ray(king, from);
        }
        let reached = Bitboard::from(from).with(to) | seen | deep;
        Step {
            piece,
            from,
            to,
            board: OnceCell::new(),
            worse: reached | lines | ways.theirs_beyond(to),
            lines,
        }
    }

    /// The board after it.
    pub fn board(&self, ways: &Ways<'_>) -> &Board {
        self.board.get_or_init(|| {
            let mut board = ways.sight.board.clone();
            board.discard_piece_at(self.from);
            board.set_piece_at(self.to, self.piece);
            board
        })
    }

    /// Those of the safe squares of an enemy piece that certainly are safe after the step.
    #[inline]
    pub fn kept(&self, square: Square, safe: Bitboard) -> Bitboard {
        if self.lines.contains(square) {
            Bitboard::EMPTY
        } else {
            safe & !self.worse
        }
    }

    /// Whether no unit of its side hangs after it that did not before (`hung`), given that
    /// its own unit goes to a safe square.
    pub fn is_sound(&self, ways: &Ways<'_>, hung: Bitboard) -> bool {
        let sight = ways.sight;
        let (us, them) = (ways.us, !ways.us);
        let (from, to) = (self.from, self.to);
        // Squares that have lost a defender, in front or behind.
        let bared = sight.attacks(from) | sight.deep(from) | ways.ours_beyond(to, from);
        // Squares that enemy sliders may look at now.
        let opened = ways.theirs_beyond(from);
        let pinned = *sight.pinned.get(them);
        let mut freed = Bitboard::EMPTY;
        if pinned.any() {
            for unit in pinned & !self.pinned(ways) {
                freed |= sight.attacks(unit);
            }
        }
        let attacked = sight.control.get(them).all;
        let own = sight.board.by_color(us).without(from) & !sight.board.kings();
        let risk = own & !hung & (((bared | opened) & (attacked | opened)) | freed);
        if risk.is_empty() {
            return true;
        }
        let pinned = self.pinned(ways);
        risk.into_iter().all(|unit| !self.hangs(ways, unit, pinned))
    }

    /// Whether a unit of the side that moved hangs after the step; `pinned` are the enemy's
    /// pinned units then.
    fn hangs(&self, ways: &Ways<'_>, unit: Square, pinned: Bitboard) -> bool {
        let board = self.board(ways);
        let (us, them) = (ways.us, !ways.us);
        let occupied = board.occupied();
        board
            .attacks_to(unit, them, occupied)
            .into_iter()
            .any(|from| {
                let Some(role) = board.role_at(from) else {
                    return false;
                };
                let may = match (role, ways.their_king) {
                    (Role::King, _) => board
                        .attacks_to(unit, us, occupied.without(from))
                        .is_empty(),
                    (_, Some(king)) if pinned.contains(from) => {
                        attacks::ray(king, from).contains(unit)
                    }
                    _ => true,
                };
                may && Exchange::on(board, unit).pays(them, role, from, None)
            })
    }

    /// Pinned units of the other side after the step.
    fn pinned(&self, ways: &Ways<'_>) -> Bitboard {
        let board = self.board(ways);
        let Some(king) = ways.their_king else {
            return Bitboard::EMPTY;
        };
        let occupied = board.occupied();
        let snipers = board.by_color(ways.us)
            & ((attacks::bishop_attacks(king, Bitboard::EMPTY) & board.bishops_and_queens())
                | (attacks::rook_attacks(king, Bitboard::EMPTY) & board.rooks_and_queens()));
        let mut pinned = Bitboard::EMPTY;
        for sniper in snipers {
            let line = attacks::between(king, sniper) & occupied;
            if line.single_square().is_some() {
                pinned |= line & board.by_color(!ways.us);
            }
        }
        pinned
    }
}
