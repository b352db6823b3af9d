//! Datasets: the tables of a scan, opened for questions.
//!
//! - [`dataset`]: a folder of tables with its manifest;
//! - [`part`]: one file of a table, read row group by row group;
//! - [`chosen_sides`]: some sides of the games, whose rows alone are read;
//! - [`columns`]: rows in memory, column by column;
//! - [`frame`]: the rows of a table as a lazy frame;
//! - [`error`]: what can be wrong with a dataset.
//!
//! ```
//! use std::collections::BTreeMap;
//!
//! use hobble_dataset::{Dataset, DatasetError};
//! use hobble_terms::Table;
//! use hobble_terms::manifest::{Manifest, Parameters};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let folder = tempfile::tempdir()?;
//! let missing = Dataset::open(folder.path());
//! assert!(matches!(missing, Err(DatasetError::NoDataset { .. })));
//!
//! // A scan that wrote nothing yet.
//! let parameters = Parameters {
//!     tables: vec![Table::Games],
//!     ..Parameters::default()
//! };
//! Manifest::new(parameters, BTreeMap::new()).save(folder.path())?;
//! let dataset = Dataset::open(folder.path())?;
//! assert!(!dataset.complete() && !dataset.has(Table::Games));
//! # Ok(())
//! # }
//! ```

pub mod chosen_sides;
mod chunks;
pub mod columns;
pub mod dataset;
mod derived;
pub mod error;
pub mod frame;
pub mod part;
mod pick;
mod summary;
mod wide_bands;

pub use chosen_sides::{ChosenSides, ChosenSummary, SidesOfSource};
pub use columns::Rows;
pub use dataset::Dataset;
pub use error::DatasetError;
pub use part::{Part, PartId};
pub use summary::{DatasetSummary, SourceSummary};
