//! The table `moves`.

use hobble_game::comment::Eval;
use hobble_game::reader::GameText;
use hobble_terms::{UNIT_NAMES, unit_code};
use hobble_tracks::track::Ply;

use crate::column::{Codes, Flags, Fractions, MaybeNumbers, Numbers, square_names};
use crate::encode::Columns;

/// Growing rows of `moves`.
pub struct MoveColumns {
    game: Numbers<u32>,
    ply: Numbers<u16>,
    mover: Codes,
    from: Codes,
    to: Codes,
    captured: Codes,
    promotion: Codes,
    check: Flags,
    castling: Flags,
    en_passant: Flags,
    legal: Numbers<u8>,
    taken: Numbers<u8>,
    given: Numbers<u8>,
    own_taken: Numbers<u8>,
    own_given: Numbers<u8>,
    captured_safe: MaybeNumbers<u8>,
    safe: [Numbers<u8>; 12],
    clock: Fractions,
    eval: Fractions,
    mate: MaybeNumbers<i16>,
}

impl Default for MoveColumns {
    fn default() -> Self {
        MoveColumns {
            game: Numbers::default(),
            ply: Numbers::default(),
            mover: Codes::of(UNIT_NAMES),
            from: Codes::of(square_names()),
            to: Codes::of(square_names()),
            captured: Codes::of(UNIT_NAMES),
            promotion: Codes::of(UNIT_NAMES),
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
            clock: Fractions::default(),
            eval: Fractions::default(),
            mate: MaybeNumbers::default(),
        }
    }
}

impl MoveColumns {
    /// Adds the plies of a game: a column at a time, which needs no look at each one's room.
    pub fn push(&mut self, game: u32, plies: &[Ply], text: &GameText) {
        self.game.fill(game, plies.len());
        self.ply.extend(1..=plies.len() as u16);
        let each = || plies.iter();
        self.mover.extend(each().map(|ply| unit_code(ply.mover)));
        self.from.extend(each().map(|ply| ply.from as u8));
        self.to.extend(each().map(|ply| ply.to as u8));
        self.captured
            .extend_maybe(each().map(|ply| ply.captured.map(unit_code)));
        self.promotion
            .extend_maybe(each().map(|ply| ply.promotion.map(unit_code)));
        self.check.extend(each().map(|ply| ply.check));
        self.castling.extend(each().map(|ply| ply.castling));
        self.en_passant.extend(each().map(|ply| ply.en_passant));
        self.legal.extend(each().map(|ply| ply.legal));
        self.taken.extend(each().map(|ply| ply.taken));
        self.given.extend(each().map(|ply| ply.given));
        self.own_taken.extend(each().map(|ply| ply.own_taken));
        self.own_given.extend(each().map(|ply| ply.own_given));
        self.captured_safe
            .extend(each().map(|ply| ply.captured_safe));
        for (place, column) in self.safe.iter_mut().enumerate() {
            column.extend(each().map(|ply| ply.safe.as_flattened()[place]));
        }
        // One for each ply, by the reader.
        let (clocks, evals) = (text.clocks.iter().copied(), text.evals.iter().copied());
        self.clock.extend(clocks);
        self.eval.extend(evals.clone().map(|eval| match eval {
            Some(Eval::Pawns(pawns)) => Some(pawns),
            _ => None,
        }));
        self.mate.extend(evals.map(|eval| match eval {
            Some(Eval::Mate(moves)) => Some(moves),
            _ => None,
        }));
    }

    /// The columns, in the order of the schema.
    pub fn columns(&mut self) -> Columns<'_> {
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
