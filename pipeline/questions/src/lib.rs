//! Questions of every sort by one name: reads a question file, answers it from the tables of a
//! scan, and makes the report of the answer.
//!
//! The sorts have crates of their own: `hobble_comparison`, `hobble_claim`, `hobble_bands`
//! and `hobble_player`.
//!
//! ```
//! use hobble_conditions::terms::About;
//! use hobble_questions::Asked;
//!
//! let asked = Asked::load("queen-restrained").unwrap();
//! assert_eq!(asked.about(), About::Claim);
//! assert_eq!(asked.name(), "queen-restrained");
//! ```

mod asked;

pub use asked::{Answered, Asked, schema};
