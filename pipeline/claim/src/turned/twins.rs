//! Twins for all terms: sets of pieces of one kind and owner in one position that may tell something at
//! some k and horizon.

use hobble_conditions::AskError;
use hobble_conditions::terms::{MAX_K, WITHIN};
use hobble_dataset::{Part, PartId};
use rustc_hash::FxHashMap;

use super::super::choice::{Group, free_up_to};
use super::super::file::Claim;
use super::super::turn::Turn;
use super::super::twins::{MOST_BEFORE, SetId, owners};
use super::packed::put;

const _: () = assert!(MAX_K < 8, "a byte holds a bit for each k");

/// A piece that is one of the claim's or free at some k.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TwinRow {
    set: SetId,
    phase: u64,
    band: u64,
    /// A bit for each k at which it is one of the claim's.
    own: u8,
    /// A bit for each k at which it is free.
    free: u8,
    landmark: bool,
    sampled: bool,
    /// Place of the first horizon within which the outcome came; as many as there are where none did.
    came: u8,
    defended: bool,
    attacked: bool,
    at_edge: bool,
    before: u8,
    forward: u8,
}

impl TwinRow {
    /// A turn's, for a claim at each k; `None` where it is in no set at any.
    pub fn of(claims: &[Claim], turn: &Turn) -> Option<TwinRow> {
        let before = turn.before[1]?.min(MOST_BEFORE);
        let claim = &claims[0];
        let free_most = free_up_to(claim, turn);
        let (mut own, mut free) = (0, 0);
        for (k, claim) in (0..).zip(claims) {
            let group = Group::Own {
                k,
                turns: claim.turns,
            };
            own |= u8::from(group.has(claim, turn)) << k;
            free |= u8::from(free_most.is_some_and(|most| most >= k)) << k;
        }
        // A piece that is both is in no set.
        let both = own & free;
        (own, free) = (own & !both, free & !both);
        let met = |within: &u32| turn.met(claim.of_piece(), *within);
        let came = WITHIN.iter().position(met).unwrap_or(WITHIN.len());
        (own | free != 0).then(|| TwinRow {
            set: SetId::of(turn),
            phase: turn.phase as u64,
            band: turn.band,
            own,
            free,
            landmark: turn.landmark,
            sampled: turn.sampled,
            came: came as u8,
            defended: turn.defended,
            attacked: turn.attacked,
            at_edge: turn.at_edge,
            before,
            forward: turn.forward,
        })
    }

    fn flags(&self) -> u8 {
        let of_turn = u8::from(self.landmark) | u8::from(self.sampled) << 1;
        let of_piece = u8::from(self.defended) | u8::from(self.attacked) << 1;
        of_turn | of_piece << 2 | u8::from(self.at_edge) << 4
    }

    fn has_come(&self) -> bool {
        usize::from(self.came) < WITHIN.len()
    }
}

/// A set of twins.
pub struct TwinSet {
    part: PartId,
    rows: Vec<TwinRow>,
    /// Hash of the owner's name; `None` where it is not known.
    owner: Option<u64>,
}

/// The sets of a part that may tell something: at some k one is the claim's and one free, and the outcome
/// came to one of them.
pub fn sets(part: &PartId, mut rows: Vec<TwinRow>) -> Vec<TwinSet> {
    rows.sort_unstable();
    rows.chunk_by(|one, other| one.set == other.set)
        .filter(|set| {
            let all = |of: fn(&TwinRow) -> u8| set.iter().fold(0, |bits, row| bits | of(row));
            all(|row| row.own) & all(|row| row.free) != 0 && set.iter().any(TwinRow::has_come)
        })
        .map(|rows| TwinSet {
            part: part.clone(),
            rows: rows.to_vec(),
            owner: None,
        })
        .collect()
}

/// Names the owners of the pieces of a part, from its table of games.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn name_owners(sets: &mut [TwinSet], games: &Part) -> Result<(), AskError> {
    let wanted = sets.iter().map(|set| set.rows[0].set.game).collect();
    let owners = owners(games, wanted)?;
    for set in sets {
        set.owner = set.rows[0].set.owner(&owners);
    }
    Ok(())
}

/// Adds the sets to bytes: their number; of each its game and its owner, numbered as they come, whether
/// the owner is known, the phase, the place of the band among `bands`, and its pieces. A piece is: the k's at
/// which it is the claim's and at which it is free, a bit each; the place of the first horizon within which the
/// outcome came; the squares before; the row; and whether it is at its landmark, sampled, defended,
/// attacked, at the edge, a bit each.
pub fn pack(bytes: &mut Vec<u8>, sets: &[TwinSet], bands: &[u64]) {
    let mut games: FxHashMap<(&PartId, u32), u64> = FxHashMap::default();
    let mut known: FxHashMap<u64, u64> = FxHashMap::default();
    let mut unknown: FxHashMap<(&PartId, u32, bool), u64> = FxHashMap::default();
    put(bytes, sets.len() as u64);
    for TwinSet { part, rows, owner } in sets {
        let set = rows[0].set;
        let next = games.len() as u64;
        put(bytes, *games.entry((part, set.game)).or_insert(next));
        let next = (known.len() + unknown.len()) as u64;
        let number = match owner {
            Some(owner) => *known.entry(*owner).or_insert(next),
            None => *unknown.entry((part, set.game, set.white)).or_insert(next),
        };
        put(bytes, 2 * number + u64::from(owner.is_some()));
        put(bytes, rows[0].phase);
        put(bytes, place_of(rows[0].band, bands));
        put(bytes, rows.len() as u64);
        for row in rows {
            bytes.extend([
                row.own,
                row.free,
                row.came,
                row.before,
                row.forward,
                row.flags(),
            ]);
        }
    }
}

/// Place of a band among those met; one beyond them where it is not.
pub fn place_of(band: u64, bands: &[u64]) -> u64 {
    bands.binary_search(&band).unwrap_or(bands.len()) as u64
}
