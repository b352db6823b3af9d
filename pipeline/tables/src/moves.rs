//! The table `moves`.

use hobble_game::comment::Eval;
use hobble_game::game_text::GameText;
use hobble_terms::Kind;
use hobble_tracks::spell::Capture;
use hobble_tracks::track::Ply;
use shakmaty::{Role, Square};

use crate::declare::{GameNumber, Large, OfSide, Small, table};
use crate::words::{Capturable, CapturedFate};

table! {
    /// One row a ply.
    Moves, schema 3, row "source, game, ply";
    columns MoveColumns;
    handles MoveHandles, MOVES;

    /// Number of the game in its source, from 1; skipped games are counted too. With `source`
    /// (the folder) it names the game in every table.
    game: GameNumber;
    /// Number of the ply in the game, from 1.
    ply: Large, unit "ply";
    /// Kind of unit that moved (a promoting pawn is a pawn, a castling king a king).
    mover: Role;
    /// Square it left.
    from_square: Square, unit "square";
    /// Square it reached; for castling the king's.
    to_square: Square, unit "square";
    /// Kind of unit captured.
    captured: Option<Capturable>, null "no capture";
    /// Kind of piece promoted to.
    promotion: Option<Kind>, null "no promotion";
    /// Whether the ply gives check.
    gives_check: bool;
    /// Whether the ply is castling.
    castling: bool;
    /// Whether the ply captures en passant.
    en_passant: bool;
    /// Sum over the mover's units of distinct legal destination squares, before the ply.
    legal: OfSide, unit "squares";
    /// Safe squares this ply took from the opponent's units.
    taken: OfSide, unit "squares";
    /// Safe squares this ply gave to the opponent's units.
    given: OfSide, unit "squares";
    /// Safe squares this ply took from the mover's own units.
    own_taken: OfSide, unit "squares";
    /// Safe squares this ply gave to the mover's own units.
    own_given: OfSide, unit "squares";
    /// Safe mobility the captured unit had before the ply.
    captured_safe: Option<Small>, unit "squares", null "no capture";
    /// What became of the captured unit (definitions, section 7).
    captured_fate: Option<CapturedFate>, null "no capture";
    /// Net material of its owner in the capture run.
    captured_net: Option<i16>, unit "pawns", null "no capture";
    /// Safe mobility after the ply, by side and kind of unit.
    safe: [OfSide; 12], unit "squares" {
        /// Safe mobility of white's pawns after the ply.
        white_pawn;
        /// Safe mobility of white's knights after the ply.
        white_knight;
        /// Safe mobility of white's bishops after the ply.
        white_bishop;
        /// Safe mobility of white's rooks after the ply.
        white_rook;
        /// Safe mobility of white's queens after the ply.
        white_queen;
        /// Safe mobility of white's kings after the ply.
        white_king;
        /// Safe mobility of black's pawns after the ply.
        black_pawn;
        /// Safe mobility of black's knights after the ply.
        black_knight;
        /// Safe mobility of black's bishops after the ply.
        black_bishop;
        /// Safe mobility of black's rooks after the ply.
        black_rook;
        /// Safe mobility of black's queens after the ply.
        black_queen;
        /// Safe mobility of black's kings after the ply.
        black_king;
    };
    /// Time the mover has left after the ply, from its %clk comment.
    clock: Option<f32>, unit "seconds", null "no clock comment";
    /// Evaluation after the ply from its %eval comment, positive for White.
    eval: Option<f32>, unit "pawns", null "no evaluation comment, or a mate";
    /// Moves to mate from the %eval comment, positive for White.
    mate: Option<i16>, unit "moves", null "no evaluation comment, or no mate";
}

impl MoveColumns {
    /// Adds the plies of a game, a column at a time, which avoids a capacity check per value.
    ///
    /// `captures` says what became of each captured unit, in the order of the plies.
    pub fn push(
        &mut self,
        game: u32,
        plies: &[Ply],
        captures: impl Iterator<Item = Capture> + Clone,
        text: &GameText,
    ) {
        self.game.fill(game, plies.len());
        self.ply.extend(1..=plies.len() as u16);
        let each = || plies.iter();
        self.mover.extend(each().map(|ply| ply.mover));
        self.from_square.extend(each().map(|ply| ply.from));
        self.to_square.extend(each().map(|ply| ply.to));
        self.captured.extend(each().map(|ply| ply.captured));
        self.promotion.extend(each().map(|ply| ply.promotion));
        self.gives_check.extend(each().map(|ply| ply.check));
        self.castling.extend(each().map(|ply| ply.castling));
        self.en_passant.extend(each().map(|ply| ply.en_passant));
        self.legal.extend(each().map(|ply| ply.legal));
        self.taken.extend(each().map(|ply| ply.taken));
        self.given.extend(each().map(|ply| ply.given));
        self.own_taken.extend(each().map(|ply| ply.own_taken));
        self.own_given.extend(each().map(|ply| ply.own_given));
        self.captured_safe
            .extend(each().map(|ply| ply.captured_safe));
        let fates = || {
            let mut captures = captures.clone();
            each().map(move |ply| ply.captured.and_then(|_| captures.next()))
        };
        self.captured_fate
            .extend(fates().map(|capture| capture.map(|capture| capture.fate)));
        self.captured_net
            .extend(fates().map(|capture| capture.map(|capture| capture.net)));
        for (place, column) in self.safe.iter_mut().enumerate() {
            column.extend(each().map(|ply| ply.safe.as_flattened()[place]));
        }
        // One for each ply, by the reader.
        let (clocks, evals) = (text.clocks.iter().copied(), text.evals.iter().copied());
        if clocks.clone().any(|clock| clock.is_some()) {
            self.clock.extend(clocks);
        } else {
            self.clock.extend_nulls(plies.len());
        }
        if evals.clone().any(|eval| eval.is_some()) {
            self.eval.extend(evals.clone().map(|eval| match eval {
                Some(Eval::Pawns(pawns)) => Some(pawns),
                _ => None,
            }));
        } else {
            self.eval.extend_nulls(plies.len());
        }
        self.mate.extend(evals.map(|eval| match eval {
            Some(Eval::Mate(moves)) => Some(moves),
            _ => None,
        }));
    }
}
