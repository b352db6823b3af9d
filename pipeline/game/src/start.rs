//! Start of a game by its tags.

use hobble_terms::start::{StartError, start_position};
use hobble_terms::{Reason, Variant};
use shakmaty::Chess;

use crate::skip::Skip;
use crate::tag_section::tag_line;
use crate::tags::{Tag, Tags};
use crate::text::shown;

/// Where a game starts.
#[derive(Clone, Debug)]
pub struct Start {
    /// The position.
    pub position: Chess,
    /// The rules.
    pub variant: Variant,
    /// Whether it is the usual start position.
    pub usual: bool,
}

/// Start of a game by its tags.
///
/// [`start_position`] says which positions are accepted. `text` is the text of the game, for
/// the place of a refused tag.
///
/// # Errors
///
/// For other variants, and start positions that cannot be read or played from.
pub fn start(tags: &Tags, text: &[u8]) -> Result<Start, Skip> {
    let tag = tags.raw(Tag::Variant);
    let variant = Variant::from_tag(tag).ok_or_else(|| Skip {
        reason: Reason::Variant,
        at: tag_line(text, "Variant"),
        words: shown(tag),
    })?;
    let fen = tags.raw(Tag::Fen).trim_ascii();
    if fen.is_empty() || fen == b"?" {
        return Ok(Start {
            position: Chess::default(),
            variant,
            usual: true,
        });
    }
    let refuse = |reason| Skip {
        reason,
        at: tag_line(text, "FEN"),
        words: shown(fen),
    };
    let position = start_position(fen, variant).map_err(|error| {
        refuse(match error {
            StartError::Unreadable(_) => Reason::UnreadableStart,
            StartError::TooManyUnits | StartError::Impossible(_) => Reason::ImpossibleStart,
        })
    })?;
    let usual = position == Chess::default();
    Ok(Start {
        position,
        variant,
        usual,
    })
}
