//! One game followed from its first ply to its last.
//!
//! All buffers are kept from game to game: following a ply allocates nothing once they
//! have grown to the longest game met.

use hobble_terms::MAX_K;
use shakmaty::san::{San, SanError};
use shakmaty::{Chess, Color, Move, Position};

use crate::capture_runs::{self, Victim};
use crate::exposure::{BoardKey, Observation, Outcome};
use crate::lanes::sheet::{BEFORE, Positions, Sheet};
use crate::lanes::{CHUNK, InstructionSet};
use crate::material;
pub use crate::ply::Ply;
use crate::roster::{MAX_UNITS, Roster, Slot};
use crate::san;
use crate::spell::{Capture, End, KSet, OpenSpell, RUNNING, Spell};
use recorded::Record;

mod chunks;
mod decisions;
mod losses;
mod plies;
mod record;
mod recorded;
mod turns;

pub use decisions::DecisionRows;
pub use record::TurnRows;

/// Longest game that can be followed, in plies.
pub const MAX_PLIES: usize = i16::MAX as usize;

/// Moves after which a spell's change of material is kept.
const MATERIAL_AFTER: [usize; 3] = [3, 5, 10];

/// Follows one game at a time: replays it first, then measures its positions, eight at once.
pub struct Track {
    instructions: InstructionSet,
    position: Chess,
    /// The positions before the moves; after [`Track::finish`] the last one too.
    positions: Vec<Chess>,
    moves: Vec<Move>,
    /// The units at the last position of the chunk that is measured.
    ahead: Roster,
    planes: Box<Positions>,
    sheet: Box<Sheet>,
    /// The units at the position that is looked at.
    roster: Roster,
    /// For each k, the first position at which a piece had more than k safe squares.
    exceeded: [[u16; MAX_K as usize + 1]; MAX_UNITS],
    /// Values of k each piece is restricted at, as of its owner's last turn.
    restricted: [u8; MAX_UNITS],
    /// Spells that are running, by slot: at most one for each k.
    running: Box<[[OpenSpell; RUNNING]; MAX_UNITS]>,
    plies: Vec<Ply>,
    spells: Vec<Spell>,
    observations: Vec<Observation>,
    /// The turns as they were, for rows that only the whole game can fill.
    record: Record,
    /// Slots of the pieces whose running spell at k = `OTHERS_K` restrains them.
    restraining: u64,
    /// White's balance at each position.
    balance: Vec<i16>,
    /// The captured units, in order.
    victims: Vec<Victim>,
    captures: [Option<Capture>; MAX_UNITS],
    piece_material: i32,
    start_safe: [[u8; 6]; 2],
}

/// Never, among positions.
const NEVER: u16 = u16::MAX;

impl Default for Track {
    fn default() -> Self {
        Track::with(InstructionSet::fastest())
    }
}

impl Track {
    /// A tracker with empty buffers.
    pub fn new() -> Track {
        Track::default()
    }

    /// A tracker that measures with an instruction set.
    pub fn with(instructions: InstructionSet) -> Track {
        Track {
            instructions,
            position: Chess::default(),
            positions: Vec::new(),
            moves: Vec::new(),
            ahead: Roster::default(),
            planes: Box::default(),
            sheet: Box::default(),
            roster: Roster::default(),
            exceeded: [[NEVER; MAX_K as usize + 1]; MAX_UNITS],
            restricted: [0; MAX_UNITS],
            running: Box::new([[OpenSpell::NONE; RUNNING]; MAX_UNITS]),
            plies: Vec::new(),
            spells: Vec::new(),
            observations: Vec::new(),
            record: Record::default(),
            restraining: 0,
            balance: Vec::new(),
            victims: Vec::new(),
            captures: [None; MAX_UNITS],
            piece_material: 0,
            start_safe: [[0; 6]; 2],
        }
    }

    /// Starts a game at a position of at most 32 units.
    pub fn begin(&mut self, position: &Chess) {
        self.position = position.clone();
        self.positions.clear();
        self.moves.clear();
        self.plies.clear();
        self.spells.clear();
        self.observations.clear();
        self.record.clear();
        self.balance.clear();
        self.victims.clear();
    }

    /// The position reached.
    pub fn position(&self) -> &Chess {
        &self.position
    }

    /// The plies played, in order; after [`Track::finish`].
    pub fn plies(&self) -> &[Ply] {
        &self.plies
    }

    /// The spells, in the order they ended; complete after [`Track::finish`].
    pub fn spells(&self) -> &[Spell] {
        &self.spells
    }

    /// Safe mobility at position 0, as in [`Ply::safe`]; after [`Track::finish`].
    pub fn start_safe(&self) -> [[u8; 6]; 2] {
        self.start_safe
    }

    /// The observations with their owner and outcome; complete after [`Track::finish`].
    pub fn observations(&self) -> impl Iterator<Item = (Color, BoardKey, Outcome)> + '_ {
        let plies = self.plies.len();
        self.observations.iter().map(move |seen| {
            let position = usize::from(seen.position);
            let outcome = match self.captures[seen.slot as usize] {
                Some(capture) => {
                    Outcome::after(usize::from(capture.ply) - position, Some(capture.fate))
                }
                None => Outcome::after(plies - position, None),
            };
            (self.roster.color(seen.slot), seen.key, outcome)
        })
    }

    /// The captured units in the order of their plies, with what became of each; complete
    /// after [`Track::finish`].
    pub fn captures(&self) -> impl Iterator<Item = (&Victim, Capture)> + Clone {
        self.victims
            .iter()
            .filter_map(|victim| Some((victim, self.captures[victim.slot as usize]?)))
    }

    /// Number of observations.
    pub fn observed(&self) -> usize {
        self.observations.len()
    }

    /// The move that a SAN means in the position reached.
    ///
    /// # Errors
    ///
    /// Where the rules do not allow it, or it could mean several.
    #[inline]
    pub fn resolve(&self, san: San) -> Result<Move, SanError> {
        san::resolve(san, &self.position)
    }

    /// Plays a legal move of the position reached.
    #[inline]
    pub fn play(&mut self, m: Move) {
        self.moves.push(m);
        self.positions.push(self.position.clone());
        self.position.play_unchecked(m);
    }

    /// Ends the game: measures its positions, and gives what each ply and turn shows and what
    /// only the whole game does.
    pub fn finish(&mut self) {
        self.positions.push(self.position.clone());
        self.look_from_the_start();
        let plies = self.moves.len();
        for first in (0..=plies).step_by(CHUNK) {
            self.measure(first);
            for position in first..=plies.min(first + CHUNK - 1) {
                let at = BEFORE + position - first;
                if position > 0 {
                    self.follow(position, at);
                } else {
                    self.start_safe = self.safe_by_kind(at);
                }
                if position < plies {
                    self.turn(position, at);
                }
            }
        }
        self.end_spells();
    }

    /// Closes the spells that run at the end of the game, and fills in what only the whole
    /// game shows.
    fn end_spells(&mut self) {
        let plies = self.plies.len();
        for slot in 0..self.roster.len() as Slot {
            // The owner's last turn: of the spells' parity, before the last position.
            let spells = &self.running[slot as usize];
            if let Some(spell) = spells.iter().find(|spell| spell.ks != 0) {
                let start = usize::from(spell.start);
                let last = start + (plies - 1 - start) / 2 * 2;
                self.close(slot, KSet::MAX, last, End::GameOver, plies);
            }
        }
        let captures = &mut self.captures;
        capture_runs::decide_fates(
            &self.plies,
            &self.victims,
            &self.balance,
            |victim, capture| captures[victim.slot as usize] = Some(capture),
        );
        for spell in &mut self.spells {
            spell.capture = self.captures[spell.slot as usize];
            let start = usize::from(spell.start);
            spell.material = MATERIAL_AFTER.map(|moves| {
                let later = *self.balance.get(start + 2 * moves)?;
                Some(spell.color.fold_wb(1, -1) * (later - self.balance[start]))
            });
        }
    }

    /// Forgets the game before, and looks at the first position.
    fn look_from_the_start(&mut self) {
        let board = self.positions[0].board();
        self.ahead.begin(board);
        self.roster.begin(board);
        self.exceeded = [[NEVER; MAX_K as usize + 1]; MAX_UNITS];
        self.restricted = [0; MAX_UNITS];
        // Spells that ran when the last game was over have been closed: none is running.
        self.restraining = 0;
        self.captures = [None; MAX_UNITS];
        self.piece_material = material::piece_material(board);
        self.balance.push(material::balance(board) as i16);
    }
}

#[inline]
const fn side(color: Color) -> usize {
    match color {
        Color::White => 0,
        Color::Black => 1,
    }
}
