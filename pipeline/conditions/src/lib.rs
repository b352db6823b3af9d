//! What a question file says and which rows of the tables pass: fields, filter keys, filters;
//! and what the sorts of question share in their work: errors, sums over parts, words.
//!
//! A field is declared once ([`mod@fields`]); those that several sorts of question take are in
//! [`filter_keys`]. A sort lists its fields with [`question_file!`], and the reader of its
//! files, their schema, the conditions on rows and the words for a reader follow:
//!
//! ```
//! use hobble_conditions::asked_rows::AskedRows;
//! use hobble_conditions::{filter::Condition, filter_keys as keys, question_file};
//!
//! question_file! {
//!     /// Which pieces are looked at.
//!     pub struct Looked("pieces", "Pieces looked at") {
//!         head,
//!         kinds: keys::Kinds,
//!         k: keys::SafeSquares,
//!     }
//! }
//!
//! let file = r#"
//! format = 1
//! about = "pieces"
//! title = "Knights"
//! text = "Where do they stand?"
//! kinds = ["knight"]
//! k = 1
//! "#;
//! let looked = Looked::parse("knights", "knights.toml", file).unwrap();
//! assert_eq!(
//!     looked.conditions(AskedRows::Spells, &["k"]),
//!     [Condition::OneOf("kind", vec!["knight"])]
//! );
//! let mistake = Looked::parse("knights", "knights.toml", &file.replace("k = 1", "k = 7"));
//! assert_eq!(
//!     mistake.unwrap_err().to_string(),
//!     "knights.toml, line 7, field \"k\": 7 is not a whole number from 0 to 4"
//! );
//! ```

pub mod any_state;
pub mod asked_rows;
pub mod chosen;
pub mod circumstances;
pub mod counted;
pub mod counting;
mod error;
pub mod fields;
pub mod filter;
pub mod filter_keys;
mod given;
mod opening;
mod question_file;
mod question_text;
mod scans;
pub mod shipped;
pub mod sort;
pub mod sum;
pub mod terms;
pub mod text_test;
pub mod words;

pub use error::AskError;
pub use given::{Given, Overrides, Peers, Player};
pub use opening::Opening;
pub use question_text::QuestionText;
