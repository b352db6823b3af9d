//! What every unit attacks in a single position.
//!
//! A unit *attacks* the squares it could capture on, pins and the colour of the occupant
//! ignored. The positions of a game are measured by the kernel (`lanes`) instead.

use shakmaty::{Bitboard, Board, ByColor, Color, Piece, Role, Square, attacks};

/// Squares one side attacks, by the kind of attacker.
#[derive(Clone, Copy, Default, Debug)]
pub struct Control {
    /// Attacked by anything.
    pub all: Bitboard,
    /// Attacked by two units or more.
    pub twice: Bitboard,
    /// Attacked by a pawn.
    pub pawn: Bitboard,
    /// Attacked by a knight or bishop.
    pub minor: Bitboard,
    /// Attacked by a rook.
    pub rook: Bitboard,
}

/// A board with the attacks of all its units.
#[derive(Clone)]
pub struct Sight {
    /// The board.
    pub board: Board,
    /// Kinds of the units; any on empty squares.
    roles: [Role; 64],
    attacks: [Bitboard; 64],
    /// Squares a slider attacks or could come to attack while captures go on there: its
    /// attacks, seen through everything that could capture along the same line.
    deep: [Bitboard; 64],
    /// Control of each side.
    pub control: ByColor<Control>,
    /// Squares where a slider of the side may join an exchange from behind another unit.
    pub hidden: ByColor<Bitboard>,
    /// Units that stand alone between their king and an enemy slider.
    pub pinned: ByColor<Bitboard>,
}

impl Sight {
    /// Looks at a board from nothing.
    pub fn of(board: &Board) -> Sight {
        let mut sight = Sight {
            board: board.clone(),
            roles: [Role::Pawn; 64],
            attacks: [Bitboard::EMPTY; 64],
            deep: [Bitboard::EMPTY; 64],
            control: ByColor::default(),
            hidden: ByColor::default(),
            pinned: ByColor::default(),
        };
        for (square, piece) in board.iter() {
            let nth = square.to_usize();
            sight.roles[nth] = piece.role;
            (sight.attacks[nth], sight.deep[nth]) =
                far_sight(board, board.occupied(), square, piece);
        }
        sight.gather();
        sight
    }

    /// Kind of the unit on an occupied square.
    #[inline]
    pub fn role(&self, square: Square) -> Role {
        self.roles[square.to_usize()]
    }

    /// Squares the unit on an occupied square attacks.
    #[inline]
    pub fn attacks(&self, square: Square) -> Bitboard {
        self.attacks[square.to_usize()]
    }

    /// Squares the slider on a square attacks or could come to attack while captures go on
    /// there; none for other units.
    #[inline]
    pub fn deep(&self, square: Square) -> Bitboard {
        self.deep[square.to_usize()]
    }

    #[inline(never)] // A place of its own in profiles.
    fn gather(&mut self) {
        for color in Color::ALL {
            let (control, hidden) = self.control_of(color);
            *self.control.get_mut(color) = control;
            *self.hidden.get_mut(color) = hidden;
            *self.pinned.get_mut(color) = self.pins_of(color);
        }
    }

    /// Control of a side, and where its sliders may join from behind.
    fn control_of(&self, color: Color) -> (Control, Bitboard) {
        let board = &self.board;
        let own = board.by_color(color);
        let (left, right) = pawn_captures(color, own & board.pawns());
        let mut all = left | right;
        let mut twice = left & right;
        let mut hidden = Bitboard::EMPTY;
        let pawn = all;
        let mut add = |squares: Bitboard| {
            let mut union = Bitboard::EMPTY;
            for square in squares {
                let seen = self.attacks[square.to_usize()];
                twice |= all & seen;
                all |= seen;
                union |= seen;
                hidden |= self.deep[square.to_usize()] & !seen;
            }
            union
        };
        let minor = add(own & (board.knights() | board.bishops()));
        let rook = add(own & board.rooks());
        add(own & (board.queens() | board.kings()));
        let control = Control {
            all,
            twice,
            pawn,
            minor,
            rook,
        };
        (control, hidden)
    }

    fn pins_of(&self, color: Color) -> Bitboard {
        let mut pinned = Bitboard::EMPTY;
        if let Some(king) = self.board.king_of(color) {
            let own = self.board.by_color(color);
            for sniper in self.snipers(king, !color) {
                let blockers = attacks::between(king, sniper) & self.board.occupied();
                if !blockers.more_than_one() {
                    pinned |= blockers & own;
                }
            }
        }
        pinned
    }

    /// Bishops, rooks and queens of `color` that would attack `square` on an empty board.
    #[inline]
    fn snipers(&self, square: Square, color: Color) -> Bitboard {
        self.board.by_color(color)
            & ((attacks::bishop_attacks(square, Bitboard::EMPTY) & self.board.bishops_and_queens())
                | (attacks::rook_attacks(square, Bitboard::EMPTY) & self.board.rooks_and_queens()))
    }

    /// Squares that sliders of the other side come to attack once the king of `color` on
    /// `king` is lifted.
    #[inline]
    pub fn behind_king(&self, king: Square, color: Color) -> Bitboard {
        let mut opened = Bitboard::EMPTY;
        if self.control.get(!color).all.contains(king) {
            let lifted = self.board.occupied().without(king);
            for slider in self.board.sliders() & self.board.by_color(!color) {
                if self.attacks(slider).contains(king) {
                    opened |= slider_attacks(&self.board, slider, lifted);
                }
            }
        }
        opened
    }

    /// Sliders of either side that see the piece of kind `role` on `square` along a line on
    /// which it moves itself.
    #[inline]
    pub fn followers(&self, square: Square, role: Role) -> Bitboard {
        let board = &self.board;
        let seen = self.attacks(square);
        match role {
            Role::Bishop => seen & board.bishops_and_queens(),
            Role::Rook => seen & board.rooks_and_queens(),
            Role::Queen => (seen & board.sliders())
                .into_iter()
                .filter(|&slider| self.attacks(slider).contains(square))
                .collect(),
            _ => Bitboard::EMPTY,
        }
    }

    /// Squares the piece on `square` sees on the far side of a slider that sees it.
    #[inline]
    pub fn away(&self, slider: Square, square: Square) -> Bitboard {
        let line = attacks::ray(slider, square).without(slider);
        self.attacks(square) & line & !self.attacks(slider)
    }
}

/// Squares that a unit on a square attacks and sees deep. `occupied` may lack a square of the board:
/// one that a bishop, rook or queen has just left for this one.
#[inline]
pub fn far_sight(
    board: &Board,
    occupied: Bitboard,
    square: Square,
    piece: Piece,
) -> (Bitboard, Bitboard) {
    match piece.role {
        Role::Pawn => (attacks::pawn_attacks(piece.color, square), Bitboard::EMPTY),
        Role::Knight => (attacks::knight_attacks(square), Bitboard::EMPTY),
        Role::King => (attacks::king_attacks(square), Bitboard::EMPTY),
        Role::Bishop => diagonal(board, occupied, square),
        Role::Rook => straight(board, occupied, square),
        Role::Queen => {
            let one = diagonal(board, occupied, square);
            let other = straight(board, occupied, square);
            (one.0 | other.0, one.1 | other.1)
        }
    }
}

/// Squares attacked and seen deep along diagonals.
#[inline]
fn diagonal(board: &Board, occupied: Bitboard, square: Square) -> (Bitboard, Bitboard) {
    let seen = attacks::bishop_attacks(square, occupied);
    let through = attacks::bishop_attacks(square, occupied & !board.bishops_and_queens());
    let deep = through | pawns_beyond(board, through) | kings_beyond(board, through);
    (seen, deep)
}

/// Squares attacked and seen deep along rows and files.
#[inline]
fn straight(board: &Board, occupied: Bitboard, square: Square) -> (Bitboard, Bitboard) {
    let seen = attacks::rook_attacks(square, occupied);
    let through = attacks::rook_attacks(square, occupied & !board.rooks_and_queens());
    (seen, through | kings_beyond(board, through))
}

/// Squares pawns among `seen` capture on: a bishop or queen behind one of them may follow.
#[inline]
fn pawns_beyond(board: &Board, seen: Bitboard) -> Bitboard {
    let pawns = board.pawns() & seen;
    if pawns.is_empty() {
        return pawns;
    }
    let (a, b) = pawn_captures(Color::White, pawns & board.white());
    let (c, d) = pawn_captures(Color::Black, pawns & board.black());
    a | b | c | d
}

/// The same for kings: they capture next to where they stand.
#[inline]
fn kings_beyond(board: &Board, seen: Bitboard) -> Bitboard {
    let mut beyond = Bitboard::EMPTY;
    for king in board.kings() & seen {
        beyond |= attacks::king_attacks(king);
    }
    beyond
}

#[inline]
fn slider_attacks(board: &Board, square: Square, occupied: Bitboard) -> Bitboard {
    let mut seen = Bitboard::EMPTY;
    if board.bishops_and_queens().contains(square) {
        seen |= attacks::bishop_attacks(square, occupied);
    }
    if board.rooks_and_queens().contains(square) {
        seen |= attacks::rook_attacks(square, occupied);
    }
    seen
}

/// Whether `role` is followed as a piece: knight, bishop, rook or queen.
#[inline]
pub const fn is_piece(role: Role) -> bool {
    matches!(role, Role::Knight | Role::Bishop | Role::Rook | Role::Queen)
}

/// Squares the pawns of a side capture on: towards the a-file, towards the h-file.
#[inline(always)]
pub fn pawn_captures(color: Color, pawns: Bitboard) -> (Bitboard, Bitboard) {
    let not_a = Bitboard(!0x0101_0101_0101_0101);
    let not_h = Bitboard(!0x8080_8080_8080_8080);
    match color {
        Color::White => (
            Bitboard((pawns & not_a).0 << 7),
            Bitboard((pawns & not_h).0 << 9),
        ),
        Color::Black => (
            Bitboard((pawns & not_a).0 >> 9),
            Bitboard((pawns & not_h).0 >> 7),
        ),
    }
}
