//! What a claim's comparison is made for: its own k, turns, horizon and outcome, every other
//! horizon, and one choice changed at a time. And the groups of pieces and the events that are
//! counted so that all of it can be worked out from one state.

use super::file::Claim;
use super::stratum::Matched;
use super::turn::{FREE, OWN, Turn};
use hobble_conditions::terms::{MAX_K, Outcome, WITHIN, YesNo};
use hobble_terms::Fate;

hobble_terms::words! {
    /// Which choice a comparison changes.
    Varied {
        /// The horizon.
        Within = "within",
        /// Safe squares at most.
        K = "k",
        /// Turns held at least.
        Turns = "turns",
        /// What is counted.
        Outcome = "outcome",
        /// Pieces traded or sold in that time are left out of both sides.
        NotTraded = "not traded",
        /// Attacked now, or not, is matched too.
        AttackedToo = "attacked matched",
        /// Where the pieces stand is matched too.
        PlaceToo = "place matched",
        /// Only what was so before the restraint is matched.
        BeforeOnly = "defended and others held not matched",
        /// The position is not matched: balance, move, squares before, others held.
        PositionOut = "position not matched",
        /// Half of the games: those with an even number.
        EvenGames = "games of even id",
        /// The other half.
        OddGames = "games of odd id",
    }
}

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
    /// The claim's own.
    pub fn of(claim: &Claim) -> Choice {
        Choice {
            k: claim.k,
            turns: claim.turns,
            within: claim.within,
            outcome: claim.of_piece(),
        }
    }
}

/// The comparison at every horizon.
pub fn by_horizon(claim: &Claim) -> Vec<(Varied, Choice)> {
    let own = Choice::of(claim);
    WITHIN
        .map(|within| (Varied::Within, Choice { within, ..own }))
        .to_vec()
}

/// The comparison with one choice changed at a time.
pub fn sensitivity(claim: &Claim) -> Vec<(Varied, Choice)> {
    let own = Choice::of(claim);
    let mut choices = Vec::new();
    choices.extend((0..=MAX_K).map(|k| (Varied::K, Choice { k, ..own })));
    let later = (claim.turns > 5).then_some(claim.turns);
    let turns = (claim.first_turn()..=5).chain(later);
    choices.extend(turns.map(|turns| (Varied::Turns, Choice { turns, ..own })));
    choices.extend(
        [Outcome::Lost, Outcome::Captured]
            .map(|outcome| (Varied::Outcome, Choice { outcome, ..own })),
    );
    let whole = [
        Varied::NotTraded,
        Varied::AttackedToo,
        Varied::PlaceToo,
        Varied::BeforeOnly,
        Varied::PositionOut,
        Varied::EvenGames,
        Varied::OddGames,
    ];
    // A held piece is matched by being attacked in any case.
    let attacked_too = claim.is_of_restrained();
    choices.extend(
        whole
            .into_iter()
            .filter(|varied| attacked_too || *varied != Varied::AttackedToo)
            .map(|varied| (varied, own)),
    );
    choices
}

/// What is matched where this is varied.
pub fn matched(claim: &Claim, varied: Varied) -> Matched {
    match varied {
        Varied::AttackedToo => Matched::ATTACKED_TOO,
        Varied::PlaceToo => Matched::PLACE_TOO,
        Varied::BeforeOnly => Matched::BEFORE_ONLY,
        Varied::PositionOut => Matched::BUT_POSITION,
        _ if claim.is_of_restrained() => Matched::RESTRAINED,
        _ => Matched::HELD,
    }
}

/// A group of pieces that is counted by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Pieces of the claim, with this number of safe squares at most, at this turn.
    Own {
        /// Safe squares, at most.
        k: u8,
        /// Turns restrained or held by then.
        turns: u32,
    },
    /// Pieces of which a move as the claim asks for took squares, but left more than k: at their
    /// landmark, or where the claim counts from a later turn, by then or for longer.
    Placebo,
    /// Free pieces, up to this k and no further.
    FreeUpTo(u8),
}

/// Every group that a claim counts, each once.
pub fn groups(claim: &Claim) -> Vec<Group> {
    let mut groups: Vec<Group> = (0..=MAX_K).map(Group::FreeUpTo).collect();
    groups.push(Group::Placebo);
    let all = by_horizon(claim).into_iter().chain(sensitivity(claim));
    for (_, Choice { k, turns, .. }) in all {
        let own = Group::Own { k, turns };
        if !groups.contains(&own) {
            groups.push(own);
        }
    }
    groups
}

impl Group {
    /// Whether a piece is in the group.
    pub fn has(self, claim: &Claim, turn: &Turn) -> bool {
        match self {
            Group::Own { k, turns } => turn.passes(OWN) && is_own(claim, turn, k, turns),
            Group::Placebo => {
                claim.is_of_restrained()
                    && turn.passes(OWN)
                    && free_up_to(claim, turn).is_some_and(|most| most >= claim.k)
                    && turn.taken > 0
                    && turn.restrained[usize::from(claim.k) + 1..]
                        .iter()
                        .any(|turns| is_placebo(claim, u32::from(*turns)))
            }
            Group::FreeUpTo(k) => free_up_to(claim, turn) == Some(k),
        }
    }
}

/// Whether a milder restraint lasts as long as the claim asks, with so many turns from its landmark
/// on. At the landmark itself there are rows enough; few stand at a later turn, so that longer ones
/// count as well (113 rows beside 797 for the bishop shut out, in the open archive).
fn is_placebo(claim: &Claim, turns: u32) -> bool {
    if claim.turns == claim.first_turn() {
        turns == 1
    } else {
        turns + 1 >= claim.turns
    }
}

/// Whether a piece that passes the claim's filters is at the turn that counts at this k.
///
/// A restrained piece is at turn t of its spell t − 1 turns from its landmark on, that one
/// counted. The first two turns of a spell at k show by the squares of the turns before; later
/// ones are those of the spell at the number of squares it has now.
fn is_own(claim: &Claim, turn: &Turn, k: u8, turns: u32) -> bool {
    let restrained = u32::from(turn.restrained[usize::from(k)]);
    if claim.is_of_restrained() {
        return restrained > 0 && restrained + 1 == turns;
    }
    let held = |at: Option<u8>| at.is_some_and(|squares| squares <= k);
    let [last, before_last] = turn.before;
    let lasted = match turns {
        1 => !held(last),
        2 => held(last) && !held(before_last),
        _ => u32::from(turn.held_turns) == turns,
    };
    turn.safe <= k && lasted && !(claim.restrained == YesNo::No && restrained > 0)
}

/// The greatest k at which a piece is free beside those of the claim.
pub fn free_up_to(claim: &Claim, turn: &Turn) -> Option<u8> {
    let free = if claim.is_of_restrained() {
        turn.free_beside_restrained()
    } else {
        turn.free()
    };
    free.filter(|_| turn.passes(FREE))
}

/// What is counted of every group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// The piece was captured so, within so many moves.
    Met(Outcome, u32),
    /// Another piece of its side was lost within so many moves.
    OthersLost(u32),
    /// The piece was traded or sold within so many moves.
    Removed(u32),
}

/// Every event that a claim counts, each once.
pub fn events(claim: &Claim) -> Vec<Event> {
    let mut events = Vec::new();
    let all = by_horizon(claim).into_iter().chain(sensitivity(claim));
    let met = all.map(|(_, choice)| Event::Met(choice.outcome, choice.within));
    let more = [
        Event::OthersLost(claim.within),
        Event::Removed(claim.within),
    ];
    for event in met.chain(more) {
        if !events.contains(&event) {
            events.push(event);
        }
    }
    events
}

impl Event {
    /// Whether it came to a piece.
    pub fn came(self, turn: &Turn) -> bool {
        match self {
            Event::Met(outcome, within) => turn.met(outcome, within),
            Event::OthersLost(within) => turn
                .others_lost
                .is_some_and(|plies| u32::from(plies) <= 2 * within),
            Event::Removed(within) => turn.captured.is_some_and(|(plies, fate)| {
                u32::from(plies) <= 2 * within && matches!(fate, Fate::Traded | Fate::Sold)
            }),
        }
    }
}
