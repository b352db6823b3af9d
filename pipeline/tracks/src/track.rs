//! One game followed from its first ply to its last.
//!
//! All buffers are kept from game to game: following a ply allocates nothing once they
//! have grown to the longest game met.

use hobble_terms::value;
use shakmaty::san::{San, SanError};
use shakmaty::{Bitboard, Chess, Color, Move, Position, Role};

use crate::capture_runs::{self, Victim};
use crate::exposure::{BoardKey, Observation, Outcome};
use crate::frame::{Frame, Sums};
use crate::material;
use crate::mobility::{Mobility, Since};
pub use crate::ply::Ply;
use crate::roster::{Change, MAX_UNITS, Roster, Slot};
use crate::san;
use crate::sight::{Sight, is_piece};
use crate::spell::{Capture, End, KSet, OpenSpell, RUNNING, Spell};
use recorded::Record;

mod decisions;
mod losses;
mod measures;
mod record;
mod recorded;
mod turns;

pub use decisions::DecisionRows;
pub use record::TurnRows;

/// Longest game that can be followed, in plies.
pub const MAX_PLIES: usize = u16::MAX as usize;

/// Moves after which a spell's change of material is kept.
const MATERIAL_AFTER: [usize; 3] = [3, 5, 10];

/// Follows one game at a time.
pub struct Track {
    position: Chess,
    sight: Sight,
    roster: Roster,
    /// Measures of both sides' units at the present position.
    mobility: Box<[Mobility; 2]>,
    sums: [Sums; 2],
    /// Frames of the last three positions: position p in p mod 3.
    frames: Box<[Frame; 3]>,
    /// The most safe squares a piece has had.
    most: [u8; MAX_UNITS],
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
    /// Slots on the board.
    present: u64,
    piece_material: i32,
    start_safe: [[u8; 6]; 2],
}

impl Default for Track {
    fn default() -> Self {
        let position = Chess::default();
        Track {
            sight: Sight::of(position.board()),
            position,
            roster: Roster::default(),
            mobility: Box::default(),
            sums: [Sums::default(); 2],
            frames: Box::new([Frame::EMPTY; 3]),
            most: [0; MAX_UNITS],
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
            present: 0,
            piece_material: 0,
            start_safe: [[0; 6]; 2],
        }
    }
}

impl Track {
    /// A tracker with empty buffers.
    pub fn new() -> Track {
        Track::default()
    }

    /// Starts a game at a position of at most 32 units.
    pub fn begin(&mut self, position: &Chess) {
        self.position = position.clone();
        self.sight = Sight::of(position.board());
        self.roster.begin(position.board());
        self.most = [0; MAX_UNITS];
        self.restricted = [0; MAX_UNITS];
        *self.running = [[OpenSpell::NONE; RUNNING]; MAX_UNITS];
        self.plies.clear();
        self.spells.clear();
        self.observations.clear();
        self.record.clear();
        self.restraining = 0;
        self.balance.clear();
        self.victims.clear();
        self.captures = [None; MAX_UNITS];
        self.piece_material = material::piece_material(position.board());
        self.balance
            .push(material::balance(position.board()) as i16);
        self.sums = [Sums::default(); 2];
        self.frames[0] = Frame::EMPTY;
        self.present = (1 << self.roster.len()) - 1;
        self.frames[0].present = self.present;
        for color in Color::ALL {
            self.mobility[side(color)] = Mobility::default();
            self.measure(0, color, Since::NEVER, None, None);
        }
        self.start_safe = self.totals();
    }

    /// The present position.
    pub fn position(&self) -> &Chess {
        &self.position
    }

    /// The plies played, in order.
    pub fn plies(&self) -> &[Ply] {
        &self.plies
    }

    /// The spells, in the order they ended; complete after [`Track::finish`].
    pub fn spells(&self) -> &[Spell] {
        &self.spells
    }

    /// Safe mobility at position 0, as in [`Ply::safe`].
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

    /// The move that a SAN means in the present position.
    ///
    /// # Errors
    ///
    /// Where the rules do not allow it, or it could mean several.
    #[inline]
    pub fn resolve(&self, san: San) -> Result<Move, SanError> {
        let own = &self.mobility[side(self.position.turn())];
        san::resolve(san, &self.position, &self.sight, own)
    }

    /// Plays a legal move of the present position.
    pub fn play(&mut self, m: Move) {
        let before = self.plies.len();
        let color = self.position.turn();
        let legal = self.legal_total(color);
        self.turn(before, color);

        let ply = before + 1;
        let mover = m.role();
        let pinned = self.sight.pinned;
        let change = self.roster.play(m, color, ply as u16);
        let captured_safe = change
            .captured
            .map(|(slot, square)| self.leave(!color, self.roster.kind(slot), square));
        if mover != Role::Pawn {
            // The units that moved are told of with what they had where they came from.
            let own = &mut self.mobility[side(color)];
            let moved = change
                .paths
                .map(|path| path.map(|(from, to)| (to, own.of(from))));
            for (to, former) in moved.into_iter().flatten() {
                own.reach[to.to_usize()] = former.reach;
                own.safe[to.to_usize()] = former.safe;
            }
        }
        if let Some(born) = change.born {
            let own = &mut self.mobility[side(color)];
            let to = self.roster.square(born).to_usize();
            own.reach[to] = Bitboard::EMPTY;
            own.safe[to] = Bitboard::EMPTY;
        }
        self.position.play_unchecked(m);
        self.settle(before, color, m, &change);
        self.sight.follow(self.position.board(), change.squares);
        // Squares without the pin are looked at where they were measured only.
        let safe = self.frames[before % 3].safe;
        let frame = &mut self.frames[ply % 3];
        frame.safe = safe;
        frame.taken = [0; MAX_UNITS];
        frame.pinned = 0;
        frame.present = self.present;
        let since = |side: Color| Since {
            changed: change.squares,
            pinned: *pinned.get(side),
        };
        let pawn = (mover == Role::Pawn).then_some(change.paths[0]);
        let promoted = change.born.and(m.from());
        let taken_pawn = change
            .captured
            .and_then(|(slot, square)| (self.roster.kind(slot) == Role::Pawn).then_some(square));
        let own = self.measure(ply, color, since(color), pawn.flatten(), promoted);
        let other = self.measure(ply, !color, since(!color), None, taken_pawn);
        let (own, other) = (own.counts(), other.counts());
        let safe = self.totals();
        let board = self.position.board();
        let check = board
            .king_of(!color)
            .is_some_and(|king| self.sight.control.get(color).all.contains(king));
        self.plies.push(Ply {
            mover,
            from: m.from().unwrap_or(m.to()),
            to: match m.castling_side() {
                Some(side) => side.king_to(color),
                None => m.to(),
            },
            captured: m.capture(),
            promotion: m.promotion(),
            check,
            castling: m.is_castle(),
            en_passant: m.is_en_passant(),
            legal,
            taken: other.0,
            given: other.1,
            own_taken: own.0,
            own_given: own.1,
            captured_safe,
            safe,
        });
    }

    /// Ends the game: closes what is open and fills in what only the whole game shows.
    pub fn finish(&mut self) {
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

    /// Books what ply `before + 1` captured and promoted.
    fn settle(&mut self, before: usize, color: Color, m: Move, change: &Change) {
        let mut balance = i32::from(self.balance[before]);
        let sign = color.fold_wb(1, -1);
        if let Some(promotion) = m.promotion() {
            balance += sign * (value(promotion) - value(Role::Pawn));
            self.piece_material += value(promotion);
        }
        if let Some((slot, square)) = change.captured {
            self.present &= !(1 << slot);
            let kind = self.roster.kind(slot);
            self.victims.push(Victim {
                ply: before as u16 + 1,
                slot,
                kind,
                color: !color,
                square,
                birth: self.roster.birth(slot) as u16,
            });
            balance += sign * value(kind);
            if is_piece(kind) {
                self.piece_material -= value(kind);
                if self.restricted[slot as usize] != 0 {
                    self.close(slot, KSet::MAX, before - 1, End::Captured, before + 1);
                }
            }
        }
        if let Some(born) = change.born {
            self.present &= !(1 << change.mover);
            self.present |= 1 << born;
            self.most[born as usize] = 0;
            self.restricted[born as usize] = 0;
            self.frames[before % 3].safe[born as usize] = 0;
        }
        self.balance.push(balance as i16);
    }
}

#[inline]
const fn side(color: Color) -> usize {
    match color {
        Color::White => 0,
        Color::Black => 1,
    }
}
