//! Values of a few rows of a column chunk, without unpacking the others.
//!
//! A claim reads one spell of fifty, each with thirty columns. Columns of few different values
//! are stored as a dictionary and numbers of equal width, in which a place can be looked up;
//! the general reader unpacks every number first. Layout: Apache Parquet format, "Encodings"
//! (PLAIN, RLE_DICTIONARY, RLE/bit-packing hybrid) and "Data Pages" (version 1); chunks laid
//! out otherwise are left to the general reader.

use std::sync::Arc;

use arrow_array::types::{Int8Type, Int16Type, Int32Type};
use arrow_array::{
    ArrayRef, ArrowPrimitiveType, BooleanArray, DictionaryArray, Int32Array, PrimitiveArray,
    StringArray,
};
use arrow_schema::DataType;
use bytes::Bytes;
use hobble_terms::leb128;
use parquet::basic::Encoding;
use parquet::column::page::{Page, PageReader};
use parquet::errors::{ParquetError, Result};

/// The values of the wanted rows, which are counted from the chunk's first and go up; `None`
/// where the chunk has another layout. `optional`: whether the column can hold nulls.
///
/// # Errors
///
/// Where the file cannot be read or is damaged.
pub fn values(
    pages: &mut impl PageReader,
    optional: bool,
    data: &DataType,
    wanted: &[usize],
) -> Result<Option<ArrayRef>> {
    let mut dictionary = Bytes::new();
    let mut codes: Vec<Option<u32>> = Vec::with_capacity(wanted.len());
    let mut first = 0;
    while let Some(page) = pages.get_next_page()? {
        match page {
            Page::DictionaryPage { buf, .. } => dictionary = buf,
            Page::DataPage {
                buf,
                num_values,
                encoding,
                def_level_encoding: Encoding::RLE,
                ..
            } => {
                let end = first + num_values as usize;
                let here = &wanted[codes.len()..wanted.partition_point(|&row| row < end)];
                let (levels, rest) = levels(&buf, optional)?;
                let numbers = match (data, encoding) {
                    (DataType::Boolean, Encoding::PLAIN) => Numbers::packed(rest, 1, usize::MAX),
                    (DataType::Boolean, _) => return Ok(None),
                    // Where all is null there may be no numbers, nor their width.
                    (_, Encoding::RLE_DICTIONARY) => match rest.split_first() {
                        Some((&width, numbers)) => Numbers::hybrid(numbers, width.into()),
                        None => Numbers::hybrid(rest, 0),
                    },
                    _ => return Ok(None),
                };
                look_up(levels, numbers, first, here, &mut codes)?;
                first = end;
            }
            _ => return Ok(None),
        }
    }
    if codes.len() < wanted.len() {
        return Err(damaged("a page is missing"));
    }
    Ok(Some(match data {
        DataType::Boolean => {
            let values = codes.into_iter().map(|code| code.map(|bit| bit == 1));
            Arc::new(values.collect::<BooleanArray>())
        }
        DataType::Int8 => numbers::<Int8Type>(&dictionary, &codes, |number| number as i8)?,
        DataType::Int16 => numbers::<Int16Type>(&dictionary, &codes, |number| number as i16)?,
        DataType::Int32 => numbers::<Int32Type>(&dictionary, &codes, |number| number)?,
        DataType::Dictionary(..) => {
            let codes = codes.into_iter().map(|code| code.map(|code| code as i32));
            let words = Arc::new(words(&dictionary)?);
            let texts = DictionaryArray::<Int32Type>::try_new(codes.collect::<Int32Array>(), words);
            Arc::new(texts?)
        }
        _ => return Ok(None),
    }))
}

fn damaged(what: &str) -> ParquetError {
    ParquetError::General(format!("a column is damaged: {what}"))
}

/// Definition levels of a page, where there are any, and its values.
fn levels(page: &[u8], optional: bool) -> Result<(Option<Numbers<'_>>, &[u8])> {
    if !optional {
        return Ok((None, page));
    }
    let cut = || damaged("a page ends in its levels");
    let (length, rest) = page.split_first_chunk::<4>().ok_or_else(cut)?;
    let length = u32::from_le_bytes(*length) as usize;
    let (levels, values) = rest.split_at_checked(length).ok_or_else(cut)?;
    Ok((Some(Numbers::hybrid(levels, 1)), values))
}

/// The numbers of the wanted rows of a page whose first row is `first`.
fn look_up(
    mut levels: Option<Numbers<'_>>,
    mut numbers: Numbers<'_>,
    first: usize,
    wanted: &[usize],
    codes: &mut Vec<Option<u32>>,
) -> Result<()> {
    // Rows looked through so far, and those of them that have a value.
    let (mut rows, mut valued) = (0, 0);
    for &row in wanted {
        let row = row - first;
        let place = match &mut levels {
            None => Some(row),
            Some(levels) => {
                valued += levels.ones(rows, row)?;
                rows = row;
                (levels.at(row)? == 1).then_some(valued)
            }
        };
        codes.push(match place {
            Some(place) => Some(numbers.at(place)?),
            None => None,
        });
    }
    Ok(())
}

/// Numbers of equal width in runs, looked up at places that go up.
struct Numbers<'a> {
    /// Runs behind the current one.
    rest: &'a [u8],
    width: usize,
    run: Run<'a>,
    /// Place of the current run's first number, and of the first behind it.
    first: usize,
    end: usize,
}

#[derive(Clone, Copy)]
enum Run<'a> {
    Same(u32),
    Packed(&'a [u8]),
}

impl<'a> Numbers<'a> {
    /// Runs of either sort.
    fn hybrid(runs: &'a [u8], width: usize) -> Numbers<'a> {
        Numbers {
            rest: runs,
            width,
            run: Run::Same(0),
            first: 0,
            end: 0,
        }
    }

    /// One packed run.
    fn packed(bytes: &'a [u8], width: usize, number: usize) -> Numbers<'a> {
        Numbers {
            rest: &[],
            width,
            run: Run::Packed(bytes),
            first: 0,
            end: number,
        }
    }

    /// The number at a place.
    fn at(&mut self, place: usize) -> Result<u32> {
        self.go_to(place)?;
        match self.run {
            Run::Same(number) => Ok(number),
            Run::Packed(bytes) => bits(bytes, (place - self.first) * self.width, self.width),
        }
    }

    /// How many of the levels from one place up to another are 1.
    fn ones(&mut self, mut from: usize, to: usize) -> Result<usize> {
        let mut ones = 0;
        while from < to {
            self.go_to(from)?;
            let mut number = to.min(self.end) - from;
            match self.run {
                Run::Same(level) => ones += level as usize * number,
                Run::Packed(bytes) => {
                    number = number.min(32);
                    ones += bits(bytes, from - self.first, number)?.count_ones() as usize;
                }
            }
            from += number;
        }
        Ok(ones)
    }

    fn go_to(&mut self, place: usize) -> Result<()> {
        while place >= self.end {
            self.next()?;
        }
        Ok(())
    }

    fn next(&mut self) -> Result<()> {
        let cut = || damaged("its numbers end too soon");
        let header = leb128::read(&mut self.rest).ok_or_else(cut)?;
        let number = usize::try_from(header >> 1).map_err(|_| cut())?;
        self.first = self.end;
        if header & 1 == 1 {
            // Groups of eight; the last run may be cut behind the page's last number.
            let length = number.saturating_mul(self.width).min(self.rest.len());
            let (bytes, rest) = self.rest.split_at(length);
            (self.run, self.rest) = (Run::Packed(bytes), rest);
            self.end = self.first.saturating_add(number.saturating_mul(8));
        } else {
            let length = self.width.div_ceil(8);
            let (bytes, rest) = self.rest.split_at_checked(length).ok_or_else(cut)?;
            let number_of = |sum: u32, &byte: &u8| sum << 8 | u32::from(byte);
            let same = bytes.iter().rev().fold(0, number_of);
            (self.run, self.rest) = (Run::Same(same), rest);
            self.end = self.first.saturating_add(number);
        }
        Ok(())
    }
}

/// A number of up to 32 bits from a place in packed bytes, the lowest bit first.
fn bits(bytes: &[u8], from: usize, width: usize) -> Result<u32> {
    let start = from / 8;
    let end = (from + width).div_ceil(8);
    let piece = bytes.get(start..end).filter(|_| width <= 32);
    let piece = piece.ok_or_else(|| damaged("its numbers end too soon"))?;
    let mut word = [0; 8];
    word[..piece.len()].copy_from_slice(piece);
    let word = u64::from_le_bytes(word) >> (from % 8);
    Ok((word & ((1 << width) - 1)) as u32)
}

/// Numbers by their place in a dictionary, which has four bytes for each.
fn numbers<T: ArrowPrimitiveType>(
    dictionary: &[u8],
    codes: &[Option<u32>],
    of: fn(i32) -> T::Native,
) -> Result<ArrayRef> {
    let (entries, _) = dictionary.as_chunks::<4>();
    let known: Vec<T::Native> = entries
        .iter()
        .map(|entry| of(i32::from_le_bytes(*entry)))
        .collect();
    let values = codes.iter().map(|code| {
        let value = code.map(|code| known.get(code as usize).copied());
        value.map(|value| value.ok_or_else(|| damaged("a number is not in its dictionary")))
    });
    let values = values.map(Option::transpose);
    Ok(Arc::new(values.collect::<Result<PrimitiveArray<T>>>()?))
}

/// The words of a dictionary, each behind its length.
fn words(mut dictionary: &[u8]) -> Result<StringArray> {
    let mut words = Vec::new();
    while let Some((length, rest)) = dictionary.split_first_chunk::<4>() {
        let length = u32::from_le_bytes(*length) as usize;
        let split = rest.split_at_checked(length);
        let (word, rest) = split.ok_or_else(|| damaged("its dictionary is cut"))?;
        let word = std::str::from_utf8(word).map_err(|_| damaged("a word is not UTF-8"))?;
        words.push(word);
        dictionary = rest;
    }
    Ok(StringArray::from(words))
}

#[cfg(test)]
mod tests {
    use std::fs::File;

    use arrow_array::{Array, Int8Array, Int16Array, RecordBatch};
    use hobble_terms::Table;
    use parquet::arrow::ArrowWriter;
    use parquet::file::properties::WriterProperties;
    use proptest::prelude::*;

    use crate::part::{Part, PartId};

    /// Rows in runs long and short, with nulls in runs as well.
    fn columns() -> impl Strategy<Value = Vec<(usize, u8, bool)>> {
        prop::collection::vec((1usize..60, 0u8..40, any::<bool>()), 1..60)
    }

    proptest! {
        /// Picked rows are those of the general reader, whatever the layout.
        #[test]
        fn picked_is_what_is_read(
            runs in columns(),
            every in 1usize..40,
            page in 20usize..2000,
            plain in any::<bool>(),
        ) {
            let rows: Vec<(u8, bool)> = runs
                .iter()
                .flat_map(|&(length, value, null)| vec![(value, null); length])
                .collect();
            let number = |i: usize| rows[i].0.wrapping_add((i % 3) as u8) as i8;
            let present = |i: usize| !rows[i].1 || i.is_multiple_of(4);
            let all = || 0..rows.len();
            let word = |i: usize| ["", "knight", "bishop", "rook", "queen"][rows[i].0 as usize % 5];
            let batch = RecordBatch::try_from_iter_with_nullable([
                ("byte", std::sync::Arc::new(Int8Array::from_iter_values(all().map(number))) as _, false),
                ("pair", std::sync::Arc::new(all().map(|i| present(i).then_some(number(i).into())).collect::<Int16Array>()) as _, true),
                ("text", std::sync::Arc::new(all().map(|i| present(i).then_some(word(i))).collect::<super::StringArray>()) as _, true),
                ("flag", std::sync::Arc::new(all().map(|i| present(i).then_some(number(i) % 2 == 0)).collect::<super::BooleanArray>()) as _, true),
                ("none", std::sync::Arc::new(all().map(|_| None::<i16>).collect::<Int16Array>()) as _, true),
            ]).unwrap();
            let dir = tempfile::tempdir().unwrap();
            let id = PartId { source: "a".to_owned(), number: 0 };
            let part = Part::new(Table::Spells, dir.path(), id);
            std::fs::create_dir_all(part.path().parent().unwrap()).unwrap();
            let definitions = parquet::file::metadata::KeyValue::new(
                "hobble.definitions".to_owned(),
                hobble_terms::DEFINITIONS.to_string(),
            );
            let properties = WriterProperties::builder()
                .set_max_row_group_row_count(Some(700))
                .set_data_page_row_count_limit(page)
                .set_write_batch_size(16)
                .set_dictionary_enabled(!plain)
                .set_key_value_metadata(Some(vec![definitions]))
                .build();
            let mut writer =
                ArrowWriter::try_new(File::create(part.path()).unwrap(), batch.schema(), Some(properties)).unwrap();
            writer.write(&batch).unwrap();
            writer.close().unwrap();
            let names = ["byte", "pair", "text", "flag", "none"];
            for group in part.groups().unwrap() {
                let wanted: Vec<usize> =
                    (group.first..group.first + group.rows).filter(|row| row.is_multiple_of(every)).collect();
                let picked = part.pick(&names, group, &wanted).unwrap();
                prop_assert_eq!(picked.len(), wanted.len());
                let (byte, pair) = (picked.bytes("byte").unwrap(), picked.optional_numbers("pair").unwrap());
                let (text, flag) = (picked.texts("text").unwrap(), picked.optional_booleans("flag").unwrap());
                let none = picked.optional_numbers("none").unwrap();
                for (at, &row) in wanted.iter().enumerate() {
                    prop_assert_eq!(picked.place(at), row);
                    prop_assert_eq!(byte[at] as i8, number(row));
                    prop_assert_eq!(pair.get(at), present(row).then_some(number(row) as u64));
                    prop_assert_eq!(text.get(at), present(row).then_some(word(row)));
                    let is = flag.is_valid(at).then(|| flag.value(at));
                    prop_assert_eq!(is, present(row).then_some(number(row) % 2 == 0));
                    prop_assert_eq!(none.get(at), None);
                }
            }
        }
    }

    #[test]
    fn damage_is_an_error() {
        assert!(super::bits(&[1, 2], 9, 8).is_err());
        assert_eq!(super::bits(&[0b1010_0000, 0b1], 5, 4).unwrap(), 0b1101);
        let mut cut = super::Numbers::hybrid(&[0x03, 0xff], 4);
        assert_eq!(cut.at(1).unwrap(), 15);
        assert!(cut.at(2).is_err());
        assert!(super::words(&[5, 0, 0, 0, b'a']).is_err());
    }
}
