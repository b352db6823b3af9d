//! A whole game read a second time from the definitions, position by position and without
//! anything carried along: what [`hobble_tracks::track::Track`] must say of it.

use hobble_terms::{By, CauseKind, Fate, Phase};
use hobble_tracks::exposure::BoardKey;
use hobble_tracks::spell::{Before, Capture, Cause, CausePly, End, Spell, StartState};
use hobble_tracks::survey::{Survey, UnitSurvey};
use hobble_tracks::track::Ply;
use shakmaty::{Bitboard, Chess, Color, Move, Position, Role, Square};

use super::exchange::Minimax;
use super::{Units, balance, destination, is_piece, worth};

/// A game with everything about it.
pub struct Reading {
    /// Its positions.
    pub positions: Vec<Chess>,
    /// Its moves.
    pub moves: Vec<Move>,
    /// Who is who.
    pub units: Units,
    surveys: Vec<Survey>,
    balances: Vec<i32>,
}

impl Reading {
    /// Reads a game.
    pub fn of(start: &Chess, moves: &[Move]) -> Reading {
        let mut positions = vec![start.clone()];
        for &m in moves {
            let mut next = positions[positions.len() - 1].clone();
            next.play_unchecked(m);
            positions.push(next);
        }
        Reading {
            units: Units::of(start, moves),
            surveys: positions.iter().map(Survey::of).collect(),
            balances: positions.iter().map(|p| balance(p.board())).collect(),
            positions,
            moves: moves.to_vec(),
        }
    }

    /// Plies of the game.
    pub fn plies(&self) -> usize {
        self.moves.len()
    }

    /// Where a unit stands at a position; `None` where it is not on the board.
    pub fn square(&self, slot: usize, position: usize) -> Option<Square> {
        let square = self.units.at[position]
            .iter()
            .position(|&unit| unit == Some(slot))?;
        Some(Square::new(square as u32))
    }

    fn survey(&self, slot: usize, position: usize) -> Option<&UnitSurvey> {
        self.surveys[position].unit(self.square(slot, position)?)
    }

    /// Safe squares of a unit at a position; `None` where it is not on the board.
    pub fn safe(&self, slot: usize, position: usize) -> Option<usize> {
        Some(self.survey(slot, position)?.safe.count())
    }

    /// Turns of a unit's owner at which it is on the board.
    pub fn turns(&self, slot: usize) -> Vec<usize> {
        (0..self.plies())
            .filter(|&position| self.positions[position].turn() == self.units.units[slot].color)
            .filter(|&position| self.square(slot, position).is_some())
            .collect()
    }

    /// Slots of knights, bishops, rooks and queens.
    pub fn pieces(&self) -> impl Iterator<Item = usize> {
        (0..self.units.units.len()).filter(|&slot| is_piece(self.units.units[slot].kind))
    }

    /// White's material less Black's at a position.
    pub fn balance(&self, position: usize) -> i32 {
        self.balances[position]
    }

    fn own_balance(&self, color: Color, position: usize) -> i32 {
        color.fold_wb(1, -1) * self.balances[position]
    }

    fn phase(&self, position: usize) -> Phase {
        let value: i32 = self.positions[position]
            .board()
            .iter()
            .filter(|(_, piece)| is_piece(piece.role))
            .map(|(_, piece)| worth(piece.role))
            .sum();
        if position < 20 && value >= 56 {
            Phase::Opening
        } else if value <= 26 {
            Phase::Endgame
        } else {
            Phase::Middlegame
        }
    }

    /// Definitions, section 5.
    pub fn ply(&self, ply: usize) -> Ply {
        let m = self.moves[ply - 1];
        let (before, after) = (&self.positions[ply - 1], &self.positions[ply]);
        let color = before.turn();
        let mut changes = [[0_usize; 2]; 2];
        let mut captured_safe = None;
        for (slot, unit) in self.units.units.iter().enumerate() {
            let Some(was) = self.survey(slot, ply - 1) else {
                continue;
            };
            match self.survey(slot, ply) {
                Some(is) => {
                    let side = usize::from(unit.color == color);
                    changes[side][0] += (was.safe & !is.safe).count();
                    changes[side][1] += (is.safe & !was.safe).count();
                }
                None if unit.captured.is_some_and(|(by, _)| by == ply) => {
                    captured_safe = Some(was.safe.count() as u8);
                }
                None => {}
            }
        }
        let [[taken, given], [own_taken, own_given]] = changes.map(|pair| pair.map(|n| n as u8));
        let legal: usize = Square::ALL
            .into_iter()
            .map(|from| {
                let moves = before.legal_moves();
                let own = moves.iter().filter(|m| m.from() == Some(from));
                own.map(|&m| Bitboard::from(destination(m, color)))
                    .fold(Bitboard::EMPTY, |all, one| all | one)
                    .count()
            })
            .sum();
        Ply {
            mover: m.role(),
            from: m.from().expect("no drops in chess"),
            to: destination(m, color),
            captured: m.capture(),
            promotion: m.promotion(),
            check: after.is_check(),
            castling: m.is_castle(),
            en_passant: m.is_en_passant(),
            legal: legal as u8,
            taken,
            given,
            own_taken,
            own_given,
            captured_safe,
            safe: self.safe_by_kind(ply),
        }
    }

    /// Safe mobility by side and kind.
    pub fn safe_by_kind(&self, position: usize) -> [[u8; 6]; 2] {
        let mut sums = [[0_usize; 6]; 2];
        for unit in &self.surveys[position].units {
            sums[unit.color.fold_wb(0, 1)][unit.kind as usize - 1] += unit.safe.count();
        }
        sums.map(|side| side.map(|sum| sum.min(255) as u8))
    }

    /// Definitions, section 7: the first and last ply of the run that ply `ply` lies in.
    pub fn run(&self, ply: usize) -> (usize, usize) {
        let changes_material = |ply: &usize| {
            let m = self.moves[ply - 1];
            m.is_capture() || m.is_promotion()
        };
        let free = |ply: &usize| {
            let forced = self.positions[ply - 1].is_check() || self.positions[*ply].is_check();
            !forced && !changes_material(ply)
        };
        let (mut first, mut last) = (ply, ply);
        for earlier in (1..ply).rev().filter(changes_material) {
            if (earlier + 1..first).filter(free).count() > 2 {
                break;
            }
            first = earlier;
        }
        for later in (ply + 1..=self.plies()).filter(changes_material) {
            if (last + 1..later).filter(free).count() > 2 {
                break;
            }
            last = later;
        }
        (first, last)
    }

    /// Definitions, section 7.
    pub fn capture(&self, slot: usize) -> Option<Capture> {
        let unit = &self.units.units[slot];
        let (ply, _) = unit.captured?;
        let (first, last) = self.run(ply);
        let net = self.own_balance(unit.color, last) - self.own_balance(unit.color, first - 1);
        let captured: Vec<(usize, &super::Unit)> = self
            .units
            .units
            .iter()
            .enumerate()
            .filter(|(_, unit)| {
                unit.captured
                    .is_some_and(|(ply, _)| first <= ply && ply <= last)
            })
            .collect();
        let mut others: Vec<&super::Unit> = captured
            .iter()
            .map(|&(_, other)| other)
            .filter(|other| other.color != unit.color)
            .collect();
        let worth = |unit: &super::Unit| {
            let born = first <= unit.birth;
            worth(if born { Role::Pawn } else { unit.kind })
        };
        let square = |unit: &super::Unit| unit.captured.map(|(_, square)| square);
        let mut own: Vec<_> = captured
            .iter()
            .filter(|(_, own)| own.color == unit.color)
            .map(|&(slot, own)| {
                let alone = !others.iter().any(|other| square(other) == square(own));
                (-worth(own), alone, own.captured.map(|(ply, _)| ply), slot)
            })
            .collect();
        own.sort();
        let mut partner = None;
        for (value, _, _, next) in own {
            others.sort_by_key(|other| worth(other));
            let place = others.iter().position(|other| worth(other) >= -value);
            partner = place.map(|place| worth(others.remove(place)));
            if next == slot {
                break;
            }
        }
        let fate = match (net, partner) {
            (..=-2, None) => Fate::Lost,
            (2.., None) => Fate::Sold,
            (2.., Some(value)) if value > worth(unit) => Fate::Sold,
            _ => Fate::Traded,
        };
        Some(Capture {
            fate,
            ply: ply as u16,
            net: net as i16,
        })
    }

    /// Definitions, section 6: all spells, those for neighbouring k that agree as one,
    /// sorted by piece, start and k.
    pub fn spells(&self) -> Vec<Spell> {
        let mut spells: Vec<Spell> = Vec::new();
        for slot in self.pieces() {
            let mut own: Vec<Spell> = (0..=4).flat_map(|k| self.spells_at(slot, k)).collect();
            own.sort_by_key(|spell| (spell.start, spell.k_low));
            for spell in own {
                match spells.last_mut() {
                    Some(last)
                        if (last.slot, last.start, last.cause, last.end, last.end_ply)
                            == (
                                spell.slot,
                                spell.start,
                                spell.cause,
                                spell.end,
                                spell.end_ply,
                            )
                            && last.k_high + 1 == spell.k_low =>
                    {
                        last.k_high = spell.k_low;
                    }
                    _ => spells.push(spell),
                }
            }
        }
        spells
    }

    fn spells_at(&self, slot: usize, k: usize) -> Vec<Spell> {
        let turns = self.turns(slot);
        let restricted = |turn: &usize| self.safe(slot, *turn).is_some_and(|safe| safe <= k);
        turns
            .chunk_by(|a, b| restricted(a) == restricted(b))
            .filter(|run| restricted(&run[0]))
            .map(|run| self.spell(slot, k, run[0], run[run.len() - 1]))
            .collect()
    }

    fn spell(&self, slot: usize, k: usize, start: usize, last: usize) -> Spell {
        let unit = &self.units.units[slot];
        let (end, end_ply) = self.end(slot, k, last);
        let owner = unit.color;
        let later = |moves: usize| {
            let position = start + 2 * moves;
            (position <= self.plies()).then(|| {
                (self.own_balance(owner, position) - self.own_balance(owner, start)) as i16
            })
        };
        Spell {
            slot: slot as u8,
            kind: unit.kind,
            color: owner,
            k_low: k as u8,
            k_high: k as u8,
            start: start as u16,
            cause: self.cause(slot, k, start),
            state: self.state(slot, start),
            turns: ((last - start) / 2 + 1) as u16,
            end,
            end_ply: end_ply as u16,
            capture: self.capture(slot),
            material: [3, 5, 10].map(later),
        }
    }

    fn end(&self, slot: usize, k: usize, last: usize) -> (End, usize) {
        let unit = &self.units.units[slot];
        let next = last + 2;
        if let Some((ply, _)) = unit.captured
            && ply <= next
        {
            return (End::Captured, ply);
        }
        if next >= self.plies() {
            return (End::GameOver, self.plies());
        }
        let between = self.safe(slot, next - 1).expect("it is on the board");
        if between > k {
            let moved_away = Some(unit.moved.contains(&(next - 1)));
            let by = By::Own;
            (End::Freed { by, moved_away }, next - 1)
        } else {
            let by = By::Opponent;
            let moved_away = None;
            (End::Freed { by, moved_away }, next)
        }
    }

    /// Definitions, section 6.
    pub fn cause(&self, slot: usize, k: usize, start: usize) -> Cause {
        let unit = &self.units.units[slot];
        let was_always = (0..start).all(|p| self.safe(slot, p).is_some_and(|safe| safe <= k));
        if unit.birth == 0 && was_always {
            return Cause {
                kind: CauseKind::Undeveloped,
                ply: None,
            };
        }
        let own = self.safe(slot, start - 1).is_some_and(|safe| safe <= k);
        let ply = if own { start - 1 } else { start };
        let pinned_at =
            |position: usize| self.survey(slot, position).is_some_and(|unit| unit.pinned);
        let kind = if pinned_at(ply) && !pinned_at(ply - 1) && self.safe_unpinned(slot, ply) > k {
            CauseKind::Pinned
        } else if unit.moved.contains(&ply) {
            CauseKind::Entered
        } else if own {
            CauseKind::Blocked
        } else {
            CauseKind::Taken
        };
        Cause {
            kind,
            ply: Some(CausePly {
                ply: ply as u16,
                by: if own { By::Own } else { By::Opponent },
                mover: self.moves[ply - 1].role(),
                quiet: self.is_quiet(ply),
                before: self.survey(slot, ply - 1).map(|before| {
                    let after = self.survey(slot, ply).expect("it is on the board");
                    Before {
                        safe: before.safe.count() as u8,
                        taken: (before.safe & !after.safe).count() as u8,
                    }
                }),
            }),
        }
    }

    /// Definitions, section 5.
    pub fn is_quiet(&self, ply: usize) -> bool {
        let m = self.moves[ply - 1];
        !m.is_capture() && !m.is_promotion() && !self.positions[ply].is_check()
    }

    /// Safe squares of a piece were its pin left out of its reach.
    fn safe_unpinned(&self, slot: usize, position: usize) -> usize {
        let board = self.positions[position].board();
        let from = self.square(slot, position).expect("it is on the board");
        let own = board.by_color(self.units.units[slot].color);
        let reach = board.attacks_from(from) & !own & !board.kings();
        reach
            .into_iter()
            .filter(|&to| Minimax::on(board, to).going(from, None) >= 0)
            .count()
    }

    fn state(&self, slot: usize, position: usize) -> StartState {
        let unit = self.survey(slot, position).expect("it is on the board");
        let (others_held, others_restrained) = self.others(slot, position);
        let ahead = |to: Square| match unit.color {
            Color::White => to.rank() > unit.square.rank(),
            Color::Black => to.rank() < unit.square.rank(),
        };
        let central = |to: Square| {
            (2..=5).contains(&to.file().to_u32()) && (2..=5).contains(&to.rank().to_u32())
        };
        let good = unit.safe.into_iter().filter(|&to| ahead(to) || central(to));
        let legal: Bitboard = self.positions[position]
            .legal_moves()
            .iter()
            .filter(|m| m.from() == Some(unit.square))
            .map(|m| m.to())
            .collect();
        StartState {
            square: unit.square,
            safe: unit.safe.count() as u8,
            good: good.count() as u8,
            reach: unit.reach.count() as u8,
            legal: legal.count() as u8,
            around: self.around(unit.square, position),
            developed: self.units.units[slot].developed(position),
            phase: self.phase(position),
            balance: self.own_balance(unit.color, position) as i16,
            others_held,
            others_restrained,
        }
    }

    /// Definitions, section 8: whether White owns it, packed keys, and counts of lost, traded, sold and
    /// over within 3, 5, 10, 15 and 20 moves; sorted.
    pub fn observations(&self) -> Vec<(bool, usize, [[u64; 4]; 5])> {
        let mut seen = Vec::new();
        for slot in self.pieces() {
            let unit = &self.units.units[slot];
            for position in self.turns(slot) {
                let survey = self.survey(slot, position).expect("it is on the board");
                let board = self.positions[position].board();
                let attacked_by = |color| {
                    board
                        .attacks_to(survey.square, color, board.occupied())
                        .any()
                };
                let key = BoardKey::new(
                    unit.kind,
                    survey.safe.count() as u8,
                    unit.developed(position),
                    attacked_by(!unit.color),
                    attacked_by(unit.color),
                    self.phase(position),
                );
                let within = [3, 5, 10, 15, 20].map(|moves| {
                    let window = position + 2 * moves;
                    let mut counts = [0; 4];
                    match self.capture(slot) {
                        Some(capture) if usize::from(capture.ply) <= window => {
                            counts[capture.fate as usize] = 1;
                        }
                        _ if self.plies() < window => counts[3] = 1,
                        _ => {}
                    }
                    counts
                });
                seen.push((unit.color.is_white(), key.index(), within));
            }
        }
        seen.sort();
        seen
    }
}
