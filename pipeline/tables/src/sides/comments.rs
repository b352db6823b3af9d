//! What the comments of a game say of a side: seconds used, evaluations.

use shakmaty::Color;

use super::SidesGame;
use crate::declare::group;
use crate::game_facts::GameFacts;
use crate::values::fraction;

group! {
    /// Time and evaluations of a side: `sides`.
    CommentColumns, CommentHandles;

    /// Seconds used for its moves, by clock comments: for each move but the first the clock after
    /// the move before, less the clock after this one, and the increment.
    seconds_used: Option<f32>, unit "seconds",
        null "no two clock comments one after the other, or not one stage of known time";
    /// Moves whose seconds are in it.
    timed_moves: i32, unit "moves";
    /// Mean evaluation of the positions at its turns, from its side; each between −10 and 10.
    eval_mean: Option<f32>, unit "pawns", null "no evaluation";
    /// Turns in that mean.
    eval_turns: i32, unit "turns";
    /// Evaluation lost by its moves, from its side: what each move made worse, added up. A move
    /// that made it better counts nothing.
    eval_lost: Option<f32>, unit "pawns", null "no evaluation before and after a move";
    /// Moves with an evaluation before and after them.
    eval_moves: i32, unit "moves";
}

/// What the comments say of a side.
#[derive(Clone, Copy, Default)]
struct Said {
    seconds: f64,
    timed: i32,
    /// Hundredths of a pawn.
    eval: i64,
    eval_turns: i32,
    /// Hundredths of a pawn.
    lost: i64,
    eval_moves: i32,
}

impl CommentColumns {
    /// Adds the rows of a game: White's and Black's.
    pub(crate) fn push(&mut self, facts: &GameFacts<'_>, game: &SidesGame<'_>) {
        let mut said = [Said::default(); 2];
        if facts.clocks.iter().any(Option::is_some) {
            count_seconds(facts, game.first, &mut said);
        }
        if facts.evals.iter().any(Option::is_some) {
            count_evals(facts, game.first, &mut said);
        }
        let each = || said.iter();
        let some = |value: f32, count: i32| (count > 0).then_some(value);
        self.seconds_used
            .extend(each().map(|side| some(side.seconds as f32, side.timed)));
        self.timed_moves.extend(each().map(|side| side.timed));
        self.eval_mean.extend(each().map(|side| {
            let mean = side.eval as f64 / (100.0 * f64::from(side.eval_turns));
            some(mean as f32, side.eval_turns)
        }));
        self.eval_turns.extend(each().map(|side| side.eval_turns));
        self.eval_lost.extend(each().map(|side| {
            let lost = match i16::try_from(side.lost) {
                // As the writer codes it.
                Ok(hundredths) => fraction(hundredths, 100.0),
                Err(_) => (side.lost as f64 / 100.0) as f32,
            };
            some(lost, side.eval_moves)
        }));
        self.eval_moves.extend(each().map(|side| side.eval_moves));
    }
}

/// Place of the side that plays the ply at a place among the plies.
fn mover(first: Color, ply: usize) -> usize {
    usize::from(first.is_black() != (ply % 2 == 1))
}

fn count_seconds(facts: &GameFacts<'_>, first: Color, said: &mut [Said; 2]) {
    for ply in 0..usize::from(facts.plies) {
        if let Some(seconds) = facts.seconds_used(ply) {
            let side = &mut said[mover(first, ply)];
            side.seconds += seconds;
            side.timed += 1;
        }
    }
}

fn count_evals(facts: &GameFacts<'_>, first: Color, said: &mut [Said; 2]) {
    for ply in 0..usize::from(facts.plies) {
        let place = mover(first, ply);
        let color = if place == 0 {
            Color::White
        } else {
            Color::Black
        };
        let Some(before) = facts.hundredths(ply, color) else {
            continue;
        };
        let side = &mut said[place];
        side.eval += i64::from(before);
        side.eval_turns += 1;
        // After the move the other side is on move.
        if let Some(after) = facts.hundredths(ply + 1, !color) {
            side.lost += (i64::from(before) + i64::from(after)).max(0);
            side.eval_moves += 1;
        }
    }
}
