//! Claims tried on one half, and those that passed asked of the other.

use hobble_claim::answer::{Guard, Twins};
use hobble_claim::choice::{Choice, Varied};
use hobble_claim::compare::{self, Compared, Paired};
use hobble_claim::confirmation::FALSE_SHARE;
use hobble_claim::guards;
use hobble_claim::side_by_side::SideBySide;
use hobble_claim::twins::Adjusted;
use hobble_conditions::terms::Kind;
use hobble_statistics::false_discovery::benjamini_hochberg;
use hobble_statistics::few::COVERED;
use hobble_statistics::{StandardError, fit};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use crate::grid::{Grid, Tried};
use crate::pieces::{ANOTHER_LOST, OUTCOME, Pieces};

/// What a half says to a claim.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Against comparable free pieces.
    pub compared: Compared,
    /// Two-sided p-value of no difference; `None` where there is no interval, or too many pieces
    /// have none to be compared with.
    pub p: Option<f64>,
    /// The same, adjusted for all claims asked of this half (Benjamini and Hochberg).
    pub adjusted: Option<f64>,
}

impl Asked {
    fn of(compared: Compared) -> Asked {
        let covered = compared.covered.is_some_and(|share| share >= COVERED);
        let p = || {
            let interval = compared.ratio.jackknife?;
            let error = StandardError::new(interval.se?, interval.df?)?;
            fit::p(compared.ratio.value?.ln(), error)
        };
        Asked {
            p: covered.then(p).flatten(),
            adjusted: None,
            compared,
        }
    }

    /// Whether the outcome comes more often, and hardly by chance among so many tried.
    pub fn passes(&self) -> bool {
        self.adjusted.is_some_and(|p| p <= FALSE_SHARE)
            && self.compared.ratio.value.is_some_and(|ratio| ratio > 1.0)
    }

    /// Lower end of the interval; 0 where there is none.
    pub fn low(&self) -> f64 {
        self.compared.ratio.jackknife.map_or(0.0, |it| it.low)
    }
}

/// What the locked half says to a claim.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// Against comparable free pieces.
    pub asked: Asked,
    /// Twins, adjusted and with nothing adjusted for.
    pub twins: [Twins; 2],
    /// The loss of another piece of the side beside it.
    pub others: Guard,
}

fn compared(grid: &Grid, sample: u32, tried: &Tried, paired: &Paired) -> Compared {
    let choice = Choice {
        k: tried.k,
        turns: tried.turns,
        within: grid.within(),
        outcome: grid.outcome(),
    };
    compare::figures((Varied::Within, choice), paired, sample.into())
}

/// Asks the half in which claims are looked for, claim by claim; one turn in `sample` is in the sample.
pub fn search(grid: &Grid, pieces: &Pieces, sample: u32) -> Vec<Asked> {
    // Claims that are compared with the same free pieces are asked together.
    let mut together: FxHashMap<(Kind, u8, u32), Vec<usize>> = FxHashMap::default();
    for (number, claim) in grid.tried().iter().enumerate() {
        let of_free = claim.bits & grid.of_free();
        let same = together.entry((claim.kind, claim.k, of_free));
        same.or_default().push(number);
    }
    let together: Vec<_> = together.into_iter().collect();
    let mut asked: Vec<(usize, Asked)> = together
        .par_iter()
        .flat_map_iter(|((kind, k, of_free), numbers)| {
            let free = pieces.free(*kind, *k, *of_free, OUTCOME);
            let ask = move |number: &usize| {
                let claim = &grid.tried()[*number];
                let own = pieces.restrained(claim, OUTCOME);
                let paired = Paired::of(&SideBySide::of(&own, &free));
                (*number, Asked::of(compared(grid, sample, claim, &paired)))
            };
            numbers.iter().map(ask).collect::<Vec<_>>()
        })
        .collect();
    asked.sort_unstable_by_key(|asked| asked.0);
    adjust(asked.into_iter().map(|asked| asked.1).collect())
}

/// Adjusts the p-values of all claims asked.
fn adjust(mut asked: Vec<Asked>) -> Vec<Asked> {
    let p: Vec<f64> = asked.iter().map(|one| one.p.unwrap_or(f64::NAN)).collect();
    for (one, adjusted) in asked.iter_mut().zip(benjamini_hochberg(&p)) {
        one.adjusted = (!adjusted.is_nan()).then_some(adjusted);
    }
    asked
}

/// The claims that are asked of the locked half, the highest lower limit first: those that passed,
/// less those that a simpler one says as well.
pub fn chosen(grid: &Grid, asked: &[Asked]) -> Vec<usize> {
    let tried = grid.tried();
    let passed: Vec<usize> = (0..tried.len()).filter(|at| asked[*at].passes()).collect();
    let is_simpler = |one: usize, than: usize| {
        let (one, than) = (&tried[one], &tried[than]);
        (one.kind, one.k, one.turns) == (than.kind, than.k, than.turns)
            && one.bits != than.bits
            && one.bits & than.bits == one.bits
    };
    let says_as_much = |one: usize, as_: usize| asked[one].low() >= asked[as_].low();
    let mut chosen: Vec<usize> = passed
        .iter()
        .copied()
        .filter(|&claim| {
            let mut others = passed.iter();
            !others.any(|&other| is_simpler(other, claim) && says_as_much(other, claim))
        })
        .collect();
    chosen.sort_by(|&a, &b| asked[b].low().total_cmp(&asked[a].low()).then(a.cmp(&b)));
    chosen.truncate(grid.open_at_most());
    chosen
}

/// Asks the locked half.
pub fn open(grid: &Grid, pieces: &Pieces, sample: u32, claims: &[&Tried]) -> Vec<Opened> {
    let mut opened: Vec<Opened> = claims
        .par_iter()
        .map(|claim| of_locked(grid, pieces, sample, claim))
        .collect();
    let asked = adjust(opened.iter().map(|one| one.asked.clone()).collect());
    for (one, asked) in opened.iter_mut().zip(asked) {
        one.asked = asked;
    }
    opened
}

fn of_locked(grid: &Grid, pieces: &Pieces, sample: u32, tried: &Tried) -> Opened {
    let of_free = tried.bits & grid.of_free();
    let paired = |event| {
        let free = pieces.free(tried.kind, tried.k, of_free, event);
        Paired::of(&SideBySide::of(&pieces.restrained(tried, event), &free))
    };
    let (whole, others) = (paired(OUTCOME), paired(ANOTHER_LOST));
    let sets = pieces.twins(tried);
    Opened {
        asked: Asked::of(compared(grid, sample, tried, &whole)),
        twins: [Adjusted::Place, Adjusted::Nothing].map(|adjusted| sets.compare(adjusted)),
        others: guards::beside(&whole, &others),
    }
}
