//! The chess kernel: what each unit can reach, where it is safe, and what becomes of it.
//!
//! Nothing here reads or writes files. The words are those of `schemas/definitions.md`;
//! section numbers in the docs refer to it. From the bottom up:
//!
//! - [`material`]: values and the phase of the game;
//! - [`sight`]: what every unit attacks in a position;
//! - [`exchange`]: static exchange evaluation on one square;
//! - [`rules`]: castling rights and en passant beside the board;
//! - [`side`]: which squares are safe for a piece of a side;
//! - [`pawns`]: reach and safe squares of all pawns of a side at once;
//! - [`mobility`]: reach and safe squares of a side in a position;
//! - [`lanes`]: all that for eight consecutive positions of a game at once;
//! - [`san`]: moves in SAN;
//! - [`trials`]: legal moves tried, and which of them restrain a piece;
//! - [`chances`], [`step`]: the same for the enemy pieces of a sampled turn, by sets;
//! - [`survey`]: all of that for a single position, for reading;
//! - [`roster`]: the identity of pieces;
//! - [`ply`]: what one ply did;
//! - [`capture_runs`]: captured units lost, traded or sold;
//! - [`surroundings`], [`wedge`]: attackers and defenders of a piece, bishops behind a wedge;
//! - [`spell`], [`exposure`]: restriction spells and observations;
//! - [`turn`]: pieces at sampled turns and landmarks;
//! - [`decision`]: chances to restrain at sampled turns, and what was played;
//! - [`track`]: one game followed from its first ply to its last.
//!
//! ```
//! use hobble_tracks::survey::Survey;
//! use shakmaty::{Chess, Square};
//!
//! // A knight at home has two squares, and nothing attacks them.
//! let start = Survey::of(&Chess::new());
//! let knight = start.unit(Square::B1).unwrap();
//! assert_eq!(knight.safe.count(), 2);
//! ```

pub mod capture_runs;
pub mod chances;
pub mod decision;
pub mod exchange;
pub mod exposure;
pub mod lanes;
pub mod material;
pub mod mobility;
pub mod pawns;
pub mod ply;
pub mod roster;
pub mod rules;
pub mod san;
pub mod side;
pub mod sight;
pub mod spell;
pub mod step;
pub mod surroundings;
pub mod survey;
pub mod track;
pub mod trials;
pub mod turn;
pub mod wedge;
