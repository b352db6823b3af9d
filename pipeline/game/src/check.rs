//! Finds what pgn-reader passes over in silence, and the place of what cannot be read.
//!
//! pgn-reader tells of moves, results, comments and variations, but not of words it cannot
//! read. A game has none where each word that should be a move was read as one: where there are
//! as many [`Words`] as moves, and as many bytes in them as in the moves. A word gives at most
//! its own bytes, so the sums agree only where every word agrees. This count is all that most
//! games need; where it fails, the words are read one by one to find the first that is no move.

use hobble_terms::Reason;
use shakmaty::san::San;

use crate::skip::Skip;
use crate::tag_section::TagSection;
use crate::visitor::GameVisitor;
use crate::words::{Words, line_end};

/// Why the movetext from a byte on cannot be kept as it was read; `None` where all of it was.
pub(crate) fn unread(text: &[u8], from: usize, read: &GameVisitor) -> Option<Skip> {
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
        return None;
    }
    first_unread(text, from, read)
}

/// The first word that was not read as a move before the result, or else what is not closed.
fn first_unread(text: &[u8], from: usize, read: &GameVisitor) -> Option<Skip> {
    let moves = &read.game.moves;
    let mut expected = moves[..read.moves_to_result.unwrap_or(moves.len())].iter();
    let mut words = Words::new(text, from);
    for word in &mut words {
        let own = &text[word.clone()];
        if san_of(own).is_none_or(|san| expected.next() != Some(&san)) {
            return Some(Skip::at(Reason::UnreadableToken, word.start, own));
        }
    }
    let open = |reason, at| Skip::at(reason, at, rest_of_line(text, at));
    match (words.open_comment, words.open_variation) {
        (Some(at), _) => Some(open(Reason::UnclosedComment, at)),
        (None, Some(at)) => Some(open(Reason::UnreadableToken, at)),
        (None, None) if expected.next().is_some() => Some(Skip::whole(Reason::UnreadableToken)),
        (None, None) => None,
    }
}

/// A skip because of a move, the `nth` of the game from 0.
pub fn skip_at_move(reason: Reason, text: &[u8], nth: usize) -> Skip {
    match Words::new(text, TagSection::of(text).end).nth(nth) {
        Some(word) => Skip::at(reason, word.start, &text[word]),
        None => Skip::whole(reason),
    }
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

/// The text with promotions written the standard way where the sign is missing (`e8Q` for
/// `e8=Q`); `None` where there are none.
pub(crate) fn with_promotion_signs(text: &[u8], from: usize) -> Option<Vec<u8>> {
    let mut signs = Vec::new();
    for word in Words::new(text, from) {
        let end = word.end - usize::from(matches!(text[word.end - 1], b'+' | b'#'));
        let pieces = [b'N', b'B', b'R', b'Q'];
        if let [b'a'..=b'h', .., b'1' | b'8', piece] = &text[word.start..end]
            && pieces.contains(piece)
        {
            signs.push(end - 1);
        }
    }
    let mut standard = text.to_vec();
    for &at in signs.iter().rev() {
        standard.insert(at, b'=');
    }
    (!signs.is_empty()).then_some(standard)
}
