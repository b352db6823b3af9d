//! Chances to restrain, counted side by side: the player's game by game, the peers' by cell and
//! fold.

use std::collections::BTreeMap;

use crate::sides::{NOT_COUNTED, OWN, Places};
use crate::tally::{Count, Tally, tallied};
use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;
use hobble_terms::Table;

/// Chances of a kind and those taken, in the order of the words below.
const OF_KIND: [[Count; 2]; 4] = [
    [Count::KnightChances, Count::KnightChancesTaken],
    [Count::BishopChances, Count::BishopChancesTaken],
    [Count::RookChances, Count::RookChancesTaken],
    [Count::QueenChances, Count::QueenChancesTaken],
];
const KINDS: [&str; 4] = ["knight", "bishop", "rook", "queen"];

const COLUMNS: [&str; 4] = ["game", "color", "kind", "restrains"];

/// Adds the chances of a dataset to what is counted; nothing where it has no table of them.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(
    dataset: &Dataset,
    own: &BTreeMap<String, Places>,
    peers: &BTreeMap<String, Places>,
    empty: &Tally,
) -> Result<Tally, AskError> {
    if !dataset.has(Table::Decisions) {
        return Ok(empty.clone());
    }
    let in_group = |part: &Part, group, places: [&Places; 2], tally: &mut Tally| {
        for rows in part.read(&COLUMNS, group)? {
            in_batch(&rows?, places, tally)?;
        }
        Ok(())
    };
    tallied(
        dataset.parts(Table::Decisions)?,
        [own, peers],
        empty,
        in_group,
    )
}

fn in_batch(rows: &Rows, [own, peers]: [&Places; 2], tally: &mut Tally) -> Result<(), AskError> {
    let games = rows.fours("game")?;
    let restrains = rows.booleans("restrains")?;
    let place =
        |words: &[&str], word: Option<&str>| words.iter().position(|one| Some(*one) == word);
    let side = rows
        .texts("color")?
        .read_as(|word| place(&["white", "black"], word));
    let kind = rows.texts("kind")?.read_as(|word| place(&KINDS, word));
    for (row, &game) in games.iter().enumerate() {
        let game = u64::from(game);
        let (own_sides, peer_sides) = (own.of(game), peers.of(game));
        if own_sides == [NOT_COUNTED; 2] && peer_sides == [NOT_COUNTED; 2] {
            continue;
        }
        let unknown = |what: &str| rows.bad(format!("row {}: invalid {what}", rows.place(row)));
        let side = side.at(row).ok_or_else(|| unknown("color"))?;
        let kind = kind.at(row).ok_or_else(|| unknown("kind"))?;
        let taken = restrains.value(row);
        let [of_kind, of_kind_taken] = OF_KIND[kind];
        let mine = [
            (Count::Chances, true),
            (Count::ChancesTaken, taken),
            (of_kind, true),
            (of_kind_taken, taken),
        ];
        let against = [
            (Count::ChancesAgainst, true),
            (Count::ChancesAgainstTaken, taken),
        ];
        for (side, counts) in [(side, &mine[..]), (1 - side, &against[..])] {
            let add = |to: &mut [u64]| {
                for &(count, came) in counts {
                    to[count as usize] += u64::from(came);
                }
            };
            if own_sides[side] >= OWN && own_sides[side] != NOT_COUNTED {
                add(&mut tally.own[(own_sides[side] - OWN) as usize]);
            }
            if peer_sides[side] < OWN {
                add(&mut tally.peers[peer_sides[side] as usize]);
            }
        }
    }
    Ok(())
}
