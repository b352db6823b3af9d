//! Start positions and variants.

use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess, FromSetup, PositionError};

use crate::skip::{Reason, Skip};
use crate::tag_section::tag_line;
use crate::tags::{Tag, Tags};
use crate::text::shown;

/// The rules a game was played by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Variant {
    /// The usual ones.
    Standard,
    /// Those of Chess960.
    Chess960,
}

impl Variant {
    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            Variant::Standard => "standard",
            Variant::Chess960 => "chess960",
        }
    }

    /// Reads a Variant tag; `None` for another game.
    fn read(value: &[u8]) -> Option<Variant> {
        let plain: Vec<u8> = value
            .iter()
            .filter(|byte| byte.is_ascii_alphanumeric())
            .map(u8::to_ascii_lowercase)
            .collect();
        match plain.as_slice() {
            b"" | b"standard" | b"normal" | b"chess" | b"orthodox" | b"fromposition" => {
                Some(Variant::Standard)
            }
            b"chess960" | b"960" | b"fischerandom" | b"fischerrandom" | b"fischerandomchess"
            | b"freestyle" => Some(Variant::Chess960),
            _ => None,
        }
    }
}

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
/// Castling rights without a rook to castle with and an en passant square without a pawn
/// are dropped, and more pieces than promotion could give are borne with up to 32 units;
/// anything else the rules do not allow stops the game. `text` is the game's, to tell the
/// place.
///
/// # Errors
///
/// For other variants, and start positions that cannot be read or played from.
pub fn start(tags: &Tags, text: &[u8]) -> Result<Start, Skip> {
    let tag = tags.raw(Tag::Variant);
    let variant = Variant::read(tag).ok_or_else(|| Skip {
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
    let setup = Fen::from_ascii(fen)
        .map_err(|_| refuse(Reason::UnreadableStart))?
        .into_setup();
    if setup.board.occupied().count() > 32 {
        return Err(refuse(Reason::ImpossibleStart));
    }
    // A standard game set up with displaced rooks can only mean castling as in Chess960.
    let mode = match variant {
        Variant::Chess960 => CastlingMode::Chess960,
        Variant::Standard => CastlingMode::detect(&setup),
    };
    let position = Chess::from_setup(setup, mode)
        .or_else(PositionError::ignore_invalid_castling_rights)
        .or_else(PositionError::ignore_invalid_ep_square)
        .or_else(PositionError::ignore_too_much_material)
        .map_err(|_| refuse(Reason::ImpossibleStart))?;
    let usual = position == Chess::default();
    Ok(Start {
        position,
        variant,
        usual,
    })
}
