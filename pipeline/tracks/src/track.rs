//! One game followed from its first ply to its last.
//!
//! All buffers are kept from game to game: following a ply allocates nothing once they
//! have grown to the longest game met.

use hobble_terms::{By, Fate, Phase, value};
use shakmaty::san::{San, SanError};
use shakmaty::{Bitboard, Chess, Color, Move, Position, Role, Square};

use crate::exposure::{BoardKey, Observation, Outcome};
use crate::material;
use crate::mobility::{Mobility, Since, good, safe_without_pin};
use crate::roster::{Change, MAX_UNITS, Roster, Slot};
use crate::rules::Rules;
use crate::san;
use crate::sight::{Sight, is_piece};
use crate::spell::{
    Capture, Cause, End, Glance, KSet, OpenSpell, Origin, RUNNING, Spell, StartState, kinds_of,
    restricted_at,
};

/// Longest game that can be followed, in plies.
pub const MAX_PLIES: usize = u16::MAX as usize;

/// Moves after which a spell's change of material is kept.
const MATERIAL_AFTER: [usize; 3] = [3, 5, 10];

/// What one ply did (definitions, section 5).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ply {
    /// Kind of unit that moved.
    pub mover: Role,
    /// Square it left.
    pub from: Square,
    /// Square it reached; the king's for castling.
    pub to: Square,
    /// Kind of unit captured.
    pub captured: Option<Role>,
    /// Kind of piece promoted to.
    pub promotion: Option<Role>,
    /// Whether it gives check.
    pub check: bool,
    /// Whether it is castling.
    pub castling: bool,
    /// Whether it captures en passant.
    pub en_passant: bool,
    /// Sum of legal destinations of the mover's units before it.
    pub legal: u8,
    /// Squares taken from the opponent.
    pub taken: u8,
    /// Squares given to the opponent.
    pub given: u8,
    /// Squares taken from the mover's own units.
    pub own_taken: u8,
    /// Squares given to the mover's own units.
    pub own_given: u8,
    /// Safe mobility of the captured unit before it.
    pub captured_safe: Option<u8>,
    /// Safe mobility after it: white's, black's; pawn, knight, bishop, rook, queen, king.
    pub safe: [[u8; 6]; 2],
}

/// Safe squares of all units at one of the last three positions.
#[derive(Clone, Copy)]
struct Frame {
    /// By slot; stale for units not on the board then.
    safe: [u8; MAX_UNITS],
    /// Without the pin, for newly pinned pieces.
    unpinned: [u8; MAX_UNITS],
    /// Slots pinned then.
    pinned: u64,
    /// Slots on the board then.
    present: u64,
}

impl Frame {
    const EMPTY: Frame = Frame {
        safe: [0; MAX_UNITS],
        unpinned: [0; MAX_UNITS],
        pinned: 0,
        present: 0,
    };

    fn glance(&self, slot: Slot) -> Glance {
        let bit = 1_u64 << slot;
        Glance {
            safe: (self.present & bit != 0).then_some(self.safe[slot as usize]),
            pinned: self.pinned & bit != 0,
            unpinned: self.unpinned[slot as usize],
        }
    }
}

/// Sums over one side, kept up with every unit measured.
#[derive(Clone, Copy, Default)]
struct Sums {
    /// Safe mobility by kind, pawns left out.
    safe: [i16; 6],
    /// Squares of all reaches, pawns left out.
    reach: i16,
}

/// Safe squares taken from and given to one side by a ply.
#[derive(Clone, Copy, Default)]
struct Shift {
    taken: usize,
    given: usize,
}

impl Shift {
    #[inline]
    fn add(&mut self, before: Bitboard, after: Bitboard) {
        self.taken += (before & !after).count();
        self.given += (after & !before).count();
    }

    fn counts(self) -> (u8, u8) {
        let cap = |n: usize| n.min(usize::from(u8::MAX)) as u8;
        (cap(self.taken), cap(self.given))
    }
}

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
    /// White's balance at each position.
    balance: Vec<i16>,
    /// Square of the unit captured by each ply.
    captured_on: Vec<Option<Square>>,
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
            balance: Vec::new(),
            captured_on: Vec::new(),
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
        self.balance.clear();
        self.captured_on.clear();
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
        self.frames[ply % 3] = Frame {
            pinned: 0,
            present: self.present,
            ..self.frames[before % 3]
        };
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
        for slot in 0..self.roster.len() as Slot {
            if is_piece(self.roster.kind(slot)) {
                self.captures[slot as usize] = self.capture_of(slot);
            }
        }
        for spell in &mut self.spells {
            spell.capture = self.captures[spell.slot as usize];
            let start = usize::from(spell.start);
            spell.material = MATERIAL_AFTER.map(|moves| {
                let later = *self.balance.get(start + 2 * moves)?;
                Some(spell.color.fold_wb(1, -1) * (later - self.balance[start]))
            });
        }
    }

    /// Fate of a piece by the captures played on its square (definitions, section 7).
    fn capture_of(&self, slot: Slot) -> Option<Capture> {
        let ply = self.roster.gone(slot)?;
        let square = self.captured_on[ply - 1]?;
        let mut end = ply;
        while self.captured_on.get(end) == Some(&Some(square)) {
            end += 1;
        }
        let arrived = self.roster.last_moved(slot);
        let start = if arrived > 0 && arrived == ply - 1 {
            ply - 2
        } else {
            ply - 1
        };
        let sign = self.roster.color(slot).fold_wb(1, -1);
        let net = sign * (self.balance[end] - self.balance[start]);
        Some(Capture {
            fate: Fate::of_net(i32::from(net)),
            ply: ply as u16,
            net,
        })
    }

    /// Safe mobility of both sides by kind.
    fn totals(&self) -> [[u8; 6]; 2] {
        let mut totals = [[0; 6]; 2];
        let sides = self.sums.iter().zip(self.mobility.iter());
        for (totals, (sums, mobility)) in totals.iter_mut().zip(sides) {
            for (total, safe) in totals.iter_mut().zip(sums.safe) {
                *total = safe.clamp(0, i16::from(u8::MAX)) as u8;
            }
            totals[Role::Pawn as usize - 1] = mobility.pawns.safe.count() as u8;
        }
        totals
    }

    /// Takes a unit that leaves the board out of the sums; gives its safe mobility.
    fn leave(&mut self, color: Color, kind: Role, square: Square) -> u8 {
        let former = self.mobility[side(color)].of_unit(color, square, kind);
        let safe = former.safe.count();
        if kind != Role::Pawn {
            let sums = &mut self.sums[side(color)];
            sums.safe[kind as usize - 1] -= safe as i16;
            sums.reach -= former.reach.count() as i16;
        }
        safe as u8
    }

    /// Measures one side at position `position`, the present one; gives the squares taken
    /// from it and given to it since the one before. `pawn` is the way of a pawn that moved,
    /// `ousted` the square of one that was captured or promoted. A piece just born counts in
    /// the sums only.
    #[inline(never)] // A place of its own in profiles.
    fn measure(
        &mut self,
        position: usize,
        color: Color,
        since: Since,
        pawn: Option<(Square, Square)>,
        ousted: Option<Square>,
    ) -> Shift {
        let Track {
            position: game,
            sight,
            roster,
            mobility,
            sums,
            frames,
            most,
            ..
        } = self;
        let before_pinned = if position == 0 {
            0
        } else {
            frames[(position + 2) % 3].pinned
        };
        let frame = &mut frames[position % 3];
        let sums = &mut sums[side(color)];
        let mut shift = Shift::default();
        let mobility = &mut mobility[side(color)];
        let mut before = mobility.pawns.safe;
        mobility.update(
            sight,
            Rules::of(game),
            color,
            since,
            |square, kind, former, new| {
                let slot = roster.at(square) as usize;
                let safe = new.safe.count();
                sums.safe[kind as usize - 1] += safe as i16 - former.safe.count() as i16;
                sums.reach += new.reach.count() as i16 - former.reach.count() as i16;
                frame.safe[slot] = safe as u8;
                most[slot] = most[slot].max(safe as u8);
                if roster.birth(slot as Slot) < position {
                    shift.add(former.safe, new.safe);
                }
            },
        );
        let mut after = mobility.pawns.safe;
        if let Some((from, to)) = pawn {
            shift.add(before.of(color, from), after.of(color, to));
            before = before.without(color, from.into());
            after = after.without(color, to.into());
        }
        if let Some(ousted) = ousted {
            before = before.without(color, ousted.into());
        }
        for (before, after) in before.iter().zip(after.iter()) {
            shift.add(before, after);
        }
        for square in *sight.pinned.get(color) {
            let slot = roster.at(square);
            frame.pinned |= 1 << slot;
            let kind = roster.kind(slot);
            if before_pinned >> slot & 1 == 0 && is_piece(kind) {
                frame.unpinned[slot as usize] =
                    safe_without_pin(sight, color, square, kind).count() as u8;
            }
        }
        shift
    }

    /// Sum of the distinct legal destinations of the side on move.
    fn legal_total(&self, color: Color) -> u8 {
        let sight = &self.sight;
        let in_check = sight
            .board
            .king_of(color)
            .is_some_and(|king| sight.control.get(!color).all.contains(king));
        let total = if in_check {
            let rules = Rules::of(&self.position);
            let mobility = &self.mobility[side(color)];
            sight
                .board
                .by_color(color)
                .into_iter()
                .map(|square| {
                    let kind = self.roster.kind(self.roster.at(square));
                    mobility.legal(sight, rules, square, kind).count()
                })
                .sum()
        } else {
            let pawns = self.mobility[side(color)].pawns.reach.count();
            self.sums[side(color)].reach as usize + pawns
        };
        total.min(usize::from(u8::MAX)) as u8
    }

    /// A turn of `color` at position `position`: observations, spells that end or start.
    #[inline(never)] // A place of its own in profiles.
    fn turn(&mut self, position: usize, color: Color) {
        let board = &self.sight.board;
        let pieces = board.by_color(color) & !board.pawns() & !board.kings();
        let attacked = self.sight.control.get(!color).all;
        let defended = self.sight.control.get(color).all;
        let phase = Phase::at(position, self.piece_material);
        for square in pieces {
            let slot = self.roster.at(square);
            let safe = self.frames[position % 3].safe[slot as usize];
            self.observations.push(Observation {
                slot,
                position: position as u16,
                key: BoardKey::new(
                    self.roster.kind(slot),
                    safe,
                    self.roster.is_developed(slot),
                    attacked.contains(square),
                    defended.contains(square),
                    phase,
                ),
            });
            let was = self.restricted[slot as usize];
            let now = restricted_at(safe);
            if was != now {
                self.restricted[slot as usize] = now;
                if was & !now != 0 {
                    self.free(slot, was & !now, position);
                }
                if now & !was != 0 {
                    self.restrict(slot, now & !was, position, phase);
                }
            }
        }
    }

    /// Ends the spells of a piece that has more squares at position `position`.
    fn free(&mut self, slot: Slot, ks: u8, position: usize) {
        let between = self.frames[(position + 2) % 3].safe[slot as usize];
        // The owner's ply freed it for those k it already exceeded with the turn passed.
        let own = ks & !restricted_at(between);
        if own != 0 {
            let moved = self.roster.last_moved(slot) == position - 1;
            let end = End::Freed {
                by: By::Own,
                moved_away: Some(moved),
            };
            self.close(slot, own, position - 2, end, position - 1);
        }
        if ks != own {
            let end = End::Freed {
                by: By::Opponent,
                moved_away: None,
            };
            self.close(slot, ks & !own, position - 2, end, position);
        }
    }

    /// Ends the spells of a piece for those of `ks` they run for.
    fn close(&mut self, slot: Slot, ks: KSet, last: usize, end: End, end_ply: usize) {
        let (kind, color) = (self.roster.kind(slot), self.roster.color(slot));
        for spell in &mut self.running[slot as usize] {
            if spell.ks & ks != 0 {
                let ended = spell.close(ks, slot, kind, color, last, end, end_ply);
                self.spells.push(ended);
            }
        }
    }

    /// Starts spells of a piece at its owner's turn `position`, for each k in `ks`.
    #[inline(never)] // A place of its own in profiles.
    fn restrict(&mut self, slot: Slot, ks: KSet, position: usize, phase: Phase) {
        let state = self.state(slot, position, phase);
        let origin = self.origin(slot, position);
        // Neighbouring k of the same cause make one spell.
        let (mut same, mut cause) = (0, Cause::UNDEVELOPED);
        let mut rest = ks;
        while rest != 0 {
            let k = rest.trailing_zeros() as u8;
            rest &= rest - 1;
            let next = origin.cause(k);
            if same != 0 && next != cause {
                self.open(slot, same, position, cause, state);
                same = 0;
            }
            (same, cause) = (same | 1 << k, next);
        }
        self.open(slot, same, position, cause, state);
    }

    fn open(&mut self, slot: Slot, ks: KSet, position: usize, cause: Cause, state: StartState) {
        let spells = &mut self.running[slot as usize];
        // There is one: each of the others runs for another k.
        if let Some(free) = spells.iter_mut().find(|spell| spell.ks == 0) {
            *free = OpenSpell {
                ks,
                start: position as u16,
                cause,
                state,
            };
        }
    }

    /// What the causes of a piece's spells from its owner's turn `position` are judged by.
    fn origin(&self, slot: Slot, position: usize) -> Origin {
        let at = |position: usize| self.frames[position % 3].glance(slot);
        let none = Glance::NONE;
        Origin {
            position: position as u16,
            // At this position it has k squares or fewer, so that a higher figure is from
            // before.
            most: (self.roster.birth(slot) == 0).then_some(self.most[slot as usize]),
            now: at(position),
            passed: if position >= 1 {
                at(position - 1)
            } else {
                none
            },
            earlier: if position >= 2 {
                at(position - 2)
            } else {
                none
            },
            moved: self.roster.last_moved(slot) as u16,
            movers: [2, 1].map(|back| {
                let ply = (position + 1).checked_sub(back)?.checked_sub(1)?;
                self.plies.get(ply).map(|ply| ply.mover)
            }),
        }
    }

    fn state(&self, slot: Slot, position: usize, phase: Phase) -> StartState {
        let sight = &self.sight;
        let board = &sight.board;
        let square = self.roster.square(slot);
        let color = self.roster.color(slot);
        let kind = self.roster.kind(slot);
        let mobility = &self.mobility[side(color)];
        let safe = mobility.safe[square.to_usize()];
        let attackers = if sight.control.get(!color).all.contains(square) {
            board.attacks_to(square, !color, board.occupied())
        } else {
            Bitboard::EMPTY
        };
        let rules = Rules::of(&self.position);
        StartState {
            square,
            safe: safe.count() as u8,
            good: good(color, square, safe).count() as u8,
            reach: mobility.reach[square.to_usize()].count() as u8,
            legal: mobility.legal(sight, rules, square, kind).count() as u8,
            attacked_by: kinds_of(attackers, |role| board.by_role(role)),
            defended: sight.control.get(color).all.contains(square),
            developed: self.roster.is_developed(slot),
            phase,
            balance: color.fold_wb(1, -1) * self.balance[position],
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
        if let Some((slot, _)) = change.captured {
            self.present &= !(1 << slot);
            let kind = self.roster.kind(slot);
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
        self.captured_on
            .push(change.captured.map(|(_, square)| square));
    }
}

#[inline]
const fn side(color: Color) -> usize {
    match color {
        Color::White => 0,
        Color::Black => 1,
    }
}
