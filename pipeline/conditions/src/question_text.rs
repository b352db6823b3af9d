//! The words of a question file.

use serde::{Deserialize, Serialize};

/// The words of a question file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuestionText {
    /// Name it is asked by: the file's name without `.toml`.
    pub name: String,
    /// Title for readers.
    pub title: String,
    /// Text for readers; paragraphs parted by an empty line.
    pub text: String,
}
