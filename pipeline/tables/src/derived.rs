//! The declaration of columns that are not in the files, since they follow from others.

/// Declares the columns of a table that follow from others, in the form of a table's entries. `is` says
/// what each column of an entry is; a table names the function after its handles.
///
/// ```ignore
/// derived! {
///     /// What follows from the columns of `spells`.
///     derived;
///
///     /// Plies played in the game after the start of the spell.
///     plies_left: Large, unit "plies", is [Difference(&[OfGame("plies"), Column("start_ply")])];
/// }
/// ```
macro_rules! derived {
    (
        $(#[doc = $text:literal])+
        $name:ident;
        $(
            $(#[doc = $doc:literal])+
            $entry:ident: $type:ty $(, unit $unit:literal)? $(, null $null:literal)?,
            is [$($formula:expr),+];
        )+
    ) => {
        $(#[doc = $text])+
        fn $name() -> Vec<$crate::description::DerivedColumn> {
            let mut columns = Vec::new();
            $(
                let entry = $crate::declare::Entry {
                    name: stringify!($entry),
                    unit: concat!($($unit)?),
                    null: $crate::declare::group!(@null $($null)?),
                    text: concat!($($doc),+),
                    words: &[],
                };
                <$type as $crate::declare::Declared>::describe(&entry, &mut columns);
            )+
            let formulas = [$($({
                const FORMULA: $crate::formula::Formula = $formula;
                FORMULA
            }),+),+];
            let columns = columns.into_iter().zip(formulas);
            columns
                .map(|(column, is)| $crate::description::DerivedColumn { column, is })
                .collect()
        }
    };
}

pub(crate) use derived;
