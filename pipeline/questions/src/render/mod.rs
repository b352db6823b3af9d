//! An answer as text, CSV, JSON and Markdown.

pub(crate) mod cells;
pub(crate) mod csv;
mod json;
pub(crate) mod markdown;
pub(crate) mod text;

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
