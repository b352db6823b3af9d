//! How a table is declared: once, with type, unit, rule for nulls and text of every column.
//! The struct of its growing columns, the columns as readers name them and the description
//! follow from the declaration. Columns that several tables have are declared as a group, once.

use std::borrow::Cow;
use std::marker::PhantomData;

use arrow_array::types::{Int32Type, Int64Type, UInt64Type};

use crate::column::{Column, Text, Value};
use crate::description::{ColumnDescription, NEVER, Storage};
use crate::encode::Columns;
use crate::fractions::Fractions;
use crate::growing::{
    Codes, Flags, Growing, Longs, MaybeCodes, MaybeFlags, MaybeLongs, MaybeNumbers, MaybeTexts,
    Numbers, Texts,
};
use crate::values::Number;
use crate::words::Words;

/// The type of a column as its table declares it: its values, and how they are written.
pub trait Stored {
    /// What a reader finds.
    type Value: Value;
    /// What a writer fills.
    type Growing: Growing;
    /// How the general Parquet writer stores the column, if it is not written as codes.
    const STORAGE: Storage = Storage::Dictionary;

    /// A column without rows.
    fn growing() -> Self::Growing;
}

/// Counts and other numbers not below 0: the writer keeps them as `W`, a reader finds the signed
/// `R`, so that a difference of two columns can be below 0.
pub struct Count<W, R>(PhantomData<(W, R)>);

/// A count of at most 127: what one piece has, or one square.
pub type Small = Count<u8, i8>;
/// A count of at most 255: what a side has, or its moves.
pub type OfSide = Count<u8, i16>;
/// Plies, turns, rating points, squares of a whole side: at most 32,767.
pub type Large = Count<u16, i16>;
/// Number of a game in its source.
pub type GameNumber = Count<u32, i32>;

/// Numbers that rise from row to row, as offsets do: written as differences.
pub struct Rising<T>(PhantomData<T>);

/// Numbers of which hardly two are equal, as hashes are: written one after the other.
pub struct Distinct<T>(PhantomData<T>);

/// Declared types with a growing column that begins empty.
macro_rules! stored {
    ($($type:ty, $value:ty, $growing:ty $(, $storage:ident)?;)+) => {
        $(
            impl Stored for $type {
                type Value = $value;
                type Growing = $growing;
                $(const STORAGE: Storage = Storage::$storage;)?

                fn growing() -> $growing {
                    Default::default()
                }
            }
        )+
    };
}

stored! {
    i16, i16, Numbers<i16>;
    i32, i32, Numbers<i32>;
    i64, i64, Longs<Int64Type>;
    bool, bool, Flags;
    Text, Text, Texts;
    Option<i16>, Option<i16>, MaybeNumbers<i16>;
    Option<f32>, Option<f32>, Fractions;
    Option<bool>, Option<bool>, MaybeFlags;
    Option<Text>, Option<Text>, MaybeTexts;
    Rising<i32>, i32, Longs<Int32Type>, Differences;
    Rising<i64>, i64, Longs<Int64Type>, Differences;
    Distinct<u64>, u64, Longs<UInt64Type>, Plain;
    Distinct<i32>, i32, Longs<Int32Type>, Plain;
    Option<i32>, Option<i32>, MaybeLongs<Int32Type>;
}

impl<W: Number + Default, R: Value> Stored for Count<W, R> {
    type Value = R;
    type Growing = Numbers<W>;

    fn growing() -> Numbers<W> {
        Numbers::default()
    }
}

impl<W: Number + Default, R: Value> Stored for Option<Count<W, R>>
where
    Option<R>: Value,
{
    type Value = Option<R>;
    type Growing = MaybeNumbers<W>;

    fn growing() -> MaybeNumbers<W> {
        MaybeNumbers::default()
    }
}

impl<W: Words> Stored for W {
    type Value = W;
    type Growing = Codes<W>;

    fn growing() -> Codes<W> {
        Codes::default()
    }
}

impl<W: Words> Stored for Option<W> {
    type Value = Option<W>;
    type Growing = MaybeCodes<W>;

    fn growing() -> MaybeCodes<W> {
        MaybeCodes::default()
    }
}

/// What an entry of a declaration may be: a column, an array of columns of one type that are
/// filled together, or a group of columns that several tables have.
pub trait Declared {
    /// What a writer fills.
    type Growing;
    /// What a reader names the columns by.
    type Handle;
    /// Whether the values have nulls.
    const NULLABLE: bool;

    /// Columns without rows.
    fn growing() -> Self::Growing;

    /// Lists the growing columns behind those of earlier entries.
    fn list<'a>(growing: &'a mut Self::Growing, columns: &mut Columns<'a>);

    /// Number of rows.
    fn row_count(growing: &Self::Growing) -> usize;

    /// Describes the columns of the entry behind those of earlier entries.
    fn describe(entry: &Entry<'_>, columns: &mut Vec<ColumnDescription>);
}

/// What a declaration says of an entry.
pub struct Entry<'a> {
    /// Name of the column.
    pub name: &'static str,
    /// Unit; empty for none.
    pub unit: &'static str,
    /// What a null means, where there are nulls.
    pub null: Option<&'static str>,
    /// Text of the column.
    pub text: &'static str,
    /// Words for the places in braces of a group's texts, by the name in the braces.
    pub words: &'a [(&'static str, &'static str)],
}

impl Entry<'_> {
    /// The text, with the table's words in it.
    fn text_with_words(&self) -> Cow<'static, str> {
        let mut text = Cow::Borrowed(self.text.trim());
        for (name, words) in self.words {
            let place = format!("{{{name}}}");
            if text.contains(&place) {
                text = Cow::Owned(text.replace(&place, words));
            }
        }
        text
    }
}

impl<T: Stored<Growing: 'static>> Declared for T {
    type Growing = T::Growing;
    type Handle = Column<T::Value>;
    const NULLABLE: bool = T::Value::NULLABLE;

    fn growing() -> T::Growing {
        T::growing()
    }

    fn list<'a>(growing: &'a mut T::Growing, columns: &mut Columns<'a>) {
        columns.add(growing);
    }

    fn row_count(growing: &T::Growing) -> usize {
        growing.row_count()
    }

    fn describe(entry: &Entry<'_>, columns: &mut Vec<ColumnDescription>) {
        columns.push(ColumnDescription {
            name: entry.name,
            column_type: T::Value::TYPE,
            unit: entry.unit,
            null: entry.null.unwrap_or(NEVER),
            text: entry.text_with_words(),
            values: T::Value::listed(),
            storage: T::STORAGE,
        });
    }
}

impl<T: Stored<Growing: 'static>, const N: usize> Declared for [T; N] {
    type Growing = [T::Growing; N];
    type Handle = [Column<T::Value>; N];
    const NULLABLE: bool = T::Value::NULLABLE;

    fn growing() -> [T::Growing; N] {
        std::array::from_fn(|_| T::growing())
    }

    fn list<'a>(growing: &'a mut [T::Growing; N], columns: &mut Columns<'a>) {
        for column in growing {
            columns.add(column);
        }
    }

    fn row_count(growing: &[T::Growing; N]) -> usize {
        growing.first().map_or(0, Growing::row_count)
    }

    fn describe(entry: &Entry<'_>, columns: &mut Vec<ColumnDescription>) {
        T::describe(entry, columns);
    }
}

/// Declares a table.
///
/// The doc comments are the texts of the schema. Columns come in the order of the file. An
/// entry of an array type names its columns in braces. A column whose type is an `Option` says
/// what a null means, and only such a column does. An entry whose type is a group of columns
/// ([`group!`]) says the `words` for the places in braces of the group's texts.
///
/// ```ignore
/// table! {
///     /// One row a game.
///     Games, schema 1, row "source, game";
///     columns GameColumns;
///     handles GameHandles, GAMES;
///
///     /// Number of the game.
///     game: GameNumber;
///     /// White's rating.
///     white_rating: Option<i16>, unit "rating points", null "unrated or missing";
///     /// Safe mobility at position 0.
///     start_safe: [OfSide; 2], unit "squares" {
///         /// Safe mobility of white's pawns at position 0.
///         start_white_pawn;
///         /// Safe mobility of white's knights at position 0.
///         start_white_knight;
///     };
///     /// What stands around the king.
///     around: SurroundingColumns, words [attackers "enemy units"];
/// }
/// ```
///
/// From this follow `GameColumns` (growing columns, one private field an entry),
/// `GAMES` (for readers: `GAMES.white_rating` is a `Column<Option<i16>>`, and
/// `GAMES.around.attackers` a column of the group), and `description()`.
macro_rules! table {
    (
        $(#[doc = $text:literal])+
        $table:ident, schema $schema:literal, row $row:literal;
        columns $columns:ident;
        handles $handles:ident, $constant:ident $(, derived $derived:ident)?;
        $($entries:tt)+
    ) => {
        $crate::declare::group! {
            #[doc = concat!("Growing rows of the table `", stringify!($constant), "`.")]
            $columns, $handles;
            $($entries)+
        }

        $(#[doc = $text])+
        pub const $constant: $handles = $columns::handles(hobble_terms::Table::$table);

        /// The description of the table.
        pub fn description() -> $crate::description::TableDescription {
            let mut columns = Vec::new();
            $columns::describe_columns(&[], &mut columns);
            let derived: &[fn() -> Vec<$crate::description::DerivedColumn>] = &[$($derived)?];
            $crate::description::TableDescription {
                table: hobble_terms::Table::$table,
                schema: $schema,
                definitions: hobble_terms::DEFINITIONS,
                text: concat!($($text),+).trim_start(),
                row: $row,
                columns,
                derived: derived.iter().flat_map(|columns| columns()).collect(),
            }
        }
    };
}

pub(crate) use table;

/// Declares a group of columns that several tables have, in the form of a table's entries. Where
/// the tables' texts differ, a text names the place in braces.
///
/// ```ignore
/// group! {
///     /// What stands around a piece.
///     SurroundingColumns, SurroundingHandles;
///
///     /// Number of {attackers} that attack it.
///     attackers: Small, unit "units";
/// }
/// ```
macro_rules! group {
    (
        $(#[doc = $text:expr])+
        $columns:ident, $handles:ident;
        $(
            $(#[doc = $doc:literal])+
            $entry:ident: $type:ty $(, unit $unit:literal)? $(, null $null:literal)?
            $(, words [$($word:ident $by:literal),*])?
            $({ $( $(#[doc = $each_doc:literal])+ $each:ident; )+ })?;
        )+
    ) => {
        $(#[doc = $text])+
        pub struct $columns {
            $( $entry: <$type as $crate::declare::Declared>::Growing, )+
        }

        impl Default for $columns {
            /// No rows yet.
            fn default() -> $columns {
                $columns {
                    $( $entry: <$type as $crate::declare::Declared>::growing(), )+
                }
            }
        }

        impl $columns {
            /// Number of rows.
            pub fn row_count(&self) -> usize {
                [$( <$type as $crate::declare::Declared>::row_count(&self.$entry) ),+][0]
            }

            /// The columns, in the order of the file.
            pub fn columns(&mut self) -> $crate::encode::Columns<'_> {
                let mut columns = $crate::encode::Columns::default();
                <$columns as $crate::declare::Declared>::list(self, &mut columns);
                columns
            }

            /// The columns as readers of a table name them.
            pub(crate) const fn handles(table: hobble_terms::Table) -> $handles {
                $handles {
                    $( $entry: $crate::declare::group!(@handle table, $type,
                        $entry $(words [$($word)*])? $({ $($each)+ })?), )+
                }
            }

            /// Describes the columns, with a table's words for the places in braces.
            fn describe_columns(
                words: &[(&'static str, &'static str)],
                columns: &mut Vec<$crate::description::ColumnDescription>,
            ) {
                $(
                    let entry = $crate::declare::Entry {
                        name: stringify!($entry),
                        unit: concat!($($unit)?),
                        null: $crate::declare::group!(@null $($null)?),
                        text: concat!($($doc),+),
                        words,
                    };
                    $crate::declare::group!(@describe entry, columns, $type,
                        $(words [$($word $by),*])? $({ $( $each [$($each_doc)+] )+ })?);
                )+
            }
        }

        impl $crate::declare::Declared for $columns {
            type Growing = $columns;
            type Handle = $handles;
            const NULLABLE: bool = false;

            fn growing() -> $columns {
                $columns::default()
            }

            fn list<'a>(growing: &'a mut $columns, columns: &mut $crate::encode::Columns<'a>) {
                $( <$type as $crate::declare::Declared>::list(&mut growing.$entry, columns); )+
            }

            fn row_count(growing: &$columns) -> usize {
                growing.row_count()
            }

            fn describe(
                entry: &$crate::declare::Entry<'_>,
                columns: &mut Vec<$crate::description::ColumnDescription>,
            ) {
                $columns::describe_columns(entry.words, columns);
            }
        }

        #[doc = concat!("The columns of [`", stringify!($columns), "`] as readers name them.")]
        #[allow(missing_docs)]
        pub struct $handles {
            $( $(#[doc = $doc])+ pub $entry: <$type as $crate::declare::Declared>::Handle, )+
        }

        $(
            const _: () = assert!(
                <$type as $crate::declare::Declared>::NULLABLE
                    == $crate::declare::group!(@null $($null)?).is_some(),
                concat!(
                    "column ", stringify!($entry),
                    ": `null` says what a null means where the type is an Option, and only there",
                ),
            );
        )+
    };
    (@handle $table:ident, $type:ty, $entry:ident) => {
        $crate::column::Column::new($table, stringify!($entry))
    };
    (@handle $table:ident, $type:ty, $entry:ident { $($each:ident)+ }) => {
        [$( $crate::column::Column::new($table, stringify!($each)) ),+]
    };
    (@handle $table:ident, $type:ty, $entry:ident words [$($word:ident)*]) => {
        <$type>::handles($table)
    };
    (@null) => {
        None::<&'static str>
    };
    (@null $null:literal) => {
        Some($null)
    };
    (@describe $of:ident, $columns:ident, $type:ty,) => {
        <$type as $crate::declare::Declared>::describe(&$of, $columns)
    };
    (@describe $of:ident, $columns:ident, $type:ty, words [$($word:ident $by:literal),*]) => {
        <$type as $crate::declare::Declared>::describe(
            &$crate::declare::Entry { words: &[$( (stringify!($word), $by) ),*], ..$of },
            $columns,
        )
    };
    (@describe $of:ident, $columns:ident, $type:ty, { $( $each:ident [$($each_doc:literal)+] )+ }) => {
        $( <$type as $crate::declare::Declared>::describe(
            &$crate::declare::Entry {
                name: stringify!($each), text: concat!($($each_doc),+), ..$of
            },
            $columns,
        ); )+
    };
}

pub(crate) use group;
