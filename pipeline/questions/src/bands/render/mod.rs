//! The answer as text, CSV, JSON and Markdown.

mod csv;
mod json;
mod markdown;
pub mod tables;
mod text;

pub use csv::csv;
pub use json::json;
pub use markdown::markdown;
pub use text::text;
