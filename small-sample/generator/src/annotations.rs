//! Notes to a game: evaluations, marks, words and better lines, from a careful look of the
//! engine at each position.

use shakmaty::san::SanPlus;
use shakmaty::{Chess, Position, Role};

use crate::chance::Chance;
use crate::engine::evaluation::{pawn_cover, room};
use crate::engine::level::Level;
use crate::engine::search::{Choice, MATE, MATE_SEEN, choose, key};
use crate::game::Game;

/// What is noted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Wanted {
    /// Evaluation after each move.
    pub evals: bool,
    /// Marks, words and better lines.
    pub words: bool,
}

/// A mark: its number and its sign (PGN standard, section 10, for the numbers).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Mark {
    /// Numeric annotation glyph.
    pub number: u32,
    /// As it is put behind a move.
    pub sign: &'static str,
}

impl Mark {
    const fn new(number: u32, sign: &'static str) -> Mark {
        Mark { number, sign }
    }
}

const GOOD: Mark = Mark::new(1, "!");
const MISTAKE: Mark = Mark::new(2, "?");
const BLUNDER: Mark = Mark::new(4, "??");
const DUBIOUS: Mark = Mark::new(6, "?!");

/// The notes to one move.
#[derive(Default, Debug)]
pub struct Note {
    /// Evaluation after the move, as an eval command has it.
    pub eval: Option<String>,
    /// A mark.
    pub mark: Option<Mark>,
    /// A remark.
    pub words: Option<String>,
    /// A better line: its moves.
    pub line: Vec<String>,
}

/// Writes the notes to a game, one a move.
pub fn annotate(game: &Game, wanted: Wanted, chance: &mut Chance) -> Vec<Note> {
    let mut position = game.start.clone();
    let mut past = vec![key(&position)];
    let mut here = look(&position, &past, chance);
    let mut notes = Vec::new();
    for &played in &game.moves {
        let before = position.clone();
        position.play_unchecked(played);
        past.push(key(&position));
        let next = look(&position, &past, chance);
        let mut note = Note::default();
        if let (Some(seen), Some(then)) = (here, next) {
            let mover = before.turn();
            // The next position is the other side's to play: its worth turned round.
            let after = -then.best_score;
            if wanted.evals {
                note.eval = Some(eval_text(after * mover.fold_wb(1, -1)));
            }
            if wanted.words {
                let loss = seen.best_score.min(900) - after.clamp(-900, 900);
                mark(&mut note, &before, &past, loss, seen, played, chance);
                if note.words.is_none() {
                    note.words = short_of_squares(&before, &position, chance);
                }
            }
        }
        here = next;
        notes.push(note);
    }
    notes
}

fn look(position: &Chess, past: &[u64], chance: &mut Chance) -> Option<Choice> {
    choose(position, past, Level::COMMENTATOR, chance)
}

fn mark(
    note: &mut Note,
    before: &Chess,
    past: &[u64],
    loss: i32,
    seen: Choice,
    played: shakmaty::Move,
    chance: &mut Chance,
) {
    note.mark = match loss {
        _ if seen.best == played && seen.best_score - seen.next_score > 150 => {
            // The one move; not worth a mark when it only takes back.
            (!played.is_capture()).then_some(GOOD)
        }
        _ if seen.best == played => None,
        300.. => Some(BLUNDER),
        140.. => Some(MISTAKE),
        80.. => Some(DUBIOUS),
        _ => None,
    };
    if loss >= 140 && seen.best != played {
        // The keys up to the position before the move.
        note.line = line(before, &past[..past.len() - 1], seen, chance);
        if chance.permille(400) {
            note.words = Some(pick(
                &[
                    "There was better.",
                    "Too quick.",
                    "This gives something away.",
                    "The other move order was the point.",
                ],
                chance,
            ));
        }
    }
}

/// The better move and the two plies most likely after it.
fn line(before: &Chess, past: &[u64], seen: Choice, chance: &mut Chance) -> Vec<String> {
    let mut position = before.clone();
    let mut past = past.to_vec();
    let mut moves = Vec::new();
    let mut next = Some(seen.best);
    while let Some(played) = next {
        moves.push(SanPlus::from_move_and_play_unchecked(&mut position, played).to_string());
        past.push(key(&position));
        if moves.len() == 3 {
            break;
        }
        next = look(&position, &past, chance).map(|choice| choice.best);
    }
    moves
}

/// A remark where the move has left an enemy piece with hardly a square.
fn short_of_squares(before: &Chess, after: &Chess, chance: &mut Chance) -> Option<String> {
    let owner = after.turn();
    let (old, new) = (before.board(), after.board());
    for square in new.by_color(owner) {
        let role = new.role_at(square)?;
        let name = match role {
            Role::Knight => "knight",
            Role::Bishop => "bishop",
            Role::Rook => "rook",
            Role::Queen => "queen",
            Role::Pawn | Role::King => continue,
        };
        let was = room(old, square, owner, pawn_cover(old, !owner));
        let is = room(new, square, owner, pawn_cover(new, !owner));
        if was >= 3 && is <= 1 && chance.permille(700) {
            let whose = owner.fold_wb("White's", "Black's");
            return Some(match chance.below(3) {
                0 => format!("{whose} {name} on {square} runs out of squares."),
                1 => format!("Now the {name} on {square} has hardly a move."),
                _ => format!("Takes squares from the {name} on {square}."),
            });
        }
    }
    None
}

fn pick(words: &[&str], chance: &mut Chance) -> String {
    words[chance.below(words.len() as u32) as usize].to_owned()
}

/// White's advantage in pawns, or the moves to mate after `#`.
fn eval_text(white: i32) -> String {
    if white.abs() > MATE_SEEN {
        let moves = (MATE - white.abs() + 1) / 2;
        return format!("#{}{moves}", if white < 0 { "-" } else { "" });
    }
    let sign = if white < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", white.abs() / 100, white.abs() % 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn evaluations_are_written_from_whites_side() {
        assert_eq!(eval_text(0), "0.00");
        assert_eq!(eval_text(-7), "-0.07");
        assert_eq!(eval_text(1234), "12.34");
        assert_eq!(eval_text(MATE - 1), "#1");
        assert_eq!(eval_text(-(MATE - 4)), "#-2");
    }
}
