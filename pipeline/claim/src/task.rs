//! A quiz position: the one before a restraining move, with every quiet, safe move that
//! restrains the piece.

use hobble_examples::course::THREAT;
use hobble_examples::played::fen;
use hobble_examples::replay::squares;
use hobble_examples::search::Tried;
use hobble_examples::{loose, rule};
use hobble_tracks::survey::{Survey, UnitSurvey};
use shakmaty::san::SanPlus;
use shakmaty::{Chess, Color, Move, Position, Square};

use super::answer::{Quiz, QuizAnswer};
use super::file::Claim;

/// A position with more answers than this asks nothing.
const MOST_ANSWERS: usize = 3;

/// The position as a task; `None` where the move played is not one of a few answers, or where
/// as many other moves (captures, checks, pins, attacks on the piece, moves that lose
/// something) leave the piece as few squares.
pub(super) fn of(claim: &Claim, tried: &Tried<'_>) -> Option<Quiz> {
    let (before, square) = (&tried.course.before, tried.course.square);
    let color = Color::from_white(tried.spell.white);
    let pinned = unit(&Survey::of(before), square, color)?.pinned;
    let (mut answers, mut others) = (Vec::new(), 0);
    for legal in before.legal_moves() {
        if legal.to() == square && !legal.is_castle() {
            continue;
        }
        let mut after = before.clone();
        after.play_unchecked(legal);
        let survey = Survey::of(&after);
        let piece = unit(&survey, square, color)?;
        if piece.safe.count() > usize::from(claim.k) {
            continue;
        }
        let restrains = rule::is_quiet(legal, &after)
            && piece.attackers.is_empty()
            && (pinned || !piece.pinned)
            && is_sound(&survey, &after, legal, !color);
        if !restrains {
            others += 1;
            continue;
        }
        answers.push(answer(before, legal, piece, &tried.course.cause.label));
    }
    answers.sort_by(|a, b| (!a.played, &a.label).cmp(&(!b.played, &b.label)));
    let asks = answers.first().is_some_and(|first| first.played)
        && answers.len() <= MOST_ANSWERS
        && others < answers.len().max(2);
    asks.then(|| Quiz {
        fen: fen(before),
        to_move: if color.is_white() { "black" } else { "white" }.to_owned(),
        kind: tried.spell.kind,
        square: square.to_string(),
        safe: squares(tried.course.safe_before),
        answers,
        game: tried.played.game.clone(),
    })
}

fn unit(survey: &Survey, square: Square, color: Color) -> Option<&UnitSurvey> {
    survey.unit(square).filter(|unit| unit.color == color)
}

/// Whether a move costs nothing at once: its mover cannot be taken at a profit, and nothing
/// worth two pawns is left loose.
fn is_sound(survey: &Survey, after: &Chess, played: Move, side: Color) -> bool {
    let arrived = played
        .castling_side()
        .map_or(played.to(), |castling| castling.rook_to(side));
    loose::gain(survey, after.board(), arrived).unwrap_or(0) <= 0
        && loose::most(survey, after.board(), side, None) < THREAT
}

fn answer(before: &Chess, legal: Move, piece: &UnitSurvey, played: &str) -> QuizAnswer {
    let san = SanPlus::from_move(before.clone(), legal).to_string();
    let dots = if before.turn().is_white() {
        ". "
    } else {
        "..."
    };
    let label = format!("{}{dots}{san}", before.fullmoves());
    let (from, to) = ends_of(legal, before.turn());
    QuizAnswer {
        played: label == played,
        label,
        from,
        to,
        safe: squares(piece.safe),
    }
}

/// Squares a move leaves and reaches; for castling the king's.
fn ends_of(played: Move, turn: Color) -> (String, String) {
    let to = played
        .castling_side()
        .map_or(played.to(), |side| side.king_to(turn));
    let from = played.from().unwrap_or(to);
    (from.to_string(), to.to_string())
}
