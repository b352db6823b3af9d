//! Chances to restrain, counted side by side: the player's game by game, the peers' by cell and
//! fold.

use crate::count::{Count, WORSE_BY};
use crate::hurry::Hurry;
use crate::sides::{NOT_COUNTED, Places, own_game};
use crate::tally::{Counted, Tally, holds_own};
use crate::to_show::{self, ToShow};
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::columns::{Rows, float};
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

const COLUMNS: [&str; 7] = [
    "game",
    "color",
    "kind",
    "phase",
    "clock",
    "restrains",
    "eval_5",
];

/// Adds the chances of a part to what is counted; nothing where it has no table of them.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(counted: &Counted<'_>) -> Result<Tally, AskError> {
    counted.tally(Table::Decisions, |part, group, places, tally| {
        let Some(any_own) = holds_own(part, group, places)? else {
            return Ok(());
        };
        let mut columns = COLUMNS.to_vec();
        if any_own {
            columns.extend(to_show::COLUMNS);
        }
        for rows in part.read(&columns, group)? {
            in_batch(&rows?, places, any_own, tally)?;
        }
        Ok(())
    })
}

fn in_batch(
    rows: &Rows,
    [own, peers]: [&Places; 2],
    any_own: bool,
    tally: &mut Tally,
) -> Result<(), AskError> {
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
    let (clock, evaluation) = (rows.floats("clock")?, rows.floats("eval_5")?);
    let to_show = any_own.then(|| ToShow::of(rows)).transpose()?;
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
        let in_time = float(clock, row).map(|left| match Hurry::of(left) {
            Hurry::Hurried => [Count::HurriedChances, Count::HurriedChancesTaken],
            Hurry::Unhurried => [Count::UnhurriedChances, Count::UnhurriedChancesTaken],
        });
        let missed = float(evaluation, row).filter(|_| !restrains.value(row));
        let worse = missed.map(|change| u64::from(change <= -WORSE_BY));
        let all = [Count::Chances, Count::ChancesTaken];
        let mine = [Some(all), Some(*own_kind), Some(of_phase(phase)), in_time];
        let all = [Count::ChancesAgainst, Count::ChancesAgainstTaken];
        let against = [Some(all), Some(*others_kind)];
        let taken = u64::from(restrains.value(row));
        for (side, counts, worse) in [(side, &mine[..], worse), (1 - side, &against[..], None)] {
            tally.count_of_side([own_sides, peer_sides], side, |to| {
                for &[chances, chances_taken] in counts.iter().flatten() {
                    to[chances as usize] += 1;
                    to[chances_taken as usize] += taken;
                }
                to[Count::MissedEvaluated as usize] += u64::from(worse.is_some());
                to[Count::MissedWorse as usize] += worse.unwrap_or(0);
            });
        }
        let Some(to_show) = &to_show else { continue };
        let [mover, owner] = [side, 1 - side].map(|side| own_game(own_sides[side]));
        if taken == 0
            && let Some(game) = mover
        {
            tally
                .own
                .missed
                .extend(to_show.missed(row, game, *kind, phase));
        }
        if taken == 1
            && let Some(game) = owner
        {
            tally.own.restraining.push(to_show.restraining(row, game));
        }
    }
    Ok(())
}
