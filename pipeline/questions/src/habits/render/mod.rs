//! A player's habits as text, CSV, JSON and Markdown.

mod cells;
mod csv;
mod json;
mod markdown;
mod text;

pub use csv::csv;
pub use json::json;
pub use markdown::markdown;
pub use text::text;
