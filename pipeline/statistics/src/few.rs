//! When counts are too few for an interval.
//!
//! An interval rests on the spread between folds of games. With few trials, or trials in few
//! folds, or the outcome in few folds, that spread is itself a matter of luck; the counts are
//! then shown without it.

use crate::standardise::{Cell, Figures, Spread};

/// Rows of the group compared with that a stratum needs: fewer give no rate.
pub const FREE_ROWS: u64 = 5;

/// The least share of the group looked at that must lie in strata compared: below it those left
/// out may be the ones that matter, and there is no verdict.
pub const COVERED: f64 = 0.8;

/// The least that is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Least {
    /// Trials on a side.
    pub trials: u64,
    /// Folds with trials.
    pub folds: u32,
    /// Folds with the outcome.
    pub outcome_folds: u32,
}

/// A number, and the folds it is spread over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Trials or outcomes.
    pub count: u64,
    /// Folds they stand in.
    pub folds: u32,
}

/// Which of two groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// The group looked at: held pieces, a player's games.
    Own,
    /// The group it is compared with: free pieces, peers.
    Other,
}

/// Why a comparison has no interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TooFew {
    /// There is nothing to compare.
    Nothing,
    /// So many trials, none of which has anything comparable.
    Incomparable {
        /// Trials of the group looked at.
        have: u64,
    },
    /// A group has too few trials, or has them in too few folds.
    Trials {
        /// The group.
        of: Group,
        /// Its trials.
        have: Size,
        /// Trials and folds asked for.
        need: Size,
    },
    /// A group met the outcome in too few folds.
    Outcomes {
        /// The group.
        of: Group,
        /// Its outcomes.
        have: Size,
        /// Folds asked for.
        need: u32,
    },
}

impl Least {
    /// Whether a group's trials are enough for an interval.
    pub fn trials(&self, cell: Cell, spread: Spread) -> bool {
        cell.turns >= self.trials && spread.folds >= self.folds
    }

    /// Whether a group's outcomes are enough for an interval by the jackknife.
    pub fn outcomes(&self, spread: Spread) -> bool {
        spread.outcome_folds >= self.outcome_folds
    }

    /// Why the comparison of `figures` has no interval, if it has none; `own` and `other` are
    /// the spreads of the groups compared.
    pub fn check(&self, figures: &Figures, own: Spread, other: Spread) -> Option<TooFew> {
        let have = figures.raw.held.turns;
        if have == 0 {
            return Some(TooFew::Nothing);
        }
        if figures.strata == 0 {
            return Some(TooFew::Incomparable { have });
        }
        let groups = [
            (Group::Own, figures.compared.held, own),
            (Group::Other, figures.compared.free, other),
        ];
        let few_trials = groups
            .iter()
            .find(|(_, cell, spread)| !self.trials(*cell, *spread))
            .map(|&(of, cell, spread)| TooFew::Trials {
                of,
                have: Size {
                    count: cell.turns,
                    folds: spread.folds,
                },
                need: Size {
                    count: self.trials,
                    folds: self.folds,
                },
            });
        let few_outcomes = || {
            groups
                .iter()
                .find(|(.., spread)| !self.outcomes(*spread))
                .map(|&(of, cell, spread)| TooFew::Outcomes {
                    of,
                    have: Size {
                        count: cell.outcomes,
                        folds: spread.outcome_folds,
                    },
                    need: self.outcome_folds,
                })
        };
        few_trials.or_else(few_outcomes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::standardise::Table;

    const LEAST: Least = Least {
        trials: 20,
        folds: 5,
        outcome_folds: 5,
    };

    fn check(cells: &[(usize, u32, bool, u64, u64)]) -> Option<TooFew> {
        let mut table = Table::default();
        for &(stratum, fold, held, turns, outcomes) in cells {
            let cell = Cell {
                turns,
                outcomes,
                over: 0,
            };
            table.add(stratum, fold, held, cell);
        }
        let (own, other) = table.spread(true);
        LEAST.check(&table.figures(), own, other)
    }

    /// Five folds of four held trials and as many free ones, an outcome in each.
    fn enough() -> Vec<(usize, u32, bool, u64, u64)> {
        (0..5)
            .flat_map(|fold| [(0, fold, true, 4, 1), (0, fold, false, 4, 1)])
            .collect()
    }

    #[test]
    fn each_reason() {
        assert_eq!(check(&[]), Some(TooFew::Nothing));
        assert_eq!(
            check(&[(0, 0, true, 3, 1), (1, 0, false, 9, 1)]),
            Some(TooFew::Incomparable { have: 3 })
        );
        assert_eq!(check(&enough()), None);
        let mut few = enough();
        few[0].3 = 3;
        let trials = |of, count, folds| {
            Some(TooFew::Trials {
                of,
                have: Size { count, folds },
                need: Size {
                    count: 20,
                    folds: 5,
                },
            })
        };
        assert_eq!(check(&few), trials(Group::Own, 19, 5));
        let four_folds: Vec<_> = enough()
            .into_iter()
            .map(|(stratum, fold, held, turns, outcomes)| {
                let fold = if held { fold } else { fold.min(3) };
                (stratum, fold, held, turns, outcomes)
            })
            .collect();
        assert_eq!(check(&four_folds), trials(Group::Other, 20, 4));
        let mut few = enough();
        few[1].4 = 0;
        assert_eq!(
            check(&few),
            Some(TooFew::Outcomes {
                of: Group::Other,
                have: Size { count: 4, folds: 4 },
                need: 5
            })
        );
    }
}
