//! Finds what pgn-reader passes over in silence, and the place of what cannot be read.
//!
//! pgn-reader reports moves, results, comments and variations, but not of words it cannot
//! read. A game has none where each word that should be a move was read as one: where there are
//! as many [`Words`] as moves, and as many bytes in them as in the moves. A word gives at most
//! its own bytes, so the sums agree only where every word agrees. This count is all that most
//! games need; where it fails, the words are read one by one to find the first that is not a move.

use hobble_terms::Reason;
use shakmaty::san::San;

use crate::game_text::GameText;
use crate::skip::Skip;
use crate::tag_section::TagSection;
use crate::visitor::GameVisitor;
use crate::words::{Words, line_end};

/// Checks that the movetext from a byte on was read whole. Returns where words begin that stand
/// behind the result and are not moves (stray text), if there are any.
pub(crate) fn unread(text: &[u8], from: usize, read: &GameVisitor) -> Result<Option<usize>, Skip> {
    let moves = read.game.moves.len();
    let (mut count, mut bytes) = (0, 0);
    let mut words = Words::new(text, from);
    for word in &mut words {
        count += 1;
        bytes += word.len();
    }
    let same = count == moves && bytes == read.move_bytes && !words.left;
    let closed = read.depth == 0 && words.open_comment.is_none();
    if same && closed && read.moves_to_result.unwrap_or(moves) == moves {
        return Ok(None);
    }
    first_unread(text, from, read)
}

/// The first word that was not read as a move before the result, or else what is not closed.
fn first_unread(text: &[u8], from: usize, read: &GameVisitor) -> Result<Option<usize>, Skip> {
    let moves = &read.game.moves;
    let mut expected = moves[..read.moves_to_result.unwrap_or(moves.len())].iter();
    let mut stray = None;
    let mut words = Words::new(text, from);
    while let Some(word) = words.next() {
        let own = &text[word.clone()];
        let san = san_of(own);
        if words.ended && san.is_none() {
            stray.get_or_insert(word.start);
        } else if san.is_none_or(|san| expected.next() != Some(&san)) {
            return Err(Skip::at(Reason::UnreadableToken, word.start, own));
        }
    }
    let open = |reason, at| Err(Skip::at(reason, at, rest_of_line(text, at)));
    match (words.open_comment, words.open_variation) {
        (Some(at), _) => open(Reason::UnclosedComment, at),
        (None, Some(at)) => open(Reason::UnreadableToken, at),
        (None, None) if expected.next().is_some() => Err(Skip::whole(Reason::UnreadableToken)),
        (None, None) => Ok(stray),
    }
}

/// A skip because of a move, the `nth` of the game from 0.
pub fn skip_at_move(reason: Reason, game: &GameText, text: &[u8], nth: usize) -> Skip {
    let standard = game.standard();
    let read = standard.map_or(text, |standard| &standard.text);
    let Some(word) = Words::new(read, TagSection::of(text).end).nth(nth) else {
        return Skip::whole(reason);
    };
    let Some(standard) = standard else {
        return Skip::at(reason, word.start, &text[word]);
    };
    let at = standard.original(word.start);
    let is_end = |byte: &u8| byte.is_ascii_whitespace() || b"{}()!?$;".contains(byte);
    let length = text[at..].iter().position(is_end);
    let end = length.map_or(text.len(), |length| at + length);
    Skip::at(reason, at, &text[at..end])
}

/// The rest of the line at a byte, without white space around it.
pub(crate) fn rest_of_line(text: &[u8], at: usize) -> &[u8] {
    text[at..line_end(text, at)].trim_ascii()
}

/// The move that a word says, castling with zeros included.
fn san_of(word: &[u8]) -> Option<San> {
    if word.starts_with(b"0-0") {
        let letters: Vec<u8> = word
            .iter()
            .map(|&b| if b == b'0' { b'O' } else { b })
            .collect();
        return San::from_ascii(&letters).ok();
    }
    San::from_ascii(word).ok()
}
