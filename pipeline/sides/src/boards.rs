//! Typical positions of some levels, from their games: both sides' safe squares on the board and
//! in words.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::played::fen;
use hobble_examples::{GameReference, KeptGames, Key, MoveReference, ShownGames, missing, replay};
use hobble_terms::Table;
use hobble_tracks::survey::Survey;
use serde::Serialize;
use shakmaty::{Bitboard, Color, Role};

use super::candidates::{Candidate, Candidates, SHOWN};
use super::level::Measure;

/// Candidates of a level that are looked at.
const TRIED: usize = 8;

/// A typical position.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideExample {
    /// What sides are compared by.
    pub measure: Measure,
    /// The level, in a few signs.
    pub level: String,
    /// The side on move, of which that is said: `white` or `black`.
    pub on_move: &'static str,
    /// Plies played.
    pub ply: u16,
    /// The position.
    pub fen: String,
    /// The move that led to it.
    pub last_move: Option<MoveReference>,
    /// The side on move.
    pub own: Room,
    /// The other side.
    pub other: Room,
    /// Pieces of the side on move that are held.
    pub held: u16,
    /// What the side on move scored, in half points.
    pub half_points: u8,
    /// Its game.
    pub game: GameReference,
}

/// The room of a side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Room {
    /// Its scope.
    pub scope: u16,
    /// Safe squares by kind of unit, of those that stand on the board: kind, units, squares.
    pub kinds: Vec<(&'static str, usize, usize)>,
    /// Squares that any of its units can safely go to.
    pub squares: Vec<String>,
}

/// The kinds of unit in the order they are named.
const NAMED: [(Role, &str); 6] = [
    (Role::Queen, "queen"),
    (Role::Rook, "rook"),
    (Role::Bishop, "bishop"),
    (Role::Knight, "knight"),
    (Role::King, "king"),
    (Role::Pawn, "pawn"),
];

/// A typical position of each level shown; no game and no position twice.
///
/// # Errors
///
/// Where games or moves cannot be read, or do not agree with the turns.
pub fn examples(
    dataset: &Dataset,
    candidates: &Candidates,
    kept: &KeptGames,
) -> Result<Vec<SideExample>, AskError> {
    let typical = candidates.typical();
    let tried = || {
        typical
            .iter()
            .flat_map(|of_level| of_level.iter().take(TRIED))
    };
    let wanted: BTreeSet<Key> = tried().map(|candidate| candidate.key()).collect();
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let games = ShownGames::of(dataset, kept, &wanted)?;
    let (mut shown_games, mut shown_positions) = (BTreeSet::new(), BTreeSet::new());
    let mut examples = Vec::new();
    for ((measure, level), of_level) in SHOWN.into_iter().zip(&typical) {
        for candidate in of_level.iter().take(TRIED) {
            if shown_games.contains(&candidate.key()) {
                continue;
            }
            let example = example(candidate, (measure, level), &games)?;
            // The board alone: the same placement at another move is the same to a reader.
            let placement = example.fen.split(' ').next().unwrap_or_default();
            if shown_positions.insert(placement.to_owned()) {
                shown_games.insert(candidate.key());
                examples.push(example);
                break;
            }
        }
    }
    Ok(examples)
}

fn example(
    candidate: &Candidate,
    (measure, level): (Measure, usize),
    games: &ShownGames,
) -> Result<SideExample, AskError> {
    let key = candidate.key();
    let played = games.played(&key, "turns")?;
    let ply = u32::from(candidate.ply);
    let position = played.position(ply);
    let position = position.ok_or_else(|| missing(Table::Moves, &key, "turns"))?;
    let survey = Survey::of(position);
    let on_move = Color::from_white(candidate.white);
    let [own, other] = [on_move, !on_move].map(|color| room(&survey, color));
    if [own.scope, other.scope] != candidate.scopes() {
        let what = format!(
            "the safe squares of game {} of {} after ply {ply} are not those of its turn",
            key.1, key.0
        );
        return Err(AskError::bad_table(Table::Turns, what));
    }
    Ok(SideExample {
        measure,
        level: measure.short(level),
        on_move: if candidate.white { "white" } else { "black" },
        ply: candidate.ply,
        fen: fen(position),
        last_move: played.reference(ply),
        own,
        other,
        held: candidate.held(),
        half_points: candidate.half_points,
        game: played.game,
    })
}

fn room(survey: &Survey, color: Color) -> Room {
    let units = || survey.units.iter().filter(|unit| unit.color == color);
    let kinds = NAMED.into_iter().filter_map(|(role, name)| {
        let safe: Vec<usize> = units()
            .filter(|unit| unit.kind == role)
            .map(|unit| unit.safe.count())
            .collect();
        (!safe.is_empty()).then(|| (name, safe.len(), safe.iter().sum()))
    });
    let kinds: Vec<(&str, usize, usize)> = kinds.collect();
    let all = units().fold(Bitboard::EMPTY, |all, unit| all | unit.safe);
    Room {
        scope: kinds.iter().map(|kind| kind.2).sum::<usize>() as u16,
        kinds,
        squares: replay::squares(all),
    }
}
