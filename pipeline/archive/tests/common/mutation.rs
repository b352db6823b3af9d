//! Random damage to a text.

use std::fmt;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

/// One edit; places are fractions of the text as it then is.
#[derive(Clone, Debug)]
pub enum Edit {
    /// A bit turned over.
    Flip(Index, u8),
    /// A byte replaced.
    Set(Index, u8),
    /// Bytes taken out.
    Delete(Index, usize),
    /// Something put in.
    Insert(Index, &'static str),
    /// The rest cut off.
    Cut(Index),
    /// Bytes written once more elsewhere.
    Repeat(Index, usize, Index),
}

/// What is put in: everything PGN gives a meaning to, and what files pick up on their way.
const INSERTS: [&str; 44] = [
    "{",
    "}",
    "(",
    ")",
    "[",
    "]",
    "\"",
    "\\",
    "\n",
    "%",
    ";",
    "$",
    "\0",
    "\r",
    "\r\n",
    "\n\n",
    "\n\n\n",
    "\n%",
    "\n;",
    "\n[",
    "[Event \"",
    "\n[Event \"x\"]\n",
    "\n\n[Event \"x\"]\n\n",
    "\n[%clk 0:01:00]",
    "[%eval #-3]",
    "{[%clk 1:2:3",
    "\n[White \"",
    "\"]",
    "\\\"",
    " * ",
    "1-0",
    "½-½",
    "1–0",
    "\u{feff}",
    "\u{a0}",
    "ü",
    "--",
    "O-O-O",
    "0-0",
    "e8Q",
    "$1$",
    "1...",
    "!?",
    "<x>",
];

/// A text shown as the bytes it is made of.
#[derive(Clone)]
pub struct Text(pub Vec<u8>);

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\"", self.0.escape_ascii())
    }
}

/// One to `most` edits.
pub fn edits(most: usize) -> impl Strategy<Value = Vec<Edit>> {
    let place = any::<Index>;
    let edit = prop_oneof![
        2 => (place(), 0..8_u8).prop_map(|(at, bit)| Edit::Flip(at, bit)),
        1 => (place(), any::<u8>()).prop_map(|(at, byte)| Edit::Set(at, byte)),
        3 => (place(), 1..40_usize).prop_map(|(at, length)| Edit::Delete(at, length)),
        8 => (place(), select(INSERTS.to_vec())).prop_map(|(at, text)| Edit::Insert(at, text)),
        1 => place().prop_map(Edit::Cut),
        2 => (place(), 1..200_usize, place())
            .prop_map(|(from, length, to)| Edit::Repeat(from, length, to)),
    ];
    vec(edit, 1..=most)
}

/// A text after its edits.
pub fn damaged(text: &[u8], edits: &[Edit]) -> Vec<u8> {
    let mut text = text.to_vec();
    for edit in edits {
        let at = |index: &Index| index.index(text.len() + 1);
        let end = |start: usize, length: usize| text.len().min(start + length);
        match edit {
            Edit::Flip(index, bit) => {
                let at = at(index);
                if let Some(byte) = text.get_mut(at) {
                    *byte ^= 1 << bit;
                }
            }
            Edit::Set(index, new) => {
                let at = at(index);
                if let Some(byte) = text.get_mut(at) {
                    *byte = *new;
                }
            }
            Edit::Delete(index, length) => {
                let start = at(index);
                let end = end(start, *length);
                text.drain(start..end);
            }
            Edit::Insert(index, new) => {
                let at = at(index);
                text.splice(at..at, new.bytes());
            }
            Edit::Cut(index) => text.truncate(at(index)),
            Edit::Repeat(from, length, to) => {
                let start = at(from);
                let copy = text[start..end(start, *length)].to_vec();
                let to = at(to);
                text.splice(to..to, copy);
            }
        }
    }
    text
}
