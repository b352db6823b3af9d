//! Restriction spells (definitions, section 6).

use hobble_terms::{By, CauseKind, Fate, MAX_K, Phase};
use shakmaty::{Color, Role, Square};

use crate::surroundings::Surroundings;

/// The ply that restricted a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CausePly {
    /// Its number.
    pub ply: u16,
    /// Whose it was.
    pub by: By,
    /// Kind of unit that moved.
    pub mover: Role,
    /// Whether it neither captured, promoted nor checked.
    pub quiet: bool,
    /// What the piece had before it; `None` where it did not exist yet.
    pub before: Option<Before>,
}

/// A restricted piece's safe squares before the ply that restricted it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Before {
    /// How many it had.
    pub safe: u8,
    /// How many of them the ply took from it.
    pub taken: u8,
}

/// What restricted a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cause {
    /// How it came about.
    pub kind: CauseKind,
    /// The ply that did it; `None` for undeveloped pieces.
    pub ply: Option<CausePly>,
}

impl Cause {
    /// Restricted ever since the record began.
    pub const UNDEVELOPED: Cause = Cause {
        kind: CauseKind::Undeveloped,
        ply: None,
    };
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
    /// What stands around it.
    pub around: Surroundings,
    /// Whether it is developed.
    pub developed: bool,
    /// Phase of the game.
    pub phase: Phase,
    /// Owner's material less the opponent's, in pawns.
    pub balance: i16,
    /// Other developed pieces of its side with [`OTHERS_K`](hobble_terms::OTHERS_K) safe squares
    /// or fewer.
    pub others_held: u8,
    /// Other pieces of its side that are restrained at that k.
    pub others_restrained: u8,
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
    /// Owner's net material in the capture run, in pawns.
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

impl Spell {
    /// Whether the piece was restrained (definitions, section 6): developed, left with so few
    /// squares by a quiet ply of the opponent, not attacked then, and no better off at its
    /// owner's next turn, which is the landmark.
    pub fn is_restrained(&self) -> bool {
        restrains(&self.cause, &self.state) && self.turns >= 2
    }
}

/// Whether a spell restrains its piece if it lasts until the landmark.
pub(crate) fn restrains(cause: &Cause, state: &StartState) -> bool {
    cause.kind == CauseKind::Taken
        && cause.ply.is_some_and(|ply| ply.quiet)
        && state.developed
        && state.around.attacked_by == 0
}

/// Set of k: bit k for k = 0 … [`MAX_K`].
pub type KSet = u8;

/// All k at which a piece with `safe` squares is restricted.
#[inline]
pub const fn restricted_at(safe: u8) -> KSet {
    const ALL: u16 = (1 << (MAX_K + 1)) - 1;
    // With more squares than the highest k all bits are shifted out.
    let lowest = if safe > MAX_K { MAX_K + 1 } else { safe };
    (ALL >> lowest << lowest) as KSet
}

/// Most spells of one piece that run at once: one for each k.
pub const RUNNING: usize = MAX_K as usize + 1;

/// A spell that has not ended for some k yet.
#[derive(Clone, Copy, Debug)]
pub struct OpenSpell {
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
    /// No spell.
    pub const NONE: OpenSpell = OpenSpell {
        ks: 0,
        start: 0,
        cause: Cause::UNDEVELOPED,
        state: StartState {
            square: Square::A1,
            safe: 0,
            good: 0,
            reach: 0,
            legal: 0,
            around: Surroundings::NONE,
            developed: false,
            phase: Phase::Opening,
            balance: 0,
            others_held: 0,
            others_restrained: 0,
        },
    };

    /// Ends the spell for those of `ks` it runs for (there must be one), at a turn count
    /// reckoned to the last restricted turn `last`; the capture and the later material are
    /// filled in at the end of the game.
    #[expect(clippy::too_many_arguments, reason = "the columns of a row")]
    pub fn close(
        &mut self,
        ks: KSet,
        slot: u8,
        kind: Role,
        color: Color,
        last: usize,
        end: End,
        end_ply: usize,
    ) -> Spell {
        let ending = self.ks & ks;
        self.ks &= !ks;
        Spell {
            slot,
            kind,
            color,
            // Thresholds are crossed in order, so the ending ones are neighbours.
            k_low: ending.trailing_zeros() as u8,
            k_high: (KSet::BITS - 1).saturating_sub(ending.leading_zeros()) as u8,
            start: self.start,
            cause: self.cause,
            state: self.state,
            turns: ((last - usize::from(self.start)) / 2 + 1) as u16,
            end,
            end_ply: end_ply as u16,
            capture: None,
            material: [None; 3],
        }
    }
}

/// A piece at one of the positions a spell's cause is judged by.
#[derive(Clone, Copy, Debug)]
pub struct Glance {
    /// Safe squares; `None` where the piece did not exist.
    pub safe: Option<u8>,
    /// Whether it stood pinned.
    pub pinned: bool,
    /// Safe squares it would have without the pin.
    pub unpinned: u8,
    /// Safe squares the ply that led there took from it.
    pub taken: u8,
}

impl Glance {
    /// The piece did not exist.
    pub const NONE: Glance = Glance {
        safe: None,
        pinned: false,
        unpinned: 0,
        taken: 0,
    };
}

/// What the causes of a piece's spells that start at one turn are judged by.
#[derive(Clone, Copy, Debug)]
pub struct Origin {
    /// The turn's position.
    pub position: u16,
    /// Most safe squares the piece has had, this position included, more than [`MAX_K`]
    /// being one more; `None` where it was born by promotion.
    pub most: Option<u8>,
    /// The piece at the turn.
    pub now: Glance,
    /// The piece one position before, the turn passed.
    pub passed: Glance,
    /// The piece two positions before.
    pub earlier: Glance,
    /// Last ply by which the piece moved or was born; 0 for none.
    pub moved: u16,
    /// The last two plies, the owner's first: kind of the unit that moved, whether quiet.
    pub plies: [Option<(Role, bool)>; 2],
}

impl Origin {
    /// What brought the piece down to k squares or fewer.
    pub fn cause(&self, k: u8) -> Cause {
        if self.position == 0 || self.most.is_some_and(|most| most <= k) {
            return Cause::UNDEVELOPED;
        }
        let own_ply = self.passed.safe.is_some_and(|safe| safe <= k);
        let (number, at, before, by, ply) = if own_ply {
            let number = self.position - 1;
            (number, self.passed, self.earlier, By::Own, self.plies[0])
        } else {
            let number = self.position;
            (number, self.now, self.passed, By::Opponent, self.plies[1])
        };
        let kind = if at.pinned && !before.pinned && at.unpinned > k {
            CauseKind::Pinned
        } else if self.moved == number {
            CauseKind::Entered
        } else if own_ply {
            CauseKind::Blocked
        } else {
            CauseKind::Taken
        };
        Cause {
            kind,
            ply: ply.map(|(mover, quiet)| CausePly {
                ply: number,
                by,
                mover,
                quiet,
                before: before.safe.map(|safe| Before {
                    safe,
                    taken: at.taken,
                }),
            }),
        }
    }
}

/// The letters of a set of kinds, in the order PNBRQK.
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
