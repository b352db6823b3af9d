//! Datasets: the tables of a scan, opened for questions.
//!
//! - [`dataset`]: a folder of tables with its manifest;
//! - [`part`]: one file of a table, read row group by row group;
//! - [`columns`]: rows in memory, column by column;
//! - [`error`]: what can be wrong with a dataset.
//!
//! ```
//! use hobble_dataset::Dataset;
//!
//! let none = Dataset::open("no-such-folder").err().unwrap();
//! assert_eq!(
//!     none.to_string(),
//!     "no-such-folder holds no tables: no manifest.json there; make them with `hobble scan`"
//! );
//! ```

pub mod columns;
pub mod dataset;
pub mod error;
pub mod part;
mod pick;

pub use columns::Rows;
pub use dataset::{Dataset, DatasetSummary, SourceSummary};
pub use error::DatasetError;
pub use part::{Part, PartId};
