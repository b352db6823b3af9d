//! A quiz in words, for any page, sheet or list.

use hobble_examples::task_words;
use hobble_report::number::{self, capital, counted, list, percent};
use hobble_report::plain_short;
use hobble_terms::Fate;

use crate::alike::APART;
use crate::difficulty::{Difficulty, LEAST};
use crate::quiz::Position;

/// What is asked.
pub fn question(position: &Position) -> String {
    task_words::question(&position.task)
}

/// What the answer must leave, for a reader that does not see the rules.
pub fn terms(position: &Position) -> String {
    format!(
        "It must leave the {} {}",
        position.task.kind,
        number::at_most(position.k.into(), "safe square")
    )
}

/// How hard it is: `Medium: 35 legal moves, missed at 93 % of 4,120 such turns`.
pub fn difficulty(of: &Difficulty) -> String {
    let moves = counted(of.legal.into(), "legal move");
    let turns = counted(of.turns, "such turn");
    format!(
        "{}: {moves}, missed at {} of {turns}",
        capital(of.level.name()),
        percent(of.missed)
    )
}

/// The answer and all that belongs to it, a line each.
pub fn answers(position: &Position) -> Vec<String> {
    let task = &position.task;
    let mut lines: Vec<String> = task.answers.iter().map(task_words::answer).collect();
    lines.push(taken(position));
    lines.extend(task.near.iter().map(task_words::near_miss));
    lines.push(played(position));
    lines.push(became(position));
    lines
}

/// What the answer takes.
pub fn taken(position: &Position) -> String {
    match position.taken.as_slice() {
        [] => "It takes no square".to_owned(),
        taken => format!("It takes {}", list(taken)),
    }
}

/// The line played; where the answer was missed, what the move played left.
pub fn played(position: &Position) -> String {
    let line = format!("In the game: {}", position.line);
    if position.task.answers.iter().any(|answer| answer.played) {
        return line;
    }
    let left = match position.left {
        None => format!("{} captured it", position.played.label),
        Some(0) => format!("{} left no safe square", position.played.label),
        Some(left) => format!(
            "{} left {}",
            position.played.label,
            counted(left.into(), "safe square")
        ),
    };
    format!("{line} ({left})")
}

/// What became of the piece.
pub fn became(position: &Position) -> String {
    let kind = position.task.kind;
    let Some(captured) = &position.captured else {
        return match position.moves_later {
            0 => "The game ended with this move".to_owned(),
            more => format!(
                "The {kind} was not captured in the rest of the game ({})",
                counted(more.into(), "move")
            ),
        };
    };
    let when = match position.moves_later {
        0 => "at once".to_owned(),
        more => format!("{} later", counted(more.into(), "move")),
    };
    let by = plain_short(&captured.label);
    match position.fate {
        Fate::Lost => format!("The {kind} was lost: {by} captured it, {when}"),
        Fate::Sold => {
            format!("{by} captured the {kind}, {when}; its owner got more for it than it was worth")
        }
        Fate::Traded | Fate::Survived => {
            format!("The {kind} was traded: {by} captured it, {when}")
        }
    }
}

/// The game, with the name of the archive's file.
pub fn game(position: &Position) -> String {
    plain_short(&position.task.game.label)
}

/// The rules in full sentences.
pub fn rules(cuts: [u32; 2]) -> Vec<String> {
    let [easy, medium] = cuts;
    vec![
        "Each position is a turn of a game at which exactly one quiet move restrains the piece in question: it leaves a knight or bishop one safe square at most, a rook or queen two, and does not attack it. A quiet move neither captures, promotes nor checks. It must give nothing away: the unit that moves is safe where it goes, and nothing else is left hanging. Every other such move leaves the piece more squares. Before it nothing can be captured at a profit, and nobody is in check. Whether the answer is otherwise a good move is not said.".to_owned(),
        format!(
            "Difficulty is the number of legal moves times the share of turns of this archive at which such a move was missed: turns with one such move, the same kind of piece, phase and number of legal moves by ten (with fewer than {LEAST} of them, the same kind and phase; then the same kind; then all). All such turns of the archive are parted in thirds: easy is up to {easy} points, medium up to {medium}, hard is more. The formula is our own cut."
        ),
        format!(
            "Positions come from the sample of turns in the table of decisions, in an order mixed by a hash, which is the same each time; first those where the move takes two squares or more, neither side is more than two pawns ahead, nothing attacks the piece and the game went on for five moves or more. No two show the same position, the same kind of piece on the same square in the same structure of pawns (colours turned round), or turns of one game less than {} moves apart.",
            APART / 2
        ),
    ]
}
