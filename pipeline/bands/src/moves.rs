//! Squares taken, counted by side of a game, kind of unit that moved, and phase.
//!
//! The table of moves does not name the phase; it follows from the captures and promotions
//! before the move (definitions, section 9).

use std::ops::AddAssign;

use rayon::prelude::*;

use super::games::{Games, Start};
use super::per_side::{Incoming, Of, PerSide};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, Phase};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::{self, Group, Part};
use hobble_terms::Table;

/// Place of pawns and kings among the kinds.
pub const OTHER: usize = 4;

/// Moves of one sort, and the squares they took.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moves {
    /// Moves.
    pub moves: u32,
    /// Squares they took.
    pub taken: u32,
}

impl AddAssign for Moves {
    fn add_assign(&mut self, other: Moves) {
        self.moves += other.moves;
        self.taken += other.taken;
    }
}

/// Columns that are read.
const COLUMNS: [&str; 6] = ["game", "ply", "mover", "captured", "promotion", "taken"];

/// One ply.
struct Ply {
    game: u32,
    ply: u16,
    taken: u16,
    mover: u8,
    /// By how much it changes the value of the pieces on the board.
    change: i8,
}

/// Where counting stands in a game.
struct At {
    game: u32,
    start: Start,
    /// Value of the pieces on the board.
    value: i32,
    /// The ply that is due.
    next: u16,
    /// Whether the game's sides are looked at.
    looked_at: [bool; 2],
}

/// Counts of a run of row groups of one part.
struct Run {
    /// Plies of a game that began before the run: the phase is not known here.
    leading: Vec<Ply>,
    counts: Incoming<Moves>,
    /// The last game, which may go on in the next run.
    at: Option<At>,
}

/// Reads a part of the table of moves. Kinds of mover are the four kinds, then pawns and kings.
pub fn read(part: &Part, games: &Games) -> Result<PerSide<Moves>, AskError> {
    let mut out = Incoming::default();
    let groups = part.groups()?;
    // Runs are counted at once, and a game that goes on from one to the next afterwards.
    let runs: Vec<Run> = groups
        .par_chunks(part::run_length(groups.len()))
        .map(|groups| run(part, groups, games))
        .collect::<Result<_, _>>()?;
    let mut at: Option<At> = None;
    for run in runs {
        for ply in &run.leading {
            step(&mut at, games, ply, &mut out)?;
        }
        at = run.at.or(at);
        out.append(run.counts);
    }
    Ok(out.by_game())
}

fn bad(what: String) -> AskError {
    AskError::bad_table(Table::Moves, what)
}

fn no_game() -> AskError {
    bad("a game is not among the games".to_owned())
}

fn run(part: &Part, groups: &[Group], games: &Games) -> Result<Run, AskError> {
    let mut run = Run {
        leading: Vec::new(),
        counts: Incoming::default(),
        at: None,
    };
    for &group in groups {
        for rows in part.read(&COLUMNS, group)? {
            plies(&rows?, |ply| {
                if run.at.is_none() && ply.ply != 1 {
                    run.leading.push(ply);
                    return Ok(());
                }
                step(&mut run.at, games, &ply, &mut run.counts)
            })?;
        }
    }
    Ok(run)
}

/// Counts the next ply.
fn step(
    at: &mut Option<At>,
    games: &Games,
    ply: &Ply,
    counts: &mut Incoming<Moves>,
) -> Result<(), AskError> {
    let at = match at {
        Some(at) if at.game == ply.game => at,
        at => at.insert(At::start(games, ply.game)?),
    };
    if ply.ply != at.next {
        return Err(bad(format!(
            "ply {} of game {} stands where ply {} is due",
            ply.ply, ply.game, at.next
        )));
    }
    let color = at.start.mover(ply.ply);
    if at.looked_at[color] {
        let of = Of {
            color: color as u8,
            kind: ply.mover,
            phase: Phase::at(usize::from(ply.ply - 1), at.value),
        };
        let taken = ply.taken.into();
        counts.add(ply.game, of, Moves { moves: 1, taken });
    }
    at.value += i32::from(ply.change);
    at.next = ply.ply.saturating_add(1);
    Ok(())
}

impl At {
    fn start(games: &Games, game: u32) -> Result<At, AskError> {
        let start = games.start(game);
        let looked_at = |color| match games.group(game, color) {
            None if !games.is_not_chosen(game, color) => Err(no_game()),
            group => Ok(group.is_some()),
        };
        Ok(At {
            game,
            start,
            value: start.value,
            next: 1,
            looked_at: [looked_at(0)?, looked_at(1)?],
        })
    }
}

fn plies(rows: &Rows, mut each: impl FnMut(Ply) -> Result<(), AskError>) -> Result<(), AskError> {
    let (game, ply) = (rows.fours("game")?, rows.pairs("ply")?);
    let taken = rows.pairs("taken")?;
    let mover = rows
        .texts("mover")?
        .read_as(|word| Some(Kind::from_name(word?).map_or(OTHER as u8, |kind| kind as u8)));
    let captured = rows
        .texts("captured")?
        .read_as(|word| word.map_or(0, value));
    let promotion = rows
        .texts("promotion")?
        .read_as(|word| word.map_or(0, value));
    for row in 0..rows.len() {
        let mover = mover.at(row);
        if ply[row] == 0 {
            return Err(rows.bad(format!("game {} has a ply 0", game[row])).into());
        }
        each(Ply {
            game: game[row],
            ply: ply[row],
            taken: taken[row],
            mover: mover.ok_or_else(|| rows.bad("column \"mover\" holds a null".to_owned()))?,
            change: promotion.at(row) - captured.at(row),
        })?;
    }
    Ok(())
}

/// Value of a kind of piece; nothing for a pawn, which no phase counts.
fn value(kind: &str) -> i8 {
    Kind::from_name(kind).map_or(0, |kind| hobble_terms::kind::value(kind.role()) as i8)
}
