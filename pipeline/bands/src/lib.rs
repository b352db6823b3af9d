//! Restraint by rating band: the same few measures, split by band and by what else a
//! researcher splits by, as one long table with intervals and tests.
//!
//! A [`BandReport`] is the file that asks; [`answer()`] counts the tables part by part and
//! gives a [`BandsAnswer`]; [`mod@report`] and [`write_parquet`] write it down.
//!
//! ```
//! use hobble_bands::BandReport;
//!
//! let file = "format = 1\nabout = \"bands\"\ntitle = \"T\"\ntext = \"x\"\nk = 1\n";
//! let report = BandReport::parse("levels", "levels.toml", file).unwrap();
//! assert_eq!(report.k, 1);
//! ```

mod answer;
mod by_level;
mod by_player;
mod by_ratings;
mod chances;
mod counts;
mod cube;
mod figures;
mod file;
mod games;
mod held_turns;
mod long_table;
mod measures;
mod methods;
mod moves;
mod of_sides;
mod per_side;
mod players;
mod plots;
mod rating_model;
pub mod report;
mod shown_cells;
mod side_counts;
mod side_products;
mod side_tables;
mod sides_of_part;
mod spells;
mod state;
mod tests_of_cells;
mod work;

pub use answer::{BandCell, BandsAnswer, BandsParameters, Multiplicity, ScanParameters, Trend};
pub use file::BandReport;
pub use file::BandReport as Question;
pub use long_table::write_parquet;
pub use measures::{Measure, Split};
pub use methods::definition;
pub use rating_model::{Effect, RatingModel};
pub use report::report;
pub use work::answer;

/// Version of the shape of [`BandsAnswer`].
pub const FORMAT: u32 = 2;
