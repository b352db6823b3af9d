//! Turns of developed pieces by phase, and held turns before a loss by kind and by phase, as columns of
//! the table `sides`.

use super::count_columns::push_each;
use super::counts::{KINDS, KS, PHASES, SideCounts};
use crate::declare::group;

group! {
    /// Turns of developed pieces by phase, and held turns before a loss by kind and by phase.
    HeldCountColumns, HeldCountHandles;

    /// Held turns after which the piece is soon lost, by kind and k.
    held_lost_by_kind: [i32; KINDS * KS], unit "piece-turns" {
        /// Piece-turns of developed knights held at k = 0 after which the knight was lost within 10
        /// moves.
        held_lost_knight_0;
        /// Piece-turns of developed knights held at k = 1 after which the knight was lost within 10
        /// moves.
        held_lost_knight_1;
        /// Piece-turns of developed knights held at k = 2 after which the knight was lost within 10
        /// moves.
        held_lost_knight_2;
        /// Piece-turns of developed knights held at k = 3 after which the knight was lost within 10
        /// moves.
        held_lost_knight_3;
        /// Piece-turns of developed knights held at k = 4 after which the knight was lost within 10
        /// moves.
        held_lost_knight_4;
        /// Piece-turns of developed bishops held at k = 0 after which the bishop was lost within 10
        /// moves.
        held_lost_bishop_0;
        /// Piece-turns of developed bishops held at k = 1 after which the bishop was lost within 10
        /// moves.
        held_lost_bishop_1;
        /// Piece-turns of developed bishops held at k = 2 after which the bishop was lost within 10
        /// moves.
        held_lost_bishop_2;
        /// Piece-turns of developed bishops held at k = 3 after which the bishop was lost within 10
        /// moves.
        held_lost_bishop_3;
        /// Piece-turns of developed bishops held at k = 4 after which the bishop was lost within 10
        /// moves.
        held_lost_bishop_4;
        /// Piece-turns of developed rooks held at k = 0 after which the rook was lost within 10
        /// moves.
        held_lost_rook_0;
        /// Piece-turns of developed rooks held at k = 1 after which the rook was lost within 10
        /// moves.
        held_lost_rook_1;
        /// Piece-turns of developed rooks held at k = 2 after which the rook was lost within 10
        /// moves.
        held_lost_rook_2;
        /// Piece-turns of developed rooks held at k = 3 after which the rook was lost within 10
        /// moves.
        held_lost_rook_3;
        /// Piece-turns of developed rooks held at k = 4 after which the rook was lost within 10
        /// moves.
        held_lost_rook_4;
        /// Piece-turns of developed queens held at k = 0 after which the queen was lost within 10
        /// moves.
        held_lost_queen_0;
        /// Piece-turns of developed queens held at k = 1 after which the queen was lost within 10
        /// moves.
        held_lost_queen_1;
        /// Piece-turns of developed queens held at k = 2 after which the queen was lost within 10
        /// moves.
        held_lost_queen_2;
        /// Piece-turns of developed queens held at k = 3 after which the queen was lost within 10
        /// moves.
        held_lost_queen_3;
        /// Piece-turns of developed queens held at k = 4 after which the queen was lost within 10
        /// moves.
        held_lost_queen_4;
    };
    /// Turns of developed pieces, by the phase of the turn.
    developed_turns_by_phase: [i32; PHASES], unit "piece-turns" {
        /// Piece-turns of developed pieces in the opening.
        developed_turns_opening;
        /// Piece-turns of developed pieces in the middlegame.
        developed_turns_middlegame;
        /// Piece-turns of developed pieces in the endgame.
        developed_turns_endgame;
    };
    /// Held turns of developed pieces, by phase and k.
    held_by_phase: [i32; PHASES * KS], unit "piece-turns" {
        /// Those at which the piece was held at k = 0, in the opening.
        held_opening_0;
        /// Those at which the piece was held at k = 1, in the opening.
        held_opening_1;
        /// Those at which the piece was held at k = 2, in the opening.
        held_opening_2;
        /// Those at which the piece was held at k = 3, in the opening.
        held_opening_3;
        /// Those at which the piece was held at k = 4, in the opening.
        held_opening_4;
        /// Those at which the piece was held at k = 0, in the middlegame.
        held_middlegame_0;
        /// Those at which the piece was held at k = 1, in the middlegame.
        held_middlegame_1;
        /// Those at which the piece was held at k = 2, in the middlegame.
        held_middlegame_2;
        /// Those at which the piece was held at k = 3, in the middlegame.
        held_middlegame_3;
        /// Those at which the piece was held at k = 4, in the middlegame.
        held_middlegame_4;
        /// Those at which the piece was held at k = 0, in the endgame.
        held_endgame_0;
        /// Those at which the piece was held at k = 1, in the endgame.
        held_endgame_1;
        /// Those at which the piece was held at k = 2, in the endgame.
        held_endgame_2;
        /// Those at which the piece was held at k = 3, in the endgame.
        held_endgame_3;
        /// Those at which the piece was held at k = 4, in the endgame.
        held_endgame_4;
    };
    /// Held turns after which the piece is soon lost, by phase and k.
    held_lost_by_phase: [i32; PHASES * KS], unit "piece-turns" {
        /// Piece-turns of developed pieces held at k = 0 in the opening after which the piece was
        /// lost within 10 moves.
        held_lost_opening_0;
        /// Piece-turns of developed pieces held at k = 1 in the opening after which the piece was
        /// lost within 10 moves.
        held_lost_opening_1;
        /// Piece-turns of developed pieces held at k = 2 in the opening after which the piece was
        /// lost within 10 moves.
        held_lost_opening_2;
        /// Piece-turns of developed pieces held at k = 3 in the opening after which the piece was
        /// lost within 10 moves.
        held_lost_opening_3;
        /// Piece-turns of developed pieces held at k = 4 in the opening after which the piece was
        /// lost within 10 moves.
        held_lost_opening_4;
        /// Piece-turns of developed pieces held at k = 0 in the middlegame after which the piece
        /// was lost within 10 moves.
        held_lost_middlegame_0;
        /// Piece-turns of developed pieces held at k = 1 in the middlegame after which the piece
        /// was lost within 10 moves.
        held_lost_middlegame_1;
        /// Piece-turns of developed pieces held at k = 2 in the middlegame after which the piece
        /// was lost within 10 moves.
        held_lost_middlegame_2;
        /// Piece-turns of developed pieces held at k = 3 in the middlegame after which the piece
        /// was lost within 10 moves.
        held_lost_middlegame_3;
        /// Piece-turns of developed pieces held at k = 4 in the middlegame after which the piece
        /// was lost within 10 moves.
        held_lost_middlegame_4;
        /// Piece-turns of developed pieces held at k = 0 in the endgame after which the piece was
        /// lost within 10 moves.
        held_lost_endgame_0;
        /// Piece-turns of developed pieces held at k = 1 in the endgame after which the piece was
        /// lost within 10 moves.
        held_lost_endgame_1;
        /// Piece-turns of developed pieces held at k = 2 in the endgame after which the piece was
        /// lost within 10 moves.
        held_lost_endgame_2;
        /// Piece-turns of developed pieces held at k = 3 in the endgame after which the piece was
        /// lost within 10 moves.
        held_lost_endgame_3;
        /// Piece-turns of developed pieces held at k = 4 in the endgame after which the piece was
        /// lost within 10 moves.
        held_lost_endgame_4;
    };
}

impl HeldCountColumns {
    /// Adds the rows of a game: White's and Black's.
    pub fn push(&mut self, [white, black]: &[SideCounts; 2]) {
        push_each(
            &mut self.held_lost_by_kind,
            [&white.held_lost_by_kind, &black.held_lost_by_kind],
        );
        push_each(
            &mut self.developed_turns_by_phase,
            [
                &white.developed_turns_by_phase,
                &black.developed_turns_by_phase,
            ],
        );
        push_each(
            &mut self.held_by_phase,
            [&white.held_by_phase, &black.held_by_phase],
        );
        push_each(
            &mut self.held_lost_by_phase,
            [&white.held_lost_by_phase, &black.held_lost_by_phase],
        );
    }
}
