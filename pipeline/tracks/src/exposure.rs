//! Observations: one a turn of the owner and piece (definitions, section 8).

use hobble_terms::{Fate, HORIZONS, Phase};
use shakmaty::Role;

/// Number of horizons that a number of plies lies beyond.
const STEPS: [u8; 2 * HORIZONS[HORIZONS.len() - 1] + 2] = {
    let mut steps = [0; 2 * HORIZONS[HORIZONS.len() - 1] + 2];
    let mut plies = 0;
    while plies < steps.len() {
        let mut horizon = 0;
        while horizon < HORIZONS.len() {
            steps[plies] += (plies > 2 * HORIZONS[horizon]) as u8;
            horizon += 1;
        }
        plies += 1;
    }
    steps
};

/// The keys of an observation that the board gives, packed: 2 bits kind, 4 bits safe
/// squares (0 to 9), 1 bit each developed, attacked, defended, 2 bits phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct BoardKey(u16);

impl BoardKey {
    /// Number of packed keys.
    pub const COUNT: usize = 1 << 11;

    /// Packs the keys; `kind` is a knight, bishop, rook or queen.
    #[inline]
    pub fn new(
        kind: Role,
        safe: u8,
        developed: bool,
        attacked: bool,
        defended: bool,
        phase: Phase,
    ) -> BoardKey {
        let kind = (kind as u16).saturating_sub(Role::Knight as u16);
        BoardKey(
            kind | u16::from(safe.min(9)) << 2
                | u16::from(developed) << 6
                | u16::from(attacked) << 7
                | u16::from(defended) << 8
                | (phase as u16) << 9,
        )
    }

    /// The key of a packed number below [`BoardKey::COUNT`].
    pub const fn from_index(index: u16) -> BoardKey {
        BoardKey(index)
    }

    /// The packed number.
    #[inline]
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// Kind of piece.
    pub const fn kind(self) -> Role {
        match self.0 & 3 {
            0 => Role::Knight,
            1 => Role::Bishop,
            2 => Role::Rook,
            _ => Role::Queen,
        }
    }

    /// Safe squares, 9 for 9 and more.
    pub const fn safe(self) -> u8 {
        (self.0 >> 2 & 15) as u8
    }

    /// Whether it was developed.
    pub const fn developed(self) -> bool {
        self.0 >> 6 & 1 == 1
    }

    /// Whether it was attacked.
    pub const fn attacked(self) -> bool {
        self.0 >> 7 & 1 == 1
    }

    /// Whether it was defended.
    pub const fn defended(self) -> bool {
        self.0 >> 8 & 1 == 1
    }

    /// Phase of the game.
    pub const fn phase(self) -> Phase {
        Phase::ALL[match self.0 >> 9 {
            0 => 0,
            1 => 1,
            _ => 2,
        }]
    }
}

/// How an observation came out: what happened, and within which horizon first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Outcome(u8);

impl Outcome {
    /// Number of packed outcomes.
    pub const COUNT: usize = 4 * (HORIZONS.len() + 1);

    /// Outcome of an observation `plies` plies before the piece was captured (with its
    /// fate) or before the game ended (`None`).
    #[inline]
    pub fn after(plies: usize, fate: Option<Fate>) -> Outcome {
        // A capture counts within N moves up to and with ply 2N, the end of the game
        // before it: a game that lasts 2N plies more has been seen to the end of the window.
        let reach = plies + usize::from(fate.is_none());
        let step = usize::from(STEPS[reach.min(STEPS.len() - 1)]);
        let what = fate.map_or(3, |fate| fate as usize);
        Outcome((what * (HORIZONS.len() + 1) + step) as u8)
    }

    /// The packed number.
    #[inline]
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// Adds up packed outcomes into counts within each horizon: lost, traded, sold, game over.
pub fn within(outcomes: &[u32; Outcome::COUNT]) -> [[u64; 4]; HORIZONS.len()] {
    let steps = HORIZONS.len() + 1;
    std::array::from_fn(|horizon| {
        std::array::from_fn(|what| {
            outcomes[what * steps..=what * steps + horizon]
                .iter()
                .map(|&count| u64::from(count))
                .sum()
        })
    })
}

/// One observation: a piece at a turn of its owner.
#[derive(Clone, Copy, Debug)]
pub struct Observation {
    /// The piece.
    pub slot: u8,
    /// Its safe squares, all counted.
    pub safe: u8,
    /// Position observed.
    pub position: u16,
    /// What the board showed.
    pub key: BoardKey,
}
