//! Borders of games in damaged text: found the same however the text arrives, and where a
//! slow reading of the rules of `hobble_archive::split`, line by line, finds them.

mod common;

use std::io::{self, Read};

use common::mutation::{Edit, Text, damaged, edits};
use common::runner::{Tally, check};
use common::sample;
use hobble_archive::block::{Blocks, Cut, Place, Sizes};
use hobble_archive::split::Splitter;
use hobble_archive::tag_line::TagLine;
use proptest::prelude::*;
use proptest::sample::{Index, select};

const BOM: &[u8] = b"\xef\xbb\xbf";

/// Name of the tag where a line is a tag line: at its start, or after up to 64 blanks, `[`, a name
/// of less than 80 letters, digits and underscores, up to 40 blanks, `"`.
fn tag_of(line: &[u8]) -> Option<&[u8]> {
    let is_blank = |byte: &&u8| matches!(byte, b' ' | b'\t');
    let line = line.strip_prefix(BOM).unwrap_or(line);
    let indent = line.iter().take_while(is_blank).count();
    let line = line[indent..].strip_prefix(b"[")?;
    let is_name = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'_';
    let name: usize = line.iter().take_while(|byte| is_name(byte)).count();
    let rest = &line[name..];
    let blanks = rest.iter().take_while(is_blank).count();
    let is_tag =
        indent <= 64 && (1..80).contains(&name) && blanks <= 40 && rest.get(blanks) == Some(&b'"');
    is_tag.then_some(&line[..name])
}

fn words_of(line: &[u8]) -> &[u8] {
    line.strip_prefix(BOM).unwrap_or(line).trim_ascii()
}

/// Whether a line holds nothing that counts.
fn is_void(line: &[u8]) -> bool {
    let line = words_of(line);
    line.is_empty() || line.starts_with(b"%") || line.starts_with(b";")
}

/// Whether a line of a tag section leaves a value open: a quote opens in it and none closes, or it
/// has no closing bracket.
fn is_open(line: &[u8]) -> bool {
    let line = words_of(line);
    if !line.starts_with(b"[") || line.ends_with(b"\"]") {
        return false;
    }
    TagLine::of(line).open
}

/// Whether lines behind a tag line hold anything but lines of a tag section.
fn holds_moves(tag: &[u8], lines: &[&[u8]]) -> bool {
    let mut open = is_open(tag);
    let mut at = 0;
    while at < lines.len() {
        if open {
            let rest = &lines[at..lines.len().min(at + 8)];
            let end = rest.iter().position(|line| {
                let words = line.trim_ascii();
                words.is_empty() || words.starts_with(b"[") || words.ends_with(b"\"]")
            });
            if let Some(end) = end
                && !rest[end].trim_ascii().is_empty()
                && !rest[end].trim_ascii().starts_with(b"[")
            {
                at += end + 1;
                open = false;
                continue;
            }
        }
        let words = words_of(lines[at]);
        let tag_like = words.starts_with(b"[") && !words.starts_with(b"[%");
        if !is_void(lines[at]) && !tag_like {
            return true;
        }
        open = tag_like && is_open(lines[at]);
        at += 1;
    }
    false
}

/// Whether a line directly before a tag line belongs to its game.
fn is_odd_tag(line: &[u8]) -> bool {
    let words = line.trim_ascii();
    words.len() > 2
        && words.starts_with(b"[")
        && words[1].is_ascii_alphabetic()
        && words.ends_with(b"]")
}

/// Starts of games after the first.
fn slow_borders(text: &[u8]) -> Vec<usize> {
    let mut borders = Vec::new();
    let mut first_tag: Option<&[u8]> = None;
    let mut tag: &[u8] = b"";
    // What has come since the last tag line.
    let mut since: Vec<&[u8]> = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive(|&byte| byte == b'\n') {
        match tag_of(line) {
            Some(name) => {
                let moves = holds_moves(tag, &since);
                let blank = since.iter().any(|line| {
                    let words = line.trim_ascii();
                    words.is_empty() || words.starts_with(b"%") || words.starts_with(b";")
                });
                if moves {
                    let odd = since.iter().rev().take_while(|line| is_odd_tag(line));
                    borders.push(at - odd.map(|line| line.len()).sum::<usize>());
                    first_tag = Some(name);
                } else if first_tag == Some(name) && blank {
                    borders.push(at);
                } else {
                    first_tag = first_tag.or(Some(name));
                }
                tag = line;
                since.clear();
            }
            None => since.push(line),
        }
        at += line.len();
    }
    borders
}

/// A few games of the sample one after the other, damaged.
fn texts() -> impl Strategy<Value = Text> {
    let mut files = sample::odd(20_000);
    files.extend(sample::season(12));
    let some = prop::collection::vec(select(files), 1..6);
    (some, edits(8)).prop_map(|(files, edits): (Vec<Vec<u8>>, Vec<Edit>)| {
        Text(damaged(&files.concat(), &edits))
    })
}

/// Reads in portions of a few bytes; with `fails`, ends in an error.
struct Portions<'a> {
    text: &'a [u8],
    portions: std::iter::Cycle<std::slice::Iter<'a, usize>>,
    fails: bool,
}

impl Read for Portions<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let portion = *self.portions.next().expect("a cycle does not end");
        let length = portion.min(buffer.len());
        match self.text.read(&mut buffer[..length])? {
            0 if self.fails => Err(io::ErrorKind::BrokenPipe.into()),
            length => Ok(length),
        }
    }
}

#[test]
fn borders_do_not_depend_on_how_the_text_arrives() {
    let found_in_all = Tally::new();
    let steps = prop::collection::vec(1..600_usize, 1..8);
    let ran = check(
        file!(),
        "borders",
        1500,
        &(texts(), steps),
        |(text, steps)| {
            let text = text.0;
            let mut splitter = Splitter::default();
            let mut found = Vec::new();
            let mut end = 0;
            for step in steps.iter().cycle() {
                end += step;
                if end >= text.len() {
                    break;
                }
                splitter.advance(&text[..end], false, &mut found);
            }
            splitter.advance(&text, true, &mut found);
            prop_assert_eq!(&found, &slow_borders(&text), "{}", text.escape_ascii());
            found_in_all.add(found.len());
            Ok(())
        },
    );
    assert!(found_in_all.sum() > ran, "too few borders met");
    println!(
        "borders of damaged text: {ran} texts, {} borders, 0 differences",
        found_in_all.sum()
    );
}

/// Where the games of a text start and end, read slowly; a read that fails cuts the last.
fn slow_games(text: &[u8], fails: bool) -> Vec<(usize, usize)> {
    let mut borders = slow_borders(text);
    borders.insert(0, 0);
    borders.push(text.len());
    let mut expected: Vec<(usize, usize)> =
        borders.windows(2).map(|pair| (pair[0], pair[1])).collect();
    expected.retain(|&(start, end)| {
        let cut = fails && end == text.len() && start < end;
        cut || !text[start..end].split(|&byte| byte == b'\n').all(is_void)
    });
    // A game starts behind the lines that hold nothing.
    for (start, end) in &mut expected {
        for line in text[*start..*end].split_inclusive(|&byte| byte == b'\n') {
            if !is_void(line) {
                break;
            }
            *start += line.len();
        }
    }
    expected
}

#[test]
fn blocks_hand_out_every_byte_once() {
    let games = Tally::new();
    let portions = prop::collection::vec(1..3000_usize, 1..6);
    let end = prop::option::of(any::<Index>());
    let cases = (texts(), 1..6000_usize, portions, end);
    let ran = check(
        file!(),
        "blocks",
        1500,
        &cases,
        |(text, block, portions, end)| {
            let fails = end.is_some();
            let text = text.0;
            let arrives = &text[..end.map_or(text.len(), |end| end.index(text.len() + 1))];
            let blank = |&byte: &u8| if byte == 0 { b' ' } else { byte };
            let text: Vec<u8> = arrives.iter().map(blank).collect();
            let text = text.as_slice();
            let reader = Portions {
                text: arrives,
                portions: portions.iter().cycle(),
                fails,
            };
            let sizes = Sizes {
                block,
                ..Sizes::default()
            };
            let mut blocks = Blocks::new(reader, sizes);
            let mut whole = Vec::new();
            let mut places: Vec<(Place, Vec<u8>)> = Vec::new();
            let error = loop {
                match blocks.next_block() {
                    Ok(Some(block)) => {
                        for &place in &block.games {
                            let own = block.text[place.span.start..place.span.end].to_vec();
                            prop_assert_eq!(place.offset as usize, whole.len() + place.span.start);
                            places.push((place, own));
                        }
                        whole.extend_from_slice(&block.text);
                        prop_assert_eq!(block.end_offset as usize, whole.len());
                    }
                    Ok(None) => break false,
                    Err(_) => break true,
                }
            };
            prop_assert_eq!(error, fails);
            prop_assert_eq!(whole.as_slice(), text);
            let expected = slow_games(text, fails);
            prop_assert_eq!(places.len(), expected.len());
            for (number, ((place, own), (start, end))) in places.iter().zip(expected).enumerate() {
                prop_assert_eq!(own.as_slice(), &text[start..end]);
                prop_assert_eq!(place.number as usize, number + 1);
                prop_assert_eq!(place.offset as usize, start);
                let line = text[..start].iter().filter(|&&byte| byte == b'\n').count() + 1;
                prop_assert_eq!(place.line as usize, line);
                let cut = (fails && end == text.len()).then_some(Cut::EndOfRead);
                prop_assert_eq!(place.cut, cut);
            }
            games.add(places.len());
            Ok(())
        },
    );
    println!(
        "blocks of damaged text: {ran} texts, {} games, 0 differences",
        games.sum()
    );
}

/// Found by the check above: a tag line longer than the look ahead whose end has not come
/// in yet. The rest of it is not movetext, and the tag after it starts no game.
#[test]
fn long_tag_line_may_arrive_in_two_pieces() {
    let remark = "long ".repeat(64);
    let text = format!("[Event \"a\"]\n[Remark \"{remark}\"]\n[Result \"*\"]\n\n*\n");
    let mut splitter = Splitter::default();
    let mut found = Vec::new();
    splitter.advance(&text.as_bytes()[..300], false, &mut found);
    splitter.advance(text.as_bytes(), true, &mut found);
    assert_eq!(found, [0; 0]);

    // The same across the end of what is read from a file at once, after blank lines.
    for ahead in (0..400).step_by(25) {
        let mut blank = vec![b'\n'; 256 * 1024 - ahead];
        blank.extend_from_slice(text.as_bytes());
        let mut blocks = Blocks::new(blank.as_slice(), Sizes::default());
        let mut met = 0;
        while let Some(block) = blocks.next_block().unwrap() {
            met += block.games.len();
        }
        assert_eq!(
            met, 1,
            "game {ahead} bytes before the end of the first read"
        );
    }
}
