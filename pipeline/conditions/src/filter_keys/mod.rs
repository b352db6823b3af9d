//! Fields that several sorts of question share: the pieces looked at, and the filters.
//!
//! A key is declared here once: name, meaning, values, default, the side of a comparison it
//! narrows, what it asks of rows of each table, and its words for a reader. A sort takes it by naming it in its list of fields
//! (`question_file!` in the sort's own file).

mod game;
mod least;
mod outcome;
mod piece;
mod restriction;
mod sides;
mod standing;

pub use game::*;
pub use least::*;
pub use outcome::*;
pub use piece::*;
pub use restriction::*;
pub use sides::*;
pub use standing::*;

use std::fmt::Display;

use hobble_terms::Word;

use crate::fields::Said;
use crate::filter::Condition;
use crate::terms::YesNo;

/// The word in a column is one of these; no condition where there are none.
fn any_of<T: Word>(column: &'static str, words: &[T]) -> Condition<'static> {
    if words.is_empty() {
        return Condition::Always;
    }
    Condition::OneOf(column, words.iter().map(|word| word.word()).collect())
}

/// A boolean column has the wanted value.
fn is(column: &'static str, wanted: YesNo) -> Condition<'static> {
    wanted
        .wanted()
        .map_or(Condition::Always, |wanted| Condition::Is(column, wanted))
}

/// A list in words, `a or b`.
fn listed<T: Display>(name: &'static str, values: &[T]) -> Option<Said> {
    let words = or(values.iter())?;
    Some(Said { name, words })
}

/// Words with `or` between them; `None` where there are none.
fn or<T: Display>(words: impl Iterator<Item = T>) -> Option<String> {
    let words: Vec<String> = words.map(|word| word.to_string()).collect();
    (!words.is_empty()).then(|| words.join(" or "))
}

/// A yes or no in words.
fn only(name: &'static str, wanted: YesNo, yes: &str, no: &str) -> Option<Said> {
    let what = if wanted.wanted()? { yes } else { no };
    Some(Said {
        name,
        words: format!("only pieces that {what}"),
    })
}
