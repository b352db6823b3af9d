//! What a claim's comparison is made for: its own k, turns, horizon and outcome, every other
//! horizon, and k, turns or outcome changed one at a time.

use super::answer::Varied;
use super::file::Claim;
use hobble_conditions::terms::{MAX_K, Outcome, WITHIN};

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Safe squares, at most.
    pub k: u8,
    /// Turns held, at least.
    pub turns: u32,
    /// Horizon in moves.
    pub within: u32,
    /// What is counted.
    pub outcome: Outcome,
}

impl Choice {
    fn of(claim: &Claim) -> Choice {
        Choice {
            k: claim.k,
            turns: claim.turns,
            within: claim.within,
            outcome: claim.outcome,
        }
    }

    /// What free turns are counted for: they have no number of turns.
    pub fn free(self) -> Choice {
        Choice { turns: 0, ..self }
    }
}

/// The comparison at every horizon.
pub fn by_horizon(claim: &Claim) -> Vec<(Varied, Choice)> {
    let own = Choice::of(claim);
    WITHIN
        .map(|within| (Varied::Within, Choice { within, ..own }))
        .to_vec()
}

/// The comparison with one choice changed at a time: k, turns, outcome.
pub fn sensitivity(claim: &Claim) -> Vec<(Varied, Choice)> {
    let own = Choice::of(claim);
    let mut choices = Vec::new();
    choices.extend((0..=MAX_K).map(|k| (Varied::K, Choice { k, ..own })));
    choices.extend((claim.first_turn()..=5).map(|turns| (Varied::Turns, Choice { turns, ..own })));
    choices.extend(
        [Outcome::Lost, Outcome::Captured]
            .map(|outcome| (Varied::Outcome, Choice { outcome, ..own })),
    );
    choices
}

/// Every choice once, for held spells.
pub fn held(claim: &Claim) -> Vec<Choice> {
    let all = by_horizon(claim).into_iter().chain(sensitivity(claim));
    once(all.map(|(_, choice)| choice))
}

/// Every choice once, for free turns.
pub fn free(claim: &Claim) -> Vec<Choice> {
    once(held(claim).into_iter().map(Choice::free))
}

fn once(choices: impl Iterator<Item = Choice>) -> Vec<Choice> {
    let mut once = Vec::new();
    for choice in choices {
        if !once.contains(&choice) {
            once.push(choice);
        }
    }
    once
}
