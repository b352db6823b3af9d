//! Spells played through on the board.

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::search::Search;
use hobble_examples::{KeptGames, Restraint};
use hobble_terms::{CauseKind, SpellEnd, Table};
use rayon::prelude::*;
use shakmaty::Square;

use crate::answer::Position;

/// The positions of some spells, in their order.
///
/// # Errors
///
/// Where the tables of games and moves cannot be read, or do not agree with that of spells.
pub fn positions(
    dataset: &Dataset,
    kept: &KeptGames,
    spells: &[Restraint],
) -> Result<Vec<Position>, AskError> {
    let search = Search::new(dataset, kept, spells)?;
    spells
        .par_iter()
        .map(|spell| position(&search, spell))
        .collect()
}

fn position(search: &Search, spell: &Restraint) -> Result<Position, AskError> {
    let played = search.played(spell)?;
    let bad = |what: &str| {
        let what = format!("{what}, in {}", played.game.label);
        AskError::bad_table(Table::Spells, what)
    };
    let square: Square = spell
        .square
        .parse()
        .map_err(|_| bad("a spell has an invalid square"))?;
    let stretch = spell
        .stretch(&played, square)
        .ok_or_else(|| bad("a spell starts after the end of its game"))?;
    let here = stretch
        .positions
        .get(stretch.began)
        .ok_or_else(|| bad("a spell starts after the end of its game"))?;
    // What began with the record no move began.
    let has_cause = spell.cause != CauseKind::Undeveloped;
    let is_over = spell.end == SpellEnd::GameOver;
    Ok(Position {
        start_fen: played.start_fen.clone(),
        moves: played.san(),
        ply: spell.start,
        cause: spell.cause,
        began_by: played.reference(spell.start).filter(|_| has_cause),
        kind: spell.kind,
        color: if spell.white { "white" } else { "black" }.to_owned(),
        square: spell.square.clone(),
        safe: here.safe.clone(),
        taken: if has_cause {
            owned(stretch.taken(stretch.began))
        } else {
            Vec::new()
        },
        turns: spell.turns,
        phase: spell.phase,
        ended: spell.end,
        ended_by: played.reference(spell.end_ply).filter(|_| !is_over),
        fate: spell.fate,
        fen: here.fen.clone(),
        game: played.game,
        stretch: Some(stretch),
    })
}

fn owned(names: Vec<&str>) -> Vec<String> {
    names.into_iter().map(str::to_owned).collect()
}
