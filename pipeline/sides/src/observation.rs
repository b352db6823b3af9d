//! A position with all that is known of it from `turns`, `moves` and `games`.

use hobble_conditions::AskError;
use hobble_terms::{RatingDiff, Table};

use super::games::{Game, Units};
use super::plies::Reached;
use super::position::Position;

/// Plies before the position at which the squares a side had are looked at: three moves.
pub const BEFORE: u16 = 6;

/// Pawns by which a side must be worse off for material to count as lost.
pub const WORSE: i16 = 2;

/// A position that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Observation {
    /// From `turns`.
    pub position: Position,
    /// Units of the side on move and of the other.
    pub units: [Units; 2],
    /// Scope balance by kind of unit.
    pub kinds: [i32; 6],
    /// Scope balance three moves before, where material was as level then: `None` otherwise.
    pub before: Option<i32>,
    /// Whether the side is two pawns worse or more so many moves later.
    pub lost: bool,
    /// Rating less the opponent's in points.
    pub rating: Option<i32>,
    /// Fold of the player on move.
    pub player: u8,
}

impl Observation {
    /// Scope balance.
    pub fn scope(&self) -> i32 {
        i32::from(self.position.own) - i32::from(self.position.other)
    }

    /// A position of a game; `None` where the ply before was not quiet.
    ///
    /// # Errors
    ///
    /// Where the tables do not agree.
    pub fn of(
        position: Position,
        game: &Game,
        reached: &[Reached],
        within: u32,
    ) -> Result<Option<Observation>, AskError> {
        let at = |ply: u16| reached.get(usize::from(ply).checked_sub(1)?);
        let (Some(here), Some(last)) = (at(position.ply), reached.last()) else {
            let what = format!(
                "game {} has no ply {}, at which a turn is recorded",
                position.game, position.ply
            );
            return Err(AskError::bad_table(Table::Moves, what));
        };
        if !here.quiet {
            return Ok(None);
        }
        let color = usize::from(!position.white);
        let squares = |kind: usize, color: usize| i32::from(here.safe[color][kind]);
        let kinds: [i32; 6] =
            std::array::from_fn(|kind| squares(kind, color) - squares(kind, 1 - color));
        if kinds.iter().sum::<i32>() != i32::from(position.own) - i32::from(position.other) {
            let what = format!(
                "the safe squares of game {} after ply {} differ from those of its turn",
                position.game, position.ply
            );
            return Err(AskError::bad_table(Table::Turns, what));
        }
        let balance = here.balance_of(color);
        let before = position.ply.checked_sub(BEFORE).and_then(at);
        let before = before.filter(|before| before.balance_of(color) == balance);
        let later = position.ply.saturating_add(2 * within as u16);
        let later = at(later).unwrap_or(last);
        let points = |color: usize| game.ratings[color].map(i32::from);
        let rating = points(color).zip(points(1 - color));
        Ok(Some(Observation {
            position,
            units: [here.units[color], here.units[1 - color]],
            kinds,
            before: before.map(|before| before.scope_balance(color)),
            lost: later.balance_of(color) - balance <= -WORSE,
            rating: rating
                .filter(|_| position.rating_diff != RatingDiff::Unknown)
                .map(|(own, other)| own - other),
            player: game.folds[color],
        }))
    }
}
