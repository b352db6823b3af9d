//! Turns at which a quiet move would have restrained a piece.

use hobble_terms::value;
use hobble_tracks::roster::Slot;
use hobble_tracks::trials::{Left, Trial};
use shakmaty::{Chess, Position as _, Square};

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
    /// Whether no reply gives the piece more than k safe squares at once.
    pub lasting: bool,
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
    /// Moves that restrain it and give nothing away, best first: lasting ones, then those
    /// that leave the fewest squares.
    pub answers: Vec<Answer>,
}

impl Chance {
    /// Whether the move played is among the answers.
    pub fn was_played(&self) -> bool {
        self.answers.iter().any(|answer| answer.played)
    }

    /// Order of chances, the best first: the fewest squares left, the most taken, the dearest
    /// piece, the earliest.
    pub fn rank(&self) -> (usize, usize, i32, usize) {
        self.answers
            .first()
            .map_or((usize::MAX, 0, 0, self.position), |answer| {
                let left = &answer.left;
                let taken = (left.before & !left.after).count();
                (
                    left.after.count(),
                    usize::MAX - taken,
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
                    lasting: is_lasting(&tried.after, left.square, k),
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
            chance
                .answers
                .sort_by_key(|answer| (!answer.lasting, answer.left.after.count(), answer.tried));
        }
    }
    chances
}

/// The chances that were missed: the move played was quiet too, none of the answers was
/// played, at least one answer lasts, and the piece was not restrained now or by the side's
/// next move either.
pub fn missed<'a>(game: &'a Followed, chances: &'a [Chance], k: u8) -> Vec<&'a Chance> {
    chances
        .iter()
        .filter(|chance| {
            let lasts = chance.answers.first().is_some_and(|answer| answer.lasting);
            let quiet = game.plies[chance.position].facts.is_quiet();
            let restrained = game.spells.iter().any(|spell| {
                spell.slot == chance.slot
                    && holds_for(spell, k)
                    && spell.is_restrained()
                    && usize::from(spell.start) <= chance.position + 3
                    && last_turn(spell) > chance.position
            });
            lasts && quiet && !chance.was_played() && !restrained
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

/// Whether there are legal replies, none of them leaves the piece on a square more than k safe
/// squares, be it by moving the piece itself, and the piece cannot capture anything.
fn is_lasting(after: &Chess, square: Square, k: u8) -> bool {
    let replies = after.legal_moves();
    !replies.is_empty()
        && replies.into_iter().all(|reply| {
            let own = reply.from() == Some(square);
            if own && reply.is_capture() {
                return false;
            }
            let trial = Trial::of(after, reply);
            let now = if own { trial.to } else { square };
            trial
                .measures
                .unit(now)
                .is_some_and(|unit| unit.safe.count() <= usize::from(k))
        })
}
