//! What the rows of pieces in one game have in common, and what its comments say at a turn.

use hobble_game::comment::Eval;
use hobble_terms::{Band, GameResult, RatingDiff, TimeClass, TimeControl};
use shakmaty::Color;
use xxhash_rust::xxh3::xxh3_64;

use crate::fractions::Fractions;
use crate::values::fraction;
use crate::words::OwnerResult;

/// Highest evaluation that is kept, in hundredths of a pawn; a mate counts as much.
const MOST: i16 = 1_000;

/// Moves after which a sampled turn's change of evaluation is kept.
pub const EVAL_AFTER: [usize; 4] = [1, 3, 5, 10];

/// What the rows of pieces in one game have in common.
pub struct GameFacts<'a> {
    /// Number in the source.
    pub number: u32,
    /// Fold.
    pub fold: u8,
    /// Groups of the players of White and Black.
    pub player_folds: [Option<u8>; 2],
    /// Plies of the game.
    pub plies: u16,
    /// Bands of White and Black.
    pub bands: [Band; 2],
    /// Rating difference seen from White and from Black.
    pub diffs: [RatingDiff; 2],
    /// Time class.
    pub time_class: TimeClass,
    /// Result.
    pub result: GameResult,
    /// Time control, where its tag can be read.
    pub control: Option<TimeControl>,
    /// Seconds left after each ply, from clock comments.
    pub clocks: &'a [Option<f32>],
    /// Evaluation after each ply, from evaluation comments.
    pub evals: &'a [Option<Eval>],
}

impl GameFacts<'_> {
    /// Codes of the bands of White and Black.
    pub fn band_codes(&self) -> [u8; 2] {
        self.bands.map(|band| band.code(Band::WIDTH))
    }

    /// The result as White and Black see it.
    pub fn results(&self) -> [OwnerResult; 2] {
        Color::ALL.map(|owner| OwnerResult::of(self.result, owner))
    }

    /// Time the side on move at `position` has left, from the last comment on one of its plies;
    /// before its first ply the base of its time control. Of a game with clock comments.
    pub fn clock_before(&self, position: u16) -> Option<f32> {
        if position < 2 {
            return self.control.map(|control| control.base as f32);
        }
        // Its plies are number position − 1, position − 3, …; ply n is at n − 1.
        (1..usize::from(position))
            .rev()
            .step_by(2)
            .find_map(|ply| self.clocks.get(ply - 1).copied().flatten())
    }

    /// Seconds that the side on move at `position` uses for its move (definitions, section 8).
    pub fn seconds_used(&self, position: usize) -> Option<f64> {
        let control = self.control.filter(|control| control.one_stage)?;
        let clock = |ply: usize| self.clocks.get(ply).copied().flatten().map(f64::from);
        let (before, after) = (clock(position.checked_sub(2)?)?, clock(position)?);
        Some(before - after + f64::from(control.increment))
    }

    /// Adds the seconds used at some turns, by their positions.
    pub fn push_seconds_used(
        &self,
        positions: impl ExactSizeIterator<Item = u16> + Clone,
        column: &mut Fractions,
    ) {
        if self.control.is_some() && self.clocks.iter().any(Option::is_some) {
            let used = |position: u16| self.seconds_used(position.into());
            column.extend(positions.map(|position| used(position).map(|seconds| seconds as f32)));
        } else {
            column.extend_nulls(positions.len());
        }
    }

    /// Evaluation of a position at which `owner` is on move, from its side, in pawns.
    pub fn eval(&self, position: usize, owner: Color) -> Option<f32> {
        Some(pawns(self.hundredths(position, owner)?))
    }

    /// Change of the evaluation, from the side of `owner` on move, in some moves.
    pub fn eval_change(&self, position: usize, owner: Color, moves: usize) -> Option<f32> {
        let now = self.hundredths(position, owner)?;
        let later = self.hundredths(position + 2 * moves, owner)?;
        Some(pawns(later - now))
    }

    /// Adds what the comments say at some turns: time left, evaluation, and its changes `after`
    /// so many moves. A game without such comments adds nulls.
    pub fn push_comments<const N: usize>(
        &self,
        turns: impl ExactSizeIterator<Item = (u16, Color)> + Clone,
        clock: &mut Fractions,
        eval: &mut Fractions,
        (after, changes): (&[usize; N], &mut [Fractions; N]),
    ) {
        if self.clocks.iter().any(Option::is_some) {
            clock.extend(turns.clone().map(|(ply, _)| self.clock_before(ply)));
        } else {
            clock.extend_nulls(turns.len());
        }
        if self.evals.iter().any(Option::is_some) {
            let at = turns.map(|(ply, color)| (usize::from(ply), color));
            eval.extend(at.clone().map(|(ply, color)| self.eval(ply, color)));
            for (&moves, column) in after.iter().zip(changes) {
                let of = |(ply, color)| self.eval_change(ply, color, moves);
                column.extend(at.clone().map(of));
            }
        } else {
            for column in std::iter::once(eval).chain(changes) {
                column.extend_nulls(turns.len());
            }
        }
    }

    /// Evaluation of a position at which `owner` is on move, from its side, in hundredths of a
    /// pawn.
    pub fn hundredths(&self, position: usize, owner: Color) -> Option<i16> {
        let eval = (*self.evals.get(position.checked_sub(1)?)?)?;
        let sign = owner.fold_wb(1, -1);
        Some(match eval {
            Eval::Pawns(pawns) => {
                let hundredths = (f64::from(pawns) * 100.0).round();
                sign * hundredths.clamp(f64::from(-MOST), f64::from(MOST)) as i16
            }
            // The side on move is mated.
            Eval::Mate(0) => -MOST,
            Eval::Mate(moves) => sign * moves.signum() * MOST,
        })
    }
}

/// Group of a player by the key of the name (definitions, section 9).
pub fn player_fold(key: &str) -> u8 {
    hobble_terms::fold::fold(xxh3_64(key.as_bytes()))
}

fn pawns(hundredths: i16) -> f32 {
    fraction(hundredths, 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_before_the_first_ply_is_the_base() {
        let clocks = [Some(179.0), None, None, Some(170.5)];
        let with = |control: &[u8]| GameFacts {
            plies: 4,
            control: TimeControl::parse(control),
            clocks: &clocks,
            ..facts(&[])
        };
        let clock = |facts: &GameFacts<'_>| [0, 1, 2, 3, 4, 5].map(|p| facts.clock_before(p));
        let before = [Some(180.0); 2];
        let later = [Some(179.0), None, Some(179.0), Some(170.5)];
        assert_eq!(clock(&with(b"180+2"))[..2], before);
        assert_eq!(clock(&with(b"180+2"))[2..], later);
        assert_eq!(clock(&with(b"?"))[..2], [None; 2]);
        assert_eq!(clock(&with(b"40/7200:3600"))[0], Some(7200.0));
    }

    fn facts(evals: &[Option<Eval>]) -> GameFacts<'_> {
        GameFacts {
            number: 1,
            fold: 0,
            player_folds: [None; 2],
            plies: 5,
            bands: [Band::Missing; 2],
            diffs: [RatingDiff::Unknown; 2],
            control: TimeControl::parse(b"180+2"),
            time_class: TimeClass::Unknown,
            result: GameResult::Unknown,
            clocks: &[],
            evals,
        }
    }

    #[test]
    fn evaluations_are_the_owners_and_bounded() {
        let evals = [
            Some(Eval::Pawns(0.35)),
            Some(Eval::Pawns(-25.0)),
            None,
            Some(Eval::Mate(3)),
            Some(Eval::Mate(0)),
        ];
        let facts = facts(&evals);
        assert_eq!(facts.eval(0, Color::White), None);
        assert_eq!(facts.eval(1, Color::Black), Some(-0.35));
        assert_eq!(facts.eval(2, Color::White), Some(-10.0));
        assert_eq!(facts.eval_change(2, Color::White, 1), Some(20.0));
        assert_eq!(facts.eval_change(1, Color::Black, 1), None);
        assert_eq!(facts.eval_change(1, Color::Black, 2), Some(-9.65));
        assert_eq!(facts.eval_change(4, Color::White, 1), None);
    }
}
