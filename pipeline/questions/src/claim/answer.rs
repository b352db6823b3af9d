//! The answer to a claim, as plain data. Rates are fractions from 0 to 1; `null` means that
//! a figure or interval does not exist for these counts.

use hobble_dataset::DatasetSummary;
use serde::Serialize;

use super::file::Claim;
use super::{compare, curve, ends, examples, free, held, score, verdict};
use crate::answer::{Estimate, GameReference, MoveReference};
use crate::error::AskError;
use crate::terms::{Kind, Outcome, YesNo};
use hobble_dataset::Dataset;
use hobble_statistics::{LEVEL, TooFew};

/// Version of the shape of [`ClaimAnswer`].
pub const FORMAT: u32 = 1;

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
    pub verdict: String,
    /// Spells of the claim.
    pub spells: u64,
    /// By each of the next twenty moves, what had become of the piece.
    pub curve: Vec<CurvePoint>,
    /// Against comparable free turns, at the horizons of the exposure table.
    pub comparison: Vec<Compared>,
    /// How the spells ended.
    pub ends: Vec<Ended>,
    /// What the restrainer scored.
    pub scores: Vec<Score>,
    /// The comparison with k, turns or outcome changed, one at a time.
    pub sensitivity: Vec<Compared>,
    /// The piece lost, or its owner two pawns down: a wider loss, without comparison.
    pub material: Vec<MaterialLoss>,
    /// The clearest game, an average one, a counter-example.
    pub examples: Vec<ClaimExample>,
    /// Positions before the restraining move.
    pub quiz: Vec<Quiz>,
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

/// Held spells against comparable free turns, for one choice of k, turns, horizon, outcome.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Safe squares, at most.
    pub k: u8,
    /// Turns held, at least.
    pub turns: u32,
    /// Horizon in moves.
    pub within: u32,
    /// What is counted.
    pub outcome: Outcome,
    /// Spells.
    pub held: u64,
    /// Those with the outcome.
    pub held_outcomes: u64,
    /// Those whose game ended before, with the piece still there.
    pub held_over: u64,
    /// Spells in strata that have free turns.
    pub compared_held: u64,
    /// Those with the outcome.
    pub compared_held_outcomes: u64,
    /// Free turns in these strata.
    pub compared_free: u64,
    /// Those with the outcome.
    pub compared_free_outcomes: u64,
    /// Strata compared.
    pub strata: u64,
    /// Strata with spells alone, left out.
    pub strata_left_out: u64,
    /// Rate of the spells compared.
    pub held_rate: Estimate,
    /// Rate of the free turns, spread over the strata as the spells are.
    pub free_rate: Estimate,
    /// The first divided by the second.
    pub ratio: Estimate,
    /// The first less the second.
    pub difference: Estimate,
    /// Why there is no interval; begins with `too few games to tell`.
    pub too_few: Option<String>,
    /// The same as counts; not part of the JSON.
    #[serde(skip)]
    pub few: Option<TooFew>,
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

/// An example game.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClaimExample {
    /// `clearest`, `average` or `counter-example`.
    pub role: String,
    /// How it was chosen.
    pub rule: String,
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
    /// FEN before the restraining move.
    pub fen_before: String,
    /// FEN after it.
    pub fen_after: String,
    /// The restraining move.
    pub cause: MoveReference,
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
}

/// A position before a restraining move.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quiz {
    /// The position.
    pub fen: String,
    /// Side to move: `white` or `black`.
    pub to_move: String,
    /// Kind of the piece to be restrained.
    pub kind: Kind,
    /// Where it stands.
    pub square: String,
    /// Its safe squares now.
    pub safe: Vec<String>,
    /// Every legal move that leaves it k safe squares or fewer, the played one first.
    pub answers: Vec<QuizAnswer>,
    /// The game.
    pub game: GameReference,
}

/// A move that restrains.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QuizAnswer {
    /// The move with its number.
    pub label: String,
    /// Square it left.
    pub from: String,
    /// Square it reached.
    pub to: String,
    /// Whether it was played.
    pub played: bool,
    /// Safe squares it leaves.
    pub safe: Vec<String>,
}

/// Answers a claim from a dataset.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn answer(dataset: &Dataset, claim: &Claim) -> Result<ClaimAnswer, AskError> {
    let (parts, held) = held::read(claim, dataset)?;
    let strata = compare::strata(&held);
    let free = free::read(claim, dataset, &strata)?;
    // What follows rests on the spells and does not wait for each other.
    let (figures, (scores, shown)) = rayon::join(
        || {
            rayon::join(
                || compare::by_horizon(claim, &held, &free, &strata),
                || compare::sensitivity(claim, &held, &free, &strata),
            )
        },
        || {
            rayon::join(
                || {
                    dataset
                        .has("games")
                        .then(|| score::scores(dataset, &parts, &held, claim.k, claim.turns))
                        .transpose()
                },
                || examples::examples(claim, dataset, &parts, &held),
            )
        },
    );
    let (comparison, sensitivity) = figures;
    let own = comparison
        .iter()
        .find(|compared| compared.within == claim.within);
    let verdict = own.map_or_else(String::new, |own| verdict::verdict(claim, own));
    let spells = held
        .iter()
        .filter(|spell| spell.is(claim.k, claim.turns))
        .count() as u64;
    let mut notes = notes(claim);
    if let Some(own) = own.filter(|own| own.strata_left_out > 0) {
        notes.push(format!(
            "{} spells stand in strata without a free turn and are left out of the comparison.",
            crate::words::count(own.held - own.compared_held)
        ));
    }
    if !dataset.complete() {
        notes.push("The scan that made these tables has not finished: the figures are of the games read so far.".to_owned());
    }
    let scores = scores?.unwrap_or_else(|| {
        notes.push("No scores are given: the table of games was not written.".to_owned());
        Vec::new()
    });
    let (examples, quiz, more) = shown?;
    notes.extend(more);
    Ok(ClaimAnswer {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        claim: claim.clone(),
        level: LEVEL,
        verdict,
        spells,
        curve: curve::curve(&held, claim.k, claim.turns),
        ends: ends::ends(&held, claim.k, claim.turns),
        scores,
        sensitivity,
        material: ends::material(&held, claim.k, claim.turns),
        comparison,
        examples,
        quiz,
        dataset: dataset.summary().clone(),
        notes,
    })
}

fn notes(claim: &Claim) -> Vec<String> {
    let mut notes = vec![
        "These figures are associations in played games, not proof of cause: whoever is held may be worse off in other ways as well.".to_owned(),
        format!(
            "Counting starts at turn {} of each spell, so that nobody is given time he needed to be counted at all. A game that ends first, with the piece still there, counts as not {}: its end is a competing end.",
            claim.turns,
            crate::words::happened(claim.outcome)
        ),
        "A held spell counts once, at that turn; a free piece counts at every turn at which it is free. Compared are turns alike in kind, developed or not, attacked or not, defended or not, phase, rating band and time class; the free rate is weighted as the spells are spread over these (Miettinen, American Journal of Epidemiology 96 (1972), 383-388, cited from memory).".to_owned(),
        "The comparison is exact, but stands only at 3, 5, 10, 15 and 20 moves: free turns are counted for these alone.".to_owned(),
        "Intervals are 95%, by leaving out one of 64 folds of games at a time, both sides together (Tukey, Annals of Mathematical Statistics 29 (1958), 614, cited from memory). Many are shown; of twenty such intervals one misses its figure in the long run, and nothing is adjusted for that.".to_owned(),
        "Sides with such a spell are found more easily in long games, and games without one are shorter in the mean; the score comparison is not matched by length or by what stood on the board.".to_owned(),
    ];
    if claim.turns > 1 {
        notes.push("Attacked, defended, developed and phase are those at the start of the spell; by the turn that counts they may have changed, which the comparison does not see.".to_owned());
    }
    if claim.good.is_some() {
        notes.push("Free turns are not known by their good squares, so that these are asked of the held pieces alone.".to_owned());
    }
    if claim.developed != YesNo::Yes {
        notes.push(
            "Pieces still at home are among those counted; they are hardly ever lost soon."
                .to_owned(),
        );
    }
    notes
}
