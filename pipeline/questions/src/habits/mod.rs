//! One player's habits: how the player's pieces get held and by whose move, how long they are
//! left so, what becomes of them, which replies were missed, and how often the player holds
//! and wins the opponent's pieces, compared with peers.
//!
//! [`Habits`] is the question, [`Player`] whom it is asked of, [`answer()`] brings them and the
//! tables together into a [`HabitsAnswer`], which [`report()`] writes out.

pub mod answer;
mod ask;
mod file;
mod games_to_see;
mod measures;
mod missed;
mod names;
mod notes;
mod own_spells;
mod peers;
mod replies;
pub mod report;
mod sides;
mod tally;
mod tidy;
mod trend;

pub use crate::asked::Player;
pub use answer::HabitsAnswer;
pub use ask::answer;
pub use file::Habits;
pub use report::report;
