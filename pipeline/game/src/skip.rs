//! Why a game is skipped, and where.

use std::error::Error;
use std::fmt;

use hobble_terms::Reason;

/// Why a game is skipped, and where in its text: what went wrong with reading it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skip {
    /// Why.
    pub reason: Reason,
    /// Byte of the game's text at the offending place; 0 for the game as a whole.
    pub at: usize,
    /// The offending words, fit to print (see [`crate::text::shown`]); empty for none.
    pub words: String,
}

impl fmt::Display for Skip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.words.is_empty() {
            write!(f, "{}", self.reason)
        } else {
            write!(f, "{} `{}`", self.reason, self.words)
        }
    }
}

impl Error for Skip {}

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
