//! Tables: the rows of games, plies, spells and observations as Parquet files.
//!
//! A folder of tables is made by [`scan::scan`], and its `manifest.json` says what it holds:
//!
//! ```
//! use std::num::NonZeroUsize;
//!
//! use hobble_archive::listing::Input;
//! use hobble_tables::scan::{Options, Watch, scan};
//! use hobble_tables::spells::SPELLS;
//! use hobble_terms::Table;
//! use hobble_terms::manifest::{Parameters, Provenance};
//!
//! let folder = tempfile::tempdir()?;
//! let archive = folder.path().join("games.pgn");
//! std::fs::write(&archive, "[Event \"Club\"]\n\n1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Qxf7# 1-0\n")?;
//!
//! let options = Options {
//!     parameters: Parameters::default(),
//!     threads: NonZeroUsize::MIN,
//!     provenance: Provenance::default(),
//!     repeats: None,
//!     pseudonyms: None,
//! };
//! let data = folder.path().join("data");
//! let watch = Watch::default();
//! let manifest = scan(&[Input::File(archive)], &data, &options, &watch, &mut |_| ())?;
//! assert_eq!(manifest.account().plies, 7);
//! assert!(Table::Spells.part_file(&data, "games.pgn", 0).exists());
//! assert_eq!(SPELLS.start_ply.name(), "start_ply");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! What a table holds is declared once ([`declare`]), in a file of its own: [`games`],
//! [`moves`], [`spells`], [`turns`] and [`decisions`] (which turns: [`sample`]),
//! [`sides`], [`players`], [`exposure`], [`skipped`]; columns that several have, in [`shared_columns`]. From the declaration follow
//! - its growing columns ([`growing`]), which [`encode`] turns into Parquet row groups;
//!   [`words`] are written as codes, without hashing ([`coded_pages`]);
//! - its columns as readers name them ([`mod@column`]);
//! - its [`description`], the schema files ([`schema`]), the [`dictionary`] and the
//!   [`codebook`];
//! - what follows from other columns ([`formula`]) and is a column of its [`views`] alone.
//!
//! How a folder of tables comes about:
//! - [`gather`]: a block of games turned into rows; [`repeats`]: games read before; [`cube`]: observations counted;
//! - [`pseudonyms`]: names replaced before rows are made;
//! - [`part`]: files that appear whole or not at all;
//! - [`scan`]: all of it, over archives; at its end `one_cube`, the cubes of the parts added up, and
//!   `gathered_players`, the players of all games;
//! - [`join`]: scans made apart under one manifest;
//! - [`recount`]: the files counted again.

mod booking;
pub mod codebook;
pub mod coded_pages;
pub mod column;
pub mod cube;
pub mod decisions;
pub mod declare;
mod derived;
pub mod description;
pub mod dictionary;
pub mod encode;
mod error;
pub mod exposure;
pub mod formula;
pub mod fractions;
mod game_facts;
pub mod games;
pub mod gather;
mod gathered_players;
pub mod growing;
pub mod join;
pub mod layouts;
pub mod moves;
pub mod oddity;
mod of_all_parts;
mod one_cube;
mod packing;
pub mod part;
pub mod players;
pub mod pseudonyms;
pub mod recount;
pub mod repeats;
#[cfg(test)]
mod round_trip;
mod rows;
pub mod sample;
pub mod scan;
pub mod schema;
pub mod shared_columns;
pub mod sides;
pub mod skipped;
pub mod spells;
pub mod turns;
pub mod values;
pub mod views;
pub mod words;

pub use error::Error;
