//! Questions of every sort by one name: reads a question file, answers it from the tables of a
//! scan, and makes the report of the answer.
//!
//! Each sort of question has a crate of its own, and a line in `Cargo.toml`, of which the build makes
//! [`SORTS`].
//!
//! ```
//! use hobble_questions::Asked;
//!
//! let asked = Asked::load("queen-restrained").unwrap();
//! assert_eq!(asked.sort().about, "claim");
//! assert_eq!(asked.name(), "queen-restrained");
//! ```

mod asked;
mod sorts;

pub use asked::{Answered, Asked, Counts};
pub use sorts::{SORTS, Sorted};
