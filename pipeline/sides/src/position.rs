//! Sampled positions from the table `turns`. It has a row for each piece of the side on move;
//! here they are one position each.
//!
//! Only turns in the sample by their hash are taken: each position then has the same chance 1/M,
//! whatever stands on the board. Turns that are in the table as landmarks alone are left out,
//! since all of them are there: with their weight of 1 they would stand for themselves, but what
//! makes them landmarks (a piece newly restrained) is what is asked about.

use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::fields::Field as _;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::terms::half_points;
use hobble_dataset::columns::Rows;
use hobble_dataset::part::{Group, Part};
use hobble_terms::{Phase, RatingDiff};
use rayon::prelude::*;

use super::account::Account;
use super::file::SideQuestion;

/// Balance up to which a position is level, to either side.
pub const LEVEL_BALANCE: i16 = 1;

/// A position of a game, seen from the side on move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Number of the game in its source.
    pub game: u32,
    /// Fold of the game.
    pub fold: u8,
    /// Plies played before it.
    pub ply: u16,
    /// Whether White is on move.
    pub white: bool,
    /// Phase.
    pub phase: Phase,
    /// Rating less the opponent's, in classes.
    pub rating_diff: RatingDiff,
    /// Balance.
    pub balance: i16,
    /// Scope.
    pub own: u16,
    /// Scope of the other side.
    pub other: u16,
    /// Developed knights, bishops, rooks and queens held.
    pub held: u8,
    /// Those of its pieces that are restrained.
    pub restrained: u8,
    /// What the side scored in the game, in half points.
    pub half_points: u8,
}

/// The positions of a part that a question is about, in the order of the table, and those it
/// leaves out, by reason. Whether the ply before was quiet is not known here.
pub fn read(question: &SideQuestion, part: &Part) -> Result<(Vec<Position>, Account), AskError> {
    let filters = question.conditions(AskedRows::HeldTurns, &[keys::SafeSquares::NAME]);
    let groups: Vec<Vec<Met>> = part
        .groups()?
        .into_par_iter()
        .map(|group| in_group(question, &filters, part, group))
        .collect::<Result<_, AskError>>()?;
    // A position may go on in the next row group.
    let mut met: Vec<Met> = Vec::new();
    for one in groups.into_iter().flatten() {
        match met.last_mut() {
            Some(last) if last.is_of(&one.position) => last.add(&one),
            _ => met.push(one),
        }
    }
    let mut account = Account::default();
    let mut positions = Vec::with_capacity(met.len());
    for Met {
        position,
        passes,
        ended,
    } in met
    {
        account.sampled += 1;
        if !passes {
            account.filtered += 1;
        } else if position.balance.abs() > LEVEL_BALANCE {
            account.not_level += 1;
        } else if !ended {
            account.no_result += 1;
        } else {
            positions.push(position);
        }
    }
    Ok((positions, account))
}

/// A position met, and whether it counts.
struct Met {
    position: Position,
    /// Whether the question's filters pass it.
    passes: bool,
    /// Whether the game has a result.
    ended: bool,
}

impl Met {
    fn is_of(&self, position: &Position) -> bool {
        (self.position.game, self.position.ply) == (position.game, position.ply)
    }

    fn add(&mut self, more: &Met) {
        self.position.held += more.position.held;
        self.position.restrained += more.position.restrained;
    }
}

const COLUMNS: [&str; 12] = [
    "game",
    "fold",
    "ply",
    "sampled",
    "color",
    "safe",
    "scope_own",
    "scope_other",
    "balance",
    "phase",
    "rating_diff",
    "owner_result",
];

/// The column that says whether a piece is restrained at k.
const RESTRAINED: [&str; 5] = [
    "restrained_0",
    "restrained_1",
    "restrained_2",
    "restrained_3",
    "restrained_4",
];

fn in_group(
    question: &SideQuestion,
    filters: &[Condition<'_>],
    part: &Part,
    group: Group,
) -> Result<Vec<Met>, AskError> {
    let mut columns = filter::columns(filters);
    columns.extend(COLUMNS);
    columns.push(RESTRAINED[usize::from(question.k)]);
    columns.sort_unstable();
    columns.dedup();
    let mut met: Vec<Met> = Vec::new();
    for rows in part.read(&columns, group)? {
        in_batch(question, filters, &rows?, &mut met)?;
    }
    Ok(met)
}

fn in_batch(
    question: &SideQuestion,
    filters: &[Condition<'_>],
    rows: &Rows,
    met: &mut Vec<Met>,
) -> Result<(), AskError> {
    let mask = Mask::of(rows, filters)?;
    let (game, fold, ply) = (rows.fours("game")?, rows.bytes("fold")?, rows.pairs("ply")?);
    let sampled = rows.booleans("sampled")?;
    let white = rows.texts("color")?.any_of(["white"]);
    let safe = rows.bytes("safe")?;
    let (own, other) = (rows.pairs("scope_own")?, rows.pairs("scope_other")?);
    let balance = rows.signed("balance")?;
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    let rating_diff = rows
        .texts("rating_diff")?
        .read_as(|word| RatingDiff::from_name(word?));
    let result = rows.texts("owner_result")?.read_as(half_points);
    let restrained = rows.optional_numbers(RESTRAINED[usize::from(question.k)])?;
    for row in 0..rows.len() {
        if !sampled.value(row) || !(question.from_ply..=question.to_ply).contains(&ply[row]) {
            continue;
        }
        let held = u8::from(safe[row] <= question.k);
        let restrained = u8::from(restrained.get(row).is_some());
        if let Some(last) = met.last_mut()
            && (last.position.game, last.position.ply) == (game[row], ply[row])
        {
            last.position.held += held;
            last.position.restrained += restrained;
            continue;
        }
        let words = phase.at(row).zip(rating_diff.at(row));
        let (phase, rating_diff) = words.ok_or_else(|| {
            let place = rows.place(row);
            rows.bad(format!("row {place}: invalid phase or rating difference"))
        })?;
        let half_points = result.at(row);
        met.push(Met {
            passes: mask.passes(row),
            ended: half_points.is_some(),
            position: Position {
                game: game[row],
                fold: fold[row],
                ply: ply[row],
                white: white.at(row),
                phase,
                rating_diff,
                balance: balance.value(row),
                own: own[row],
                other: other[row],
                held,
                restrained,
                half_points: half_points.unwrap_or(0),
            },
        });
    }
    Ok(())
}
