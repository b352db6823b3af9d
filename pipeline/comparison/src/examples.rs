//! Chooses example games: restraints after which the piece met the counted outcome within the
//! horizon, judged on the board as those of a claim are.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::answer::Example;
use crate::question::Question;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::Condition;
use hobble_conditions::terms::{Kind, Outcome};
use hobble_conditions::{AskError, words};
use hobble_dataset::Dataset;
use hobble_dataset::part::{Group, Part};
use hobble_examples::course::THREAT;
use hobble_examples::played::fen;
use hobble_examples::replay::squares;
use hobble_examples::restraint::{self, Restraint};
use hobble_examples::search::{Search, Tried};
use hobble_examples::{ExampleBoard, GameReference, KeptGames, Key, ShownGames};
use hobble_terms::{SpellEnd, Table};

/// Candidates of one kind kept while reading.
const KEPT: usize = 256;

/// Candidates of one kind that pass on the board before the clearest of them is taken.
const COMPARED: usize = 4;

/// Examples for a question, the clearest first, and remarks where something is missing.
///
/// # Errors
///
/// Where a table is unreadable or does not agree with the others.
pub fn examples(
    question: &Question,
    dataset: &Dataset,
    candidates: &Candidates,
    kept: &KeptGames,
) -> Result<(Vec<Example>, Vec<String>), AskError> {
    if question.examples == 0 {
        return Ok((Vec::new(), Vec::new()));
    }
    for table in [Table::Spells, Table::Games] {
        if !dataset.has(table) {
            let note = format!("No examples are given: the table of {table} was not written.");
            return Ok((Vec::new(), vec![note]));
        }
    }
    let mut notes = Vec::new();
    let examples = if dataset.has(Table::Moves) {
        let mut search = Search::new(dataset, kept, &candidates.0)?;
        let passing = passing(question, candidates, &search)?;
        let chosen = choose(&passing, question.examples, |tried| search.take(tried));
        let chosen = chosen.into_iter();
        chosen.map(with_board).collect::<Result<_, _>>()?
    } else {
        notes.push("The examples have no boards, and were not judged on them: the table of moves was not written.".to_owned());
        without_boards(dataset, candidates, kept, question.examples)?
    };
    if examples.is_empty() {
        notes = vec![format!(
            "No example is given: in no game did a quiet, safe move of the opponent restrain a piece that was then {} within {} moves for want of squares.",
            words::happened(question.outcome),
            question.within
        )];
    }
    Ok((examples, notes))
}

/// Restraints of each kind that met the outcome, most points first.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidates(Vec<Restraint>);

impl Candidates {
    /// Those of a part. Row groups in parallel: what is kept does not depend on the order they
    /// come in.
    ///
    /// # Errors
    ///
    /// Where the table of spells is unreadable or not of its schema.
    pub fn of(question: &Question, part: &Part) -> Result<Candidates, AskError> {
        let conditions = question.conditions(AskedRows::Spells, &[]);
        let end = match question.outcome {
            Outcome::Lost | Outcome::Captured => SpellEnd::Lost,
            Outcome::Traded => SpellEnd::Traded,
            Outcome::Sold => SpellEnd::Sold,
        };
        let end = Condition::OneOf("ended", vec![end.name()]);
        let in_group = |group: Group| -> Result<Vec<Restraint>, AskError> {
            let mut found = restraint::read(part, group, &end, &conditions)?;
            found.retain(|spell| met(question, spell));
            Ok(best(found))
        };
        let found: Vec<Vec<Restraint>> = part
            .groups()?
            .into_par_iter()
            .map(in_group)
            .collect::<Result<_, _>>()?;
        Ok(Candidates(best(found.into_iter().flatten())))
    }

    /// Their games.
    pub fn games(&self) -> BTreeSet<Key> {
        self.0.iter().map(Restraint::key).collect()
    }

    /// Adds those of another.
    pub fn add(&mut self, other: Candidates) {
        let all = std::mem::take(&mut self.0);
        self.0 = best(all.into_iter().chain(other.0));
    }
}

/// Whether a restraint, which ended with the counted outcome, did so in time.
fn met(question: &Question, spell: &Restraint) -> bool {
    spell.wait() <= 2 * question.within
}

/// The best of each kind, in their order.
fn best(candidates: impl IntoIterator<Item = Restraint>) -> Vec<Restraint> {
    let mut by_kind: BTreeMap<Kind, Vec<Restraint>> = BTreeMap::new();
    for candidate in candidates {
        by_kind.entry(candidate.kind).or_default().push(candidate);
    }
    let mut out = Vec::new();
    for mut kept in by_kind.into_values() {
        kept.sort_by_cached_key(Restraint::order_of_loss);
        kept.truncate(KEPT);
        out.extend(kept);
    }
    out.sort_by_cached_key(Restraint::order_of_loss);
    out
}

/// Those of each kind that pass on the board, the clearest first. What was lost must be a clear
/// loss; what was traded or sold must have been restrained by a move that cost nothing.
fn passing<'a>(
    question: &Question,
    candidates: &'a Candidates,
    search: &Search,
) -> Result<Vec<Tried<'a>>, AskError> {
    let lost = matches!(question.outcome, Outcome::Lost | Outcome::Captured);
    let passes = |tried: &Tried<'_>| {
        let course = &tried.course;
        let sound = course.mover_loose == 0 && course.side_loose < THREAT;
        if lost {
            tried.is_clear()
        } else {
            sound && tried.spell.is_level()
        }
    };
    let mut found = Vec::new();
    for kind in Kind::ALL {
        let of_kind = candidates.0.iter().filter(|spell| spell.kind == kind);
        let enough = COMPARED.max(question.examples);
        found.extend(search.passing(of_kind, enough, passes)?);
    }
    if found.is_empty() {
        // Few games: the one with the least that speaks against it.
        let all = search.passing(&candidates.0, usize::MAX, |_| true)?;
        found.extend(all.into_iter().min_by_key(Tried::order));
    }
    found.sort_by_cached_key(Tried::order);
    Ok(found)
}

/// The clearest of each kind, then the clearest of the others, each in a game and position of
/// its own (`take`).
fn choose<'a, 'b>(
    sorted: &'b [Tried<'a>],
    number: usize,
    mut take: impl FnMut(&Tried<'_>) -> bool,
) -> Vec<&'b Tried<'a>> {
    let mut chosen: Vec<&Tried<'_>> = Vec::new();
    for of_each_kind in [true, false] {
        for tried in sorted {
            if chosen.len() == number {
                break;
            }
            let known = chosen.iter().any(|one| one.spell.kind == tried.spell.kind);
            if !(of_each_kind && known) && take(tried) {
                chosen.push(tried);
            }
        }
    }
    chosen.sort_by_cached_key(|tried| tried.order());
    chosen
}

fn with_board(tried: &Tried<'_>) -> Result<Example, AskError> {
    let (spell, course) = (tried.spell, &tried.course);
    let capture = tried.played.reference(spell.end_ply).ok_or_else(|| {
        let what = format!(
            "the game has no ply {}, in {}",
            spell.end_ply, tried.played.game.label
        );
        AskError::bad_table(Table::Moves, what)
    })?;
    let board = ExampleBoard {
        fen_before: fen(&course.before),
        fen_after: fen(&course.after),
        cause: course.cause.clone(),
        capture,
        safe_before: squares(course.safe_before),
        safe_after: squares(course.safe_after),
        taken: squares(course.taken()),
        stretch: spell.stretch(&tried.played, course.square),
    };
    let game = tried.played.game.clone();
    Ok(example(spell, game, Some(board)))
}

/// The first of each kind, where there are no moves to judge by.
fn without_boards(
    dataset: &Dataset,
    candidates: &Candidates,
    kept: &KeptGames,
    number: usize,
) -> Result<Vec<Example>, AskError> {
    let mut first: Vec<&Restraint> = Vec::new();
    for spell in &candidates.0 {
        let new = first.iter().all(|one| one.kind != spell.kind);
        if new && first.len() < number {
            first.push(spell);
        }
    }
    let wanted = first.iter().map(|spell| spell.key()).collect();
    let games = ShownGames::of(dataset, kept, &wanted)?;
    let of_one = |spell: &Restraint| {
        let game = games.reference(&spell.key(), "spells")?;
        Ok(example(spell, game, None))
    };
    first.into_iter().map(of_one).collect()
}

fn example(spell: &Restraint, game: GameReference, board: Option<ExampleBoard>) -> Example {
    let (color, owner) = if spell.white {
        ("white", "White")
    } else {
        ("black", "Black")
    };
    let left = match spell.safe {
        0 => "no safe square".to_owned(),
        1 => "1 safe square".to_owned(),
        more => format!("{more} safe squares"),
    };
    let end = match spell.end.name() {
        "sold" => "sold for more than its value",
        other => other,
    };
    let (cause, capture) = match &board {
        Some(board) => (board.cause.label.clone(), board.capture.label.clone()),
        None => (
            format!("Ply {}", spell.start),
            format!("ply {}", spell.end_ply),
        ),
    };
    let caption = format!(
        "{cause} leaves {owner}'s {} on {} with {left} where it had {}; {} later {capture} captures it, and it is {end}.",
        spell.kind,
        spell.square,
        spell.safe_before,
        words::counted(u64::from(spell.wait() / 2), "move")
    );
    Example {
        game,
        kind: spell.kind,
        color: color.to_owned(),
        square: spell.square.clone(),
        safe_before: spell.safe_before,
        safe: spell.safe,
        end: spell.end.name().to_owned(),
        start_ply: spell.start,
        cause_ply: spell.start,
        end_ply: spell.end_ply,
        // A restrained piece is not attacked at the start.
        attacked_by: String::new(),
        defended: spell.defended,
        phase: spell.phase.name().to_owned(),
        caption,
        board,
    }
}
