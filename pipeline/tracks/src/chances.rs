//! Chances to restrain: the enemy pieces that a quiet move could leave with few safe squares
//! (definitions, section 8).
//!
//! Playing every move and measuring the position after it would take some 3 µs a move. Sets
//! settle most moves instead: [`Step`] says on which squares a move can make an exchange worse
//! for the other side, and a piece that has more than k safe squares outside of these keeps
//! them. Only the few (piece, move) pairs that are left are counted square by square.

use hobble_terms::{landmark_k, value};
use shakmaty::{
    Bitboard, Board, Chess, Color, Move, MoveList, Piece, Position, Role, Square, attacks,
};

use crate::exchange::Exchange;
use crate::mobility::Mobility;
use crate::rules::Rules;
use crate::sight::{Sight, is_piece};
use crate::step::{Step, Ways};
use crate::trials::{carried_over, hanging};

/// Most safe squares that a restraining move leaves to a piece of any kind.
const MOST_LEFT: usize = 2;

/// An enemy piece that the side on move could restrain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chance {
    /// Where the piece stands.
    pub square: Square,
    /// Its kind: knight, bishop, rook or queen.
    pub kind: Role,
    /// Its safe squares, the turn passed.
    pub safe: u8,
    /// Restraining moves that leave it 0, 1, 2 safe squares.
    pub leaving: [u8; MOST_LEFT + 1],
    /// Restraining moves of pawns.
    pub by_pawn: u8,
    /// Quiet moves that give nothing away and leave it as few squares, but attack it.
    pub attacking: u8,
}

impl Chance {
    /// Number of restraining moves.
    pub fn moves(&self) -> u8 {
        self.leaving.iter().sum()
    }

    /// Fewest safe squares that one of them leaves.
    pub fn best(&self) -> Option<u8> {
        let best = self.leaving.iter().position(|&moves| moves > 0)?;
        Some(best as u8)
    }
}

/// A move as the plies of a game know it: squares left and reached (the king's for castling).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Square left.
    pub from: Square,
    /// Square reached.
    pub to: Square,
    /// Whether it is castling.
    pub castling: bool,
}

impl Way {
    /// The way of a move of `color`.
    pub fn of(played: Move, color: Color) -> Way {
        let to = match played.castling_side() {
            Some(side) => side.king_to(color),
            None => played.to(),
        };
        Way {
            from: played.from().unwrap_or(to),
            to,
            castling: played.is_castle(),
        }
    }
}

/// What a move leaves a piece.
#[derive(Clone, Copy)]
struct Left {
    /// Place of the piece among the chances.
    at: usize,
    /// Its safe squares: no more than asked for.
    safe: u8,
    /// Whether it is attacked.
    attacked: bool,
}

/// Finds the chances of a position; its buffers are kept from one to the next.
#[derive(Default)]
pub struct Finder {
    mobility: Box<[Mobility; 2]>,
    /// The other side after a move that is played out.
    after: Box<Mobility>,
    chances: Vec<Chance>,
    /// Safe squares of the pieces of `chances`.
    safe: Vec<Bitboard>,
    left: Vec<Left>,
    /// Moves whose unit goes to a safe square, and whether each gives nothing away, if that
    /// is known.
    moves: Vec<(Move, Option<bool>)>,
    legal: usize,
}

impl Finder {
    /// Finds which of the enemy pieces on `among` the side on move could restrain. Nothing is
    /// counted where there are no moves.
    pub fn find(&mut self, position: &Chess, among: Bitboard) {
        self.chances.clear();
        self.safe.clear();
        self.moves.clear();
        let sight = Sight::of(position.board());
        let rules = Rules::of(position);
        let (us, them) = (position.turn(), !position.turn());
        self.mobility[them as usize].measure(&sight, rules, them);
        self.take_in(&sight, among & position.them());
        if self.chances.is_empty() {
            return;
        }
        self.mobility[us as usize].measure(&sight, rules, us);
        let legal = position.legal_moves();
        self.legal = legal.len();
        let ways = Ways::of(&sight, us);
        let hung = hanging(&sight, &self.mobility[them as usize], None, us);
        self.try_moves(position, &ways, &legal, hung);
        let moves = &mut self.moves;
        if self.chances.iter().any(|chance| chance.moves() > 0) {
            for (tried, sound) in moves.iter_mut().filter(|(_, sound)| sound.is_none()) {
                let step = Step::of(&ways, *tried);
                *sound = Some(step.is_sound(&ways, hung));
            }
        }
        self.chances.retain(|chance| chance.moves() > 0);
    }

    /// The pieces that could be restrained, in the order of their squares.
    pub fn chances(&self) -> &[Chance] {
        &self.chances
    }

    /// Safe squares of a piece of the side that is not on move, the turn passed.
    pub fn safe_of(&self, us: Color, square: Square) -> u8 {
        self.mobility[!us as usize].of(square).safe.count() as u8
    }

    /// Number of legal moves; where there are chances.
    pub fn legal(&self) -> usize {
        self.legal
    }

    /// Number of quiet moves that give nothing away; where there are chances.
    pub fn quiet(&self) -> usize {
        let sound = self.moves.iter().filter(|(_, sound)| *sound == Some(true));
        sound.count()
    }

    /// Whether a move of `us` is one of these.
    pub fn is_quiet(&self, us: Color, way: Way) -> bool {
        let mut sound = self.moves.iter().filter(|(_, sound)| *sound == Some(true));
        sound.any(|&(tried, _)| Way::of(tried, us) == way)
    }

    /// Takes in the pieces that have more safe squares than a restrained one.
    fn take_in(&mut self, sight: &Sight, among: Bitboard) {
        for square in among {
            let kind = sight.role(square);
            if !is_piece(kind) {
                continue;
            }
            let color = Color::from_white(sight.board.white().contains(square));
            let safe = self.mobility[color as usize].of(square).safe;
            if safe.count() > usize::from(landmark_k(kind)) {
                self.safe.push(safe);
                self.chances.push(Chance {
                    square,
                    kind,
                    safe: safe.count() as u8,
                    leaving: [0; MOST_LEFT + 1],
                    by_pawn: 0,
                    attacking: 0,
                });
            }
        }
    }

    /// Tries the quiet moves that go to a safe square.
    fn try_moves(&mut self, position: &Chess, ways: &Ways<'_>, legal: &MoveList, hung: Bitboard) {
        let us = ways.us;
        for &tried in legal {
            if tried.is_capture() || tried.is_promotion() {
                continue;
            }
            let way = Way::of(tried, us);
            let own = &self.mobility[us as usize];
            if !own
                .of_unit(us, way.from, tried.role())
                .safe
                .contains(way.to)
            {
                continue;
            }
            self.left.clear();
            let sound = if tried.is_castle() || ways.may_be_passed(tried) {
                // Two units move, or the pawn may be captured in passing: played out.
                let Some(sound) = self.play_out(position, tried, hung) else {
                    continue;
                };
                Some(sound)
            } else {
                if ways.checks(tried.role(), way.from, way.to) {
                    continue;
                }
                let step = Step::of(ways, tried);
                self.count_left(ways, &step);
                (!self.left.is_empty()).then(|| step.is_sound(ways, hung))
            };
            self.moves.push((tried, sound));
            if sound == Some(true) {
                self.book(tried.role());
            }
        }
    }

    /// Counts what a step leaves the pieces it can restrain.
    fn count_left(&mut self, ways: &Ways<'_>, step: &Step) {
        for (at, (chance, &safe)) in self.chances.iter().zip(&self.safe).enumerate() {
            let known = step.kept(chance.square, safe);
            let k = usize::from(landmark_k(chance.kind));
            if known.count() <= k
                && let Some((safe, attacked)) = step.left(ways, chance, known, k)
            {
                self.left.push(Left { at, safe, attacked });
            }
        }
    }

    /// Plays a move and measures what it leaves; says whether it gives nothing away. `None`
    /// where it gives check.
    fn play_out(&mut self, position: &Chess, tried: Move, hung: Bitboard) -> Option<bool> {
        let us = position.turn();
        let mut after = position.clone();
        after.play_unchecked(tried);
        if after.is_check() {
            return None;
        }
        let sight = Sight::of(after.board());
        let rules = Rules::of(&after);
        self.after.measure(&sight, rules, !us);
        let attacked = sight.control.get(us).all;
        for (at, chance) in self.chances.iter().enumerate() {
            let safe = self.after.of(chance.square).safe.count();
            if safe <= usize::from(landmark_k(chance.kind)) {
                self.left.push(Left {
                    at,
                    safe: safe as u8,
                    attacked: attacked.contains(chance.square),
                });
            }
        }
        let hung = carried_over(tried, us, hung);
        let new = hanging(&sight, &self.after, rules.en_passant, us) & !hung;
        Some(new.is_empty())
    }

    /// Books a move that gives nothing away.
    fn book(&mut self, mover: Role) {
        for left in &self.left {
            let chance = &mut self.chances[left.at];
            if left.attacked {
                chance.attacking += 1;
            } else {
                chance.leaving[usize::from(left.safe)] += 1;
                chance.by_pawn += u8::from(mover == Role::Pawn);
            }
        }
    }
}

impl Step {
    /// Safe squares of a piece after the step and whether it is attacked, where it has no more
    /// than k; `known` are still safe.
    fn left(
        &self,
        ways: &Ways<'_>,
        chance: &Chance,
        known: Bitboard,
        k: usize,
    ) -> Option<(u8, bool)> {
        let Chance { square, kind, .. } = *chance;
        let (board, us) = (self.board(ways), ways.us);
        let occupied = board.occupied();
        let attackers = board.attacks_to(square, us, occupied);
        let piece = Piece {
            color: !us,
            role: kind,
        };
        let mut reach =
            attacks::attacks(square, piece, occupied) & !board.by_color(!us) & !board.kings();
        if attackers.intersects(board.sliders())
            && let Some(king) = ways.their_king
            && is_pinned(board, attackers, king, square)
        {
            reach &= attacks::ray(king, square);
        }
        let mut count = known.count();
        let without = occupied.without(square);
        for to in reach & !known {
            let gain = if board.by_color(us).contains(to) {
                board.role_at(to).map_or(0, value)
            } else {
                0
            };
            if Exchange::on(board, to).holds(!us, value(kind), gain, without) {
                count += 1;
                if count > k {
                    return None;
                }
            }
        }
        (count <= k).then_some((count as u8, attackers.any()))
    }
}

/// Whether a piece stands alone between its king and one of the sliders that attack it.
fn is_pinned(board: &Board, attackers: Bitboard, king: Square, square: Square) -> bool {
    (attackers & board.sliders()).into_iter().any(|slider| {
        let line = attacks::between(king, slider);
        line.contains(square) && (line & board.occupied()).single_square() == Some(square)
    })
}
