//! Folds: the groups of games that the jackknife leaves out, one at a time.

/// Number of folds.
pub const FOLDS: usize = 64;

/// The fold of a game, from 0 to [`FOLDS`] − 1.
#[inline]
pub const fn fold(game_id: u64) -> u8 {
    (game_id % FOLDS as u64) as u8
}
