//! How much there must be for a figure to be shown. What happens with less is said by the sort
//! that takes the key.

use crate::fields::shape::number;

crate::fields! {
    /// The least number of turns.
    MinimumTurns<const LEAST: u64>("minimum_turns"): u64 = LEAST, in number(0..=1_000_000_000);

    /// The least number of games.
    MinimumGames("minimum_games"): u64 = 20, in number(0..=1_000_000_000);

    /// The least number of folds.
    MinimumFolds("minimum_folds"): u32 = 5, in number(0..=64);
}
