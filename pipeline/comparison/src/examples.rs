//! Chooses example games: pieces whose squares an opponent's move took, and that then met
//! the counted outcome within the horizon.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use shakmaty::Color;

use crate::answer::Example;
use crate::question::Question;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::terms::{Kind, Outcome};
use hobble_conditions::{AskError, words};
use hobble_dataset::part::{Group, Part};
use hobble_dataset::{Dataset, PartId};
use hobble_examples::GameReference;
use hobble_examples::locate::{locate, reference};
use hobble_examples::replay::{self, Spell};
use hobble_terms::{CauseKind, Table};

/// Candidates of one kind kept while reading: enough to find other games among them.
const KEPT: usize = 64;

/// A spell that may serve as an example.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidate {
    kind: Kind,
    drop: u64,
    /// Plies from the start of the spell to the capture.
    wait: u64,
    part: PartId,
    row: usize,
    game: u64,
    piece: u64,
    start_ply: u64,
    safe: u64,
}

impl Candidate {
    /// The clearest first: most squares taken, then soonest captured, then by place.
    fn order(&self) -> impl Ord {
        (
            std::cmp::Reverse(self.drop),
            self.wait,
            &self.part,
            self.game,
            self.piece,
            self.start_ply,
        )
    }

    /// Two spells alike in all of this are most likely of one game that stands in the
    /// archive twice.
    fn looks(&self) -> (Kind, u64, u64, u64, u64, u64) {
        (
            self.kind,
            self.drop,
            self.wait,
            self.piece,
            self.start_ply,
            self.safe,
        )
    }
}

/// Examples for a question, the clearest first, and remarks where something is missing.
///
/// # Errors
///
/// Where a table is unreadable or does not agree with the others.
pub fn examples(
    question: &Question,
    dataset: &Dataset,
    candidates: &Candidates,
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
    let chosen = choose(&candidates.0, question.examples);
    let mut notes = Vec::new();
    if chosen.is_empty() {
        notes.push(format!(
            "No example is given: in no game did an opponent's move take squares from a piece that was then {} within {} moves.",
            words::happened(question.outcome),
            question.within
        ));
        return Ok((Vec::new(), notes));
    }
    let wanted: BTreeSet<(String, u64)> = chosen
        .iter()
        .map(|candidate| (candidate.part.source.clone(), candidate.game))
        .collect();
    let games = locate(dataset, Table::Games, &wanted)?;
    let moves = if dataset.has(Table::Moves) {
        locate(dataset, Table::Moves, &wanted)?
    } else {
        notes.push("The examples have no boards: the table of moves was not written.".to_owned());
        BTreeMap::new()
    };

    let mut examples = Vec::new();
    for candidate in &chosen {
        let key = (candidate.part.source.clone(), candidate.game);
        let spell = details(dataset, candidate)?;
        let Some(place) = games.get(&key) else {
            return Err(AskError::bad_table(
                Table::Games,
                format!("game {} of {} has spells but is not there", key.1, key.0),
            ));
        };
        let (game, start_fen) = reference(place)?;
        let board = match moves.get(&key) {
            Some(place) => {
                let plies = replay::read_moves(place)?;
                Some(replay::board(
                    &plies,
                    start_fen.as_deref(),
                    &spell,
                    &game.label,
                )?)
            }
            None => None,
        };
        examples.push(example(candidate.kind, game, spell, board));
    }
    Ok((examples, notes))
}

/// The clearest spells of each kind, in their order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidates(Vec<Candidate>);

impl Candidates {
    /// Those of a part. Row groups in parallel: what is kept does not depend on the order they
    /// come in.
    ///
    /// # Errors
    ///
    /// Where the table of spells is unreadable or not of its schema.
    pub fn of(question: &Question, part: &Part) -> Result<Candidates, AskError> {
        let ends = match question.outcome {
            Outcome::Lost => vec!["lost"],
            Outcome::Traded => vec!["traded"],
            Outcome::Sold => vec!["sold"],
            Outcome::Captured => vec!["lost", "traded", "sold"],
        };
        let mut conditions = question.conditions(AskedRows::Spells, &[]);
        conditions.push(Condition::OneOf("end", ends));
        conditions.push(Condition::OneOf("cause", vec![CauseKind::Taken.name()]));
        let found: Vec<Vec<Candidate>> = part
            .groups()?
            .into_par_iter()
            .map(|group| in_group(question, &conditions, part, group))
            .collect::<Result<_, _>>()?;
        Ok(Candidates(best(found.into_iter().flatten())))
    }

    /// Adds those of another.
    pub fn add(&mut self, other: Candidates) {
        let all = std::mem::take(&mut self.0);
        self.0 = best(all.into_iter().chain(other.0));
    }
}

/// Columns read of the spells that pass the filters.
const DETAILS: [&str; 7] = [
    "kind",
    "game",
    "piece",
    "start_ply",
    "end_ply",
    "safe_before",
    "safe",
];

/// The best candidates of one row group.
fn in_group(
    question: &Question,
    conditions: &[Condition<'_>],
    part: &Part,
    group: Group,
) -> Result<Vec<Candidate>, AskError> {
    let mut places = Vec::new();
    for rows in part.read(&filter::columns(conditions), group)? {
        let rows = rows?;
        let mask = Mask::of(&rows, conditions)?;
        places.extend(mask.rows().map(|row| rows.place(row)));
    }
    let rows = part.pick(&DETAILS, group, &places)?;
    let (game, piece) = (rows.numbers("game")?, rows.numbers("piece")?);
    let (start, end) = (rows.numbers("start_ply")?, rows.numbers("end_ply")?);
    let (before, safe) = (rows.optional_numbers("safe_before")?, rows.numbers("safe")?);
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let horizon = 2 * u64::from(question.within);
    let id = part.id();
    let mut found = Vec::new();
    for row in 0..rows.len() {
        let (Some(kind), Some(before)) = (kind.at(row), before.get(row)) else {
            continue;
        };
        let wait = end.at(row).saturating_sub(start.at(row));
        if wait > horizon || before <= safe.at(row) {
            continue;
        }
        found.push(Candidate {
            kind,
            drop: before - safe.at(row),
            wait,
            part: id.clone(),
            row: rows.place(row),
            game: game.at(row),
            piece: piece.at(row),
            start_ply: start.at(row),
            safe: safe.at(row),
        });
    }
    Ok(best(found))
}

/// The best of each kind, likely repeats once, in their order.
fn best(candidates: impl IntoIterator<Item = Candidate>) -> Vec<Candidate> {
    let mut by_kind: BTreeMap<Kind, Vec<Candidate>> = BTreeMap::new();
    for candidate in candidates {
        by_kind.entry(candidate.kind).or_default().push(candidate);
    }
    let mut out = Vec::new();
    for mut kept in by_kind.into_values() {
        shorten(&mut kept);
        out.extend(kept);
    }
    out.sort_by(|a, b| a.order().cmp(&b.order()));
    out
}

fn shorten(kept: &mut Vec<Candidate>) {
    kept.sort_by(|a, b| a.order().cmp(&b.order()));
    let mut seen = BTreeSet::new();
    kept.retain(|candidate| seen.insert(candidate.looks()));
    kept.truncate(KEPT);
}

/// The clearest of each kind in games of their own, then the clearest of other games, then
/// the clearest left.
fn choose(sorted: &[Candidate], number: usize) -> Vec<Candidate> {
    /// Whether a candidate fits beside those chosen.
    type Fits = fn(&[Candidate], &Candidate) -> bool;
    fn new_game(chosen: &[Candidate], one: &Candidate) -> bool {
        chosen
            .iter()
            .all(|other| other.game != one.game || other.part != one.part)
    }
    let passes: [Fits; 3] = [
        |chosen, one| new_game(chosen, one) && chosen.iter().all(|other| other.kind != one.kind),
        new_game,
        |chosen, one| !chosen.contains(one),
    ];
    let mut chosen: Vec<Candidate> = Vec::new();
    for pass in passes {
        for candidate in sorted {
            if chosen.len() == number {
                break;
            }
            if pass(&chosen, candidate) {
                chosen.push(candidate.clone());
            }
        }
    }
    chosen.sort_by(|a, b| a.order().cmp(&b.order()));
    chosen
}

/// What the table says of a chosen spell.
fn details(dataset: &Dataset, candidate: &Candidate) -> Result<Spell, AskError> {
    let part = dataset
        .part(Table::Spells, &candidate.part)
        .ok_or_else(|| {
            AskError::bad_table(Table::Spells, format!("{} is missing", candidate.part))
        })?;
    let columns = [
        "color",
        "square",
        "safe_before",
        "safe",
        "end",
        "start_ply",
        "cause_ply",
        "end_ply",
        "attacked_by",
        "defended",
        "phase",
    ];
    let rows = part.read_row(&columns, candidate.row)?;
    let small = |name: &str| -> Result<u8, AskError> {
        u8::try_from(rows.first_number(name)?).map_err(|_| {
            rows.bad(format!("column \"{name}\" is out of range"))
                .into()
        })
    };
    let ply = |name: &str| -> Result<u32, AskError> {
        u32::try_from(rows.first_number(name)?).map_err(|_| {
            rows.bad(format!("column \"{name}\" is out of range"))
                .into()
        })
    };
    let color = rows.first_text("color")?;
    let square = rows.first_text("square")?;
    Ok(Spell {
        color: match color.as_str() {
            "white" => Color::White,
            "black" => Color::Black,
            other => return Err(rows.bad(format!("invalid color \"{other}\"")).into()),
        },
        square: square
            .parse()
            .map_err(|_| rows.bad(format!("invalid square \"{square}\"")))?,
        kind: candidate.kind,
        safe_before: small("safe_before")?,
        safe: small("safe")?,
        end: rows.first_text("end")?,
        start_ply: ply("start_ply")?,
        cause_ply: ply("cause_ply")?,
        end_ply: ply("end_ply")?,
        attacked_by: rows.first_text("attacked_by")?,
        defended: rows.booleans("defended")?.value(0),
        phase: rows.first_text("phase")?,
    })
}

fn example(
    kind: Kind,
    game: GameReference,
    spell: Spell,
    board: Option<hobble_examples::ExampleBoard>,
) -> Example {
    let color = if spell.color.is_white() {
        "white"
    } else {
        "black"
    };
    let owner = if spell.color.is_white() {
        "White"
    } else {
        "Black"
    };
    let left = match spell.safe {
        0 => "no safe square".to_owned(),
        1 => "1 safe square".to_owned(),
        more => format!("{more} safe squares"),
    };
    let end = match spell.end.as_str() {
        "sold" => "sold for more than its value",
        other => other,
    };
    let caption = match &board {
        Some(board) => format!(
            "{} leaves {owner}'s {kind} on {} with {left} where it had {}; {} captures it, and it is {end}.",
            board.cause.label, spell.square, spell.safe_before, board.capture.label
        ),
        None => format!(
            "Ply {} leaves {owner}'s {kind} on {} with {left} where it had {}; ply {} captures it, and it is {end}.",
            spell.cause_ply, spell.square, spell.safe_before, spell.end_ply
        ),
    };
    Example {
        game,
        kind,
        color: color.to_owned(),
        square: spell.square.to_string(),
        safe_before: spell.safe_before,
        safe: spell.safe,
        end: spell.end,
        start_ply: spell.start_ply,
        cause_ply: spell.cause_ply,
        end_ply: spell.end_ply,
        attacked_by: spell.attacked_by,
        defended: spell.defended,
        phase: spell.phase,
        caption,
        board,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(kind: Kind, drop: u64, wait: u64, game: u64) -> Candidate {
        Candidate {
            kind,
            drop,
            wait,
            part: PartId {
                source: "a".to_owned(),
                number: 0,
            },
            row: 0,
            game,
            piece: 1,
            start_ply: 10,
            safe: 0,
        }
    }

    fn pick(mut all: Vec<Candidate>, number: usize) -> Vec<(Kind, u64)> {
        all.sort_by(|a, b| a.order().cmp(&b.order()));
        choose(&all, number)
            .into_iter()
            .map(|c| (c.kind, c.game))
            .collect()
    }

    #[test]
    fn clearest_first_of_different_kinds_and_games() {
        let all = vec![
            candidate(Kind::Queen, 9, 2, 1),
            candidate(Kind::Queen, 8, 2, 2),
            candidate(Kind::Rook, 7, 2, 1),
            candidate(Kind::Rook, 6, 2, 3),
            candidate(Kind::Knight, 5, 6, 4),
            candidate(Kind::Knight, 5, 2, 5),
        ];
        assert_eq!(
            pick(all, 3),
            [(Kind::Queen, 1), (Kind::Rook, 3), (Kind::Knight, 5)]
        );
    }

    #[test]
    fn fills_up_from_other_games_then_from_the_same() {
        let all = vec![
            candidate(Kind::Queen, 9, 2, 1),
            candidate(Kind::Queen, 8, 2, 1),
            candidate(Kind::Queen, 7, 2, 2),
        ];
        assert_eq!(pick(all.clone(), 2), [(Kind::Queen, 1), (Kind::Queen, 2)]);
        assert_eq!(pick(all.clone(), 3).len(), 3);
        assert_eq!(pick(all, 9).len(), 3);
    }

    #[test]
    fn repeats_of_a_game_count_once() {
        let mut kept = vec![
            candidate(Kind::Rook, 5, 2, 8),
            candidate(Kind::Rook, 5, 2, 3),
        ];
        shorten(&mut kept);
        assert_eq!(kept.iter().map(|c| c.game).collect::<Vec<_>>(), [3]);
    }
}
