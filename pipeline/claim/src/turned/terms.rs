//! What a page carries to turn a claim's terms: its counts packed, and the words and numbers that its
//! figures are put in.

use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, MAX_K, Phase, WITHIN, YesNo};
use hobble_conditions::words;
use hobble_dataset::Dataset;
use hobble_statistics::few::{COVERED, FREE_ROWS};
use hobble_statistics::{LEVEL, quantile};
use hobble_terms::Table;
use hobble_terms::fold::FOLDS;
use serde::Serialize;

use super::super::compare::{LEAST, NOUNS};
use super::super::decision::unmeasured;
use super::super::decision_words;
use super::super::evidence::Rung;
use super::super::file::Claim;
use super::super::report_words::title;
use super::super::{row_words, twins};
use super::counts::COLUMNS;
use super::packed::{put, put_side};
use super::twins::{pack as pack_twins, place_of};
use super::{Turned, opened, turned};

/// A claim's terms to turn.
#[derive(Debug, Clone, Serialize)]
pub struct Terms {
    /// The claim's pieces in words at each k, from 0 on, as a sentence begins with them.
    pub pieces: Vec<String>,
    /// What is counted of them, as `lost`.
    pub happened: &'static str,
    /// The horizons, in moves.
    pub within: [u32; WITHIN.len()],
    /// The phases.
    pub phases: Vec<&'static str>,
    /// The rating bands met.
    pub bands: Vec<String>,
    /// Whether the pieces are never attacked at first, so that there is nothing to turn.
    pub never_attacked: bool,
    /// The claim's own terms: what the page shows at first.
    pub own: OwnTerms,
    /// Folds of games.
    pub folds: usize,
    /// Trials, folds and folds with the outcome that a figure's interval needs on each side.
    pub least: [u64; 3],
    /// The share of the claim's pieces that must be comparable.
    pub covered: f64,
    /// What is compared, for sentences about too few.
    pub nouns: TermNouns,
    /// Rows of free pieces that a stratum needs for a rate.
    pub free_rows: u64,
    /// Quantiles of Student's t for 95% intervals, by degrees of freedom from 1 on.
    pub student: Vec<f64>,
    /// That of the normal distribution.
    pub normal: f64,
    /// What the rungs above the first need.
    pub rungs: RungTerms,
    /// One turn in so many is in the table, where no piece is at its landmark.
    pub sample: u64,
    /// Name and title of each rung.
    #[serde(skip)]
    pub titles: Vec<(&'static str, &'static str)>,
    /// The counts, packed.
    #[serde(skip)]
    pub counts: Vec<u8>,
}

/// What the rungs above the first need, and the words of the verdict.
#[derive(Debug, Clone, Serialize)]
pub struct RungTerms {
    /// The kind of the pieces in the singular; `piece` where there are several.
    kind: String,
    /// What the pieces are: `restrained` or `held`.
    state: &'static str,
    /// Whether a milder restraint is a guard.
    has_placebo: bool,
    /// Whether there are twins: a side has one queen.
    has_twins: bool,
    /// Sets of twins that must count.
    least_twins: u64,
    /// Whether sets of twins are those at landmarks, else those of the sample, at each k.
    at_landmarks: Vec<bool>,
    /// Whether chances are kept, at each k.
    decided: Vec<bool>,
    /// What moves could have done, as `a pawn's move could have restrained a knight`.
    could: String,
    /// What came to the piece, as `the knight was lost`.
    came: String,
    /// What games said that had been locked away; `null` where none were asked.
    confirmed: Option<Confirmed>,
}

/// What games said that had been locked away, of the claim as it was then.
#[derive(Debug, Clone, Serialize)]
struct Confirmed {
    /// Whether the claim was changed since.
    is_void: bool,
    holds: bool,
    ratio: f64,
    low: f64,
    high: f64,
}

impl RungTerms {
    /// Those of a claim; `written` says whether the table of decisions was.
    fn of(claim: &Claim, written: bool) -> RungTerms {
        let claims = opened(claim);
        RungTerms {
            kind: claim.kind(),
            state: claim.state(),
            has_placebo: claim.is_of_restrained(),
            has_twins: claim.kinds != [Kind::Queen],
            least_twins: twins::LEAST,
            at_landmarks: claims.iter().map(twins::all_there).collect(),
            decided: claims
                .iter()
                .map(|claim| unmeasured(claim, written).is_none())
                .collect(),
            could: decision_words::could(claim),
            came: decision_words::to_the_piece(claim),
            confirmed: claim.confirmation.as_ref().map(|found| Confirmed {
                is_void: found.hash != claim.hash(),
                holds: found.holds(),
                ratio: found.ratio,
                low: found.low,
                high: found.high,
            }),
        }
    }
}

/// What a claim's comparison calls its pieces.
#[derive(Debug, Clone, Serialize)]
pub struct TermNouns {
    nothing: &'static str,
    own: &'static str,
    other: &'static str,
    incomparable: &'static str,
    outcome: &'static str,
}

/// The terms that a claim's file names.
#[derive(Debug, Clone, Serialize)]
pub struct OwnTerms {
    k: u8,
    within: u32,
    phases: Vec<&'static str>,
    bands: Vec<String>,
    attacked: YesNo,
    defended: YesNo,
}

impl Terms {
    /// Those of a claim; `None` where it is not about what becomes of its piece.
    ///
    /// # Errors
    ///
    /// Where the table of turns is missing, unreadable or inconsistent.
    pub fn of(dataset: &Dataset, claim: &Claim) -> Result<Option<Terms>, AskError> {
        if claim.outcome.is_of_side() {
            return Ok(None);
        }
        let turned = turned(dataset, claim)?;
        let mut bands: Vec<u64> = turned
            .counts
            .iter()
            .flat_map(|at_k| at_k.keys().map(|stratum| stratum.band()))
            .collect();
        bands.sort_unstable();
        bands.dedup();
        let at = |k: u8| Claim { k, ..claim.clone() };
        Ok(Some(Terms {
            pieces: (0..=MAX_K)
                .map(|k| words::capital(&at(k).in_words()))
                .collect(),
            happened: words::happened(claim.of_piece()),
            within: WITHIN,
            phases: Phase::ALL.iter().map(|phase| phase.name()).collect(),
            bands: bands
                .iter()
                .map(|band| row_words::band_name(*band, claim.band_width))
                .collect(),
            never_attacked: claim.is_of_restrained(),
            own: OwnTerms {
                k: claim.k,
                within: claim.within,
                phases: claim.phase.iter().map(|phase| phase.name()).collect(),
                bands: claim.band.clone(),
                attacked: claim.attacked,
                defended: claim.defended,
            },
            folds: FOLDS,
            least: [LEAST.trials, LEAST.folds.into(), LEAST.outcome_folds.into()],
            covered: COVERED,
            nouns: TermNouns {
                nothing: NOUNS.nothing,
                own: NOUNS.own,
                other: NOUNS.other,
                incomparable: NOUNS.incomparable,
                outcome: NOUNS.outcome,
            },
            free_rows: FREE_ROWS,
            // Folds of players, and those of games whose players have no name.
            student: (1..2 * FOLDS as u32)
                .map(|df| quantile::student(LEVEL, df))
                .collect(),
            normal: quantile::normal(LEVEL),
            rungs: RungTerms::of(claim, dataset.has(Table::Decisions)),
            sample: dataset.parameters().sample.get().into(),
            titles: Rung::ALL
                .iter()
                .map(|rung| (rung.name(), title(*rung)))
                .collect(),
            counts: pack(
                turned,
                claim,
                &bands,
                dataset.parameters().sample.get().into(),
            ),
        }))
    }
}

/// The counts at each k, then the twins, then the chances. For each k the number of strata; for each
/// stratum its phase plus 4 where defended plus 8 where attacked, the place of its band among those met,
/// and its sides: the claim's pieces, free ones, milder restraints. Of these the loss of other pieces is not
/// needed.
fn pack(turned: Turned, claim: &Claim, bands: &[u64], sample: u64) -> Vec<u8> {
    let mut bytes = Vec::new();
    for at_k in &turned.counts {
        put(&mut bytes, at_k.len() as u64);
        for (stratum, sides) in at_k {
            let circumstances = stratum.phase()
                + 4 * u64::from(stratum.is_defended())
                + 8 * u64::from(stratum.is_attacked());
            put(&mut bytes, circumstances);
            put(&mut bytes, place_of(stratum.band(), bands));
            for (side, columns) in [
                (&sides.own, COLUMNS),
                (&sides.free, COLUMNS),
                (&sides.placebo, 1 + WITHIN.len()),
            ] {
                let folds = side
                    .iter()
                    .map(|(fold, counts)| (*fold, &counts[..columns]));
                put_side(&mut bytes, folds, (WITHIN.len(), sample));
            }
        }
    }
    pack_twins(&mut bytes, &turned.twins, bands);
    turned.chances.pack(&mut bytes, &opened(claim), bands);
    bytes
}
