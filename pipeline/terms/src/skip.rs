//! Why a game is skipped.

use crate::words;

words! {
    /// A reason to skip a game. Every game read is kept or has one of these.
    Reason {
        /// A move that the rules do not allow in its position.
        IllegalMove = "illegal move",
        /// A move that more than one unit could make.
        AmbiguousMove = "ambiguous move",
        /// A null move, which passes the turn.
        NullMove = "null move",
        /// A token that is not a move, number, result or annotation; a move after the result; a
        /// variation that is not closed.
        UnreadableToken = "unreadable token",
        /// A comment that is not closed.
        UnclosedComment = "unclosed comment",
        /// A tag that is not closed.
        UnclosedTag = "unclosed tag",
        /// Played by the rules of another game.
        Variant = "variant",
        /// A start position that the rules do not allow.
        ImpossibleStart = "impossible start",
        /// A start position that cannot be read.
        UnreadableStart = "unreadable start",
        /// More plies or text than can be followed.
        TooLong = "too long",
        /// Text without tags and moves.
        NoGame = "no game",
        /// The archive broke off in the middle of it.
        CutOff = "cut off",
        /// The same game as one read before (definitions, section 11).
        Repeat = "repeat",
    }
}
