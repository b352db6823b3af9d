//! Positions of the lesson evenings: games that start from a set-up board. The positions
//! are made up for this sample; the ideas in them belong to everyone.

use shakmaty::fen::Fen;
use shakmaty::san::San;
use shakmaty::{CastlingMode, Chess, Move, Position};

/// A set-up position and how the game from it begins.
pub struct Lesson {
    /// What it is about; stands before the first move.
    pub about: &'static str,
    /// Where it starts.
    pub fen: &'static str,
    /// The first moves, agreed beforehand; the players go on from there.
    pub moves: &'static str,
}

/// All lessons, in the order in which they are given.
pub const LESSONS: [Lesson; 8] = [
    Lesson {
        about: "Lesson: when a knight is worth more than a queen.",
        fen: "8/p1q1P1kp/1p4p1/8/8/8/PP4P1/6K1 w - - 0 1",
        moves: "e8=N+ Kf7 Nxc7",
    },
    Lesson {
        about: "Lesson: a pawn ahead, and how to waste it.",
        fen: "5k2/8/5P2/4K3/8/8/8/8 w - - 0 1",
        moves: "Ke6 Ke8 f7+ Kf8 Kf6",
    },
    Lesson {
        about: "Lesson: a bishop that took the wrong pawn.",
        fen: "2kr3r/pp3ppp/2p2n2/8/8/4B3/PPP2PPP/R4RK1 w - - 0 1",
        moves: "Bxa7 b6",
    },
    Lesson {
        about: "Lesson: bishop and knight against the bare king. Fifty moves are not many.",
        fen: "8/8/8/3k4/8/8/3K4/4BN2 w - - 0 1",
        moves: "",
    },
    Lesson {
        about: "Lesson: a knight in the corner, and who gets there first.",
        fen: "4k2r/pp3ppp/8/8/3B4/1P1P4/P4PPP/n2K3R w k - 0 1",
        moves: "",
    },
    Lesson {
        about: "Lesson: Black to move. Count the steps of both pawns.",
        fen: "8/5k2/8/8/6p1/8/1P6/5K2 b - - 0 1",
        moves: "",
    },
    Lesson {
        about: "Lesson: smothered.",
        fen: "5r1k/6pp/7N/8/2Q5/8/6PP/6K1 w - - 0 1",
        moves: "Qg8+ Rxg8 Nf7#",
    },
    Lesson {
        about: "Lesson: taking in passing opens a line.",
        fen: "r3k2r/1pp2ppp/p7/3pP3/3P4/P7/1PP2PPP/R3K2R b KQkq - 0 1",
        moves: "f5 exf6 gxf6",
    },
];

/// A lesson's start and agreed moves; `None` where the lesson itself is wrong (the tests
/// make sure that none is).
pub fn set_up(lesson: &Lesson) -> Option<(Chess, Vec<Move>)> {
    let start: Chess = lesson
        .fen
        .parse::<Fen>()
        .ok()?
        .into_position(CastlingMode::Standard)
        .ok()?;
    let mut position = start.clone();
    let mut moves = Vec::new();
    for word in lesson.moves.split_whitespace() {
        let san = San::from_ascii(word.trim_end_matches(['+', '#']).as_bytes()).ok()?;
        let played = san.to_move(&position).ok()?;
        position.play_unchecked(played);
        moves.push(played);
    }
    Some((start, moves))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_lesson_can_be_set_up() {
        for lesson in &LESSONS {
            let (_, moves) = set_up(lesson).expect(lesson.fen);
            assert_eq!(moves.len(), lesson.moves.split_whitespace().count());
        }
    }

    #[test]
    fn two_lessons_end_as_they_are_meant_to() {
        let last = |lesson| {
            let (mut position, moves) = set_up(lesson).expect("it is sound");
            for played in moves {
                position.play_unchecked(played);
            }
            position
        };
        assert!(last(&LESSONS[1]).is_stalemate());
        assert!(last(&LESSONS[6]).is_checkmate());
    }
}
