//! An answer as text, CSV, JSON and Markdown.

mod cells;
mod csv;
mod json;
mod markdown;
mod text;

pub(crate) use cells::plain;
pub(crate) use csv::Line;
pub use csv::csv;
pub use json::json;
pub use markdown::markdown;
pub(crate) use markdown::{escape, rows_of};
pub use text::text;
pub(crate) use text::{paragraph, table};

#[cfg(test)]
pub(crate) mod sample;
