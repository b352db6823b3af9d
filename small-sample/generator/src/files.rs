//! The files of a season: one whole, and the same in three compressed parts.

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

/// How a part is compressed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Packing {
    Zstd,
    Gzip,
    Bzip2,
}

const PARTS: [(Packing, &str); 3] = [
    (Packing::Zstd, "part-1.pgn.zst"),
    (Packing::Gzip, "part-2.pgn.gz"),
    (Packing::Bzip2, "part-3.pgn.bz2"),
];

/// A file and what it should hold, before compression.
struct Wanted {
    path: PathBuf,
    packing: Option<Packing>,
    text: String,
}

/// `season.pgn` gives `season-parts`, beside it.
pub fn parts_folder(out: &Path) -> PathBuf {
    let stem = out.file_stem().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!("{stem}-parts"))
}

fn wanted(games: &[String], out: &Path) -> Vec<Wanted> {
    let mut all = vec![Wanted {
        path: out.to_owned(),
        packing: None,
        text: games.concat(),
    }];
    let folder = parts_folder(out);
    let mut from = 0;
    for (index, (packing, name)) in PARTS.into_iter().enumerate() {
        let until = games.len() * (index + 1) / PARTS.len();
        all.push(Wanted {
            path: folder.join(name),
            packing: Some(packing),
            text: games[from..until].concat(),
        });
        from = until;
    }
    all
}

/// Writes the whole season and its parts; gives the paths written.
pub fn write(games: &[String], out: &Path) -> Result<Vec<PathBuf>> {
    let folder = parts_folder(out);
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let mut written = Vec::new();
    for file in wanted(games, out) {
        let bytes = packed(file.text.as_bytes(), file.packing)?;
        fs::write(&file.path, bytes)
            .with_context(|| format!("cannot write {}", file.path.display()))?;
        written.push(file.path);
    }
    Ok(written)
}

/// Compares the files with what they should hold, parts after unpacking (another version
/// of a compressor may pack the same text differently). Gives one line a file that differs.
pub fn differences(games: &[String], out: &Path) -> Vec<String> {
    wanted(games, out)
        .into_iter()
        .filter_map(|file| {
            let name = file.path.display();
            let held = fs::read(&file.path)
                .map_err(anyhow::Error::from)
                .and_then(|bytes| unpacked(&bytes, file.packing));
            match held {
                Err(error) => Some(format!("{name}: cannot be read: {error}")),
                Ok(held) if held == file.text.as_bytes() => None,
                Ok(held) => Some(format!("{name}: {}", first_difference(&held, &file.text))),
            }
        })
        .collect()
}

fn first_difference(held: &[u8], wanted: &str) -> String {
    let same = held
        .iter()
        .zip(wanted.as_bytes())
        .take_while(|(a, b)| a == b)
        .count();
    let line = 1 + held[..same].iter().filter(|&&byte| byte == b'\n').count();
    format!("differs from the season of this seed in line {line}")
}

fn packed(text: &[u8], packing: Option<Packing>) -> Result<Vec<u8>> {
    Ok(match packing {
        None => text.to_vec(),
        Some(Packing::Zstd) => zstd::encode_all(text, 19)?,
        Some(Packing::Gzip) => {
            // The header has no time and no name unless asked to.
            let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
            writer.write_all(text)?;
            writer.finish()?
        }
        Some(Packing::Bzip2) => {
            let mut writer = bzip2::write::BzEncoder::new(Vec::new(), bzip2::Compression::best());
            writer.write_all(text)?;
            writer.finish()?
        }
    })
}

fn unpacked(bytes: &[u8], packing: Option<Packing>) -> Result<Vec<u8>> {
    let mut text = Vec::new();
    match packing {
        None => text.extend_from_slice(bytes),
        Some(Packing::Zstd) => text = zstd::decode_all(bytes)?,
        Some(Packing::Gzip) => {
            flate2::read::GzDecoder::new(bytes).read_to_end(&mut text)?;
        }
        Some(Packing::Bzip2) => {
            bzip2::read::BzDecoder::new(bytes).read_to_end(&mut text)?;
        }
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Vec<String> {
        (0..7)
            .map(|n| format!("[Event \"e{n}\"]\n\n1. e4 *\n\n"))
            .collect()
    }

    #[test]
    fn the_parts_make_up_the_whole() {
        let files = wanted(&sample(), Path::new("a/season.pgn"));
        assert_eq!(files.len(), 4);
        let parts: String = files[1..].iter().map(|file| file.text.as_str()).collect();
        assert_eq!(parts, files[0].text);
        assert!(files[1..].iter().all(|file| !file.text.is_empty()));
        assert_eq!(files[1].path, Path::new("a/season-parts/part-1.pgn.zst"));
    }

    #[test]
    fn what_is_written_checks_and_what_is_changed_does_not() {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        let out = folder.path().join("season.pgn");
        let games = sample();
        assert_eq!(write(&games, &out).expect("it can be written").len(), 4);
        assert_eq!(differences(&games, &out), Vec::<String>::new());

        let mut other = games.clone();
        other[6] = other[6].replace("e4", "d4");
        let said = differences(&other, &out);
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(said[0].ends_with("in line 27"), "{said:?}");

        fs::remove_file(parts_folder(&out).join(PARTS[1].1)).expect("it is there");
        assert_eq!(differences(&games, &out).len(), 1);
    }

    #[test]
    fn packing_is_repeatable() {
        for (packing, _) in PARTS {
            let once = packed(b"1. e4 e5 *", Some(packing)).expect("it packs");
            assert_eq!(
                once,
                packed(b"1. e4 e5 *", Some(packing)).expect("it packs")
            );
            assert_eq!(
                unpacked(&once, Some(packing)).expect("it unpacks"),
                b"1. e4 e5 *"
            );
        }
    }
}
