//! Columns of small numbers and of few different values, written as Parquet dictionaries
//! without hashing.
//!
//! The general writer looks every value up in a hash table to find its place in the
//! dictionary. Here the dictionary holds everything from the lowest value of a column to its
//! highest, so that a value less the lowest one is its own place. Places take 1, 2, 4, 8, 16
//! or 32 bits: no number straddles bytes, which the compressor then sees whole. Layout of the
//! pages: Apache Parquet format, "Encodings" (PLAIN, RLE_DICTIONARY, RLE/bit-packing hybrid)
//! and "Data Pages" (version 1).

use std::io;

use bytes::Bytes;
use parquet::basic::{Compression, Encoding, LogicalType, ZstdLevel};
use parquet::column::page::{CompressedPage, Page, PageWriter};
use parquet::column::writer::ColumnCloseResult;
use parquet::data_type::ByteArray;
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::statistics::Statistics;
use parquet::file::writer::{SerializedPageWriter, TrackedWrite};
use parquet::schema::types::ColumnDescPtr;
use zstd::bulk::Compressor;
use zstd::zstd_safe::CParameter;

use crate::packing::{pack, packed, run, width};
use crate::values::{Number, Values, fraction};

/// Level of compression: higher ones cost much and gain little on columns of codes.
pub(crate) const ZSTD_LEVEL: i32 = 1;

/// Rows of a page: some hundred games, so that one long game does not widen the places of all.
const PAGE_ROWS: usize = 1 << 16;

/// A small table to look for repeats in: as good on columns as a large one, and cheaper.
const ZSTD_HASH_LOG: u32 = 12;

/// How far a number is above another one.
#[inline]
fn above<T: Number>(number: T, low: T) -> u32 {
    number.bits().wrapping_sub(low.bits()) as u32
}

/// Lowest and highest number, nulls left out; `None` where there is none.
fn bounds<T: Number>(numbers: &[T], nullable: bool) -> Option<(T, T)> {
    let (least, most) = T::ENDS;
    let (low, high) = if nullable {
        numbers.iter().fold((most, least), |(low, high), &number| {
            let null = number == T::NULL;
            let (lower, higher) = if null {
                (most, least)
            } else {
                (number, number)
            };
            (low.min(lower), high.max(higher))
        })
    } else {
        numbers.iter().fold((most, least), |(low, high), &number| {
            (low.min(number), high.max(number))
        })
    };
    (low <= high).then_some((low, high))
}

/// Checks that numbers kept without a sign are in the signed type of their column.
fn fits<T: Number>(bounds: Option<(T, T)>, column: &ColumnDescPtr) -> Result<()> {
    let bits = match column.logical_type_ref() {
        Some(LogicalType::Integer(integer)) => integer.bit_width,
        // Four bytes need no logical type; words and fractions are not numbers of the column.
        _ => 32,
    };
    let highest = i32::MAX >> (32 - i32::from(bits).clamp(1, 32));
    match bounds {
        Some((_, high)) if T::ENDS.0.bits() == 0 && !(0..=highest).contains(&high.bits()) => {
            let (name, number) = (column.name(), high.bits() as u32);
            Err(ParquetError::General(format!(
                "column {name}: {number} is more than its type holds"
            )))
        }
        _ => Ok(()),
    }
}

/// What the numbers of a column mean.
#[derive(Clone, Copy)]
enum Meaning<'a> {
    Number,
    Fraction(f32),
    Word(&'a [u8], &'a [String]),
    Flag,
}

impl Meaning<'_> {
    /// The values from the lowest to the highest, as a dictionary page holds them.
    fn dictionary<T: Number>(self, low: T, high: T) -> Result<Vec<u8>> {
        let (from, to) = (low.bits(), high.bits());
        let numbers = (0..=above(high, low)).map(|step| from.wrapping_add(step as i32));
        match self {
            Meaning::Fraction(parts) => Ok(numbers
                .flat_map(|number| fraction(number as i16, parts).to_le_bytes())
                .collect()),
            Meaning::Word(_, words) => {
                let words = words
                    .get(from as usize..=to as usize)
                    .ok_or_else(|| ParquetError::General("a code without a word".to_owned()))?;
                let length = |word: &String| (word.len() as u32).to_le_bytes();
                Ok(words
                    .iter()
                    .flat_map(|word| length(word).into_iter().chain(word.bytes()))
                    .collect())
            }
            Meaning::Number | Meaning::Flag => Ok(numbers.flat_map(i32::to_le_bytes).collect()),
        }
    }

    fn statistics<T: Number>(self, bounds: Option<(T, T)>, null_count: u64) -> Statistics {
        let low = bounds.map(|(low, _)| low.bits());
        let high = bounds.map(|(_, high)| high.bits());
        let nulls = Some(null_count);
        match self {
            Meaning::Number => Statistics::int32(low, high, None, nulls, false),
            Meaning::Fraction(parts) => {
                // By the format: a lowest value of zero is written as the negative one.
                let of = |number: i32| fraction(number as i16, parts);
                let low = low.map(|low| if low == 0 { -0.0 } else { of(low) });
                Statistics::float(low, high.map(of), None, nulls, false)
            }
            Meaning::Flag => {
                let truth = |number| number == 1;
                Statistics::boolean(low.map(truth), high.map(truth), None, nulls, false)
            }
            Meaning::Word(codes, words) => {
                // The order of the words is not that of their codes.
                let codes_met = low.unwrap_or(1)..=high.unwrap_or(0);
                let mut sorted: Vec<_> = codes_met
                    .filter_map(|code| Some((words.get(code as usize)?, code as u8)))
                    .collect();
                sorted.sort_unstable();
                let met = |&&(_, code): &&(&String, u8)| memchr::memchr(code, codes).is_some();
                let bound = |&(word, _): &(&String, u8)| ByteArray::from(word.as_str());
                let first = sorted.iter().find(met).map(bound);
                let last = sorted.iter().rfind(met).map(bound);
                Statistics::byte_array(first, last, None, nulls, false)
            }
        }
    }
}

/// A column chunk: its pages, and their description for the footer of the file.
pub struct CodedChunk {
    /// Dictionary page and data pages, as in the file.
    pub pages: Bytes,
    /// Their description.
    pub close: ColumnCloseResult,
}

/// The pages of a chunk, counted.
struct Pages<'a> {
    writer: SerializedPageWriter<'a, Vec<u8>>,
    bytes: u64,
    unpacked: u64,
}

impl Pages<'_> {
    /// Writes a page; returns its place.
    fn write(&mut self, page: CompressedPage) -> Result<i64> {
        let spec = self.writer.write_page(page)?;
        self.bytes += spec.bytes_written;
        self.unpacked += spec.uncompressed_size as u64;
        Ok(spec.offset as i64)
    }

    /// Ends the chunk; returns its bytes in the file and unpacked.
    fn close(mut self) -> Result<(u64, u64)> {
        self.writer.close()?;
        Ok((self.bytes, self.unpacked))
    }
}

/// Encodes columns, keeping its buffers.
#[derive(Default)]
pub struct Encoder {
    compressor: Option<Compressor<'static>>,
    /// The chunk being made.
    chunk: Vec<u8>,
    /// The page being made.
    page: Vec<u8>,
    /// A byte for each of its rows or values.
    bytes: Vec<u8>,
}

impl Encoder {
    /// Encodes a column.
    ///
    /// # Errors
    ///
    /// Where a code has no word, a number is too large for the type of the column, or the
    /// compressor or the page writer fails.
    pub fn encode(&mut self, values: &Values<'_>, column: &ColumnDescPtr) -> Result<CodedChunk> {
        match *values {
            Values::UInt8(numbers) => self.chunk(numbers, Meaning::Number, column),
            Values::UInt16(numbers) => self.chunk(numbers, Meaning::Number, column),
            Values::UInt32(numbers) => self.chunk(numbers, Meaning::Number, column),
            Values::Int16(numbers) => self.chunk(numbers, Meaning::Number, column),
            Values::Int32(numbers) => self.chunk(numbers, Meaning::Number, column),
            Values::Fractions(codes, parts) => self.chunk(codes, Meaning::Fraction(parts), column),
            Values::Words(codes, words) => self.chunk(codes, Meaning::Word(codes, words), column),
            Values::Flags(flags) => self.chunk(flags, Meaning::Flag, column),
        }
    }

    fn chunk<T: Number>(
        &mut self,
        numbers: &[T],
        meaning: Meaning<'_>,
        column: &ColumnDescPtr,
    ) -> Result<CodedChunk> {
        let nullable = column.max_def_level() > 0;
        let bounds = bounds(numbers, nullable);
        fits(bounds, column)?;
        let mut chunk = std::mem::take(&mut self.chunk);
        chunk.clear();
        let mut sink = TrackedWrite::new(chunk);
        let mut pages = Pages {
            writer: SerializedPageWriter::new(&mut sink),
            bytes: 0,
            unpacked: 0,
        };
        let mut encodings = vec![Encoding::PLAIN, Encoding::RLE];
        let mut dictionary_offset = None;
        if !matches!(meaning, Meaning::Flag) {
            encodings.push(Encoding::RLE_DICTIONARY);
            let page = self.dictionary_page(meaning, bounds)?;
            dictionary_offset = Some(pages.write(page)?);
        }
        let low = bounds.map_or(T::ENDS.0, |(low, _)| low);
        let mut present = Vec::new();
        let mut null_count = 0;
        let mut data_offset = None;
        for rows in numbers.chunks(PAGE_ROWS) {
            self.page.clear();
            let mut values = rows;
            if nullable {
                let valid = self.levels(rows);
                null_count += (rows.len() - valid) as u64;
                if valid < rows.len() {
                    present.clear();
                    if valid > 0 {
                        keep(rows, &mut present);
                    }
                    values = &present;
                }
            }
            let page = self.data_page(values, rows.len(), low, meaning)?;
            let offset = pages.write(page)?;
            data_offset.get_or_insert(offset);
        }
        let (bytes, unpacked) = pages.close()?;
        let metadata = ColumnChunkMetaData::builder(column.clone())
            .set_encodings(encodings)
            .set_compression(Compression::ZSTD(ZstdLevel::try_new(ZSTD_LEVEL)?))
            .set_num_values(numbers.len() as i64)
            .set_total_compressed_size(bytes as i64)
            .set_total_uncompressed_size(unpacked as i64)
            .set_dictionary_page_offset(dictionary_offset)
            .set_data_page_offset(data_offset.unwrap_or_default())
            .set_statistics(meaning.statistics(bounds, null_count))
            .build()?;
        self.chunk = sink.into_inner()?;
        Ok(CodedChunk {
            pages: Bytes::copy_from_slice(&self.chunk),
            close: ColumnCloseResult {
                bytes_written: bytes,
                rows_written: numbers.len() as u64,
                metadata,
                bloom_filter: None,
                column_index: None,
                offset_index: None,
            },
        })
    }

    /// The page of all values from the lowest to the highest.
    fn dictionary_page<T: Number>(
        &mut self,
        meaning: Meaning<'_>,
        bounds: Option<(T, T)>,
    ) -> Result<CompressedPage> {
        let (dictionary, num_values) = match bounds {
            Some((low, high)) => (meaning.dictionary(low, high)?, above(high, low) + 1),
            None => (Vec::new(), 0),
        };
        let page = Page::DictionaryPage {
            buf: self.squeeze(&dictionary)?.into(),
            num_values,
            encoding: Encoding::PLAIN,
            is_sorted: false,
        };
        Ok(CompressedPage::new(page, dictionary.len()))
    }

    /// A page of `row_count` rows, whose levels are in the page already if there are any.
    fn data_page<T: Number>(
        &mut self,
        values: &[T],
        row_count: usize,
        low: T,
        meaning: Meaning<'_>,
    ) -> Result<CompressedPage> {
        let encoding = if let Meaning::Flag = meaning {
            self.bits(values.iter().map(|&flag| flag.bits() as u8));
            Encoding::PLAIN
        } else {
            self.places(values, low);
            Encoding::RLE_DICTIONARY
        };
        let data = std::mem::take(&mut self.page);
        let page = Page::DataPage {
            buf: self.squeeze(&data)?.into(),
            num_values: row_count as u32,
            encoding,
            def_level_encoding: Encoding::RLE,
            rep_level_encoding: Encoding::RLE,
            statistics: None,
        };
        let page = CompressedPage::new(page, data.len());
        self.page = data;
        Ok(page)
    }

    /// Adds the levels of rows to the page: 1 for a value, 0 for a null;
    /// returns the number of values.
    fn levels<T: Number>(&mut self, rows: &[T]) -> usize {
        let start = self.page.len();
        self.page.extend([0; 4]);
        let valid = rows.iter().map(|&row| usize::from(row != T::NULL)).sum();
        if valid == rows.len() || valid == 0 {
            run(&mut self.page, rows.len(), &[u8::from(valid > 0)]);
        } else {
            packed(&mut self.page, rows.len());
            self.bits(rows.iter().map(|&row| u8::from(row != T::NULL)));
        }
        let length = (self.page.len() - start - 4) as u32;
        self.page[start..start + 4].copy_from_slice(&length.to_le_bytes());
        valid
    }

    /// Adds numbers to the page, as places in a dictionary that starts with `low`.
    fn places<T: Number>(&mut self, numbers: &[T], low: T) {
        // Nulls are left out already.
        let (from, to) = bounds(numbers, false).unwrap_or((low, low));
        let width = width(above(to, low));
        self.page.push(width as u8);
        if numbers.is_empty() {
            return;
        }
        if from == to {
            let place = above(from, low).to_le_bytes();
            run(&mut self.page, numbers.len(), &place[..width.div_ceil(8)]);
            return;
        }
        packed(&mut self.page, numbers.len());
        let places = numbers.iter().map(|&number| above(number, low));
        let page = &mut self.page;
        match width {
            1 => self.bits(places.map(|place| place as u8)),
            2 | 4 => {
                self.bytes.clear();
                self.bytes.extend(places.map(|place| place as u8));
                match width {
                    2 => pack::<2>(&mut self.bytes, page),
                    _ => pack::<4>(&mut self.bytes, page),
                }
            }
            8 => page.extend(places.map(|place| place as u8)),
            16 => page.extend(places.flat_map(|place| (place as u16).to_le_bytes())),
            _ => page.extend(places.flat_map(u32::to_le_bytes)),
        }
        // The last group is one of eight, too.
        let missing = numbers.len().next_multiple_of(8) - numbers.len();
        let whole_bytes = (width / 8) * missing;
        self.page.resize(self.page.len() + whole_bytes, 0);
    }

    /// Adds ones and zeros to the page.
    fn bits(&mut self, bits: impl Iterator<Item = u8>) {
        self.bytes.clear();
        self.bytes.extend(bits);
        pack::<1>(&mut self.bytes, &mut self.page);
    }

    fn squeeze(&mut self, bytes: &[u8]) -> Result<Vec<u8>> {
        let external = |error| ParquetError::External(Box::new(error));
        let compressor = match &mut self.compressor {
            Some(compressor) => compressor,
            none => none.insert(compressor().map_err(external)?),
        };
        compressor.compress(bytes).map_err(external)
    }
}

fn compressor() -> io::Result<Compressor<'static>> {
    let mut compressor = Compressor::new(ZSTD_LEVEL)?;
    compressor.set_parameter(CParameter::HashLog(ZSTD_HASH_LOG))?;
    Ok(compressor)
}

/// Copies the numbers that are not null.
fn keep<T: Number>(numbers: &[T], kept: &mut Vec<T>) {
    kept.clear();
    kept.resize(numbers.len(), T::NULL);
    let mut count = 0;
    // Written always and counted sometimes: no branch to guess.
    for &number in numbers {
        kept[count] = number;
        count += usize::from(number != T::NULL);
    }
    kept.truncate(count);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_leave_nulls_out() {
        assert_eq!(bounds::<u8>(&[3, u8::NULL, 7], true), Some((3, 7)));
        assert_eq!(bounds::<u16>(&[3, u16::NULL, 7], true), Some((3, 7)));
        assert_eq!(bounds::<u16>(&[3, 0, 7], false), Some((0, 7)));
        assert_eq!(bounds::<i16>(&[-3, i16::NULL, 7], true), Some((-3, 7)));
        assert_eq!(bounds::<i16>(&[i16::NULL], true), None);
        assert_eq!(bounds::<u32>(&[], false), None);
    }
}
