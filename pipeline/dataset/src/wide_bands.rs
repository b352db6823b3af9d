//! Rating bands as wide as a question asks: neighbouring bands of the tables are read as one.
//!
//! Only words change: the numbers of the rows stay, and several may stand for the same word.

use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::types::Int32Type;
use arrow_array::{ArrayRef, RecordBatch, StringArray};
use arrow_schema::ArrowError;
use hobble_terms::Band;

/// Whether a column holds rating bands, by its name.
fn holds_bands(column: &str) -> bool {
    column == "band" || column.ends_with("_band")
}

/// The rows with bands of this width in points. A word that names no band stays.
pub(crate) fn widened(rows: RecordBatch, width: u16) -> Result<RecordBatch, ArrowError> {
    let schema = rows.schema();
    if !(schema.fields().iter()).any(|field| holds_bands(field.name())) {
        return Ok(rows);
    }
    let columns = schema.fields().iter().zip(rows.columns());
    let columns = columns.map(|(field, column)| match holds_bands(field.name()) {
        true => of_width(column, width),
        false => column.clone(),
    });
    RecordBatch::try_new(schema.clone(), columns.collect())
}

/// A column of bands with those of a width. A column of another type is left to the reader to refuse.
fn of_width(column: &ArrayRef, width: u16) -> ArrayRef {
    let coded = column.as_dictionary_opt::<Int32Type>();
    let words = coded.and_then(|coded| coded.values().as_string_opt::<i32>());
    let (Some(coded), Some(words)) = (coded, words) else {
        return column.clone();
    };
    let words: StringArray = words
        .iter()
        .map(|word| Some(wide_name(word?, width)))
        .collect();
    Arc::new(coded.with_values(Arc::new(words)))
}

/// The name of the band of a width that the named band is in.
fn wide_name(name: &str, width: u16) -> String {
    Band::from_name(name).map_or_else(|| name.to_owned(), |band| band.widened(width).name(width))
}

#[cfg(test)]
mod tests {
    use super::*;
    use arrow_array::{DictionaryArray, Int16Array};
    use hobble_terms::Table;

    #[test]
    fn neighbours_are_read_as_one() {
        let bands = ["1400-1499", "1500-1599", "missing", "1600-1699", "nonsense"];
        let coded: DictionaryArray<Int32Type> = bands.into_iter().collect();
        let rows = RecordBatch::try_from_iter([
            ("band", Arc::new(coded) as ArrayRef),
            ("ply", Arc::new(Int16Array::from(vec![0; 5])) as ArrayRef),
        ]);
        let wide = widened(rows.unwrap(), 200).unwrap();
        let wide = wide.column(0).as_dictionary::<Int32Type>();
        let wide = wide.downcast_dict::<StringArray>().unwrap();
        let read: Vec<_> = wide.into_iter().flatten().collect();
        assert_eq!(
            read,
            ["1400-1599", "1400-1599", "missing", "1600-1799", "nonsense"]
        );
    }

    /// The names show which columns of every table hold bands, as their texts do.
    #[test]
    fn columns_of_bands_are_known_by_name() {
        let mut found = 0;
        for table in Table::ALL {
            let described = hobble_tables::schema::describe(table);
            let derived = described.derived.iter().map(|derived| &derived.column);
            for column in described.columns.iter().chain(derived) {
                let text = column.text.to_lowercase();
                assert_eq!(
                    holds_bands(column.name),
                    text.contains("rating band"),
                    "{table:?} {}",
                    column.name
                );
                found += usize::from(holds_bands(column.name));
            }
        }
        assert!(found >= 9, "{found}");
    }
}
