//! Chooses the positions of a quiz: turns are tried on the board, and as many as are wanted are
//! taken, each difficulty in its turn.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::locate::{Place, locate};
use hobble_examples::task::{Target, Task};
use hobble_examples::{MoveReference, Played};
use hobble_report::number::counted;
use hobble_report::sections::file_name;
use hobble_terms::Table;
use rayon::prelude::*;
use shakmaty::{CastlingMode, Position as _};

use crate::alike::{Look, Taken};
use crate::difficulty::{Level, Rater};
use crate::quiz::{FORMAT, Position, Quiz};
use crate::turns::{Found, Turn};
use crate::wanted::Wanted;
use crate::words;

/// Turns kept for each position wanted, and some more.
const KEPT: usize = 24;
const MORE: usize = 1024;

/// Turns tried on the board for each position that is still wanted, and some more.
const TRIED: usize = 2;
const MORE_TRIED: usize = 32;

/// Plies of the line played that are shown.
const LINE: u32 = 8;

/// A quiz of the positions wanted.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn quiz(dataset: &Dataset, wanted: &Wanted) -> Result<Quiz, AskError> {
    let enough = wanted.skip + wanted.count;
    let found = Found::of(dataset, wanted, KEPT * enough + MORE)?;
    let rater = Rater::of(&found.tally);
    let mut queue = in_turn(&found.turns, &rater, wanted);
    let (mut positions, mut taken) = (Vec::new(), Taken::default());
    while positions.len() < enough && !queue.is_empty() {
        let tries = TRIED * (enough - positions.len()) + MORE_TRIED;
        let turns: Vec<&Turn> = queue.drain(..tries.min(queue.len())).collect();
        let tried = try_out(dataset, &turns, &rater)?;
        for (turn, tried) in turns.iter().zip(tried) {
            let Some((position, look)) = tried else {
                continue;
            };
            let game = (turn.part.source.as_str(), turn.game);
            if positions.len() < enough && taken.take(game, turn.ply, &look) {
                positions.push(position);
            }
        }
    }
    let mut positions = positions.split_off(wanted.skip.min(positions.len()));
    // Stable: where points are equal, the order in which they were taken.
    positions.sort_by_key(|position| position.difficulty.points);
    let mut notes = Vec::new();
    if positions.len() < wanted.count {
        notes.push(format!(
            "{} of the {} asked for: no other fits that is not like one of them.",
            counted(positions.len() as u64, "position"),
            wanted.count
        ));
    }
    Ok(Quiz {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        wanted: wanted.clone(),
        turns: found.tally.turns(),
        passing: found.passing,
        cuts: rater.cuts(),
        rules: words::rules(rater.cuts()),
        positions,
        notes,
    })
}

/// Turns of the difficulties wanted, one of each in its turn.
fn in_turn<'a>(turns: &'a [Turn], rater: &Rater, wanted: &Wanted) -> VecDeque<&'a Turn> {
    let mut by_level: BTreeMap<Level, VecDeque<&Turn>> = BTreeMap::new();
    for turn in turns {
        let level = rater.rate(turn.kind, turn.phase, turn.legal).level;
        if wanted.level.is_empty() || wanted.level.contains(&level) {
            by_level.entry(level).or_default().push_back(turn);
        }
    }
    let mut all = VecDeque::with_capacity(turns.len());
    while by_level.values().any(|turns| !turns.is_empty()) {
        all.extend(by_level.values_mut().filter_map(VecDeque::pop_front));
    }
    all
}

/// Where games stand in a table.
type Games = BTreeMap<(String, u64), Place>;

fn key(turn: &Turn) -> (String, u64) {
    (turn.part.source.clone(), turn.game)
}

/// Where the game of a turn stands.
fn place<'a>(games: &'a Games, turn: &Turn, table: Table) -> Result<&'a Place, AskError> {
    games.get(&key(turn)).ok_or_else(|| {
        let what = format!(
            "game {} of {} has decisions but is not there",
            turn.game, turn.part.source
        );
        AskError::bad_table(table, what)
    })
}

/// Tries turns on the board; `None` where one asks nothing.
fn try_out(
    dataset: &Dataset,
    turns: &[&Turn],
    rater: &Rater,
) -> Result<Vec<Option<(Position, Look)>>, AskError> {
    let wanted: BTreeSet<_> = turns.iter().map(|turn| key(turn)).collect();
    let games = locate(dataset, Table::Games, &wanted)?;
    let moves = locate(dataset, Table::Moves, &wanted)?;
    turns
        .par_iter()
        .map(|turn| {
            let game = place(&games, turn, Table::Games)?;
            let played = Played::of(game, place(&moves, turn, Table::Moves)?)?;
            position(turn, &played, rater)
        })
        .collect()
}

/// The turn as a position of a quiz; `None` where it asks nothing.
fn position(
    turn: &Turn,
    played: &Played,
    rater: &Rater,
) -> Result<Option<(Position, Look)>, AskError> {
    let bad = |what: String| {
        let what = format!("{what} at ply {}, in {}", turn.ply, played.game.label);
        AskError::bad_table(Table::Decisions, what)
    };
    let (Some(before), Some(next)) = (played.position(turn.ply), played.reference(turn.ply + 1))
    else {
        return Err(bad("no move was played".to_owned()));
    };
    // A FEN does not say how such castling is meant.
    let castles = before.castles();
    if castles.mode() == CastlingMode::Chess960 && castles.any() {
        return Ok(None);
    }
    let target = Target {
        kind: turn.kind,
        square: turn.square,
        k: turn.k(),
    };
    let Some(mut task) = Task::of(&played.game, before, target, &next.label) else {
        return Ok(None);
    };
    let agree = task.safe.len() == usize::from(turn.safe)
        && task.answers.iter().all(|answer| {
            answer.played == turn.found && answer.safe.len() == usize::from(turn.best)
        });
    if !agree {
        let what = format!("the board and the table differ on the {}", turn.kind);
        return Err(bad(format!("{what} on {}", turn.square)));
    }
    let Some(look) = Look::of(before, turn.square) else {
        return Ok(None);
    };
    task.game.file = file_name(&task.game.file).to_owned();
    let end = turn.fate_ply.unwrap_or_else(|| played.len());
    Ok(Some((
        Position {
            taken: task.taken(),
            task,
            k: turn.k(),
            ply: turn.ply,
            phase: turn.phase,
            difficulty: rater.rate(turn.kind, turn.phase, turn.legal),
            played: next,
            left: turn.left,
            line: line(played, turn.ply),
            fate: turn.fate,
            captured: turn.fate_ply.and_then(|ply| played.reference(ply)),
            moves_later: end.saturating_sub(turn.ply + 1) / 2,
        },
        look,
    )))
}

/// The next plies of a game, as `15. g4 Nd7 16. h4`.
fn line(played: &Played, ply: u32) -> String {
    let plies = (ply + 1..=ply + LINE).filter_map(|ply| played.reference(ply));
    let words: Vec<String> = plies
        .enumerate()
        .map(|(nth, next): (usize, MoveReference)| {
            if nth == 0 || !next.label.contains("...") {
                next.label
            } else {
                next.san
            }
        })
        .collect();
    words.join(" ")
}
