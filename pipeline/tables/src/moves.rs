//! The table `moves`.

use arrow_array::types::{Float32Type, Int16Type, UInt8Type, UInt16Type, UInt32Type};

use hobble_game::comment::Eval;
use hobble_game::reader::GameText;
use hobble_tracks::track::Ply;

use crate::column::{Codes, Flags, KINDS, MaybeNumbers, Numbers, kind_code, square_names};
use crate::encode::Columns;

/// Growing rows of `moves`.
pub struct MoveColumns {
    game: Numbers<UInt32Type>,
    ply: Numbers<UInt16Type>,
    mover: Codes,
    from: Codes,
    to: Codes,
    captured: Codes,
    promotion: Codes,
    check: Flags,
    castling: Flags,
    en_passant: Flags,
    legal: Numbers<UInt8Type>,
    taken: Numbers<UInt8Type>,
    given: Numbers<UInt8Type>,
    own_taken: Numbers<UInt8Type>,
    own_given: Numbers<UInt8Type>,
    captured_safe: MaybeNumbers<UInt8Type>,
    safe: [Numbers<UInt8Type>; 12],
    clock: MaybeNumbers<Float32Type>,
    eval: MaybeNumbers<Float32Type>,
    mate: MaybeNumbers<Int16Type>,
}

impl Default for MoveColumns {
    fn default() -> Self {
        MoveColumns {
            game: Numbers::default(),
            ply: Numbers::default(),
            mover: Codes::of(KINDS),
            from: Codes::of(square_names()),
            to: Codes::of(square_names()),
            captured: Codes::of(KINDS),
            promotion: Codes::of(KINDS),
            check: Flags::default(),
            castling: Flags::default(),
            en_passant: Flags::default(),
            legal: Numbers::default(),
            taken: Numbers::default(),
            given: Numbers::default(),
            own_taken: Numbers::default(),
            own_given: Numbers::default(),
            captured_safe: MaybeNumbers::default(),
            safe: std::array::from_fn(|_| Numbers::default()),
            clock: MaybeNumbers::default(),
            eval: MaybeNumbers::default(),
            mate: MaybeNumbers::default(),
        }
    }
}

impl MoveColumns {
    /// Adds the plies of a game.
    pub fn push(&mut self, game: u32, plies: &[Ply], text: &GameText) {
        for (i, ply) in plies.iter().enumerate() {
            self.game.push(game);
            self.ply.push(i as u16 + 1);
            self.mover.push(kind_code(ply.mover));
            self.from.push(ply.from as u8);
            self.to.push(ply.to as u8);
            self.captured.push_maybe(ply.captured.map(kind_code));
            self.promotion.push_maybe(ply.promotion.map(kind_code));
            self.check.push(ply.check);
            self.castling.push(ply.castling);
            self.en_passant.push(ply.en_passant);
            self.legal.push(ply.legal);
            self.taken.push(ply.taken);
            self.given.push(ply.given);
            self.own_taken.push(ply.own_taken);
            self.own_given.push(ply.own_given);
            self.captured_safe.push(ply.captured_safe);
            for (column, safe) in self.safe.iter_mut().zip(ply.safe.as_flattened()) {
                column.push(*safe);
            }
            self.clock.push(text.clocks.get(i).copied().flatten());
            let (eval, mate) = match text.evals.get(i).copied().flatten() {
                Some(Eval::Pawns(pawns)) => (Some(pawns), None),
                Some(Eval::Mate(moves)) => (None, Some(moves)),
                None => (None, None),
            };
            self.eval.push(eval);
            self.mate.push(mate);
        }
    }

    /// The rows as arrays, in the order of the schema.
    pub fn finish(&mut self) -> Columns {
        let mut columns = Columns::new(self.game.len());
        columns.add("game", &mut self.game);
        columns.add("ply", &mut self.ply);
        columns.add("mover", &mut self.mover);
        columns.add("from", &mut self.from);
        columns.add("to", &mut self.to);
        columns.add("captured", &mut self.captured);
        columns.add("promotion", &mut self.promotion);
        columns.add("check", &mut self.check);
        columns.add("castling", &mut self.castling);
        columns.add("en_passant", &mut self.en_passant);
        columns.add("legal", &mut self.legal);
        columns.add("taken", &mut self.taken);
        columns.add("given", &mut self.given);
        columns.add("own_taken", &mut self.own_taken);
        columns.add("own_given", &mut self.own_given);
        columns.add("captured_safe", &mut self.captured_safe);
        for (name, column) in SAFE.iter().zip(&mut self.safe) {
            columns.add(name, column);
        }
        columns.add("clock", &mut self.clock);
        columns.add("eval", &mut self.eval);
        columns.add("mate", &mut self.mate);
        columns
    }
}

const SAFE: [&str; 12] = [
    "white_pawn",
    "white_knight",
    "white_bishop",
    "white_rook",
    "white_queen",
    "white_king",
    "black_pawn",
    "black_knight",
    "black_bishop",
    "black_rook",
    "black_queen",
    "black_king",
];
