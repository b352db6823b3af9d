//! Static exchange evaluation (SEE) on one square (definitions, section 4).
//!
//! The definition is the full minimax over captures on the square. Where no line to the
//! square hides a slider behind a unit of the other colour or of greater value, and no pawn
//! promotes there, capturing with the least valuable attacker first is best (exchanging a
//! pair of captures in any order of play never gains), so only that capture is tried; in the
//! rare rest every attacker is.

use hobble_terms::value;
use shakmaty::{Bitboard, Board, Color, Rank, Role, Square, attacks};

use crate::material::PROMOTION_RISE;

/// Order in which attackers are tried, least valuable first.
const BY_VALUE: [Role; 6] = Role::ALL;

/// Exchange on one square of a board.
pub struct Exchange<'a> {
    board: &'a Board,
    to: Square,
}

impl<'a> Exchange<'a> {
    /// Exchange on `to`.
    #[inline]
    pub fn on(board: &'a Board, to: Square) -> Exchange<'a> {
        Exchange { board, to }
    }

    #[inline]
    fn attackers(&self, occupied: Bitboard) -> Bitboard {
        let board = self.board;
        let to = self.to;
        occupied
            & ((attacks::bishop_attacks(to, occupied) & board.bishops_and_queens())
                | (attacks::rook_attacks(to, occupied) & board.rooks_and_queens())
                | (attacks::knight_attacks(to) & board.knights())
                | (attacks::king_attacks(to) & board.kings())
                | (attacks::pawn_attacks(Color::White, to) & board.pawns() & board.black())
                | (attacks::pawn_attacks(Color::Black, to) & board.pawns() & board.white()))
    }

    /// Whether trying the least valuable attacker alone gives the minimax.
    fn is_plain(&self, occupied: Bitboard, attackers: Bitboard) -> bool {
        let board = self.board;
        let to = self.to;
        if matches!(to.rank(), Rank::First | Rank::Eighth) && (attackers & board.pawns()).any() {
            return false;
        }
        let hidden = occupied
            & !attackers
            & ((attacks::bishop_attacks(to, Bitboard::EMPTY) & board.bishops_and_queens())
                | (attacks::rook_attacks(to, Bitboard::EMPTY) & board.rooks_and_queens()));
        for slider in hidden {
            let front = attacks::between(to, slider) & occupied;
            if (front & !(attackers | hidden)).any() {
                continue; // Shut for good: a unit on the line cannot capture along it.
            }
            let (own, worth) = if board.white().contains(slider) {
                (board.white(), slider)
            } else {
                (board.black(), slider)
            };
            let above = match board.role_at(worth) {
                Some(Role::Queen) => board.kings(),
                Some(Role::Rook) => board.kings() | board.queens(),
                _ => board.kings() | board.queens() | board.rooks(),
            };
            if (front & !own).any() || (front & above).any() {
                return false;
            }
        }
        true
    }

    #[inline]
    fn rise(&self, side: Color, role: Role) -> i32 {
        if role == Role::Pawn && self.to.rank() == side.relative_rank(Rank::Eighth) {
            PROMOTION_RISE
        } else {
            0
        }
    }

    /// Exchange value of going to the square with a unit of `side` that leaves `from`, in
    /// pawns; `passed` is the square of a pawn captured en passant.
    pub fn going(&self, side: Color, role: Role, from: Square, passed: Option<Square>) -> i32 {
        let (gain, worth, occupied) = self.capture(side, role, from, passed);
        gain - self.answer(!side, worth, occupied)
    }

    /// Whether [`Exchange::going`] is more than 0, without working out by how much.
    pub fn pays(&self, side: Color, role: Role, from: Square, passed: Option<Square>) -> bool {
        let (gain, worth, occupied) = self.capture(side, role, from, passed);
        self.holds(side, worth, gain - 1, occupied)
    }

    /// What a unit that leaves `from` captures on the square and gains by promotion, what it is
    /// worth there, and the board without the squares that are left.
    fn capture(
        &self,
        side: Color,
        role: Role,
        from: Square,
        passed: Option<Square>,
    ) -> (i32, i32, Bitboard) {
        let captured = passed
            .or(Some(self.to))
            .and_then(|square| self.board.role_at(square))
            .map_or(0, value);
        let rise = self.rise(side, role);
        let occupied =
            self.board.occupied().without(from) & !passed.map_or(Bitboard::EMPTY, Bitboard::from);
        (captured + rise, value(role) + rise, occupied)
    }

    /// Best that `side` nets by capturing (or not) a unit worth `worth` on the square.
    fn answer(&self, side: Color, worth: i32, occupied: Bitboard) -> i32 {
        let attackers = self.attackers(occupied);
        let own = attackers & self.board.by_color(side);
        let mut best = 0;
        for role in BY_VALUE {
            let rise = self.rise(side, role);
            for from in own & self.board.by_role(role) {
                let left = occupied.without(from);
                let net = if role == Role::King {
                    if (self.attackers(left) & self.board.by_color(!side)).any() {
                        continue;
                    }
                    worth
                } else {
                    worth + rise - self.answer(!side, value(role) + rise, left)
                };
                best = best.max(net);
            }
        }
        best
    }

    /// Whether going to the square is safe: exchange value of 0 or more, for a unit of
    /// `side` worth `worth` once it stands there, that gains `gain` by going, with
    /// `occupied` the board after it has left its square.
    #[inline]
    pub fn holds(&self, side: Color, worth: i32, gain: i32, occupied: Bitboard) -> bool {
        let attackers = self.attackers(occupied);
        if !attackers.intersects(self.board.by_color(!side)) {
            return gain >= 0;
        }
        if self.is_plain(occupied, attackers) {
            self.holds_in_order::<true>(side, worth, gain, occupied, attackers)
        } else {
            !self.exceeds(!side, worth, gain, occupied, attackers)
        }
    }

    /// The same where all that can take part attacks the square already: no slider joins
    /// from behind, and no pawn promotes there.
    #[inline]
    pub fn holds_in_the_open(
        &self,
        side: Color,
        worth: i32,
        gain: i32,
        occupied: Bitboard,
    ) -> bool {
        let attackers = self.attackers(occupied);
        self.holds_in_order::<false>(side, worth, gain, occupied, attackers)
    }

    /// Plays out the captures, the least valuable attacker first; with `JOINS`, sliders
    /// follow from behind those that have captured.
    #[inline]
    fn holds_in_order<const JOINS: bool>(
        &self,
        side: Color,
        mut worth: i32,
        gain: i32,
        mut occupied: Bitboard,
        mut attackers: Bitboard,
    ) -> bool {
        let board = self.board;
        let mut limit = gain;
        let mut mover = side;
        // Whether the side that has just moved gets by; each answer turns the question round.
        loop {
            if limit < 0 {
                return mover != side;
            }
            let own = attackers & board.by_color(!mover);
            if own.is_empty() || worth <= limit {
                return mover == side;
            }
            let (role, from) = BY_VALUE
                .iter()
                .find_map(|&role| {
                    let first = (own & board.by_role(role)).first()?;
                    Some((role, first))
                })
                .unwrap_or((Role::King, self.to));
            attackers.discard(from);
            if JOINS {
                occupied.discard(from);
                if !matches!(role, Role::Knight | Role::Rook) {
                    attackers |= attacks::bishop_attacks(self.to, occupied)
                        & board.bishops_and_queens()
                        & occupied;
                }
                if matches!(role, Role::Rook | Role::Queen | Role::King) {
                    attackers |= attacks::rook_attacks(self.to, occupied)
                        & board.rooks_and_queens()
                        & occupied;
                }
            }
            if role == Role::King {
                // It captures only what nobody covers.
                let covered = attackers.intersects(board.by_color(mover));
                return (mover == side) == covered;
            }
            (worth, limit) = (value(role), worth - limit - 1);
            mover = !mover;
        }
    }

    /// Whether [`Exchange::answer`] is more than `limit`, trying every attacker.
    fn exceeds(
        &self,
        side: Color,
        worth: i32,
        limit: i32,
        occupied: Bitboard,
        attackers: Bitboard,
    ) -> bool {
        if limit < 0 {
            return true;
        }
        let own = attackers & self.board.by_color(side);
        for role in BY_VALUE {
            let rise = self.rise(side, role);
            let most = worth + rise;
            if most <= limit {
                continue;
            }
            for from in own & self.board.by_role(role) {
                let left = occupied.without(from);
                let next = self.attackers(left);
                let beats = if role == Role::King {
                    (next & self.board.by_color(!side)).is_empty()
                } else {
                    let stands = value(role) + rise;
                    !self.exceeds(!side, stands, most - limit - 1, left, next)
                };
                if beats {
                    return true;
                }
            }
        }
        false
    }
}
