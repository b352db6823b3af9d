//! What has become of the held pieces by each of the next twenty moves: exact counts, since
//! every game is known to its end, with the game's end as a competing end.

use super::answer::CurvePoint;
use super::by_fold::{Folds, MOVES, Reached, shares};
use super::held::Held;
use hobble_terms::Fate;

/// Counts a spell that lasted so many turns.
pub fn count(reached: &mut Reached, spell: &Held, turns: u32) {
    let captured = spell.captured(turns);
    for (moves, ends) in (1..).zip(reached) {
        match captured {
            Some((after, fate)) if after <= 2 * moves => {
                ends[match fate {
                    Fate::Lost => 0,
                    Fate::Traded => 1,
                    Fate::Sold | Fate::Survived => 2,
                }] += 1;
            }
            _ => ends[3] += u64::from(spell.over(turns, moves)),
        }
    }
}

/// The curve, from the counts by fold.
pub fn curve(folds: &Folds) -> Vec<CurvePoint> {
    (0..MOVES)
        .map(|at| {
            let [lost, traded, sold, over] = shares(folds, |fold| fold.reached[at]);
            CurvePoint {
                moves: at as u32 + 1,
                lost,
                traded,
                sold,
                over,
            }
        })
        .collect()
}
