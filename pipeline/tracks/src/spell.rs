//! Restriction spells (definitions, section 6).

use shakmaty::{Bitboard, Color, Role, Square};

use crate::MAX_K;
use crate::exposure::Fate;
use crate::material::Phase;

/// Whose ply did something, seen from the owner of the piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum By {
    /// The owner's.
    Own,
    /// The opponent's.
    Opponent,
}

impl By {
    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            By::Own => "own",
            By::Opponent => "opponent",
        }
    }
}

/// How a piece came to be restricted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CauseKind {
    /// It never yet had more squares.
    Undeveloped,
    /// A move of the opponent did it.
    Taken,
    /// A move of another own unit did it.
    Blocked,
    /// The piece went there itself.
    Entered,
    /// A pin did it.
    Pinned,
}

impl CauseKind {
    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            CauseKind::Undeveloped => "undeveloped",
            CauseKind::Taken => "taken",
            CauseKind::Blocked => "blocked",
            CauseKind::Entered => "entered",
            CauseKind::Pinned => "pinned",
        }
    }
}

/// The ply that restricted a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CausePly {
    /// Its number.
    pub ply: u16,
    /// Whose it was.
    pub by: By,
    /// Kind of unit that moved.
    pub mover: Role,
    /// Safe squares the piece had before it; `None` where it did not exist yet.
    pub safe_before: Option<u8>,
}

/// What restricted a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cause {
    /// How it came about.
    pub kind: CauseKind,
    /// The ply that did it; `None` for undeveloped pieces.
    pub ply: Option<CausePly>,
}

/// The piece and its surroundings at the start of a spell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StartState {
    /// Where it stands.
    pub square: Square,
    /// Its safe squares.
    pub safe: u8,
    /// Good ones among them.
    pub good: u8,
    /// Its reach.
    pub reach: u8,
    /// Destinations of its legal moves.
    pub legal: u8,
    /// Kinds of enemy units that attack it: bit n for the n-th of P N B R Q K.
    pub attacked_by: u8,
    /// Whether an own unit defends it.
    pub defended: bool,
    /// Whether it is developed.
    pub developed: bool,
    /// Phase of the game.
    pub phase: Phase,
    /// Owner's material less the opponent's, in pawns.
    pub balance: i16,
}

/// How a spell ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The piece was captured; its fate says how.
    Captured,
    /// It had more squares again at its owner's next turn.
    Freed {
        /// Whose ply freed it.
        by: By,
        /// Whether that was the piece's own move; `None` for the opponent's ply.
        moved_away: Option<bool>,
    },
    /// The game ended first.
    GameOver,
}

/// What became of the piece in the whole game.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Capture {
    /// Lost, traded or sold.
    pub fate: Fate,
    /// Ply that captured it.
    pub ply: u16,
    /// Owner's net material in the exchange, in pawns.
    pub net: i16,
}

/// One restriction spell, valid for every k from `k_low` to `k_high`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spell {
    /// The piece.
    pub slot: u8,
    /// Its kind.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// Lowest k it holds for.
    pub k_low: u8,
    /// Highest k it holds for.
    pub k_high: u8,
    /// Position of its first turn.
    pub start: u16,
    /// What restricted the piece.
    pub cause: Cause,
    /// State at the start.
    pub state: StartState,
    /// Turns of the owner in it.
    pub turns: u16,
    /// How it ended.
    pub end: End,
    /// Ply that ended it; the game's last for [`End::GameOver`].
    pub end_ply: u16,
    /// The piece's capture in the rest of the game, if any.
    pub capture: Option<Capture>,
    /// Change of the owner's balance in 3, 5 and 10 moves; `None` where the game ended sooner.
    pub material: [Option<i16>; 3],
}

/// Set of k: bit k for k = 0 … [`MAX_K`].
pub type KSet = u8;

/// All k at which a piece with `safe` squares is restricted.
#[inline]
pub fn restricted_at(safe: u8) -> KSet {
    const ALL: u16 = (1 << (MAX_K + 1)) - 1;
    if safe > MAX_K {
        0
    } else {
        (ALL >> safe << safe) as KSet
    }
}

/// A spell that has not ended for some k yet.
#[derive(Clone, Copy, Debug)]
pub struct OpenSpell {
    /// The piece.
    pub slot: u8,
    /// Values of k it still runs for.
    pub ks: KSet,
    /// Position of its first turn.
    pub start: u16,
    /// What restricted the piece.
    pub cause: Cause,
    /// State at the start.
    pub state: StartState,
}

impl OpenSpell {
    /// Ends the spell for those of `ks` it runs for, at a turn count reckoned to the last
    /// restricted turn `last`; the capture and the later material are filled in at the end
    /// of the game.
    pub fn close(
        &mut self,
        ks: KSet,
        kind: Role,
        color: Color,
        last: usize,
        end: End,
        end_ply: usize,
    ) -> Option<Spell> {
        let ending = self.ks & ks;
        if ending == 0 {
            return None;
        }
        self.ks &= !ks;
        Some(Spell {
            slot: self.slot,
            kind,
            color,
            // Thresholds are crossed in order, so the ending ones are neighbours.
            k_low: ending.trailing_zeros() as u8,
            k_high: (KSet::BITS - 1 - ending.leading_zeros()) as u8,
            start: self.start,
            cause: self.cause,
            state: self.state,
            turns: ((last - usize::from(self.start)) / 2 + 1) as u16,
            end,
            end_ply: end_ply as u16,
            capture: None,
            material: [None; 3],
        })
    }
}

/// What a spell's cause is judged by: the piece at the three positions up to a turn.
#[derive(Clone, Copy, Debug)]
pub struct Glance {
    /// Safe squares; `None` where the piece did not exist.
    pub safe: Option<u8>,
    /// Whether it stood pinned.
    pub pinned: bool,
    /// Safe squares it would have without the pin.
    pub unpinned: u8,
}

/// The kinds among `attackers`, as [`StartState::attacked_by`] packs them.
#[inline]
pub fn kinds_of(attackers: Bitboard, of_role: impl Fn(Role) -> Bitboard) -> u8 {
    let mut kinds = 0;
    for (bit, &role) in Role::ALL.iter().enumerate() {
        if attackers.intersects(of_role(role)) {
            kinds |= 1 << bit;
        }
    }
    kinds
}

/// The letters of packed kinds, in the order PNBRQK.
pub const fn kind_letters(kinds: u8) -> &'static str {
    LETTERS[(kinds & 63) as usize]
}

const LETTERS: [&str; 64] = {
    const ALL: &str = concat!(
        "P", "N", "PN", "B", "PB", "NB", "PNB", "R", "PR", "NR", "PNR", "BR", "PBR", "NBR", "PNBR",
        "Q", "PQ", "NQ", "PNQ", "BQ", "PBQ", "NBQ", "PNBQ", "RQ", "PRQ", "NRQ", "PNRQ", "BRQ",
        "PBRQ", "NBRQ", "PNBRQ", "K", "PK", "NK", "PNK", "BK", "PBK", "NBK", "PNBK", "RK", "PRK",
        "NRK", "PNRK", "BRK", "PBRK", "NBRK", "PNBRK", "QK", "PQK", "NQK", "PNQK", "BQK", "PBQK",
        "NBQK", "PNBQK", "RQK", "PRQK", "NRQK", "PNRQK", "BRQK", "PBRQK", "NBRQK", "PNBRQK"
    );
    let mut letters = [""; 64];
    let mut rest = ALL;
    let mut set = 1;
    while set < 64 {
        let (name, tail) = rest.split_at((set as u8).count_ones() as usize);
        letters[set] = name;
        rest = tail;
        set += 1;
    }
    letters
};
