//! A quiz position: the one before a restraining move that was the only one, with the moves that
//! come near.

use hobble_examples::played::fen;
use hobble_examples::replay::squares;
use hobble_examples::search::Tried;
use hobble_tracks::trials::{Measures, Trial};
use shakmaty::san::SanPlus;
use shakmaty::{Chess, Color, Move, Position};

use super::answer::{Miss, NearMiss, Quiz, QuizAnswer};
use super::file::Claim;

/// Near misses that are shown.
const SHOWN: usize = 3;

/// A position with more moves than this that leave the piece as few squares but do not restrain
/// it asks nothing.
const MOST_AS_FEW: usize = 2;

/// The position as a task; `None` where the move played is not the only legal move that
/// restrains the piece: quiet, giving nothing away, not attacking it (definitions, section 8).
pub(super) fn of(claim: &Claim, tried: &Tried<'_>) -> Option<Quiz> {
    let (before, square) = (&tried.course.before, tried.course.square);
    let k = usize::from(claim.k);
    let owner = Color::from_white(tried.spell.white);
    let measures = Measures::of(before);
    let free = measures.unit(square)?.safe.count() > k;
    if !free || before.turn() == owner || before.board().color_at(square) != Some(owner) {
        return None;
    }
    let hanging = measures.hanging(before.turn());
    let (mut answers, mut near) = (Vec::new(), Vec::new());
    for legal in before.legal_moves() {
        if legal.is_capture() && legal.to() == square {
            continue;
        }
        let trial = Trial::of(before, legal);
        let safe = trial.measures.unit(square)?.safe;
        let sound = trial.is_sound(&measures, hanging);
        let miss = if !trial.is_quiet() {
            Miss::Loud
        } else if !sound {
            Miss::GivesAway
        } else if safe.count() > k {
            Miss::LeavesMore
        } else if trial.measures.is_attacked(square) {
            Miss::Attacks
        } else {
            answers.push(answer(
                before,
                legal,
                squares(safe),
                &tried.course.cause.label,
            ));
            continue;
        };
        if safe.count() <= k || miss == Miss::LeavesMore {
            near.push((
                safe.count(),
                miss,
                near_miss(before, legal, squares(safe), miss),
            ));
        }
    }
    let as_few = near.iter().filter(|(left, ..)| *left <= k).count();
    let only = answers.len() == 1 && answers[0].played;
    if !only || as_few > MOST_AS_FEW {
        return None;
    }
    near.sort_by(|a, b| (a.0, a.1, &a.2.label).cmp(&(b.0, b.1, &b.2.label)));
    Some(Quiz {
        fen: fen(before),
        to_move: if owner.is_white() { "black" } else { "white" }.to_owned(),
        kind: tried.spell.kind,
        square: square.to_string(),
        safe: squares(tried.course.safe_before),
        answers,
        near: near
            .into_iter()
            .take(SHOWN)
            .map(|(.., near)| near)
            .collect(),
        game: tried.played.game.clone(),
    })
}

fn answer(before: &Chess, legal: Move, safe: Vec<String>, played: &str) -> QuizAnswer {
    let label = label(before, legal);
    let (from, to) = ends_of(legal, before.turn());
    QuizAnswer {
        played: label == played,
        label,
        from,
        to,
        safe,
    }
}

fn near_miss(before: &Chess, legal: Move, safe: Vec<String>, miss: Miss) -> NearMiss {
    NearMiss {
        label: label(before, legal),
        miss,
        safe,
    }
}

/// The move with its number.
fn label(before: &Chess, legal: Move) -> String {
    let san = SanPlus::from_move(before.clone(), legal).to_string();
    let dots = if before.turn().is_white() {
        ". "
    } else {
        "..."
    };
    format!("{}{dots}{san}", before.fullmoves())
}

/// Squares a move leaves and reaches; for castling the king's.
fn ends_of(played: Move, turn: Color) -> (String, String) {
    let to = played
        .castling_side()
        .map_or(played.to(), |side| side.king_to(turn));
    let from = played.from().unwrap_or(to);
    (from.to_string(), to.to_string())
}
