//! A training claim, put to the games: pieces restrained in a certain way are lost more often.
//!
//! From the file to the answer: [`mod@file`] reads the claim; `held` reads its spells; `turn`
//! reads its pieces and the free ones they are compared with; `choice` lists what is compared;
//! `state` counts part by part into `cells`, `twins`, `by_fold`, [`by_turn`], `score` and `candidates`;
//! `decision_rows` the chances to restrain;
//! `compare`, `twins`, `decision`, `guards`, `curve` and `ends` make the figures; `evidence` puts them on
//! the ladder of evidence, and `verdict` into words; `examples` gives the games and the quiz;
//! [`confirmation`] is what a locked half of the games said;
//! `turned` counts a claim for other terms as well, and `turned_terms` packs that for its page;
//! `work` brings all together into an answer ([`mod@answer`]); [`mod@report`] and `pgn` write
//! it.
//!
//! ```
//! use hobble_claim::Claim;
//!
//! let file = r#"
//! format = 1
//! about = "claim"
//! title = "A knight on the rim"
//! text = "Is it lost more often?"
//! kinds = ["knight"]
//! k = 1
//! "#;
//! let claim = Claim::parse("rim", "rim.toml", file).unwrap();
//! assert_eq!(claim.in_words(), "knights held to one safe square at most");
//! ```

pub mod answer;
mod by_fold;
pub mod by_turn;
mod by_turn_report;
mod candidates;
pub mod cells;
pub mod choice;
pub mod compare;
pub mod confirmation;
mod count;
mod count_bytes;
mod curve;
mod decision;
mod decision_report;
mod decision_rows;
mod decision_words;
mod ends;
mod evidence;
pub mod evidence_report;
mod examples;
pub mod file;
mod games;
mod guard_figures;
pub mod guards;
mod held;
mod listing;
pub mod matching;
pub mod outcome;
mod pgn;
mod plots;
pub mod report;
mod report_lines;
mod report_words;
mod row_words;
mod score;
mod shown;
mod side;
pub mod side_by_side;
mod side_guard;
mod side_report;
mod side_words;
mod state;
pub mod stratum;
mod times_words;
pub mod turn;
mod turned;
pub mod twins;
mod verdict;
pub mod wanted;
mod work;

pub use answer::ClaimAnswer;
pub use evidence::Finds;
pub use file::Claim;
pub use file::Claim as Question;
pub use games::examples_report;
pub use listing::text as examples_text;
pub use matching::{Matching, matching};
pub use pgn::pgn;
pub use report::report;
pub use side_words::in_short as side_in_short;
pub use state::State;
pub use turned::Terms;
pub use wanted::{Examples, Wanted, find as find_examples};
pub use work::answer;
