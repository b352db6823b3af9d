//! How a table is declared: once, with type, unit, rule for nulls and text of every column.
//! The struct of its growing columns, the columns as readers name them and the description
//! follow from the declaration.

use std::marker::PhantomData;

use arrow_array::types::{UInt32Type, UInt64Type};

use crate::column::{Column, Text, Value};
use crate::description::{ColumnDescription, NEVER, Storage};
use crate::encode::Columns;
use crate::fractions::Fractions;
use crate::growing::{
    Codes, Flags, Growing, Longs, MaybeCodes, MaybeFlags, MaybeNumbers, MaybeTexts, Numbers, Texts,
};
use crate::words::Words;

/// The type of a column as its table declares it: its values, and how they are written.
pub trait Stored {
    /// What a reader finds.
    type Value: Value;
    /// What a writer fills.
    type Growing: Growing;
    /// How the general Parquet writer stores the column, if it is not written as codes.
    const STORAGE: Storage = Storage::Dictionary;

    /// A column without rows, for rating bands of a width in points.
    fn growing(band_width: u16) -> Self::Growing;
}

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

                fn growing(_: u16) -> $growing {
                    Default::default()
                }
            }
        )+
    };
}

stored! {
    u8, u8, Numbers<u8>;
    u16, u16, Numbers<u16>;
    u32, u32, Numbers<u32>;
    i16, i16, Numbers<i16>;
    bool, bool, Flags;
    u64, u64, Longs<UInt64Type>;
    Text, Text, Texts;
    Option<u8>, Option<u8>, MaybeNumbers<u8>;
    Option<u16>, Option<u16>, MaybeNumbers<u16>;
    Option<i16>, Option<i16>, MaybeNumbers<i16>;
    Option<f32>, Option<f32>, Fractions;
    Option<bool>, Option<bool>, MaybeFlags;
    Option<Text>, Option<Text>, MaybeTexts;
    Rising<u32>, u32, Longs<UInt32Type>, Differences;
    Rising<u64>, u64, Longs<UInt64Type>, Differences;
    Distinct<u64>, u64, Longs<UInt64Type>, Plain;
}

impl<W: Words> Stored for W {
    type Value = W;
    type Growing = Codes<W>;

    fn growing(band_width: u16) -> Codes<W> {
        Codes::new(band_width)
    }
}

impl<W: Words> Stored for Option<W> {
    type Value = Option<W>;
    type Growing = MaybeCodes<W>;

    fn growing(band_width: u16) -> MaybeCodes<W> {
        MaybeCodes::new(band_width)
    }
}

/// What an entry of a declaration may be: a column, or an array of columns of one type that
/// are filled together.
pub trait Declared {
    /// Type of each column.
    type Each: Stored;
    /// What a writer fills.
    type Growing;
    /// What a reader names the columns by.
    type Handle;

    /// Columns without rows, for rating bands of a width in points.
    fn growing(band_width: u16) -> Self::Growing;

    /// Lists the growing columns behind those of earlier entries.
    fn list<'a>(growing: &'a mut Self::Growing, columns: &mut Columns<'a>);

    /// Number of rows.
    fn row_count(growing: &Self::Growing) -> usize;
}

impl<T: Stored<Growing: 'static>> Declared for T {
    type Each = T;
    type Growing = T::Growing;
    type Handle = Column<T::Value>;

    fn growing(band_width: u16) -> T::Growing {
        T::growing(band_width)
    }

    fn list<'a>(growing: &'a mut T::Growing, columns: &mut Columns<'a>) {
        columns.add(growing);
    }

    fn row_count(growing: &T::Growing) -> usize {
        growing.row_count()
    }
}

impl<T: Stored<Growing: 'static>, const N: usize> Declared for [T; N] {
    type Each = T;
    type Growing = [T::Growing; N];
    type Handle = [Column<T::Value>; N];

    fn growing(band_width: u16) -> [T::Growing; N] {
        std::array::from_fn(|_| T::growing(band_width))
    }

    fn list<'a>(growing: &'a mut [T::Growing; N], columns: &mut Columns<'a>) {
        for column in growing {
            columns.add(column);
        }
    }

    fn row_count(growing: &[T::Growing; N]) -> usize {
        growing.first().map_or(0, Growing::row_count)
    }
}

/// The description of a column of a declared type.
pub(crate) fn describe<T: Declared>(
    name: &'static str,
    unit: &'static str,
    null: Option<&'static str>,
    text: &'static str,
) -> ColumnDescription {
    ColumnDescription {
        name,
        column_type: <T::Each as Stored>::Value::TYPE,
        unit,
        null: null.unwrap_or(NEVER),
        text: text.trim(),
        values: <T::Each as Stored>::Value::listed(),
        storage: T::Each::STORAGE,
    }
}

/// Whether the values of a declared type have nulls.
pub(crate) const fn is_nullable<T: Declared>() -> bool {
    <T::Each as Stored>::Value::NULLABLE
}

/// Declares a table.
///
/// The doc comments are the texts of the schema. Columns come in the order of the file. An
/// entry of an array type names its columns in braces. A column whose type is an `Option` says
/// what a null means, and only such a column does.
///
/// ```ignore
/// table! {
///     /// One row a game.
///     Games, schema 1, row "source, game";
///     columns GameColumns;
///     handles GameHandles, GAMES;
///
///     /// Number of the game.
///     game: u32;
///     /// White's rating.
///     white_rating: Option<u16>, unit "rating points", null "unrated or missing";
///     /// Safe mobility at position 0.
///     start_safe: [u8; 2], unit "squares" {
///         /// Safe mobility of white's pawns at position 0.
///         start_white_pawn;
///         /// Safe mobility of white's knights at position 0.
///         start_white_knight;
///     };
/// }
/// ```
///
/// From this follow `GameColumns` (growing columns, one private field an entry),
/// `GAMES` (for readers: `GAMES.white_rating` is a `Column<Option<u16>>`), and
/// `description()`.
macro_rules! table {
    (
        $(#[doc = $text:literal])+
        $table:ident, schema $schema:literal, row $row:literal;
        columns $columns:ident;
        handles $handles:ident, $constant:ident;
        $(
            $(#[doc = $doc:literal])+
            $entry:ident: $type:ty $(, unit $unit:literal)? $(, null $null:literal)?
            $({ $( $(#[doc = $each_doc:literal])+ $each:ident; )+ })?;
        )+
    ) => {
        #[doc = concat!("Growing rows of the table `", stringify!($constant), "`.")]
        pub struct $columns {
            $( $entry: <$type as $crate::declare::Declared>::Growing, )+
        }

        impl $columns {
            /// No rows yet, for rating bands of a width in points of
            /// [`hobble_terms::Band::NARROWEST`] or more.
            pub fn new(band_width: u16) -> $columns {
                $columns {
                    $( $entry: <$type as $crate::declare::Declared>::growing(band_width), )+
                }
            }

            /// Number of rows.
            pub fn row_count(&self) -> usize {
                [$( <$type as $crate::declare::Declared>::row_count(&self.$entry) ),+][0]
            }

            /// The columns, in the order of the file.
            pub fn columns(&mut self) -> $crate::encode::Columns<'_> {
                let mut columns = $crate::encode::Columns::default();
                $( <$type as $crate::declare::Declared>::list(&mut self.$entry, &mut columns); )+
                columns
            }
        }

        #[doc = concat!("Type of [`", stringify!($constant), "`].")]
        #[allow(missing_docs)]
        pub struct $handles {
            $( $(#[doc = $doc])+ pub $entry: <$type as $crate::declare::Declared>::Handle, )+
        }

        $(#[doc = $text])+
        pub const $constant: $handles = $handles {
            $( $entry: table!(@handle $table, $entry $({ $($each)+ })?), )+
        };

        $(
            const _: () = assert!(
                $crate::declare::is_nullable::<$type>() == table!(@null $($null)?).is_some(),
                concat!(
                    "column ", stringify!($entry),
                    ": `null` says what a null means where the type is an Option, and only there",
                ),
            );
        )+

        /// The description of the table.
        pub fn description() -> $crate::description::TableDescription {
            let mut columns = Vec::new();
            $(
                let about = (concat!($($unit)?), table!(@null $($null)?));
                table!(@describe columns, about, $type,
                    $entry [$($doc)+] $({ $( $each [$($each_doc)+] )+ })?);
            )+
            $crate::description::TableDescription {
                table: hobble_terms::Table::$table,
                schema: $schema,
                definitions: hobble_terms::DEFINITIONS,
                text: concat!($($text),+).trim_start(),
                row: $row,
                columns,
            }
        }
    };
    (@handle $table:ident, $entry:ident) => {
        $crate::column::Column::new(hobble_terms::Table::$table, stringify!($entry))
    };
    (@handle $table:ident, $entry:ident { $($each:ident)+ }) => {
        [$( $crate::column::Column::new(hobble_terms::Table::$table, stringify!($each)) ),+]
    };
    (@null) => {
        None::<&'static str>
    };
    (@null $null:literal) => {
        Some($null)
    };
    (@describe $columns:ident, $about:ident, $type:ty, $entry:ident [$($doc:literal)+]) => {
        $columns.push($crate::declare::describe::<$type>(
            stringify!($entry), $about.0, $about.1, concat!($($doc),+),
        ))
    };
    (@describe $columns:ident, $about:ident, $type:ty, $entry:ident [$($doc:literal)+]
        { $( $each:ident [$($each_doc:literal)+] )+ }) => {
        $( $columns.push($crate::declare::describe::<$type>(
            stringify!($each), $about.0, $about.1, concat!($($each_doc),+),
        )); )+
    };
}

pub(crate) use table;
