//! One player's habits: how the player's pieces get held and by whose move, how long they are
//! left so, what becomes of them, which replies were missed, and how often the player holds
//! and wins the opponent's pieces, compared with peers.
//!
//! [`Habits`] is the question, [`Player`] whom it is asked of, [`answer()`] brings them and the
//! tables together into a [`HabitsAnswer`], which [`report()`] writes out. It is two sums over the
//! parts: [`OwnSides`] finds the player's games, [`BesidePeers`] counts them and those of peers.
//!
//! ```
//! use hobble_player::Habits;
//!
//! let file = "format = 1\nabout = \"player\"\ntitle = \"T\"\ntext = \"x\"\nk = 1\n";
//! let habits = Habits::parse("mine", "mine.toml", file).unwrap();
//! assert_eq!(habits.k, 1);
//! ```

pub mod answer;
mod ask;
mod chances;
mod compared;
mod count;
mod figure;
mod file;
pub mod findings;
mod first_moves;
mod games_to_see;
mod hurry;
mod judge;
mod measures;
mod missed;
mod missed_chances;
mod names;
pub mod norms;
mod notes;
mod openings;
mod own;
mod own_spells;
mod peer_counts;
mod peer_sides;
mod peers;
mod peers_alone;
mod piece_turns;
mod plots;
mod prevention;
mod replays;
mod replies;
pub mod report;
mod sampled_measures;
mod shown;
mod sides;
#[cfg(test)]
mod simulated;
mod sort;
mod spells;
mod standardised;
mod state;
mod steps;
mod tally;
mod tidy;
mod to_show;
mod too_few;
mod trend;

pub use answer::HabitsAnswer;
pub use ask::{BesidePeers, answer};
pub use file::Habits;
pub use file::Habits as Question;
pub use hobble_conditions::Player;
pub use norms::Norms;
pub use own::OwnSides;
pub use report::report;
