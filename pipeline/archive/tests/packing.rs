//! Packed files give back the bytes that went in, in one piece or several, and what is cut
//! off gives what came before.

mod common;

use std::io::{self, Cursor, Read, Write};

use common::runner::{Tally, check};
use common::sample;
use hobble_archive::format::Format;
use hobble_archive::stream::Stream;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use sha2::{Digest, Sha256};

fn pack(format: Format, text: &[u8]) -> io::Result<Vec<u8>> {
    match format {
        Format::Plain => Ok(text.to_vec()),
        Format::Zstd => zstd::encode_all(text, 1),
        Format::Gzip => {
            let level = flate2::Compression::fast();
            let mut packer = flate2::write::GzEncoder::new(Vec::new(), level);
            packer.write_all(text)?;
            packer.finish()
        }
        Format::Bzip2 => {
            let level = bzip2::Compression::fast();
            let mut packer = bzip2::write::BzEncoder::new(Vec::new(), level);
            packer.write_all(text)?;
            packer.finish()
        }
    }
}

/// Bytes behind the last packed piece take no game away, and are counted.
#[test]
fn trailing_bytes_behind_the_packed_text() {
    let text = sample::season(5).concat();
    for format in [Format::Zstd, Format::Gzip, Format::Bzip2] {
        for trailing in [&b"x"[..], &[0; 300_000], b"no packed text"] {
            let mut packed = pack(format, &text).unwrap();
            packed.extend(pack(format, &text).unwrap());
            packed.extend(trailing);
            let mut stream = Stream::unpack(Box::new(Cursor::new(packed.clone()))).unwrap();
            let mut found = Vec::new();
            stream.read_to_end(&mut found).unwrap();
            assert!(found == [&text[..], &text].concat(), "{format:?}");
            assert_eq!(stream.trailing_bytes(), trailing.len() as u64, "{format:?}");
            assert_eq!(stream.progress().bytes(), packed.len() as u64);
        }
    }
}

#[test]
fn packed_text_comes_back() {
    let text = sample::season(20).concat();
    let formats = vec![Format::Plain, Format::Zstd, Format::Gzip, Format::Bzip2];
    let borders = prop::collection::vec(any::<Index>(), 0..4);
    let cut = prop::option::of(any::<Index>());
    let bytes = Tally::new();
    let cases = (select(formats), any::<Index>(), borders, cut);
    let ran = check(
        file!(),
        "packing",
        300,
        &cases,
        |(format, end, borders, cut)| {
            let text = &text[..end.index(text.len() + 1)];
            let mut borders: Vec<usize> = borders.iter().map(|b| b.index(text.len() + 1)).collect();
            borders.extend([0, text.len()]);
            borders.sort_unstable();
            let mut packed = Vec::new();
            for pair in borders.windows(2) {
                packed.extend(pack(format, &text[pair[0]..pair[1]]).unwrap());
            }
            let whole = packed.len();
            if let Some(cut) = cut {
                packed.truncate(cut.index(packed.len() + 1));
            }
            let mut stream = Stream::unpack(Box::new(Cursor::new(packed.clone()))).unwrap();
            // Cut so short, or so empty, that its first bytes do not show the packing.
            if packed.len() >= Format::HEAD && !text.is_empty() {
                prop_assert_eq!(stream.format(), format);
            } else {
                return Ok(());
            }
            let mut found = Vec::new();
            let result = stream.read_to_end(&mut found);
            prop_assert!(text.starts_with(&found));
            if packed.len() == whole {
                prop_assert!(result.is_ok(), "{:?}", result);
                prop_assert_eq!(found.len(), text.len());
            }
            if result.is_ok() {
                prop_assert_eq!(stream.progress().bytes(), packed.len() as u64);
                let hash = Sha256::digest(&packed);
                let hash: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
                prop_assert_eq!(stream.sha256(), hash);
            }
            bytes.add(found.len());
            Ok(())
        },
    );
    println!(
        "packing: {ran} files, {} bytes unpacked, 0 differences",
        bytes.sum()
    );
}
