//! The counts of a side in a game, as columns of the table `sides`: each group of them is
//! declared and filled here.

use super::counts::{KINDS, KS, SideCounts};
use crate::declare::{Distinct, group};
use crate::growing::Numbers;

group! {
    /// Turns of a side and of its pieces.
    TurnCountColumns, TurnCountHandles;

    /// Turns of the side: plies it played.
    turns: i32, unit "turns";
    /// Turns of the side times pieces it had on the board, by kind.
    piece_turns: [i32; KINDS], unit "piece-turns" {
        /// Turns of the side times knights it had on the board.
        piece_turns_knight;
        /// The same of bishops.
        piece_turns_bishop;
        /// The same of rooks.
        piece_turns_rook;
        /// The same of queens.
        piece_turns_queen;
    };
    /// The same of developed pieces.
    developed_turns: [i32; KINDS], unit "piece-turns" {
        /// Those of its piece-turns of knights at which the knight was developed.
        developed_turns_knight;
        /// The same of bishops.
        developed_turns_bishop;
        /// The same of rooks.
        developed_turns_rook;
        /// The same of queens.
        developed_turns_queen;
    };
    /// Held turns of developed pieces, by kind and k.
    held: [i32; KINDS * KS], unit "piece-turns" {
        /// Piece-turns of developed knights with at most 0 safe squares: held at k = 0.
        held_knight_0;
        /// Piece-turns of developed knights with at most 1 safe square: held at k = 1.
        held_knight_1;
        /// Piece-turns of developed knights with at most 2 safe squares: held at k = 2.
        held_knight_2;
        /// Piece-turns of developed knights with at most 3 safe squares: held at k = 3.
        held_knight_3;
        /// Piece-turns of developed knights with at most 4 safe squares: held at k = 4.
        held_knight_4;
        /// Piece-turns of developed bishops with at most 0 safe squares: held at k = 0.
        held_bishop_0;
        /// Piece-turns of developed bishops with at most 1 safe square: held at k = 1.
        held_bishop_1;
        /// Piece-turns of developed bishops with at most 2 safe squares: held at k = 2.
        held_bishop_2;
        /// Piece-turns of developed bishops with at most 3 safe squares: held at k = 3.
        held_bishop_3;
        /// Piece-turns of developed bishops with at most 4 safe squares: held at k = 4.
        held_bishop_4;
        /// Piece-turns of developed rooks with at most 0 safe squares: held at k = 0.
        held_rook_0;
        /// Piece-turns of developed rooks with at most 1 safe square: held at k = 1.
        held_rook_1;
        /// Piece-turns of developed rooks with at most 2 safe squares: held at k = 2.
        held_rook_2;
        /// Piece-turns of developed rooks with at most 3 safe squares: held at k = 3.
        held_rook_3;
        /// Piece-turns of developed rooks with at most 4 safe squares: held at k = 4.
        held_rook_4;
        /// Piece-turns of developed queens with at most 0 safe squares: held at k = 0.
        held_queen_0;
        /// Piece-turns of developed queens with at most 1 safe square: held at k = 1.
        held_queen_1;
        /// Piece-turns of developed queens with at most 2 safe squares: held at k = 2.
        held_queen_2;
        /// Piece-turns of developed queens with at most 3 safe squares: held at k = 3.
        held_queen_3;
        /// Piece-turns of developed queens with at most 4 safe squares: held at k = 4.
        held_queen_4;
    };
    /// Held turns after which the piece is soon lost, by k.
    held_lost: [i32; KS], unit "piece-turns" {
        /// Piece-turns of developed pieces held at k = 0 after which the piece was lost within 10
        /// moves.
        held_lost_0;
        /// Piece-turns of developed pieces held at k = 1 after which the piece was lost within 10
        /// moves.
        held_lost_1;
        /// Piece-turns of developed pieces held at k = 2 after which the piece was lost within 10
        /// moves.
        held_lost_2;
        /// Piece-turns of developed pieces held at k = 3 after which the piece was lost within 10
        /// moves.
        held_lost_3;
        /// Piece-turns of developed pieces held at k = 4 after which the piece was lost within 10
        /// moves.
        held_lost_4;
    };
    /// Restrained turns, by kind and k.
    restrained: [i32; KINDS * KS], unit "piece-turns" {
        /// Piece-turns of knights restrained at k = 0, from the landmark on.
        restrained_knight_0;
        /// Piece-turns of knights restrained at k = 1, from the landmark on.
        restrained_knight_1;
        /// Piece-turns of knights restrained at k = 2, from the landmark on.
        restrained_knight_2;
        /// Piece-turns of knights restrained at k = 3, from the landmark on.
        restrained_knight_3;
        /// Piece-turns of knights restrained at k = 4, from the landmark on.
        restrained_knight_4;
        /// Piece-turns of bishops restrained at k = 0, from the landmark on.
        restrained_bishop_0;
        /// Piece-turns of bishops restrained at k = 1, from the landmark on.
        restrained_bishop_1;
        /// Piece-turns of bishops restrained at k = 2, from the landmark on.
        restrained_bishop_2;
        /// Piece-turns of bishops restrained at k = 3, from the landmark on.
        restrained_bishop_3;
        /// Piece-turns of bishops restrained at k = 4, from the landmark on.
        restrained_bishop_4;
        /// Piece-turns of rooks restrained at k = 0, from the landmark on.
        restrained_rook_0;
        /// Piece-turns of rooks restrained at k = 1, from the landmark on.
        restrained_rook_1;
        /// Piece-turns of rooks restrained at k = 2, from the landmark on.
        restrained_rook_2;
        /// Piece-turns of rooks restrained at k = 3, from the landmark on.
        restrained_rook_3;
        /// Piece-turns of rooks restrained at k = 4, from the landmark on.
        restrained_rook_4;
        /// Piece-turns of queens restrained at k = 0, from the landmark on.
        restrained_queen_0;
        /// Piece-turns of queens restrained at k = 1, from the landmark on.
        restrained_queen_1;
        /// Piece-turns of queens restrained at k = 2, from the landmark on.
        restrained_queen_2;
        /// Piece-turns of queens restrained at k = 3, from the landmark on.
        restrained_queen_3;
        /// Piece-turns of queens restrained at k = 4, from the landmark on.
        restrained_queen_4;
    };
}

group! {
    /// Spells of a side's pieces that were developed at the start of the spell.
    SpellCountColumns, SpellCountHandles;
    /// Spells by cause and k.
    causes: [i32; 5 * KS], unit "spells" {
        /// Spells at k = 0 of developed pieces that began with the record.
        cause_undeveloped_0;
        /// Spells at k = 1 of developed pieces that began with the record.
        cause_undeveloped_1;
        /// Spells at k = 2 of developed pieces that began with the record.
        cause_undeveloped_2;
        /// Spells at k = 3 of developed pieces that began with the record.
        cause_undeveloped_3;
        /// Spells at k = 4 of developed pieces that began with the record.
        cause_undeveloped_4;
        /// Spells at k = 0 of developed pieces that a move of the opponent began.
        cause_taken_0;
        /// Spells at k = 1 of developed pieces that a move of the opponent began.
        cause_taken_1;
        /// Spells at k = 2 of developed pieces that a move of the opponent began.
        cause_taken_2;
        /// Spells at k = 3 of developed pieces that a move of the opponent began.
        cause_taken_3;
        /// Spells at k = 4 of developed pieces that a move of the opponent began.
        cause_taken_4;
        /// Spells at k = 0 of developed pieces that a move of another own unit began.
        cause_blocked_0;
        /// Spells at k = 1 of developed pieces that a move of another own unit began.
        cause_blocked_1;
        /// Spells at k = 2 of developed pieces that a move of another own unit began.
        cause_blocked_2;
        /// Spells at k = 3 of developed pieces that a move of another own unit began.
        cause_blocked_3;
        /// Spells at k = 4 of developed pieces that a move of another own unit began.
        cause_blocked_4;
        /// Spells at k = 0 of developed pieces that a move of the piece itself began.
        cause_entered_0;
        /// Spells at k = 1 of developed pieces that a move of the piece itself began.
        cause_entered_1;
        /// Spells at k = 2 of developed pieces that a move of the piece itself began.
        cause_entered_2;
        /// Spells at k = 3 of developed pieces that a move of the piece itself began.
        cause_entered_3;
        /// Spells at k = 4 of developed pieces that a move of the piece itself began.
        cause_entered_4;
        /// Spells at k = 0 of developed pieces that a pin began.
        cause_pinned_0;
        /// Spells at k = 1 of developed pieces that a pin began.
        cause_pinned_1;
        /// Spells at k = 2 of developed pieces that a pin began.
        cause_pinned_2;
        /// Spells at k = 3 of developed pieces that a pin began.
        cause_pinned_3;
        /// Spells at k = 4 of developed pieces that a pin began.
        cause_pinned_4;
    };
    /// Spells by end and k.
    ends: [i32; 5 * KS], unit "spells" {
        /// Spells at k = 0 of developed pieces that ended with the piece lost.
        end_lost_0;
        /// Spells at k = 1 of developed pieces that ended with the piece lost.
        end_lost_1;
        /// Spells at k = 2 of developed pieces that ended with the piece lost.
        end_lost_2;
        /// Spells at k = 3 of developed pieces that ended with the piece lost.
        end_lost_3;
        /// Spells at k = 4 of developed pieces that ended with the piece lost.
        end_lost_4;
        /// Spells at k = 0 of developed pieces that ended with the piece traded.
        end_traded_0;
        /// Spells at k = 1 of developed pieces that ended with the piece traded.
        end_traded_1;
        /// Spells at k = 2 of developed pieces that ended with the piece traded.
        end_traded_2;
        /// Spells at k = 3 of developed pieces that ended with the piece traded.
        end_traded_3;
        /// Spells at k = 4 of developed pieces that ended with the piece traded.
        end_traded_4;
        /// Spells at k = 0 of developed pieces that ended with the piece sold.
        end_sold_0;
        /// Spells at k = 1 of developed pieces that ended with the piece sold.
        end_sold_1;
        /// Spells at k = 2 of developed pieces that ended with the piece sold.
        end_sold_2;
        /// Spells at k = 3 of developed pieces that ended with the piece sold.
        end_sold_3;
        /// Spells at k = 4 of developed pieces that ended with the piece sold.
        end_sold_4;
        /// Spells at k = 0 of developed pieces that ended with the piece freed.
        end_freed_0;
        /// Spells at k = 1 of developed pieces that ended with the piece freed.
        end_freed_1;
        /// Spells at k = 2 of developed pieces that ended with the piece freed.
        end_freed_2;
        /// Spells at k = 3 of developed pieces that ended with the piece freed.
        end_freed_3;
        /// Spells at k = 4 of developed pieces that ended with the piece freed.
        end_freed_4;
        /// Spells at k = 0 of developed pieces that the end of the game ended.
        end_game_over_0;
        /// Spells at k = 1 of developed pieces that the end of the game ended.
        end_game_over_1;
        /// Spells at k = 2 of developed pieces that the end of the game ended.
        end_game_over_2;
        /// Spells at k = 3 of developed pieces that the end of the game ended.
        end_game_over_3;
        /// Spells at k = 4 of developed pieces that the end of the game ended.
        end_game_over_4;
    };
    /// Turns in spells, by k.
    spell_turns: [i32; KS], unit "turns" {
        /// Turns in the spells at k = 0 of developed pieces.
        spell_turns_0;
        /// Turns in the spells at k = 1 of developed pieces.
        spell_turns_1;
        /// Turns in the spells at k = 2 of developed pieces.
        spell_turns_2;
        /// Turns in the spells at k = 3 of developed pieces.
        spell_turns_3;
        /// Turns in the spells at k = 4 of developed pieces.
        spell_turns_4;
    };
    /// Restraints, by k.
    restraints: [i32; KS], unit "spells" {
        /// Spells at k = 0 that restrain the piece.
        restraints_0;
        /// Spells at k = 1 that restrain the piece.
        restraints_1;
        /// Spells at k = 2 that restrain the piece.
        restraints_2;
        /// Spells at k = 3 that restrain the piece.
        restraints_3;
        /// Spells at k = 4 that restrain the piece.
        restraints_4;
    };
    /// Restraints after which the piece is soon lost, by k.
    restraints_lost: [i32; KS], unit "spells" {
        /// Those of the restraints at k = 0 after whose landmark the piece was lost within 10
        /// moves.
        restraints_lost_0;
        /// Those of the restraints at k = 1 after whose landmark the piece was lost within 10
        /// moves.
        restraints_lost_1;
        /// Those of the restraints at k = 2 after whose landmark the piece was lost within 10
        /// moves.
        restraints_lost_2;
        /// Those of the restraints at k = 3 after whose landmark the piece was lost within 10
        /// moves.
        restraints_lost_3;
        /// Those of the restraints at k = 4 after whose landmark the piece was lost within 10
        /// moves.
        restraints_lost_4;
    };
}

group! {
    /// Squares, captured units and chances of a side.
    PlayCountColumns, PlayCountHandles;

    /// Safe squares that the side's moves took from the opponent's units.
    taken: i32, unit "squares";
    /// Safe squares that they gave to the opponent's units.
    given: i32, unit "squares";
    /// Safe squares that they took from its own units.
    own_taken: i32, unit "squares";
    /// Safe squares that they gave to its own units.
    own_given: i32, unit "squares";
    /// Scope of the side, added up over its turns; divided by `turns` it is the mean.
    scope_own: Distinct<i32>, unit "squares";
    /// Scope of the opponent, the turn passed, added up over the same turns.
    scope_other: Distinct<i32>, unit "squares";
    /// Captured units of the side, by what became of them and kind.
    captured: [i32; 3 * 5], unit "units" {
        /// Pawns of the side that were lost (definitions, section 7).
        lost_pawn;
        /// Knights of the side that were lost (definitions, section 7).
        lost_knight;
        /// Bishops of the side that were lost (definitions, section 7).
        lost_bishop;
        /// Rooks of the side that were lost (definitions, section 7).
        lost_rook;
        /// Queens of the side that were lost (definitions, section 7).
        lost_queen;
        /// Pawns of the side that were traded (definitions, section 7).
        traded_pawn;
        /// Knights of the side that were traded (definitions, section 7).
        traded_knight;
        /// Bishops of the side that were traded (definitions, section 7).
        traded_bishop;
        /// Rooks of the side that were traded (definitions, section 7).
        traded_rook;
        /// Queens of the side that were traded (definitions, section 7).
        traded_queen;
        /// Pawns of the side that were sold (definitions, section 7).
        sold_pawn;
        /// Knights of the side that were sold (definitions, section 7).
        sold_knight;
        /// Bishops of the side that were sold (definitions, section 7).
        sold_bishop;
        /// Rooks of the side that were sold (definitions, section 7).
        sold_rook;
        /// Queens of the side that were sold (definitions, section 7).
        sold_queen;
    };
    /// Chances to restrain that the side had, at turns in the sample (definitions, section 8).
    chances: i32, unit "chances";
    /// Those of them that it took.
    chances_taken: i32, unit "chances";
    /// What quiet moves drawn at random would have taken of them: at each chance the restraining
    /// moves by the quiet moves, rounded to the nearest thousandth.
    chances_at_random: i32, unit "thousandths of a chance";
}

/// Adds a value of each side to each of some columns.
/// Adds what two sides count to a row of columns.
pub fn push_each<const N: usize>(columns: &mut [Numbers<i32>; N], sides: [&[i32; N]; 2]) {
    for (place, column) in columns.iter_mut().enumerate() {
        column.extend(sides.into_iter().map(|side| side[place]));
    }
}

impl TurnCountColumns {
    /// Adds the rows of a game: White's and Black's.
    pub fn push(&mut self, [white, black]: &[SideCounts; 2]) {
        self.turns.extend([white.turns, black.turns].into_iter());
        push_each(
            &mut self.piece_turns,
            [&white.piece_turns, &black.piece_turns],
        );
        push_each(
            &mut self.developed_turns,
            [&white.developed_turns, &black.developed_turns],
        );
        push_each(&mut self.held, [&white.held, &black.held]);
        push_each(&mut self.held_lost, [&white.held_lost, &black.held_lost]);
        push_each(&mut self.restrained, [&white.restrained, &black.restrained]);
    }
}

impl SpellCountColumns {
    /// Adds the rows of a game: White's and Black's.
    pub fn push(&mut self, [white, black]: &[SideCounts; 2]) {
        push_each(&mut self.causes, [&white.causes, &black.causes]);
        push_each(&mut self.ends, [&white.ends, &black.ends]);
        push_each(
            &mut self.spell_turns,
            [&white.spell_turns, &black.spell_turns],
        );
        push_each(&mut self.restraints, [&white.restraints, &black.restraints]);
        push_each(
            &mut self.restraints_lost,
            [&white.restraints_lost, &black.restraints_lost],
        );
    }
}

impl PlayCountColumns {
    /// Adds the rows of a game: White's and Black's.
    pub fn push(&mut self, sides: &[SideCounts; 2]) {
        let of = |count: fn(&SideCounts) -> i32| sides.iter().map(count);
        self.taken.extend(of(|side| side.taken));
        self.given.extend(of(|side| side.given));
        self.own_taken.extend(of(|side| side.own_taken));
        self.own_given.extend(of(|side| side.own_given));
        self.scope_own.extend(of(|side| side.scope_own));
        self.scope_other.extend(of(|side| side.scope_other));
        let [white, black] = sides;
        push_each(&mut self.captured, [&white.captured, &black.captured]);
        self.chances.extend(of(|side| side.chances));
        self.chances_taken.extend(of(|side| side.chances_taken));
        self.chances_at_random
            .extend(of(|side| side.chances_at_random));
    }
}
