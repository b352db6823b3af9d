//! Which rows of a table pass a question's filters.

use crate::error::AskError;
use crate::text_test::TextTest;
use arrow_array::Array as _;
use arrow_buffer::{BooleanBuffer, BooleanBufferBuilder};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::{Group, Part};
use shakmaty::{Bitboard, Square};

/// What is asked of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition<'a> {
    /// Nothing.
    Always,
    /// The text of this column is one of these.
    OneOf(&'static str, Vec<&'a str>),
    /// This boolean column has this value.
    Is(&'static str, bool),
    /// The text of this column is empty (`true`) or not.
    Empty(&'static str, bool),
    /// The number in this column is at most this.
    AtMost(&'static str, u64),
    /// The number in this column is at least this.
    AtLeast(&'static str, u64),
    /// The number in this column is from the one to the other.
    From(&'static str, u64, u64),
    /// This number is from that of the first column to that of the second.
    Between(&'static str, u64, &'static str),
    /// The text of this column is null (`true`) or not.
    Missing(&'static str, bool),
    /// The text of this column, a letter for each kind of unit, has one of these letters.
    AnyLetter(&'static str, Vec<char>),
    /// The piece stands on one of these squares, those of a piece of Black counted from its side:
    /// columns `square` and `color`.
    StandsOn(Bitboard),
    /// The text of this column is like that.
    Text(&'static str, TextTest<'a>),
    /// What no row meets.
    Never,
}

impl Condition<'_> {
    /// A condition whose answer is known to be the same for every row.
    pub const fn known(met: bool) -> Self {
        if met {
            Condition::Always
        } else {
            Condition::Never
        }
    }

    /// Columns that are read.
    pub fn columns(&self) -> impl Iterator<Item = &'static str> + use<> {
        let (one, other) = match *self {
            Condition::Always | Condition::Never => (None, None),
            Condition::OneOf(column, _)
            | Condition::Is(column, _)
            | Condition::Empty(column, _)
            | Condition::AtMost(column, _)
            | Condition::AtLeast(column, _)
            | Condition::From(column, ..)
            | Condition::Missing(column, _)
            | Condition::Text(column, _)
            | Condition::AnyLetter(column, _) => (Some(column), None),
            Condition::StandsOn(_) => (Some("square"), Some("color")),
            Condition::Between(low, _, high) => (Some(low), Some(high)),
        };
        one.into_iter().chain(other)
    }
}

/// Columns that these conditions read, each once.
pub fn columns(conditions: &[Condition<'_>]) -> Vec<&'static str> {
    let mut columns: Vec<_> = conditions.iter().flat_map(Condition::columns).collect();
    columns.sort_unstable();
    columns.dedup();
    columns
}

/// Places of the rows of a row group that meet all of these conditions. The first are looked at
/// in every row, the others in the rows that pass, without unpacking the rest.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn places(
    part: &Part,
    group: Group,
    first: &[Condition<'_>],
    others: &[Condition<'_>],
) -> Result<Vec<usize>, AskError> {
    let mut read = columns(first);
    if read.is_empty() {
        // Rows are counted by a column even where nothing is asked of them.
        read.push("game");
    }
    let mut places = Vec::new();
    for rows in part.read(&read, group)? {
        let rows = rows?;
        places.extend(Mask::of(&rows, first)?.rows().map(|row| rows.place(row)));
    }
    if others.contains(&Condition::Never) {
        return Ok(Vec::new());
    }
    let read = columns(others);
    if places.is_empty() || read.is_empty() {
        return Ok(places);
    }
    let rows = part.pick(&read, group, &places)?;
    let passing = Mask::of(&rows, others)?;
    Ok(passing.rows().map(|row| rows.place(row)).collect())
}

/// Where fewer than one row in so many is left, only these are looked at.
const SPARSE: usize = 8;

/// Which rows of a batch pass, a bit each.
pub struct Mask(BooleanBuffer);

impl Mask {
    /// All rows of a batch.
    pub fn all(rows: &Rows) -> Mask {
        Mask(BooleanBuffer::new_set(rows.len()))
    }

    /// No row of a batch.
    pub fn none(rows: &Rows) -> Mask {
        Mask(BooleanBuffer::new_unset(rows.len()))
    }

    /// The rows of a batch that meet all of these conditions.
    pub fn of(rows: &Rows, conditions: &[Condition<'_>]) -> Result<Mask, AskError> {
        let mut mask = Mask::all(rows);
        // Those that take many rows at once come first: the others are put to the rows left.
        let at_once = |condition: &&Condition<'_>| matches!(condition, Condition::Is(..));
        for condition in conditions.iter().filter(at_once) {
            mask.keep(rows, condition)?;
        }
        for condition in conditions.iter().filter(|other| !at_once(other)) {
            mask.keep(rows, condition)?;
        }
        Ok(mask)
    }

    /// Keeps the rows that meet a condition.
    fn keep(&mut self, rows: &Rows, condition: &Condition<'_>) -> Result<(), AskError> {
        match *condition {
            Condition::Always => {}
            Condition::OneOf(column, ref values) => {
                self.any_of(rows, column, values.iter().copied())?;
            }
            Condition::Is(column, wanted) => self.is(rows, column, wanted)?,
            Condition::Empty(column, wanted) => {
                let empty = rows.texts(column)?.any_of([""]);
                self.and(|row| empty.at(row) == wanted);
            }
            Condition::AtMost(column, most) => {
                let numbers = rows.optional_numbers(column)?;
                self.and(|row| numbers.get(row).is_some_and(|number| number <= most));
            }
            Condition::AtLeast(column, least) => {
                let numbers = rows.optional_numbers(column)?;
                self.and(|row| numbers.get(row).is_some_and(|number| number >= least));
            }
            Condition::From(column, low, high) => {
                let numbers = rows.optional_numbers(column)?;
                self.and(|row| (numbers.get(row)).is_some_and(|it| low <= it && it <= high));
            }
            Condition::Missing(column, wanted) => {
                let missing = rows.texts(column)?.read_as(|text| text.is_none());
                self.and(|row| missing.at(row) == wanted);
            }
            Condition::AnyLetter(column, ref letters) => {
                let texts = rows.texts(column)?;
                let has =
                    texts.read_as(|text| text.is_some_and(|text| text.contains(&letters[..])));
                self.and(|row| has.at(row));
            }
            Condition::Text(column, ref test) => {
                let like = rows.texts(column)?.read_as(|text| test.accepts(text));
                self.and(|row| like.at(row));
            }
            Condition::StandsOn(squares) => self.stands_on(rows, squares)?,
            Condition::Never => self.and(|_| false),
            Condition::Between(low, number, high) => {
                let (low, high) = (rows.numbers(low)?, rows.numbers(high)?);
                self.and(|row| low.at(row) <= number && number <= high.at(row));
            }
        }
        Ok(())
    }

    /// Keeps the rows whose piece stands on one of these squares, seen from its owner.
    fn stands_on(&mut self, rows: &Rows, squares: Bitboard) -> Result<(), AskError> {
        let black = rows.texts("color")?.any_of(["black"]);
        let on = |squares: Bitboard| {
            move |text: Option<&str>| {
                let square = text.and_then(|text| Square::from_ascii(text.as_bytes()).ok());
                square.is_some_and(|square| squares.contains(square))
            }
        };
        let texts = rows.texts("square")?;
        let white_on = texts.read_as(on(squares));
        let black_on = texts.read_as(on(squares.flip_vertical()));
        self.and(|row| {
            if black.at(row) {
                black_on.at(row)
            } else {
                white_on.at(row)
            }
        });
        Ok(())
    }

    /// Keeps the rows for which this holds as well.
    pub fn and(&mut self, holds: impl Fn(usize) -> bool) {
        let rows = self.0.len();
        self.0 = if SPARSE * self.0.count_set_bits() < rows {
            let mut left = BooleanBufferBuilder::new(rows);
            left.append_n(rows, false);
            for row in self.0.set_indices().filter(|&row| holds(row)) {
                left.set_bit(row, true);
            }
            left.finish()
        } else {
            &self.0 & &BooleanBuffer::collect_bool(rows, holds)
        };
    }

    /// Keeps the rows whose text is one of these.
    pub fn any_of<'a>(
        &mut self,
        rows: &Rows,
        name: &str,
        values: impl IntoIterator<Item = &'a str>,
    ) -> Result<(), AskError> {
        let is = rows.texts(name)?.any_of(values);
        self.and(|row| is.at(row));
        Ok(())
    }

    /// Keeps the rows whose boolean has this value; a null has none.
    pub fn is(&mut self, rows: &Rows, name: &str, wanted: bool) -> Result<(), AskError> {
        let values = rows.optional_booleans(name)?;
        let mut left = if wanted {
            &self.0 & values.values()
        } else {
            &self.0 & &!values.values()
        };
        if let Some(nulls) = values.nulls() {
            left = &left & nulls.inner();
        }
        self.0 = left;
        Ok(())
    }

    /// Whether a row passes.
    pub fn passes(&self, row: usize) -> bool {
        self.0.value(row)
    }

    /// The rows that pass this mask or another.
    pub fn or(&self, other: &Mask) -> Mask {
        Mask(&self.0 | &other.0)
    }

    /// The rows that pass.
    pub fn rows(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.set_indices()
    }
}
