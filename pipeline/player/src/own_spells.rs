//! The player's spells, kept one by one for replies and for the games to look at.

use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::columns::Rows;
use hobble_terms::Phase;
use serde::{Deserialize, Serialize};

/// A spell of one of the player's developed pieces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnSpell {
    /// Number of the player's game.
    pub game: usize,
    /// Slot of the piece.
    pub piece: u64,
    /// Its kind.
    pub kind: Kind,
    /// Position at which it starts.
    pub start_ply: u64,
    /// Turns.
    pub turns: u64,
    /// How it ended.
    pub end: String,
    /// Ply that ended it.
    pub end_ply: u64,
    /// What restricted it.
    pub cause: String,
    /// Whose ply that was.
    pub cause_by: Option<String>,
    /// Kind of unit that moved.
    pub cause_kind: Option<String>,
    /// The ply.
    pub cause_ply: Option<u64>,
    /// Where the piece stands at the start.
    pub square: String,
    /// Its safe squares then.
    pub safe: u64,
    /// Whether it was lost within the horizon.
    pub lost_within: bool,
    /// Whether the piece is restrained.
    pub restrained: bool,
    /// Phase of the game at the start.
    pub phase: Phase,
}

impl OwnSpell {
    /// Whether a ply of the player's restricted the piece.
    pub fn is_by_own(&self) -> bool {
        self.cause_by.as_deref() == Some("own")
    }
}

/// A spell of the player's: its row, the game, whether the piece was lost within the horizon.
pub type Mine = (usize, usize, bool);

/// Keeps the player's spells.
pub fn read(rows: &Rows, mine: &[Mine], spells: &mut Vec<OwnSpell>) -> Result<(), AskError> {
    let text = |name: &str| rows.texts(name);
    let (kind, square, end) = (text("kind")?, text("square")?, text("ended")?);
    let (cause, cause_by, cause_kind) = (text("cause")?, text("cause_by")?, text("cause_kind")?);
    let (turns, start_ply) = (rows.pairs("turns")?, rows.pairs("start_ply")?);
    let (piece, safe) = (rows.numbers("piece")?, rows.numbers("safe")?);
    let cause_ply = rows.optional_numbers("cause_ply")?;
    let end_ply = rows.numbers("end_ply")?;
    let (restrained, phase) = (rows.booleans("restrained")?, text("phase")?);
    let owned = |text: Option<&str>| text.unwrap_or_default().to_owned();
    for &(row, game, lost_within) in mine {
        let word = kind.get(row).unwrap_or_default();
        spells.push(OwnSpell {
            game,
            piece: piece.at(row),
            kind: Kind::from_name(word)
                .ok_or_else(|| rows.bad(format!("invalid kind \"{word}\"")))?,
            start_ply: start_ply[row].into(),
            turns: turns[row].into(),
            end: owned(end.get(row)),
            end_ply: end_ply.at(row),
            cause: owned(cause.get(row)),
            cause_by: cause_by.get(row).map(str::to_owned),
            cause_kind: cause_kind.get(row).map(str::to_owned),
            cause_ply: cause_ply.get(row),
            square: owned(square.get(row)),
            safe: safe.at(row),
            lost_within,
            restrained: restrained.value(row),
            phase: (phase.get(row))
                .and_then(Phase::from_name)
                .ok_or_else(|| rows.bad(format!("row {}: invalid phase", rows.place(row))))?,
        });
    }
    Ok(())
}
