//! Tables: the rows of games, plies, spells and observations as Parquet files.
//!
//! - [`schema`]: the machine-readable description of each table, and the data dictionary;
//! - [`codebook`]: the same, one row a variable;
//! - [`column`]: growing columns;
//! - [`games`], [`moves`], [`spells`], [`skipped`], [`exposure`]: one table each;
//! - `coded`: columns of few different values, written without hashing;
//! - [`gather`]: a block of games turned into rows;
//! - [`encode`]: rows turned into Parquet row groups, on the workers;
//! - [`part`]: files that appear whole or not at all;
//! - [`scan`]: all of it, over archives;
//! - [`join`]: scans made apart under one manifest;
//! - [`recount`]: the files counted again.

pub mod codebook;
mod coded;
pub mod column;
pub mod encode;
pub mod exposure;
pub mod games;
pub mod gather;
pub mod join;
pub mod moves;
pub mod part;
pub mod recount;
pub mod scan;
pub mod schema;
pub mod skipped;
pub mod spells;
