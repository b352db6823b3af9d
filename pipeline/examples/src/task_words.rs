//! A task in words, for any page, sheet or list.

use hobble_report::number::{capital, list};
use hobble_report::plain_short;

use crate::task::{Miss, NearMiss, Task, TaskAnswer};

/// `White to move. Which move restrains the black knight on c6?`
pub fn question(task: &Task) -> String {
    format!(
        "{} to move. Which move restrains the {} {} on {}?",
        capital(&task.to_move),
        owner(task),
        task.kind,
        task.square
    )
}

/// Colour of the piece that is to be restrained.
pub fn owner(task: &Task) -> &'static str {
    match task.to_move.as_str() {
        "white" => "black",
        _ => "white",
    }
}

/// A move that restrains, and whether it was played.
pub fn answer(answer: &TaskAnswer) -> String {
    let left = left(&answer.safe);
    let played = if answer.played {
        "played; "
    } else {
        "not played; "
    };
    format!("{} \u{2013} {played}{left}", plain_short(&answer.label))
}

/// A move that does not restrain the piece, and why.
pub fn near_miss(near: &NearMiss) -> String {
    let why = match near.miss {
        Miss::Loud => "is not quiet",
        Miss::GivesAway => "gives something away",
        Miss::LeavesMore => "leaves more",
    };
    format!(
        "Not {}: it {why}; {}",
        plain_short(&near.label),
        left(&near.safe)
    )
}

/// What a move leaves: `leaves g1 and h2`.
pub fn left(safe: &[String]) -> String {
    if safe.is_empty() {
        "leaves no safe square".to_owned()
    } else {
        format!("leaves {}", list(safe))
    }
}
