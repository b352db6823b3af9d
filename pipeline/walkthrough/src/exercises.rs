//! Positions to solve: which quiet move restrains the ringed piece?

use shakmaty::Color;
use shakmaty::Position as _;

use crate::chances::{Answer, Chance};
use crate::follow::Followed;
use crate::moments::Shown;
use crate::sentences::replies;
use crate::tries::Tried;
use crate::words::left;

/// Most exercises of a game.
pub const MOST: usize = 6;
/// Most answers of an exercise.
const MOST_ANSWERS: usize = 3;
/// Fewest plies between two exercises.
const APART: usize = 6;

/// A position to solve.
#[derive(Clone, Debug)]
pub struct Exercise {
    /// Position of the game.
    pub position: usize,
    /// Side to move.
    pub turn: Color,
    /// What is asked.
    pub task: String,
    /// The position, the piece ringed.
    pub asked: Shown,
    /// The position after the first answer.
    pub solved: Shown,
    /// The answers, best first, each in words.
    pub answers: Vec<String>,
}

/// The exercises of a game, the best first: chances with three answers at most, after the first
/// of which two replies at most free the piece; those that were played first, then by the fewest
/// safe squares left and the fewest such replies; at least six plies apart.
pub fn exercises(game: &Followed, tries: &[Vec<Tried>], chances: &[Chance]) -> Vec<Exercise> {
    let mut candidates: Vec<&Chance> = chances
        .iter()
        .filter(|chance| {
            chance.answers.len() <= MOST_ANSWERS
                && chance.answers.first().is_some_and(Answer::is_worth_showing)
        })
        .collect();
    candidates.sort_by_key(|chance| (!chance.was_played(), chance.rank(), chance.slot));
    let mut chosen: Vec<&Chance> = Vec::new();
    for chance in candidates {
        let near = |other: &&Chance| other.position.abs_diff(chance.position) < APART;
        if chosen.len() < MOST && !chosen.iter().any(near) {
            chosen.push(chance);
        }
    }
    chosen
        .into_iter()
        .filter_map(|chance| exercise(game, &tries[chance.position], chance))
        .collect()
}

fn exercise(game: &Followed, tries: &[Tried], chance: &Chance) -> Option<Exercise> {
    let position = &game.positions[chance.position];
    let turn = position.chess.turn();
    let first = chance.answers.first()?;
    let best = &tries[first.tried];
    let being = &game.beings[usize::from(chance.slot)];
    let kind = hobble_terms::kind::unit_name(being.kind);
    let owner = turn.fold_wb("black", "white");
    let answers = chance
        .answers
        .iter()
        .map(|answer| {
            let tried = &tries[answer.tried];
            let played = if answer.played { "; it was played" } else { "" };
            let reply = replies(&tried.after, &answer.freeing);
            format!(
                "{} leaves {}; {reply}{played}",
                tried.label,
                left(answer.left.after)
            )
        })
        .collect();
    let (before, after) = (first.left.before, first.left.after);
    Some(Exercise {
        position: chance.position,
        turn,
        task: format!(
            "{} to move. Which quiet move restrains the {owner} {kind} on {}?",
            crate::words::side(turn),
            chance.square
        ),
        asked: Shown {
            chess: position.chess.clone(),
            ringed: vec![chance.square],
            safe: None,
            taken: shakmaty::Bitboard::EMPTY,
            arrow: None,
        },
        solved: Shown {
            chess: best.after.clone(),
            ringed: vec![chance.square],
            safe: Some(after),
            taken: before & !after,
            arrow: Some((best.from, best.to)),
        },
        answers,
    })
}
