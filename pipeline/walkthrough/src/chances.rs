//! Turns at which a quiet move would have restrained a piece.

use std::cmp::Reverse;

use hobble_terms::value;
use hobble_tracks::roster::Slot;
use hobble_tracks::side::Measured;
use hobble_tracks::trials::{Left, Measures, Trial};
use shakmaty::{Chess, Move, Position as _, Square};

use crate::follow::Followed;
use crate::lines::{holds_for, last_turn};
use crate::tries::Tried;

/// A quiet move that restrains a piece.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Its place among the moves tried at the position.
    pub tried: usize,
    /// What it leaves the piece.
    pub left: Left,
    /// Legal replies after which the piece has more than k safe squares at once, their own unit
    /// going to a safe square.
    pub freeing: Vec<Move>,
    /// Whether it was played.
    pub played: bool,
}

/// A turn at which a developed piece of the other side could be restrained.
#[derive(Clone, Debug)]
pub struct Chance {
    /// Position of the turn.
    pub position: usize,
    /// The piece.
    pub slot: Slot,
    /// Where it stands.
    pub square: Square,
    /// Moves that restrain it and give nothing away, best first: those that leave the fewest
    /// safe squares, then those with the fewest replies that free it.
    pub answers: Vec<Answer>,
}

/// Most replies that free the piece for a restraint that is worth showing.
const MOST_FREEING: usize = 2;

impl Answer {
    /// Whether two replies at most free the piece at once.
    pub fn is_worth_showing(&self) -> bool {
        self.freeing.len() <= MOST_FREEING
    }

    /// Safe squares it takes from the piece.
    pub fn taken(&self) -> usize {
        (self.left.before & !self.left.after).count()
    }
}

impl Chance {
    /// Whether the move played is among the answers.
    pub fn was_played(&self) -> bool {
        self.answers.iter().any(|answer| answer.played)
    }

    /// Order of chances, the best first: the fewest safe squares left, the fewest replies that
    /// free the piece, the most squares taken, the dearest piece, the earliest.
    pub fn rank(&self) -> (usize, usize, Reverse<usize>, i32, usize) {
        let none = (usize::MAX, 0, Reverse(0), 0, self.position);
        self.answers.first().map_or(none, |answer| {
            let left = &answer.left;
            (
                left.after.count(),
                answer.freeing.len(),
                Reverse(answer.taken()),
                -value(left.kind),
                self.position,
            )
        })
    }
}

/// All chances of a game at k. `tries` are the moves tried at each position.
pub fn chances(game: &Followed, tries: &[Vec<Tried>], k: u8) -> Vec<Chance> {
    let mut chances: Vec<Chance> = Vec::new();
    for (position, played) in game.plies.iter().enumerate() {
        let begin = chances.len();
        for (nth, tried) in tries[position].iter().enumerate() {
            for left in tried.quiet.iter().flatten() {
                let slot = slot_on(game, position, left.square);
                let developed = game.beings[usize::from(slot)].developed;
                if !left.is_restrained(k) || developed.is_none_or(|since| since > position) {
                    continue;
                }
                let answer = Answer {
                    tried: nth,
                    left: *left,
                    freeing: freeing(&tried.after, left.square, k),
                    played: tried.played == played.played,
                };
                match chances[begin..].iter_mut().find(|one| one.slot == slot) {
                    Some(chance) => chance.answers.push(answer),
                    None => chances.push(Chance {
                        position,
                        slot,
                        square: left.square,
                        answers: vec![answer],
                    }),
                }
            }
        }
        for chance in &mut chances[begin..] {
            chance.answers.sort_by_key(|answer| {
                (
                    answer.left.after.count(),
                    answer.freeing.len(),
                    answer.tried,
                )
            });
        }
    }
    chances
}

/// The chances that were missed: the move played was quiet too, none of the answers was
/// played, the best answer is [worth showing](Answer::is_worth_showing) and leaves no safe square or takes
/// two at least, and the piece was not restrained now or by the side's next move either.
pub fn missed<'a>(game: &'a Followed, chances: &'a [Chance], k: u8) -> Vec<&'a Chance> {
    chances
        .iter()
        .filter(|chance| {
            let plain = chance.answers.first().is_some_and(|answer| {
                answer.is_worth_showing() && (answer.left.after.is_empty() || answer.taken() >= 2)
            });
            let quiet = game.plies[chance.position].facts.is_quiet();
            let restrained = game.spells.iter().any(|spell| {
                spell.slot == chance.slot
                    && holds_for(spell, k)
                    && spell.is_restrained()
                    && usize::from(spell.start) <= chance.position + 3
                    && last_turn(spell) > chance.position
            });
            plain && quiet && !chance.was_played() && !restrained
        })
        .collect()
}

fn slot_on(game: &Followed, position: usize, square: Square) -> Slot {
    game.positions[position]
        .units
        .iter()
        .find(|unit| unit.square == square)
        .map_or(0, |unit| unit.slot)
}

/// Legal replies that go to a safe square of their own unit and leave the piece on a square
/// more than k safe squares, be it by moving the piece itself.
fn freeing(after: &Chess, square: Square, k: u8) -> Vec<Move> {
    let before = Measures::of(after);
    after
        .legal_moves()
        .into_iter()
        .filter(|&reply| {
            let trial = Trial::of(after, reply);
            let safe = before
                .unit(trial.from)
                .is_some_and(|unit| unit.safe.contains(trial.to));
            let now = if reply.from() == Some(square) {
                trial.to
            } else {
                square
            };
            let more = |unit: Measured| unit.safe.count() > usize::from(k);
            safe && trial.measures.unit(now).is_some_and(more)
        })
        .collect()
}
