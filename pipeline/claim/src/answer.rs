//! The answer to a claim, as plain data. Rates are fractions from 0 to 1; `null` means that
//! a figure or interval does not exist for these counts.

use hobble_dataset::DatasetSummary;
use serde::Serialize;

pub use super::by_turn::{Course, Risk, TurnRisk};
pub use super::choice::Varied;
pub use super::compare::Compared;
pub use super::decision::{Against, Decision, PlayedAgainst};
pub use super::evidence::{Finding, Finds, Ladder, Rung, Standing};
use super::file::Claim;
pub use super::guards::{Guard, Guards};
pub use super::side::SideOutcome;
pub use super::side_guard::{Milder, SideGuards};
pub use super::twins::{Adjusted, Counts, Twins};
pub use super::verdict::Verdict;
use hobble_conditions::terms::Kind;
pub use hobble_examples::task::{Miss, NearMiss, Task, TaskAnswer};
use hobble_examples::{GameReference, MoveReference};
use hobble_report::Stretch;
use hobble_statistics::Estimate;
use hobble_terms::{Phase, words};

/// Version of the shape of [`ClaimAnswer`].
pub const FORMAT: u32 = 2;

/// A claim, and what the tables say to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClaimAnswer {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The claim.
    pub claim: Claim,
    /// Confidence level of every interval.
    pub level: f64,
    /// The verdict in plain words, never more than the interval allows.
    pub verdict: Verdict,
    /// Spells of the claim.
    pub spells: u64,
    /// By each of the next twenty moves, what had become of the piece.
    pub curve: Vec<CurvePoint>,
    /// The risk turn by turn, while restrained and while free again.
    pub by_turn: Course,
    /// The ladder of evidence, the lowest rung first.
    pub evidence: Ladder,
    /// Its sentences, one a rung.
    pub sentences: Vec<String>,
    /// Against comparable free turns, at every horizon.
    pub comparison: Vec<Compared>,
    /// Two pieces of one kind and owner in one position; the claim's figure first, then with
    /// other things adjusted for.
    pub twins: Vec<Twins>,
    /// Turns at which such a piece could have been restrained; `null` where that is not measured.
    pub decision: Option<Decision>,
    /// What should show nothing, and what an unknown cause would have to do.
    pub guards: Guards,
    /// What became of the side and of the game, beside comparable free pieces.
    pub side: Vec<SideOutcome>,
    /// How the spells ended.
    pub ends: Vec<Ended>,
    /// What the restrainer scored.
    pub scores: Vec<Score>,
    /// The comparison with one choice changed at a time.
    pub sensitivity: Vec<Compared>,
    /// The piece lost, or its owner two pawns down: a wider loss, without comparison.
    pub material: Vec<MaterialLoss>,
    /// The clearest game, an average one, a counter-example.
    pub examples: Vec<ClaimExample>,
    /// Positions before the restraining move.
    pub quiz: Vec<Task>,
    /// What the tables were made from.
    pub dataset: DatasetSummary,
    /// How it was worked out, and cautions, in full sentences.
    pub notes: Vec<String>,
}

/// A count, and its share of the spells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shares {
    /// Spells.
    pub count: u64,
    /// Their share, with its interval on the logit scale.
    pub share: Estimate,
}

/// What had become of the held pieces by so many moves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Moves from the turn that counts as the start.
    pub moves: u32,
    /// Captured at a loss.
    pub lost: Shares,
    /// Captured in an even exchange.
    pub traded: Shares,
    /// Captured for more than its value.
    pub sold: Shares,
    /// Still there when the game ended.
    pub over: Shares,
}

/// One way spells ended.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ended {
    /// In words.
    pub end: String,
    /// How many and what share.
    #[serde(flatten)]
    pub share: Shares,
}

/// The piece lost, or its owner two pawns down, within so many moves of the spell's start.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MaterialLoss {
    /// Moves.
    pub within: u32,
    /// How many and what share.
    #[serde(flatten)]
    pub share: Shares,
}

/// What the restrainer scored.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Score {
    /// Which spells.
    pub label: String,
    /// Game sides that restrained so, results unknown left out.
    pub games: u64,
    /// Their half points.
    pub half_points: u64,
    /// Those with comparable sides.
    pub compared_games: u64,
    /// Comparable sides without such a spell.
    pub comparable_games: u64,
    /// Strata compared.
    pub strata: u64,
    /// Mean score, from 0 to 1.
    pub score: Estimate,
    /// Mean score of the comparable sides, spread over the strata alike.
    pub comparable: Estimate,
    /// The first less the second.
    pub difference: Estimate,
    /// Why there is no interval.
    pub too_few: Option<String>,
}

words! {
    /// What an example game stands for.
    ExampleRole {
        /// The restraint as clear as it gets.
        Clearest = "clearest",
        /// As clear, but another.
        Clear = "clear",
        /// Not clear, but there is none that is.
        Nearest = "nearest",
        /// Nearest the middle.
        Typical = "typical",
        /// The restraint failed.
        CounterExample = "counter-example",
    }
}

impl ExampleRole {
    /// Those that a page shows.
    pub const SHOWN: [ExampleRole; 3] = [
        ExampleRole::Clearest,
        ExampleRole::Typical,
        ExampleRole::CounterExample,
    ];
}

/// An example game.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClaimExample {
    /// What it stands for.
    pub role: ExampleRole,
    /// How examples of the role are chosen.
    pub rule: String,
    /// Why this one was chosen, in one sentence.
    pub chosen: String,
    /// What the claim calls its pieces, `restrained` or `held`; not in the JSON.
    #[serde(skip)]
    pub state: &'static str,
    /// The game.
    pub game: GameReference,
    /// Start position, where it is not the usual one.
    pub start_fen: Option<String>,
    /// Kind of the held piece.
    pub kind: Kind,
    /// Its owner: `white` or `black`.
    pub color: String,
    /// Where it stands.
    pub square: String,
    /// Phase of the game at the restraining move.
    pub phase: Phase,
    /// Turns of its owner for which it had no more squares.
    pub turns: u32,
    /// FEN before the restraining move.
    pub fen_before: String,
    /// FEN after it.
    pub fen_after: String,
    /// The restraining move.
    pub cause: MoveReference,
    /// The move that threatened to win it; `None` where it was not lost so.
    pub threat: Option<MoveReference>,
    /// The move that ended the spell; `None` where the game ended first.
    pub ended: Option<MoveReference>,
    /// The move that captured the piece, if any did.
    pub captured: Option<MoveReference>,
    /// Safe squares before.
    pub safe_before: Vec<String>,
    /// Safe squares after.
    pub safe_after: Vec<String>,
    /// Those taken.
    pub taken: Vec<String>,
    /// What happened, in words.
    pub caption: String,
    /// The moves of the game in SAN.
    pub moves: Vec<String>,
    /// Comments for the PGN, by ply.
    pub comments: Vec<(u32, String)>,
    /// The piece followed from some plies before the restraining move to the end of its spell.
    pub stretch: Option<Stretch>,
}
