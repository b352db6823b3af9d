//! The place of a cell in one number: values of the question's keys, fold and side.
//!
//! From the highest bits down: one field for each key, in the order given, then the fold (6 bits),
//! then the side (1 bit). Values are numbered in a reader's order, so places sorted as numbers are
//! cells in a reader's order, and cells that share their first keys stand together.

use hobble_conditions::AskError;
use hobble_conditions::terms::{Key, rank};
use hobble_dataset::columns::Rows;
use hobble_terms::FOLDS;

use crate::keys;

const SIDE_BITS: u32 = 1;
const FOLD_BITS: u32 = FOLDS.trailing_zeros();

/// A key in a place.
#[derive(Debug)]
struct Field {
    key: Key,
    shift: u32,
    bits: u32,
    /// In the order of [`keys::values`].
    values: Vec<String>,
    /// Number of each value in a reader's order.
    numbers: Vec<u64>,
}

/// What stands where in a place.
#[derive(Debug)]
pub struct Places {
    fields: Vec<Field>,
    k: u8,
}

impl Places {
    /// For keys, the first one highest. At most `k` safe squares make a piece held; rating bands
    /// are `width` points wide.
    pub fn of(keys: &[Key], k: u8, width: u16) -> Places {
        let mut shift = SIDE_BITS + FOLD_BITS;
        let mut fields = Vec::new();
        for &key in keys.iter().rev() {
            let values = keys::values(key, k, width);
            let mut sorted: Vec<usize> = (0..values.len()).collect();
            sorted.sort_by_key(|&at| (rank(key, &values[at]), &values[at]));
            let mut numbers = vec![0; values.len()];
            for (number, at) in (0..).zip(sorted) {
                numbers[at] = number;
            }
            let bits = usize::BITS - values.len().leading_zeros();
            fields.push(Field {
                key,
                shift,
                bits,
                values,
                numbers,
            });
            shift += bits;
        }
        fields.reverse();
        Places { fields, k }
    }

    /// The places of rows, on the side of free pieces.
    ///
    /// # Errors
    ///
    /// Where a column is missing, or a row has no value of a key.
    pub fn of_rows(&self, rows: &Rows) -> Result<Vec<u64>, AskError> {
        let folds = rows.bytes("fold")?.iter();
        let mut places: Vec<u64> = folds.map(|&fold| u64::from(fold) << SIDE_BITS).collect();
        for field in &self.fields {
            let values = keys::numbered(rows, field.key, self.k, &field.values)?;
            for (place, value) in places.iter_mut().zip(values) {
                *place |= field.numbers[usize::from(value)] << field.shift;
            }
        }
        Ok(places)
    }

    /// The bits of some of the keys.
    pub fn mask(&self, keys: &[Key]) -> u64 {
        let fields = self.fields.iter();
        let given = fields.filter(|field| keys.contains(&field.key));
        given.fold(0, |mask, field| mask | field.mask() << field.shift)
    }

    /// The value of a key in a place, if it is one of the keys.
    pub fn value(&self, place: u64, key: Key) -> Option<&str> {
        let field = self.fields.iter().find(|field| field.key == key)?;
        let number = place >> field.shift & field.mask();
        let at = field.numbers.iter().position(|&other| other == number)?;
        Some(&field.values[at])
    }
}

impl Field {
    fn mask(&self) -> u64 {
        (1 << self.bits) - 1
    }
}

/// A place on the side of restricted pieces, or else of free ones.
pub fn on_side(place: u64, restricted: bool) -> u64 {
    place | u64::from(restricted)
}

/// Whether a place is on the side of restricted pieces.
pub fn restricted(place: u64) -> bool {
    place & 1 == 1
}

/// The fold of a place.
pub fn fold(place: u64) -> u32 {
    (place >> SIDE_BITS) as u32 % FOLDS as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// With the narrowest bands, every key at once leaves room for what is written beside a place.
    #[test]
    fn all_keys_fit() {
        let places = Places::of(&Key::ALL, 15, hobble_terms::Band::WIDTH);
        let first = &places.fields[0];
        assert!(first.shift + first.bits <= 48, "{places:?}");
    }

    proptest! {
        /// What was put in is read back, and places are in the order of their values.
        #[test]
        fn values_read_back(one in drawn(), other in drawn()) {
            let places = Places::of(&Key::ALL, 2, 200);
            let place = |drawn: &Drawn| {
                let mut place = on_side(u64::from(drawn.fold) << SIDE_BITS, drawn.restricted);
                for (field, share) in places.fields.iter().zip(&drawn.shares) {
                    let at = usize::from(*share) * field.values.len() / 256;
                    place |= field.numbers[at] << field.shift;
                }
                place
            };
            let ranks = |drawn: &Drawn| -> Vec<(u32, String)> {
                let fields = places.fields.iter().zip(&drawn.shares);
                fields.map(|(field, share)| {
                    let at = usize::from(*share) * field.values.len() / 256;
                    (rank(field.key, &field.values[at]), field.values[at].clone())
                }).collect()
            };
            for drawn in [&one, &other] {
                prop_assert_eq!(fold(place(drawn)), drawn.fold);
                prop_assert_eq!(restricted(place(drawn)), drawn.restricted);
                for (&key, (_, word)) in Key::ALL.iter().zip(ranks(drawn)) {
                    prop_assert_eq!(places.value(place(drawn), key), Some(word.as_str()));
                }
            }
            let whole = |drawn: &Drawn| (ranks(drawn), drawn.fold, drawn.restricted);
            prop_assert_eq!(place(&one).cmp(&place(&other)), whole(&one).cmp(&whole(&other)));
            let kind = places.mask(&[Key::Kind]);
            let alike = ranks(&one)[0] == ranks(&other)[0];
            prop_assert_eq!(place(&one) & kind == place(&other) & kind, alike);
        }
    }

    #[derive(Debug)]
    struct Drawn {
        shares: Vec<u8>,
        fold: u32,
        restricted: bool,
    }

    fn drawn() -> impl Strategy<Value = Drawn> {
        let shares = prop::collection::vec(any::<u8>(), Key::ALL.len());
        (shares, 0..FOLDS as u32, any::<bool>()).prop_map(|(shares, fold, restricted)| Drawn {
            shares,
            fold,
            restricted,
        })
    }
}
