//! A table of every type of column, declared, written and read back by the library's own
//! reader.

use arrow_array::{Array, RecordBatch};
use arrow_schema::DataType;
use bytes::Bytes;
use parquet::arrow::arrow_reader::{ArrowReaderOptions, ParquetRecordBatchReaderBuilder};
use parquet::basic::Encoding;
use parquet::errors::Result;

use crate::coded_pages::Encoder;
use crate::column::Text;
use crate::declare::{Distinct, GameNumber, Large, OfSide, Rising, Small, table};
use crate::encode::{Columns, Layout};
use crate::words::Words;

/// Four words, of which a column may hold the code.
pub struct Few;

impl Words for Few {
    type Value = u8;

    fn code(code: u8) -> u8 {
        code
    }

    fn list() -> Vec<String> {
        ["", "b", "aa", "c"].map(str::to_owned).to_vec()
    }

    fn listed() -> Vec<&'static str> {
        vec!["b", "aa", "c"]
    }
}

table! {
    /// A table of every type of column,
    /// in two lines.
    Skipped, schema 7, row "rising";
    columns EveryColumns;
    handles EveryHandles, EVERY;

    /// Numbers up to some highest one.
    bytes: [OfSide; 5], unit "squares" {
        /// None but 0.
        up_to_0;
        /// One bit.
        up_to_1;
        /// Two bits.
        up_to_3;
        /// Four bits.
        up_to_14;
        /// Eight bits.
        up_to_200;
    };
    /// Two bytes on one page, one byte on the other.
    short: Large;
    /// Each another one.
    long: GameNumber;
    /// All the same.
    same: GameNumber;
    /// With nulls.
    maybe: Option<i16>, unit "pawns", null "a third";
    /// Nothing but nulls.
    nothing: Option<Small>, null "all";
    /// A word or a null.
    word: Option<Few>, null "a third";
    /// A word.
    certain_word: Few;
    /// True or false.
    flag: bool;
    /// True, false or null.
    maybe_flag: Option<bool>, null "a third";
    /// Tenths.
    tenth: Option<f32>, null "a third";
    /// Fractions that are not hundredths.
    odd: Option<f32>, null "a third";
    /// Text.
    text: Text;
    /// Text or null.
    maybe_text: Option<Text>, null "a third";
    /// Rising numbers.
    rising: Rising<i64>;
    /// Hashes.
    distinct: Distinct<u64>;
    /// Below and above 0, one after the other.
    far: Distinct<i32>, unit "seconds";
    /// Below and above 0, few of them.
    near: i32;
    /// A wide range.
    some_far: Option<i32>, unit "seconds", null "a third";
    /// Counts.
    count: i64;
}

/// More than a page, and not a multiple of eight.
const ROWS: u32 = 70_003;

/// Whether a nullable column has a value in a row: the second page is without nulls.
fn known(n: u32) -> bool {
    n >= 1 << 16 || n % 3 != 1
}

fn byte(n: u32, top: u32) -> u8 {
    ((n.wrapping_mul(2_654_435_761) >> 8) % (top + 1)) as u8
}

fn short(n: u32) -> u16 {
    if n < 9 { 32_767 } else { (n % 250) as u16 }
}

fn maybe(n: u32) -> Option<i16> {
    known(n).then_some((n % 700) as i16 - 300)
}

fn word(n: u32) -> Option<u8> {
    known(n).then_some(1 + (n / 5 % 2) as u8)
}

fn truth(n: u32) -> bool {
    n % 7 == 2
}

fn tenth(n: u32) -> Option<f32> {
    known(n).then_some(f32::from((n % 400) as u16) / 10.0)
}

fn far(n: u32) -> i32 {
    n as i32 * 20_000 - 700_000_000
}

fn hash(n: u32) -> u64 {
    u64::from(n).wrapping_mul(0x9E37_79B9_7F4A_7C15)
}

const TOPS: [u32; 5] = [0, 1, 3, 14, 200];

fn every() -> EveryColumns {
    let all = || 0..ROWS;
    let mut every = EveryColumns::default();
    for (column, top) in every.bytes.iter_mut().zip(TOPS) {
        column.extend(all().map(|n| byte(n, top)));
    }
    every.short.extend(all().map(short));
    every.long.extend(all().map(|n| n + 2_000_000_000));
    every.same.fill(7, ROWS as usize);
    every.maybe.extend(all().map(maybe));
    every.nothing.extend(all().map(|_| None));
    every.word.extend(all().map(word));
    every.certain_word.fill(3, ROWS as usize);
    every.flag.extend(all().map(truth));
    every
        .maybe_flag
        .extend(all().map(|n| known(n).then_some(truth(n))));
    every.tenth.extend(all().map(tenth));
    every.odd.extend(all().map(|n| known(n).then_some(0.1234)));
    for n in all() {
        every.text.push(&format!("row {}", n % 99));
        every.maybe_text.push(known(n).then_some("there"));
        every.rising.push(i64::from(n) * 3);
        every.distinct.push(hash(n));
        every.far.push(far(n));
        every.near.push(n as i32 % 7 - 3);
        every.some_far.fill(known(n).then_some(far(n)), 1);
        every.count.push(i64::from(n % 5));
    }
    every
}

fn write(columns: Columns<'_>) -> Result<Bytes> {
    let layout = Layout::new(&description())?;
    let group = layout.encode(columns, &mut Encoder::default())?;
    let mut file = layout.open(Vec::new())?;
    group.expect("there are rows").append(&mut file)?;
    Ok(file.into_inner()?.into())
}

fn read(file: Bytes) -> RecordBatch {
    // Words as texts.
    let options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
    let builder = ParquetRecordBatchReaderBuilder::try_new_with_options(file, options).unwrap();
    let reader = builder.with_batch_size(ROWS as usize).build();
    reader.unwrap().next().unwrap().unwrap()
}

#[test]
fn every_type_is_read_back() {
    let rows = read(write(every().columns()).unwrap());
    let all = || 0..ROWS;
    for (column, top) in EVERY.bytes.into_iter().zip(TOPS) {
        let bytes = column.of(&rows).unwrap().iter();
        assert!(bytes.eq(all().map(|n| Some(byte(n, top).into()))), "{top}");
    }
    let shorts = EVERY.short.of(&rows).unwrap().iter();
    assert!(shorts.eq(all().map(|n| Some(short(n) as i16))));
    let longs = EVERY.long.of(&rows).unwrap().iter();
    assert!(longs.eq(all().map(|n| Some(n as i32 + 2_000_000_000))));
    let same = EVERY.same.of(&rows).unwrap().iter();
    assert!(same.eq(all().map(|_| Some(7))));
    assert!(EVERY.maybe.of(&rows).unwrap().iter().eq(all().map(maybe)));
    assert_eq!(EVERY.nothing.of(&rows).unwrap().null_count(), ROWS as usize);
    let words = Few::list();
    let word = |n| word(n).map(|code| words[usize::from(code)].as_str());
    assert!(EVERY.word.of(&rows).unwrap().iter().eq(all().map(word)));
    let certain = EVERY.certain_word.of(&rows).unwrap().iter();
    assert!(certain.eq(all().map(|_| Some("c"))));
    let flags = EVERY.flag.of(&rows).unwrap().iter();
    assert!(flags.eq(all().map(|n| Some(truth(n)))));
    let flags = EVERY.maybe_flag.of(&rows).unwrap().iter();
    assert!(flags.eq(all().map(|n| known(n).then_some(truth(n)))));
    assert!(EVERY.tenth.of(&rows).unwrap().iter().eq(all().map(tenth)));
    let odd = EVERY.odd.of(&rows).unwrap().iter();
    assert!(odd.eq(all().map(|n| known(n).then_some(0.1234))));
    assert_eq!(EVERY.text.of(&rows).unwrap().value(100), "row 1");
    let texts = EVERY.maybe_text.of(&rows).unwrap().iter();
    assert!(texts.eq(all().map(|n| known(n).then_some("there"))));
    let rising = EVERY.rising.of(&rows).unwrap().iter();
    assert!(rising.eq(all().map(|n| Some(i64::from(n) * 3))));
    let distinct = EVERY.distinct.of(&rows).unwrap().iter();
    assert!(distinct.eq(all().map(|n| Some(hash(n)))));
    let far_ones = EVERY.far.of(&rows).unwrap().iter();
    assert!(far_ones.eq(all().map(|n| Some(far(n)))));
    let near = EVERY.near.of(&rows).unwrap().iter();
    assert!(near.eq(all().map(|n| Some(n as i32 % 7 - 3))));
    let some_far = EVERY.some_far.of(&rows).unwrap().iter();
    assert!(some_far.eq(all().map(|n| known(n).then_some(far(n)))));
    let counts = EVERY.count.of(&rows).unwrap().iter();
    assert!(counts.eq(all().map(|n| Some(i64::from(n % 5)))));
}

#[test]
fn columns_are_stored_as_declared() {
    assert_eq!(every().row_count(), ROWS as usize);
    let file = write(every().columns()).unwrap();
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).unwrap();
    let group = builder.metadata().row_group(0).clone();
    let encodings = |name: &str| {
        let column = group
            .columns()
            .iter()
            .find(|column| column.column_path().string() == name);
        column.unwrap().encodings().collect::<Vec<_>>()
    };
    assert!(encodings("rising").contains(&Encoding::DELTA_BINARY_PACKED));
    assert!(!encodings("distinct").contains(&Encoding::RLE_DICTIONARY));
    for coded in ["short", "word", "tenth", "count", "text"] {
        assert!(
            encodings(coded).contains(&Encoding::RLE_DICTIONARY),
            "{coded}"
        );
    }
}

#[test]
fn declaration_describes_the_columns() {
    let table = description();
    assert_eq!(table.text, "A table of every type of column, in two lines.");
    assert_eq!((table.schema, table.row), (7, "rising"));
    let column = |name| table.columns.iter().find(|column| column.name == name);
    let maybe = column("maybe").unwrap();
    assert_eq!((maybe.unit, maybe.null), ("pawns", "a third"));
    assert_eq!(column("up_to_14").unwrap().text, "Four bits.");
    assert_eq!(column("word").unwrap().values, ["b", "aa", "c"]);
    assert!(!column("count").unwrap().is_nullable());
}

#[test]
fn reader_refuses_other_types_nulls_and_names() {
    let rows = read(write(every().columns()).unwrap());
    let table = EVERY.short.table();
    let column = |name| crate::column::Column::<i16>::new(table, name);
    assert!(column("short").of(&rows).is_some());
    assert!(column("long").of(&rows).is_none(), "another type");
    assert!(column("absent").of(&rows).is_none(), "no such column");
    let certain = crate::column::Column::<i16>::new(table, "maybe");
    assert!(certain.of(&rows).is_none(), "nulls");
}

#[test]
fn column_that_is_not_filled_is_refused() {
    let mut every = every();
    every.flag.push(true);
    let error = write(every.columns()).unwrap_err().to_string();
    assert!(error.contains("column flag has 70004 rows"), "{error}");
}

#[test]
fn words_arrive_as_dictionaries_and_numbers_as_signed() {
    let file = write(every().columns()).unwrap();
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).unwrap();
    let column = |name: &str| {
        let field = builder.schema().field_with_name(name).unwrap();
        field.data_type().clone()
    };
    let words = DataType::Dictionary(DataType::Int32.into(), DataType::Utf8.into());
    assert_eq!(
        (column("word"), column("certain_word")),
        (words.clone(), words)
    );
    assert_eq!(
        (column("text"), column("nothing")),
        (DataType::Utf8, DataType::Int8)
    );
    assert_eq!(
        (column("up_to_200"), column("short")),
        (DataType::Int16, DataType::Int16)
    );
    assert_eq!(
        (column("long"), column("count")),
        (DataType::Int32, DataType::Int64)
    );
}

#[test]
fn number_beyond_the_type_is_refused() {
    let refused = |change: fn(&mut EveryColumns)| {
        let mut every = every();
        change(&mut every);
        write(every.columns()).unwrap_err().to_string()
    };
    let byte = refused(|every| {
        every.nothing = crate::growing::MaybeNumbers::default();
        every
            .nothing
            .extend((0..ROWS).map(|n| (n == 7).then_some(128)));
    });
    assert!(byte.contains("column nothing: 128 is more"), "{byte}");
    let pair = refused(|every| {
        every.short = crate::growing::Numbers::default();
        every.short.fill(32_768, ROWS as usize);
    });
    assert!(pair.contains("column short: 32768 is more"), "{pair}");
    let four = refused(|every| {
        every.long = crate::growing::Numbers::default();
        every.long.fill(1 << 31, ROWS as usize);
    });
    assert!(four.contains("column long: 2147483648 is more"), "{four}");
}

#[test]
fn code_without_a_word_is_refused() {
    let mut every = every();
    every.certain_word = crate::growing::Codes::default();
    every.certain_word.fill(4, ROWS as usize);
    assert!(write(every.columns()).is_err());
}
