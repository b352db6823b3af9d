//! The table `turns`.

use hobble_terms::{By, CauseKind, Kind};
use hobble_tracks::turn::TurnRow;
use shakmaty::{Color, Role, Square};

use crate::declare::{Large, Small, table};
use crate::game_facts::GameFacts;
use crate::shared_columns::{
    OriginColumns, OwnerColumns, PositionColumns, SurroundingColumns, push_cause_plies,
};

table! {
    /// One row a developed knight, bishop, rook or queen of the side on move, at each turn of the
    /// sample and at each landmark turn. A row stands for 1 turn where `landmark` is true, else for
    /// as many as `sample` in the manifest says.
    Turns, schema 3, row "source, game, ply, piece";
    columns TurnColumns;
    handles TurnHandles, TURNS;

    /// Its game.
    origin: OriginColumns, words [];
    /// Position of the turn: the number of plies played before it.
    ply: Large, unit "ply";
    /// Whether the turn is in the sample by its hash (definitions, section 8).
    sampled: bool;
    /// Whether a piece of this side is at its landmark, at k = 1 or less for a knight or bishop,
    /// 2 or less for a rook or queen. Each such turn is in the table.
    landmark: bool;
    /// The side on move, which owns the piece.
    color: Color;
    /// Slot of the piece in its game (definitions, section 2).
    piece: Small;
    /// Kind of piece.
    kind: Kind;
    /// Where it stands.
    square: Square, unit "square";
    /// Its safe squares.
    safe: Small, unit "squares";
    /// The good ones among them: central or further forward.
    good: Small, unit "squares";
    /// Its reach.
    reach: Small, unit "squares";
    /// Distinct destinations of its legal moves.
    legal: Small, unit "squares";
    /// Its safe squares at its owner's last turn.
    safe_last: Option<Small>, unit "squares", null "no such turn, or not yet on the board";
    /// Its safe squares at its owner's turn before that.
    safe_before_last: Option<Small>, unit "squares", null "no such turn, or not yet on the board";
    /// Whether an enemy unit attacked it at its owner's last turn.
    attacked_last: Option<bool>, null "no such turn, or not yet on the board";
    /// What stands around it.
    around: SurroundingColumns, words [attackers "enemy units", defenders "own units"];
    /// Turns so far, this one included, in its spell at k = `safe`: the spell with the lowest k.
    /// It started at ply − 2 × (held_turns − 1).
    held_turns: Option<Large>, unit "turns", null "more than 4 safe squares";
    /// What restricted the piece in that spell.
    cause: Option<CauseKind>, null "more than 4 safe squares";
    /// Whose ply that was, seen from the owner: the opponent's is the one that led to the start
    /// of the spell, an own one is the ply before.
    cause_by: Option<By>, null "undeveloped, or more than 4 safe squares";
    /// Kind of unit that moved with that ply.
    cause_kind: Option<Role>, null "undeveloped, or more than 4 safe squares";
    /// Whether that ply neither captured, promoted nor checked.
    quiet: Option<bool>, null "undeveloped, or more than 4 safe squares";
    /// Safe mobility of the piece before that ply.
    safe_before: Option<Small>, unit "squares",
        null "undeveloped, born by that ply, or more than 4 safe squares";
    /// Safe squares that ply took from this piece.
    squares_taken: Option<Small>, unit "squares",
        null "undeveloped, born by that ply, or more than 4 safe squares";
    /// Turns restrained so far at each k, counted from the landmark.
    restrained: [Option<Large>; 5], unit "turns", null "not restrained at this k" {
        /// Turns restrained so far at k = 0, this one included: 1 at the landmark. The spell
        /// started at ply − 2 × restrained_0.
        restrained_0;
        /// The same at k = 1.
        restrained_1;
        /// The same at k = 2.
        restrained_2;
        /// The same at k = 3.
        restrained_3;
        /// The same at k = 4.
        restrained_4;
    };
    /// Kind of unit that moved with the ply that restrained it; where spells at several k
    /// restrain it, of the one with the latest start.
    restrained_by: Option<Role>, null "restrained at no k";
    /// Safe squares of the piece before that ply.
    restrained_before: Option<Small>, unit "squares", null "restrained at no k";
    /// Safe squares that ply took from the piece.
    restrained_taken: Option<Small>, unit "squares", null "restrained at no k";
    /// Other developed knights, bishops, rooks and queens of its side that have at most 2 safe
    /// squares.
    others_held: Small, unit "pieces";
    /// Other pieces of its side that are restrained at k = 2.
    others_restrained: Small, unit "pieces";
    /// The position, and what followed.
    position: PositionColumns, words [
        side "its side",
        material "Owner's material less the opponent's",
        owner "its owner",
        view "from the owner's side",
        balance "the owner's balance"
    ];
    /// The game for its owner.
    owner: OwnerColumns, words [];
}

impl TurnColumns {
    /// Adds the rows of a game, a column at a time.
    pub fn push(&mut self, game: &GameFacts<'_>, rows: &[TurnRow]) {
        let each = || rows.iter();
        self.origin.push(game, rows.len());
        self.ply.extend(each().map(|row| row.position));
        self.sampled.extend(each().map(|row| row.sampled));
        self.landmark.extend(each().map(|row| row.landmark));
        self.color.extend(each().map(|row| row.color));
        self.piece.extend(each().map(|row| row.slot));
        self.kind.extend(each().map(|row| row.kind));
        self.square.extend(each().map(|row| row.square));
        self.safe.extend(each().map(|row| row.safe));
        self.good.extend(each().map(|row| row.good));
        self.reach.extend(each().map(|row| row.reach));
        self.legal.extend(each().map(|row| row.legal));
        self.safe_last
            .extend(each().map(|row| row.last.map(|last| last.safe)));
        self.safe_before_last
            .extend(each().map(|row| row.before_last.map(|earlier| earlier.safe)));
        self.attacked_last
            .extend(each().map(|row| row.last.map(|last| last.attacked)));
        self.around.push(each().map(|row| &row.around));
        self.push_restriction(rows);
        self.others_held.extend(each().map(|row| row.others_held));
        self.others_restrained
            .extend(each().map(|row| row.others_restrained));
        self.position.push(game, rows);
        self.owner.push(game, each().map(|row| row.color));
    }

    fn push_restriction(&mut self, rows: &[TurnRow]) {
        let held = || rows.iter().map(|row| row.held);
        self.held_turns
            .extend(held().map(|held| held.map(|held| held.turns)));
        self.cause
            .extend(held().map(|held| held.map(|held| held.cause.kind)));
        let causes = || held().map(|held| held.and_then(|held| held.cause.ply));
        push_cause_plies(
            causes(),
            (&mut self.cause_by, &mut self.cause_kind, &mut self.quiet),
            (&mut self.safe_before, &mut self.squares_taken),
        );
        for (k, column) in self.restrained.iter_mut().enumerate() {
            let turns = rows.iter().map(|row| row.restrained[k]);
            column.extend(turns.map(|turns| (turns > 0).then_some(turns)));
        }
        let causes = || rows.iter().map(|row| row.restrained_by);
        self.restrained_by
            .extend(causes().map(|cause| cause.map(|cause| cause.mover)));
        let before = || causes().map(|cause| cause.and_then(|cause| cause.before));
        self.restrained_before
            .extend(before().map(|before| before.map(|before| before.safe)));
        self.restrained_taken
            .extend(before().map(|before| before.map(|before| before.taken)));
    }
}
