//! Why a game is left out.

use std::fmt;

/// A reason to leave a game out. Every game read is kept or has one of these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Reason {
    /// A move that the rules do not allow in its position.
    IllegalMove,
    /// A move that more than one unit could make.
    AmbiguousMove,
    /// A null move, which passes the turn.
    NullMove,
    /// A token that is no move, number, result or annotation; a move after the result; a
    /// variation that is not closed.
    UnreadableToken,
    /// A comment that is not closed.
    UnclosedComment,
    /// A tag that is not closed.
    UnclosedTag,
    /// Played by the rules of another game.
    Variant,
    /// A start position that the rules do not allow.
    ImpossibleStart,
    /// A start position that cannot be read.
    UnreadableStart,
    /// More plies or text than can be followed.
    TooLong,
    /// Text without tags and moves.
    NoGame,
    /// The archive broke off in the middle of it.
    CutOff,
}

impl Reason {
    /// All reasons, in the order of their names in code.
    pub const ALL: [Reason; 12] = [
        Reason::IllegalMove,
        Reason::AmbiguousMove,
        Reason::NullMove,
        Reason::UnreadableToken,
        Reason::UnclosedComment,
        Reason::UnclosedTag,
        Reason::Variant,
        Reason::ImpossibleStart,
        Reason::UnreadableStart,
        Reason::TooLong,
        Reason::NoGame,
        Reason::CutOff,
    ];

    /// Name in accounts and manifests.
    pub const fn name(self) -> &'static str {
        match self {
            Reason::IllegalMove => "illegal move",
            Reason::AmbiguousMove => "ambiguous move",
            Reason::NullMove => "null move",
            Reason::UnreadableToken => "unreadable token",
            Reason::UnclosedComment => "unclosed comment",
            Reason::UnclosedTag => "unclosed tag",
            Reason::Variant => "variant",
            Reason::ImpossibleStart => "impossible start",
            Reason::UnreadableStart => "unreadable start",
            Reason::TooLong => "too long",
            Reason::NoGame => "no game",
            Reason::CutOff => "cut off",
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A game left out: why, and where in its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skip {
    /// Why.
    pub reason: Reason,
    /// Byte of the game's text at the offending place; 0 for the game as a whole.
    pub at: usize,
    /// The offending words, shortened and without control characters; empty for none.
    pub words: String,
}

impl Skip {
    /// A skip of the game as a whole.
    pub fn whole(reason: Reason) -> Skip {
        Skip {
            reason,
            at: 0,
            words: String::new(),
        }
    }

    /// A skip at a place in the text.
    pub fn at(reason: Reason, at: usize, words: &[u8]) -> Skip {
        Skip {
            reason,
            at,
            words: crate::text::shown(words),
        }
    }
}
