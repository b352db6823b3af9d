//! Chances to restrain, counted side by side: the player's game by game, the peers' by cell and
//! fold.

use std::collections::BTreeMap;

use crate::count::Count;
use crate::missed_chances;
use crate::prevention::Restraining;
use crate::sides::{NOT_COUNTED, OWN, Places};
use crate::tally::{Tally, tallied};
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::Dataset;
use hobble_dataset::columns::{Rows, float};
use hobble_dataset::part::Part;
use hobble_terms::{Phase, Table};

/// Chances and those taken.
type Pair = [Count; 2];

/// The pairs of a chance by the kind of its piece: of the side on move, and of the other side.
const OF_KIND: [(Kind, Pair, Pair); 4] = [
    (
        Kind::Knight,
        [Count::KnightChances, Count::KnightChancesTaken],
        [
            Count::KnightChancesAgainst,
            Count::KnightChancesAgainstTaken,
        ],
    ),
    (
        Kind::Bishop,
        [Count::BishopChances, Count::BishopChancesTaken],
        [
            Count::BishopChancesAgainst,
            Count::BishopChancesAgainstTaken,
        ],
    ),
    (
        Kind::Rook,
        [Count::RookChances, Count::RookChancesTaken],
        [Count::RookChancesAgainst, Count::RookChancesAgainstTaken],
    ),
    (
        Kind::Queen,
        [Count::QueenChances, Count::QueenChancesTaken],
        [Count::QueenChancesAgainst, Count::QueenChancesAgainstTaken],
    ),
];

/// The pair of a phase.
const fn of_phase(phase: Phase) -> Pair {
    match phase {
        Phase::Opening => [Count::OpeningChances, Count::OpeningChancesTaken],
        Phase::Middlegame => [Count::MiddlegameChances, Count::MiddlegameChancesTaken],
        Phase::Endgame => [Count::EndgameChances, Count::EndgameChancesTaken],
    }
}

/// Who has less time left, in seconds, is hurried.
const HURRIED: f32 = 60.0;

const COLUMNS: [&str; 6] = ["game", "color", "kind", "phase", "clock", "restrains"];

fn columns() -> Vec<&'static str> {
    [&COLUMNS[..], &missed_chances::COLUMNS].concat()
}

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
        for rows in part.read(&columns(), group)? {
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
    let sides = ["white", "black"];
    let side = rows
        .texts("color")?
        .read_as(|word| sides.iter().position(|side| Some(*side) == word));
    let of_kind = rows.texts("kind")?.read_as(|word| {
        let kind = Kind::from_name(word?);
        OF_KIND.iter().find(|(one, ..)| Some(*one) == kind)
    });
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    let clock = rows.floats("clock")?;
    let (plies, squares) = (rows.pairs("ply")?, rows.texts("square")?);
    for (row, &game) in games.iter().enumerate() {
        let game = u64::from(game);
        let (own_sides, peer_sides) = (own.of(game), peers.of(game));
        if own_sides == [NOT_COUNTED; 2] && peer_sides == [NOT_COUNTED; 2] {
            continue;
        }
        let unknown = |what: &str| rows.bad(format!("row {}: invalid {what}", rows.place(row)));
        let side = side.at(row).ok_or_else(|| unknown("color"))?;
        let (kind, own_kind, others_kind) = of_kind.at(row).ok_or_else(|| unknown("kind"))?;
        let phase = phase.at(row).ok_or_else(|| unknown("phase"))?;
        let in_time = float(clock, row).map(|left| {
            if left < HURRIED {
                [Count::HurriedChances, Count::HurriedChancesTaken]
            } else {
                [Count::UnhurriedChances, Count::UnhurriedChancesTaken]
            }
        });
        let all = [Count::Chances, Count::ChancesTaken];
        let mine = [Some(all), Some(*own_kind), Some(of_phase(phase)), in_time];
        let all = [Count::ChancesAgainst, Count::ChancesAgainstTaken];
        let against = [Some(all), Some(*others_kind)];
        let taken = u64::from(restrains.value(row));
        for (side, counts) in [(side, &mine[..]), (1 - side, &against[..])] {
            let add = |to: &mut [u64]| {
                for &[chances, chances_taken] in counts.iter().flatten() {
                    to[chances as usize] += 1;
                    to[chances_taken as usize] += taken;
                }
            };
            if own_sides[side] >= OWN && own_sides[side] != NOT_COUNTED {
                add(&mut tally.own[(own_sides[side] - OWN) as usize]);
            }
            if peer_sides[side] < OWN {
                add(&mut tally.peers[peer_sides[side] as usize]);
            }
        }
        let against = own_sides[1 - side];
        if taken == 1 && against >= OWN && against != NOT_COUNTED {
            tally.restraining.push(Restraining {
                game: (against - OWN) as usize,
                ply: plies[row].into(),
                square: squares.get(row).unwrap_or_default().to_owned(),
            });
        }
        if taken == 0 && own_sides[side] >= OWN && own_sides[side] != NOT_COUNTED {
            let game = (own_sides[side] - OWN) as usize;
            tally
                .missed
                .extend(missed_chances::of_row(rows, row, game, *kind)?);
        }
    }
    Ok(())
}
