//! Why a game is left out.

use hobble_terms::Reason;
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
