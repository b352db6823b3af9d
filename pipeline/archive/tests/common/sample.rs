//! Games of the small sample as text.

#![allow(dead_code, reason = "each test file uses its part")]

use std::fs;
use std::path::{Path, PathBuf};

use hobble_archive::block::{Blocks, Sizes};

/// A file or folder of the small sample.
pub fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../small-sample")
        .join(name)
}

/// The first games of the season, each with the blank lines around its moves.
pub fn season(games: usize) -> Vec<Vec<u8>> {
    let text = fs::read_to_string(path("season.pgn")).expect("the season is there");
    let starts: Vec<usize> = text
        .match_indices("[Event ")
        .map(|(start, _)| start)
        .take(games + 1)
        .collect();
    starts
        .windows(2)
        .map(|pair| text.as_bytes()[pair[0]..pair[1]].to_vec())
        .collect()
}

/// The files of odd games by name, but for those of more than `most` bytes.
pub fn odd(most: usize) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = fs::read_dir(path("odd-games"))
        .expect("the odd games are there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "pgn"))
        .collect();
    paths.sort();
    let files: Vec<Vec<u8>> = paths
        .iter()
        .map(|path| fs::read(path).expect("a file that can be read"))
        .filter(|text| text.len() <= most)
        .collect();
    assert!(files.len() > 50, "only {} odd games", files.len());
    files
}

/// The odd games one by one.
pub fn odd_games(most: usize) -> Vec<Vec<u8>> {
    let mut games = Vec::new();
    for file in odd(most) {
        let mut blocks = Blocks::new(file.as_slice(), Sizes::default());
        while let Some(block) = blocks.next_block().expect("memory can be read") {
            for place in block.games {
                games.push(block.text[place.span.start..place.span.end].to_vec());
            }
        }
    }
    games
}
