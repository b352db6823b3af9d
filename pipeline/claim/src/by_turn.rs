//! The risk of the outcome turn by turn since the restraint, while the piece is still restrained and
//! while it is free again: being restrained is a state that comes and goes.
//!
//! A piece is followed once, from the turn at which its first spell of the claim counts. At each of
//! its owner's turns since, it is at risk if it is still on the board and the game goes on; it is
//! restrained there if a spell of the claim covers the turn. Pieces captured in another way, and
//! those whose game ends, leave the numbers at risk. See [`hobble_statistics::hazard`] for the
//! method; intervals are clustered by folds of games, so that the counts stay small.

use std::collections::BTreeMap;

use hobble_conditions::terms::Outcome;
use hobble_statistics::clusters::Clustering;
use hobble_statistics::hazard::{Hazards, Rate};
use hobble_statistics::{Estimate, LEVEL};
use hobble_terms::Fate;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::compare::LEAST;
use super::file::Claim;
use super::held::Held;

/// Turns that are followed.
pub const TURNS: usize = 20;

/// States of a piece at a turn.
const FREED: u32 = 0;
const RESTRAINED: u32 = 1;

/// Numbers at risk, and those that met the outcome before the next turn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
struct AtTurn {
    at_risk: u64,
    met: u64,
}

/// Counts of one fold: by turn, then free again and restrained.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct OfFold([[AtTurn; 2]; TURNS]);

/// Counts by fold of games.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ByTurn(BTreeMap<u8, OfFold>);

/// What happened at a turn to the pieces of one state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Risk {
    /// Pieces at risk.
    pub at_risk: u64,
    /// Those that met the outcome before their owner's next turn.
    pub met: u64,
    /// Their share: the hazard of this cause.
    pub hazard: Estimate,
}

/// A turn since the restraint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TurnRisk {
    /// Number of the turn; 1 is the one that the claim counts from.
    pub turn: u32,
    /// Pieces that are restrained then.
    pub restrained: Risk,
    /// Pieces that are not.
    pub freed: Risk,
}

/// Risk turn by turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// The turns.
    pub turns: Vec<TurnRisk>,
    /// Hazard while restrained divided by that while free again, at the same turn.
    pub ratio: Estimate,
}

/// Spells of one piece of a game.
type OfPiece<'a> = FxHashMap<(u64, u64), Vec<&'a Held>>;

impl ByTurn {
    /// Counts the spells of whole games.
    pub fn of(claim: &Claim, spells: &[Held]) -> ByTurn {
        let mut pieces = OfPiece::default();
        for spell in spells {
            pieces
                .entry((spell.game, spell.piece))
                .or_default()
                .push(spell);
        }
        let mut counts = ByTurn::default();
        for spells in pieces.values_mut() {
            spells.sort_unstable_by_key(|spell| spell.start);
            counts.follow(claim, spells);
        }
        counts
    }

    /// Follows one piece from the turn that its first spell counts from.
    fn follow(&mut self, claim: &Claim, spells: &[&Held]) {
        let Some(first) = spells.first() else {
            return;
        };
        let zero = first.start + 2 * (claim.turns - 1);
        let end_of_game = first.start + first.plies_left;
        let captured = (first.fate != Fate::Survived).then_some((first.fate_ply, first.fate));
        let fold = self.0.entry(first.fold).or_default();
        for (turn, states) in (0..).zip(&mut fold.0) {
            let at = zero + 2 * turn;
            if at >= end_of_game || captured.is_some_and(|(ply, _)| ply <= at) {
                return;
            }
            let covers =
                |spell: &&Held| (spell.start..=spell.start + 2 * (spell.turns - 1)).contains(&at);
            let restrained = spells.iter().any(covers);
            let state = &mut states[usize::from(restrained)];
            state.at_risk += 1;
            let counted = |fate: Fate| match claim.of_piece() {
                Outcome::Captured => true,
                outcome => fate.name() == outcome.name(),
            };
            if captured.is_some_and(|(ply, fate)| ply <= at + 2 && counted(fate)) {
                state.met += 1;
            }
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: ByTurn) {
        for (fold, more) in other.0 {
            let sums = self.0.entry(fold).or_default().0.as_flattened_mut();
            for (sum, more) in sums.iter_mut().zip(more.0.as_flattened()) {
                sum.at_risk += more.at_risk;
                sum.met += more.met;
            }
        }
    }

    /// The risk at each turn, and the ratio of both states.
    pub fn course(&self) -> Course {
        let mut hazards = Hazards::new(Clustering::OneWay);
        for (fold, counts) in &self.0 {
            for (turn, states) in (1..).zip(&counts.0) {
                for (state, at) in (0..).zip(states).filter(|(_, at)| at.at_risk > 0) {
                    let clusters = [u32::from(*fold), 0];
                    hazards.add((turn, state), clusters, at.at_risk as f64, at.met as f64);
                }
            }
        }
        let rates = hazards.rates(LEVEL);
        let turns = (1..=TURNS as u32).map(|turn| TurnRisk {
            turn,
            restrained: self.risk(&rates, turn, RESTRAINED),
            freed: self.risk(&rates, turn, FREED),
        });
        let ratio = hazards.ratio(RESTRAINED, FREED).ok();
        let enough = [RESTRAINED, FREED]
            .iter()
            .all(|state| self.enough(|_| true, *state as usize));
        Course {
            turns: turns.collect(),
            ratio: Estimate {
                value: ratio.map(|ratio| ratio.log.exp()),
                jackknife: ratio
                    .filter(|_| enough)
                    .and_then(|ratio| ratio.interval(LEVEL)),
            },
        }
    }

    fn risk(&self, rates: &[Rate], turn: u32, state: u32) -> Risk {
        let found = rates
            .iter()
            .find(|rate| (rate.turn, rate.state) == (turn, state));
        let enough = self.enough(|at| at + 1 == turn as usize, state as usize);
        Risk {
            at_risk: found.map_or(0, |rate| rate.at_risk as u64),
            met: found.map_or(0, |rate| rate.ends as u64),
            hazard: Estimate {
                value: found.and_then(|rate| rate.value),
                jackknife: found.filter(|_| enough).and_then(|rate| rate.interval),
            },
        }
    }

    /// Whether some turns of a state have enough for an interval.
    fn enough(&self, wanted: impl Fn(usize) -> bool, state: usize) -> bool {
        let (mut at_risk, mut folds, mut with) = (0, 0, 0);
        for counts in self.0.values() {
            let turns = counts.0.iter().enumerate();
            let turns = turns.filter(|(at, _)| wanted(*at));
            let (mut fold_at_risk, mut fold_met) = (0, 0);
            for (_, states) in turns {
                fold_at_risk += states[state].at_risk;
                fold_met += states[state].met;
            }
            at_risk += fold_at_risk;
            folds += u32::from(fold_at_risk > 0);
            with += u32::from(fold_met > 0);
        }
        at_risk >= LEAST.trials && folds >= LEAST.folds && with >= LEAST.outcome_folds
    }
}

#[cfg(test)]
mod tests {
    use hand_made_tables::question;
    use hobble_terms::Kind;

    use super::super::held::End;
    use super::*;

    fn spell(start: u32, turns: u32, fate: Fate, fate_ply: u32) -> Held {
        Held {
            row: 0,
            game: 1,
            fold: 3,
            piece: 5,
            kind: Kind::Rook,
            white: true,
            start,
            turns,
            end: End::FreedByOwnMove,
            end_ply: start + 2 * turns,
            fate,
            fate_ply,
            plies_left: 100 - start,
            balance: 0,
            material: [None; 3],
        }
    }

    /// Restrained at plies 20, 22 and 24, free at 26 and 28, restrained again at 30 and 32, lost by
    /// ply 33. Counted from ply 22: restrained at turns 1, 2, 5 and 6, free at 3 and 4.
    #[test]
    fn a_state_that_comes_and_goes() {
        let claim: Claim = question("restrained = \"yes\"").unwrap();
        let spells = [spell(30, 2, Fate::Lost, 33), spell(20, 3, Fate::Lost, 33)];
        let course = ByTurn::of(&claim, &spells).course();
        let seen: Vec<(u64, u64)> = course
            .turns
            .iter()
            .map(|at| (at.restrained.at_risk, at.freed.at_risk))
            .collect();
        assert_eq!(
            seen[..7],
            [(1, 0), (1, 0), (0, 1), (0, 1), (1, 0), (1, 0), (0, 0)]
        );
        let met: u64 = course.turns.iter().map(|at| at.restrained.met).sum();
        assert_eq!((met, course.turns[5].restrained.met), (1, 1));
        assert_eq!(course.turns.iter().map(|at| at.freed.met).sum::<u64>(), 0);
    }

    /// A piece traded, and one whose game ends, leave the numbers at risk without meeting it.
    #[test]
    fn other_ends_leave() {
        let claim: Claim = question("restrained = \"yes\"").unwrap();
        let traded = ByTurn::of(&claim, &[spell(20, 2, Fate::Traded, 25)]).course();
        let at_risk = |course: &Course| -> u64 {
            let turns = course.turns.iter();
            turns
                .map(|at| at.restrained.at_risk + at.freed.at_risk)
                .sum()
        };
        assert_eq!(at_risk(&traded), 2);
        assert!(
            traded
                .turns
                .iter()
                .all(|at| at.restrained.met + at.freed.met == 0)
        );
        let mut short = spell(20, 2, Fate::Survived, 0);
        short.plies_left = 7;
        assert_eq!(at_risk(&ByTurn::of(&claim, &[short]).course()), 3);
    }
}
