//! Fields of question files: each is declared once, as a [`Field`], and from that follow how a
//! file is read, what a mistake is called, what its JSON schema says, which rows of a table
//! pass and how it is said to a reader.
//!
//! A sort of question lists its fields with [`question_file!`](crate::question_file). Fields
//! that several sorts take are in [`filter_keys`](crate::filter_keys).

pub mod bounds;
pub mod date;
mod declare;
mod field;
mod reader;
pub mod schema;
pub mod shape;
pub mod squares;

#[doc(hidden)]
pub use field::same_text;
pub use field::{Field, Said, put};
pub use reader::{Reader, about};

use crate::question_text::QuestionText;

/// Version of the format of question files.
pub const FORMAT: i64 = 1;

/// What a file is about that does not say.
pub const UNSAID: &str = "comparison";

/// What a sort of question says of its files.
pub trait QuestionFile: std::fmt::Debug + Sized {
    /// What its files are about.
    const ABOUT: &'static str;
    /// Title of the schema.
    const TITLE: &'static str;
    /// Names of its fields, in order, without those that every file has.
    const FIELDS: &'static [&'static str];

    /// Reads the fields; mistakes are collected by the reader.
    fn read(name: &str, reader: &mut Reader<'_>) -> Self;

    /// Its name and its texts.
    fn texts(&self) -> QuestionText;

    /// The fields as the schema describes them, in order.
    fn properties() -> Vec<(&'static str, serde_json::Value)>;

    /// Names of the fields that every sort has: the width of rating bands, and which games and sides are
    /// looked at.
    fn of_every_sort() -> Vec<&'static str>;

    /// What it asks of the rows of `sides`: which sides of which games are looked at.
    fn of_sides(&self) -> Vec<crate::filter::Condition<'_>>;

    /// The sources looked at; empty for all.
    fn sources(&self) -> &[String];

    /// Whether some sides of some games alone are looked at.
    fn chooses_sides(&self) -> bool {
        !self.of_sides().is_empty() || !self.sources().is_empty()
    }

    /// The fields that choose games and sides, in words.
    fn sides_said(&self) -> Vec<Said>;

    /// Width of its rating bands in points.
    fn band_width(&self) -> u16;

    /// Whether its fields can be met by rows with its rating bands.
    ///
    /// # Errors
    ///
    /// The first field that asks for what no row can have.
    fn check(&self) -> Result<(), crate::AskError>;

    /// The question with what is given beside it in the place of what its file says.
    ///
    /// # Errors
    ///
    /// Where a value is out of range, or of a field that is not asked here.
    fn overridden(&self, overrides: &crate::Overrides) -> Result<Self, crate::AskError>;

    /// Reads a question from the text of its file; `file` is named in errors.
    ///
    /// # Errors
    ///
    /// The first mistake in the file, with its line and field.
    fn parsed(name: &str, file: &str, text: &str) -> Result<Self, crate::AskError> {
        let mut reader = Reader::open::<Self>(file, text)?;
        let read = Self::read(name, &mut reader);
        reader.finish().map(|()| read)
    }
}
