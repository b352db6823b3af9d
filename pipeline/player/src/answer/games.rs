//! Games and positions to look at.

use hobble_examples::GameReference;
use hobble_report::Stretch;
use serde::{Deserialize, Serialize};

/// Something to act on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Name of the figure it comes from.
    pub figure: String,
    /// What was found, in one sentence.
    pub text: String,
    /// What to look for.
    pub look_for: String,
    /// A game that shows it.
    pub game: Option<GameToSee>,
    /// Or a chance that shows it.
    pub chance: Option<MissedChance>,
}

/// A game to look at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GameToSee {
    /// The game.
    pub game: GameReference,
    /// Where its text starts in the decompressed file, in bytes.
    pub offset: u64,
    /// The player's side: `white` or `black`.
    pub color: String,
    /// Kind of the held piece.
    pub kind: String,
    /// Position at which the spell starts.
    pub start_ply: u64,
    /// Turns it lasted.
    pub turns: u64,
    /// How it ended.
    pub end: String,
    /// Ply that ended it.
    pub end_ply: u64,
    /// Turns at which a reply would have freed the piece and none was played; `null` where
    /// replies were not played out.
    pub missed: Option<u64>,
    /// What to see, in words.
    pub caption: String,
    /// The same in the words of text and pages; not in the JSON.
    #[serde(skip)]
    pub shown: String,
    /// The position; `null` where the table of moves was not written.
    pub board: Option<Board>,
    /// The piece followed from some plies before it was held to the end of that; `null` as `board`.
    pub stretch: Option<Stretch>,
}

/// A chance to restrain that the player did not take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MissedChance {
    /// The game.
    pub game: GameReference,
    /// Where its text starts in the decompressed file, in bytes.
    pub offset: u64,
    /// The player's side: `white` or `black`.
    pub color: String,
    /// Plies played before it.
    pub ply: u64,
    /// The position, the player on move.
    pub fen: String,
    /// Kind of the opponent's piece.
    pub kind: String,
    /// Where it stands.
    pub square: String,
    /// The restraining move that leaves fewest squares, as `15. Nb3`.
    pub answer: String,
    /// Its squares.
    pub arrow: (String, String),
    /// Number of restraining moves.
    pub answers: u64,
    /// Safe squares that it takes from the piece.
    pub taken: Vec<String>,
    /// Safe squares that it leaves.
    pub left: Vec<String>,
    /// What was played.
    pub played: String,
    /// Change of the player's balance of material in the ten moves that followed, in pawns;
    /// `null` where the game ended sooner.
    pub material_10: Option<i64>,
    /// What could have been played, what was, and what came of it, in words.
    pub caption: String,
}

/// A position to look at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Board {
    /// The position, the player on move.
    pub fen: String,
    /// Plies played.
    pub ply: u64,
    /// Where the held piece stands.
    pub square: String,
    /// Its safe squares.
    pub safe: Vec<String>,
    /// A reply that would have freed it, as `15. Nb3`.
    pub reply: Option<String>,
    /// Its squares.
    pub arrow: Option<(String, String)>,
    /// Number of replies that would have freed it.
    pub replies: u64,
    /// What was played.
    pub played: String,
}
