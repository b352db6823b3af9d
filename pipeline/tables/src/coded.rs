//! Columns of few different values, written as Parquet dictionaries without hashing.
//!
//! The general writer looks every value up in a hash table to find its place in the
//! dictionary, and most of a scan's columns are squares, kinds and small counts: their values
//! are their own place in a table. Layout of the pages: Apache Parquet format, "Encodings"
//! (PLAIN, RLE_DICTIONARY, RLE/bit-packing hybrid) and "Data Pages" (version 1).

use arrow_array::cast::AsArray;
use arrow_array::types::{Int16Type, UInt8Type, UInt16Type};
use arrow_array::{Array, ArrayRef};
use arrow_buffer::NullBuffer;
use arrow_schema::DataType;
use parquet::basic::{Compression, Encoding};
use parquet::column::page::{CompressedPage, Page, PageWriter};
use parquet::column::writer::ColumnCloseResult;
use parquet::data_type::ByteArray;
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::statistics::Statistics;
use parquet::file::writer::{SerializedPageWriter, TrackedWrite};
use parquet::schema::types::ColumnDescPtr;
use zstd::bulk::Compressor;

/// A column chunk: its pages, and what the file's footer says of them.
pub struct CodedChunk {
    /// Dictionary page and data page, as they stand in the file.
    pub pages: Vec<u8>,
    /// What the footer says.
    pub close: ColumnCloseResult,
}

/// Whether a column can be written here.
pub fn takes(data: &DataType) -> bool {
    match data {
        DataType::UInt8 | DataType::UInt16 | DataType::Int16 => true,
        DataType::Dictionary(key, value) => **key == DataType::UInt8 && **value == DataType::Utf8,
        _ => false,
    }
}

/// Encodes a column that [`takes`] accepts.
///
/// # Errors
///
/// What the compressor or the page writer say.
pub fn encode(
    array: &ArrayRef,
    column: &ColumnDescPtr,
    compression: Compression,
    compressor: &mut Compressor<'_>,
) -> Result<CodedChunk> {
    let nulls = array.nulls();
    let (dictionary, indices, statistics) = match array.data_type() {
        DataType::UInt8 => {
            let values = array.as_primitive::<UInt8Type>().values();
            numbers(values.iter().map(|&v| u16::from(v)), nulls, 256, 0)
        }
        DataType::UInt16 => {
            let values = array.as_primitive::<UInt16Type>().values();
            numbers(values.iter().copied(), nulls, 1 << 16, 0)
        }
        DataType::Int16 => {
            // Moved up so that the order of the codes is that of the numbers.
            let values = array.as_primitive::<Int16Type>().values();
            let codes = values.iter().map(|&v| (v as u16) ^ 0x8000);
            numbers(codes, nulls, 1 << 16, 0x8000)
        }
        _ => {
            let array = array.as_dictionary::<UInt8Type>();
            let words = array.values().as_string::<i32>();
            let codes = array.keys().values().iter().map(|&v| u16::from(v));
            let used = used(codes.clone(), nulls, 256);
            let mut plain = Vec::new();
            for &code in &used.codes {
                let word = words.value(usize::from(code)).as_bytes();
                plain.extend((word.len() as u32).to_le_bytes());
                plain.extend(word);
            }
            let of = |&code: &u16| words.value(usize::from(code));
            let bound = |word: Option<&str>| word.map(ByteArray::from);
            let statistics = Statistics::byte_array(
                bound(used.codes.iter().map(of).min()),
                bound(used.codes.iter().map(of).max()),
                None,
                Some(null_count(nulls)),
                false,
            );
            let indices = used.indices(codes, nulls);
            ((plain, used.codes.len()), indices, statistics)
        }
    };
    let (plain, distinct) = dictionary;
    let width = (usize::BITS - distinct.saturating_sub(1).leading_zeros()).max(1);

    let mut data = Vec::new();
    if column.max_def_level() > 0 {
        let levels: Vec<u16> = match nulls {
            Some(nulls) => nulls.iter().map(u16::from).collect(),
            None => vec![1; array.len()],
        };
        let levels = hybrid(&levels, 1);
        data.extend((levels.len() as u32).to_le_bytes());
        data.extend(levels);
    }
    data.push(width as u8);
    data.extend(hybrid(&indices, width));

    let rows = array.len();
    let mut squeeze = |bytes: &[u8]| -> Result<Vec<u8>> {
        let squeezed = compressor.compress(bytes);
        squeezed.map_err(|error| ParquetError::External(Box::new(error)))
    };
    let mut sink = TrackedWrite::new(Vec::new());
    let mut writer = SerializedPageWriter::new(&mut sink);
    let dictionary = writer.write_page(CompressedPage::new(
        Page::DictionaryPage {
            buf: squeeze(&plain)?.into(),
            num_values: distinct as u32,
            encoding: Encoding::PLAIN,
            is_sorted: false,
        },
        plain.len(),
    ))?;
    let page = writer.write_page(CompressedPage::new(
        Page::DataPage {
            buf: squeeze(&data)?.into(),
            num_values: rows as u32,
            encoding: Encoding::RLE_DICTIONARY,
            def_level_encoding: Encoding::RLE,
            rep_level_encoding: Encoding::RLE,
            statistics: None,
        },
        data.len(),
    ))?;
    writer.close()?;
    let bytes = dictionary.bytes_written + page.bytes_written;
    let unpacked = dictionary.uncompressed_size + page.uncompressed_size;
    let metadata = ColumnChunkMetaData::builder(column.clone())
        .set_encodings(vec![
            Encoding::PLAIN,
            Encoding::RLE,
            Encoding::RLE_DICTIONARY,
        ])
        .set_compression(compression)
        .set_num_values(rows as i64)
        .set_total_compressed_size(bytes as i64)
        .set_total_uncompressed_size(unpacked as i64)
        .set_dictionary_page_offset(Some(dictionary.offset as i64))
        .set_data_page_offset(page.offset as i64)
        .set_statistics(statistics)
        .build()?;
    Ok(CodedChunk {
        pages: sink.into_inner()?,
        close: ColumnCloseResult {
            bytes_written: bytes,
            rows_written: rows as u64,
            metadata,
            bloom_filter: None,
            column_index: None,
            offset_index: None,
        },
    })
}

fn null_count(nulls: Option<&NullBuffer>) -> u64 {
    nulls.map_or(0, NullBuffer::null_count) as u64
}

/// Dictionary (plain bytes and number of values), places in it, and bounds of a column of
/// numbers; `flip` turns a code back into its number's bits.
fn numbers(
    codes: impl Iterator<Item = u16> + Clone,
    nulls: Option<&NullBuffer>,
    span: usize,
    flip: u16,
) -> ((Vec<u8>, usize), Vec<u16>, Statistics) {
    let used = used(codes.clone(), nulls, span);
    let number = |code: u16| {
        if flip == 0 {
            i32::from(code)
        } else {
            i32::from((code ^ flip) as i16)
        }
    };
    let plain = used
        .codes
        .iter()
        .flat_map(|&code| number(code).to_le_bytes())
        .collect();
    let statistics = Statistics::int32(
        used.codes.first().map(|&code| number(code)),
        used.codes.last().map(|&code| number(code)),
        None,
        Some(null_count(nulls)),
        false,
    );
    let indices = used.indices(codes, nulls);
    ((plain, used.codes.len()), indices, statistics)
}

/// The codes that occur, in order, and the place of each.
struct Used {
    codes: Vec<u16>,
    places: Vec<u16>,
}

fn used(codes: impl Iterator<Item = u16>, nulls: Option<&NullBuffer>, span: usize) -> Used {
    const ABSENT: u16 = u16::MAX;
    let mut places = vec![ABSENT; span];
    match nulls {
        None => codes.for_each(|code| places[usize::from(code)] = 0),
        Some(nulls) => {
            for (code, valid) in codes.zip(nulls) {
                if valid {
                    places[usize::from(code)] = 0;
                }
            }
        }
    }
    let mut codes = Vec::new();
    for (code, place) in places.iter_mut().enumerate() {
        if *place != ABSENT {
            *place = codes.len() as u16;
            codes.push(code as u16);
        }
    }
    Used { codes, places }
}

impl Used {
    /// Places of the values that are not null.
    fn indices(&self, codes: impl Iterator<Item = u16>, nulls: Option<&NullBuffer>) -> Vec<u16> {
        let place = |code: u16| self.places[usize::from(code)];
        match nulls {
            None => codes.map(place).collect(),
            Some(nulls) => codes
                .zip(nulls)
                .filter(|&(_, valid)| valid)
                .map(|(code, _)| place(code))
                .collect(),
        }
    }
}

/// Runs and bit-packed groups of eight, by Parquet's RLE/bit-packing hybrid; `width` from 1
/// to 16 bits.
fn hybrid(values: &[u16], width: u32) -> Vec<u8> {
    let mut out = Vec::with_capacity(values.len() * width as usize / 8 + 16);
    let mut packed = Vec::new();
    let mut groups = 0_u64;
    let mut rest = values;
    while let Some(&first) = rest.first() {
        let run = rest.iter().take_while(|&&value| value == first).count();
        if run >= 8 {
            flush(&mut out, &mut packed, &mut groups);
            varint(&mut out, (run as u64) << 1);
            out.extend(&first.to_le_bytes()[..width.div_ceil(8) as usize]);
            rest = &rest[run..];
        } else {
            let (group, after) = rest.split_at(rest.len().min(8));
            let mut bits = 0_u128;
            for (&value, at) in group.iter().zip(0_u32..) {
                bits |= u128::from(value) << (at * width);
            }
            packed.extend(&bits.to_le_bytes()[..width as usize]);
            groups += 1;
            rest = after;
        }
    }
    flush(&mut out, &mut packed, &mut groups);
    out
}

/// Writes the groups packed so far behind their header.
fn flush(out: &mut Vec<u8>, packed: &mut Vec<u8>, groups: &mut u64) {
    if *groups > 0 {
        varint(out, *groups << 1 | 1);
        out.append(packed);
        *groups = 0;
    }
}

/// ULEB128.
fn varint(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Apache Parquet format, "Run Length Encoding / Bit-Packing Hybrid": the numbers 0
    /// to 7 in three bits each.
    #[test]
    fn packs_as_the_format_shows() {
        let packed = hybrid(&[0, 1, 2, 3, 4, 5, 6, 7], 3);
        assert_eq!(packed, [0b11, 0b1000_1000, 0b1100_0110, 0b1111_1010]);
    }

    #[test]
    fn runs_and_groups_come_back() {
        for width in [1, 3, 8, 9, 16] {
            let top = (1_u32 << width) - 1;
            let mut state = 7_u32;
            let mut values = Vec::new();
            for step in 0_u32..400 {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let value = ((state >> 8) % (top + 1)) as u16;
                let times = if step % 5 == 0 { state >> 24 } else { 1 };
                values.extend(std::iter::repeat_n(value, times as usize));
            }
            assert_eq!(read(&hybrid(&values, width), width, values.len()), values);
        }
        assert!(hybrid(&[], 4).is_empty());
    }

    /// Reads the hybrid, from its description.
    fn read(mut bytes: &[u8], width: u32, count: usize) -> Vec<u16> {
        let mut values = Vec::new();
        while values.len() < count {
            let mut header = 0_u64;
            for shift in (0..).step_by(7) {
                let byte = bytes[0];
                bytes = &bytes[1..];
                header |= u64::from(byte & 0x7F) << shift;
                if byte < 0x80 {
                    break;
                }
            }
            if header & 1 == 0 {
                let length = width.div_ceil(8) as usize;
                let low = bytes[0];
                let high = if length == 2 { bytes[1] } else { 0 };
                let value = u16::from_le_bytes([low, high]);
                values.extend(std::iter::repeat_n(value, (header >> 1) as usize));
                bytes = &bytes[length..];
            } else {
                let numbers = (header >> 1) as usize * 8;
                for at in 0..numbers * width as usize {
                    if at % width as usize == 0 {
                        values.push(0);
                    }
                    let bit = u16::from(bytes[at / 8] >> (at % 8) & 1);
                    if let Some(last) = values.last_mut() {
                        *last |= bit << (at % width as usize);
                    }
                }
                bytes = &bytes[numbers * width as usize / 8..];
            }
        }
        values.truncate(count);
        values
    }
}
