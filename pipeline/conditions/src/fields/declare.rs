//! The macro by which a field is declared.

/// Declares fields of question files, each as a type that is a
/// [`Field`](crate::fields::Field): what it means, its name, type, default and values; and where
/// it narrows what is looked at, the side of a comparison it narrows, what may be given beside the
/// question, the condition on rows and its words. A default
/// that each sort chooses is a parameter, as in `MinimumTurns<const LEAST: u64>`.
///
/// ```
/// use hobble_conditions::fields::{Field, shape::number};
///
/// hobble_conditions::fields! {
///     /// Turns from which a piece counts as left held for long.
///     Long("long"): u32 = 3, in number(2..=100);
/// }
///
/// assert_eq!((Long::NAME, Long::default()), ("long", 3));
/// assert_eq!(Long::TEXT, "Turns from which a piece counts as left held for long.");
/// ```
#[macro_export]
macro_rules! fields {
    ($(
        $(#[doc = $text:literal])+
        $field:ident $(<const $given:ident: $number:ty>)? ($name:literal): $value:ty = $default:expr,
        in $values:expr $(=> {
            $(narrows: $narrows:expr,)?
            $(given($given_beside:pat): $value_given:expr,)?
            $(condition($of:pat, $rows:pat): $condition:expr,)?
            $(absent($wanted:pat, $width:pat): $absent:expr,)?
            $(said($shown:pat): $said:expr,)?
            $(after_kind($named:pat): $after_kind:expr,)?
        })?;
    )+) => {$(
        $(#[doc = $text])+
        pub enum $field $(<const $given: $number>)? {}

        impl $(<const $given: $number>)? $crate::fields::Field for $field $(<$given>)? {
            type Value = $value;
            const NAME: &'static str = $name;
            // Each line of a comment begins with a space.
            const TEXT: &'static str = concat!($($text),+).split_at(1).1;

            $($(const NARROWS: $crate::asked_rows::Narrows = $narrows;)?)?

            fn shape() -> impl $crate::fields::shape::Shape<Value = $value> {
                $values
            }

            fn default() -> $value {
                $default
            }

            $($(fn given($given_beside: &$crate::Overrides) -> Option<String> {
                $value_given
            })?)?

            $($(fn condition(
                $of: &$value,
                $rows: $crate::asked_rows::AskedRows,
            ) -> $crate::filter::Condition<'_> {
                $condition
            })?)?

            $($(fn absent($wanted: &$value, $width: u16) -> Option<String> {
                $absent
            })?)?

            $($(fn said($shown: &$value) -> Option<$crate::fields::Said> {
                $said
            })?)?

            $($(fn after_kind($named: &$value) -> Option<String> {
                $after_kind
            })?)?
        }
    )+};
}
