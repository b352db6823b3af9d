//! What a page carries to turn a claim's terms: its counts packed, and the words and numbers that its
//! figures are put in.

use hobble_conditions::AskError;
use hobble_conditions::terms::{MAX_K, Phase, WITHIN, YesNo};
use hobble_conditions::words;
use hobble_dataset::Dataset;
use hobble_statistics::few::COVERED;
use hobble_statistics::{LEVEL, quantile};
use hobble_terms::fold::FOLDS;
use serde::Serialize;

use crate::cells::Count;
use crate::compare::{LEAST, NOUNS};
use crate::file::Claim;
use crate::turned::{AtK, ByFold, COLUMNS, turned};

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
    /// Quantiles of Student's t for 95% intervals, by degrees of freedom from 1 on.
    pub student: Vec<f64>,
    /// One turn in so many is in the table, where no piece is at its landmark.
    pub sample: u64,
    /// The counts, packed.
    #[serde(skip)]
    pub counts: Vec<u8>,
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
        let strata = turned(dataset, claim)?;
        let mut bands: Vec<u64> = strata
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
                .map(|band| crate::row_words::band_name(*band, claim.band_width))
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
            student: (1..FOLDS as u32)
                .map(|df| quantile::student(LEVEL, df))
                .collect(),
            sample: dataset.parameters().sample.get().into(),
            counts: pack(&strata, &bands, dataset.parameters().sample.get().into()),
        }))
    }
}

/// The counts as numbers of seven bits a byte, the lowest first, the eighth bit set where more follow.
///
/// For each k the number of strata; for each stratum its phase plus 4 where defended plus 8 where attacked,
/// the place of its band among those met, and its two sides. A side is the number of folds; for
/// each the steps from the fold before, and for all pieces and those with the outcome within each
/// horizon, of which the one before is taken off, the rows at a landmark and the rows of the sample.
fn pack(strata: &[AtK], bands: &[u64], sample: u64) -> Vec<u8> {
    let mut bytes = Vec::new();
    for at_k in strata {
        put(&mut bytes, at_k.len() as u64);
        for (stratum, sides) in at_k {
            let circumstances = stratum.phase()
                + 4 * u64::from(stratum.is_defended())
                + 8 * u64::from(stratum.is_attacked());
            put(&mut bytes, circumstances);
            let band = bands.binary_search(&stratum.band()).unwrap_or(0);
            put(&mut bytes, band as u64);
            put_side(&mut bytes, &sides.own, sample);
            put_side(&mut bytes, &sides.free, sample);
        }
    }
    bytes
}

fn put_side(bytes: &mut Vec<u8>, side: &ByFold, sample: u64) {
    put(bytes, side.len() as u64);
    let mut next = 0;
    for (fold, counts) in side {
        put(bytes, u64::from(*fold) - next);
        next = u64::from(*fold) + 1;
        let mut before = [0; 2];
        for (column, count) in counts.iter().enumerate() {
            let rows = parted(*count, sample);
            let less = if column > 1 { before } else { [0; 2] };
            put(bytes, rows[0] - less[0]);
            put(bytes, rows[1] - less[1]);
            before = rows;
        }
        debug_assert_eq!(counts.len(), COLUMNS);
    }
}

/// Rows at a landmark, which stand for themselves, and rows of the sample, which stand for `sample`.
fn parted(count: Count, sample: u64) -> [u64; 2] {
    let sampled = match sample {
        0 | 1 => 0,
        sample => (count.turns - count.rows) / (sample - 1),
    };
    [count.rows - sampled, sampled]
}

fn put(bytes: &mut Vec<u8>, mut number: u64) {
    while number > 127 {
        bytes.push(number as u8 & 127 | 128);
        number >>= 7;
    }
    bytes.push(number as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_packed_seven_bits_a_byte() {
        let packed = |number| {
            let mut bytes = Vec::new();
            put(&mut bytes, number);
            bytes
        };
        assert_eq!(packed(0), [0]);
        assert_eq!(packed(127), [127]);
        assert_eq!(packed(128), [128, 1]);
        assert_eq!(packed(300), [0b1010_1100, 0b10]);
    }

    #[test]
    fn rows_are_told_apart_by_the_turns_they_stand_for() {
        let count = |rows, turns| Count { rows, turns };
        assert_eq!(parted(count(5, 5), 16), [5, 0]);
        assert_eq!(parted(count(5, 50), 16), [2, 3]);
        assert_eq!(parted(count(5, 5), 1), [5, 0]);
    }

    /// Folds by the steps between them, outcomes by what each horizon adds.
    #[test]
    fn a_side_is_packed_fold_by_fold() {
        let fold = |met: [u64; WITHIN.len()]| {
            std::array::from_fn(|column| {
                let rows = if column == 0 { 9 } else { met[column - 1] };
                Count { rows, turns: rows }
            })
        };
        let side = ByFold::from([(2, fold([1, 1, 2, 4, 4])), (5, fold([0; 5]))]);
        let mut bytes = Vec::new();
        put_side(&mut bytes, &side, 16);
        let first = [2, 9, 0, 1, 0, 0, 0, 1, 0, 2, 0, 0, 0];
        let second = [2, 9, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        assert_eq!(bytes, [&[2][..], &first, &second].concat());
    }
}
