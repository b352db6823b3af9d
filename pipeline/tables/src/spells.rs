//! The table `spells`.

use std::ops::Range;

use hobble_terms::{By, CauseKind, Fate, Kind, Phase, SpellEnd};
use hobble_tracks::spell::{End, Spell};
use shakmaty::{Color, Role, Square};

use crate::declare::{Large, Small, table};
use crate::derived::derived;
use crate::formula::Formula::{
    self, Case, Column, Difference, Is, Null, Number, OfGame, Sum, Word,
};
use crate::formula::Test;
use crate::game_facts::GameFacts;
use crate::shared_columns::{
    BAND, FateColumns, OriginColumns, OwnerColumns, RATING_DIFF, RESULT, push_cause_plies,
};
use crate::words::Attackers;

table! {
    /// One row a restriction spell of a knight, bishop, rook or queen; it holds for every k
    /// from k_low to k_high. Choose one k: `k_low <= k AND k <= k_high`.
    Spells, schema 5, row "source, game, piece, k_low, start_ply";
    columns SpellColumns;
    handles SpellHandles, SPELLS, derived derived_columns;

    /// Its game.
    origin: OriginColumns, words [];
    /// Slot of the piece in its game (definitions, section 2).
    piece: Small;
    /// Kind of piece.
    kind: Kind;
    /// Its owner.
    color: Color;
    /// Lowest k for which this is a spell.
    k_low: Small, unit "squares";
    /// Highest k for which this is a spell.
    k_high: Small, unit "squares";
    /// Position at which it starts: the number of plies played before the owner's first
    /// restricted turn.
    start_ply: Large, unit "ply";
    /// What restricted the piece.
    cause: CauseKind;
    /// Whose ply that was, seen from the owner.
    cause_by: Option<By>, null "undeveloped";
    /// Kind of unit that moved with that ply.
    cause_kind: Option<Role>, null "undeveloped";
    /// Whether the cause ply neither captured, promoted nor checked.
    quiet: Option<bool>, null "undeveloped";
    /// Safe mobility of the piece before the cause ply.
    safe_before: Option<Small>, unit "squares", null "undeveloped, or born by the cause ply";
    /// Safe squares the cause ply took from this piece.
    squares_taken: Option<Small>, unit "squares", null "undeveloped, or born by the cause ply";
    /// Whether the piece is restrained (definitions, section 6): developed, left with so few
    /// squares by a quiet ply of the opponent, not attacked then, and still so at its owner's
    /// next turn. Count what follows from that turn, start_ply + 2.
    restrained: bool;
    /// Where the piece stands at the start of the spell.
    square: Square, unit "square";
    /// Its safe squares then.
    safe: Small, unit "squares";
    /// The good ones among them: central or further forward.
    good: Small, unit "squares";
    /// Its reach then.
    reach: Small, unit "squares";
    /// Squares of its reach that are no destination of a legal move then, since its king is in check.
    barred: Small, unit "squares";
    /// Kinds of enemy units that attack it then, as letters in the order PNBRQK; empty for
    /// none.
    attacked_by: Attackers;
    /// Kinds of own units that defend it then, as letters in the order PNBRQK, each once; empty
    /// for none.
    defended_by: Attackers;
    /// Number of own units that defend it then.
    defenders: Small, unit "units";
    /// Whether it stands behind a wedge of pawns then (definitions, section 6).
    wedge: Option<bool>, null "not a bishop";
    /// Other developed knights, bishops, rooks and queens of its side that have at most 2 safe
    /// squares then.
    others_held: Small, unit "pieces";
    /// Other pieces of its side that are restrained at k = 2 then.
    others_restrained: Small, unit "pieces";
    /// Whether it had moved by then (definitions, section 2).
    developed: bool;
    /// Phase of the game then.
    phase: Phase;
    /// Owner's material less the opponent's then.
    balance: i16, unit "pawns";
    /// Time its owner had left then; before its first ply the base of the time control
    /// (definitions, section 10).
    clock: Option<f32>, unit "seconds", null "no clock comment, or a base that is not known";
    /// Evaluation of the position then, from the owner's side, between −10 and 10.
    eval: Option<f32>, unit "pawns", null "no evaluation comment on the ply before";
    /// Turns of the owner in the spell.
    turns: Large, unit "turns";
    /// How the spell ended.
    ended: SpellEnd;
    /// Whether it was freed by moving itself.
    moved_away: Option<bool>, null "not freed by its owner";
    /// What became of the piece.
    capture: FateColumns, words [rest "the whole rest"];
    /// Owner's net material in the capture run in which it was captured.
    net: Option<i16>, unit "pawns", null "survived";
    /// Changes of the owner's balance in 3, 5 and 10 moves.
    material: [Option<i16>; 3], unit "pawns", null "game ended sooner" {
        /// Change of the owner's balance in the 3 moves from the start.
        material_3;
        /// The same in 5 moves.
        material_5;
        /// The same in 10 moves.
        material_10;
    };
    /// Changes of the evaluation in 3, 5 and 10 moves.
    eval_change: [Option<f32>; 3], unit "pawns", null "no evaluation at one of the two positions" {
        /// Change of the evaluation, from the owner's side, in the 3 moves from the start.
        eval_3;
        /// The same in 5 moves.
        eval_5;
        /// The same in 10 moves.
        eval_10;
    };
}

derived! {
    /// What follows from these columns and from the game.
    derived_columns;

    /// Ply that did it.
    cause_ply: Option<Large>, unit "ply", null "undeveloped", is [Case(
        &[
            (Test::Word(&Column("cause_by"), "opponent"), Column("start_ply")),
            (
                Test::Word(&Column("cause_by"), "own"),
                Difference(&[Column("start_ply"), Number(1)]),
            ),
        ],
        &Null,
    )];
    /// Distinct destinations of its legal moves at the start.
    legal: Small, unit "squares", is [Difference(&[Column("reach"), Column("barred")])];
    /// Whether an own unit defends it at the start.
    defended: bool, is [Is(&Test::AtLeast(&Column("defenders"), 1))];
    /// Whose ply freed it, seen from the owner.
    end_by: Option<By>, null "not freed", is [END_BY];
    /// Ply that ended it; for `game over` the last ply of the game.
    end_ply: Large, unit "ply", is [Case(
        &[
            (
                Test::Word(&END_BY, "own"),
                Difference(&[NEXT_TURN, Number(1)]),
            ),
            (Test::Word(&END_BY, "opponent"), NEXT_TURN),
            (Test::Word(&Column("ended"), "game over"), OfGame("plies")),
        ],
        &Column("fate_ply"),
    )];
    /// Plies played in the game after the start of the spell.
    plies_left: Large, unit "plies", is [Difference(&[OfGame("plies"), Column("start_ply")])];
    /// The game for its owner.
    owner: OwnerColumns, is [RESULT, BAND, RATING_DIFF, OfGame("time_class")];
}

/// Whose ply freed it: the owner's where it is known whether the piece itself moved.
const END_BY: Formula = Case(
    &[(
        Test::Word(&Column("ended"), "freed"),
        Case(
            &[(Test::Null(&Column("moved_away")), Word("opponent"))],
            &Word("own"),
        ),
    )],
    &Null,
);

/// The owner's turn after the spell.
const NEXT_TURN: Formula = Sum(&[
    Column("start_ply"),
    Sum(&[Column("turns"), Column("turns")]),
]);

/// Moves after which a change of evaluation is kept.
const EVAL_AFTER: [usize; 3] = [3, 5, 10];

impl SpellColumns {
    /// Adds the spells of a game, a column at a time, which avoids a capacity check per value.
    ///
    /// They come by sort and start: spells of one position share its state, so that neighbours are alike
    /// and pack well. `order` is kept from game to game.
    pub fn push(&mut self, game: &GameFacts<'_>, spells: &[Spell], order: &mut Order) {
        order.sort(spells);
        let each = || order.of(spells);
        self.origin.push(game, spells.len());
        self.piece.extend(each().map(|spell| spell.slot));
        self.kind.extend(each().map(|spell| spell.kind));
        self.color.extend(each().map(|spell| spell.color));
        self.k_low.extend(each().map(|spell| spell.k_low));
        self.k_high.extend(each().map(|spell| spell.k_high));
        self.start_ply.extend(each().map(|spell| spell.start));
        self.cause.extend(each().map(|spell| spell.cause.kind));
        let causes = || each().map(|spell| spell.cause.ply);
        push_cause_plies(
            causes(),
            (&mut self.cause_by, &mut self.cause_kind, &mut self.quiet),
            (&mut self.safe_before, &mut self.squares_taken),
        );
        self.restrained.extend(each().map(Spell::is_restrained));
        let states = || each().map(|spell| &spell.state);
        self.square.extend(states().map(|state| state.square));
        self.safe.extend(states().map(|state| state.safe));
        self.good.extend(states().map(|state| state.good));
        self.reach.extend(states().map(|state| state.reach));
        // Its legal moves lead to squares of its reach.
        self.barred
            .extend(states().map(|state| state.reach - state.legal));
        self.attacked_by
            .extend(states().map(|state| state.around.attacked_by));
        self.defended_by
            .extend(states().map(|state| state.around.defended_by));
        self.defenders
            .extend(states().map(|state| state.around.defenders));
        self.wedge.extend(states().map(|state| state.around.wedge));
        self.others_held
            .extend(states().map(|state| state.others_held));
        self.others_restrained
            .extend(states().map(|state| state.others_restrained));
        self.developed.extend(states().map(|state| state.developed));
        self.phase.extend(states().map(|state| state.phase));
        self.balance.extend(states().map(|state| state.balance));
        game.push_comments(
            each().map(|spell| (spell.start, spell.color)),
            &mut self.clock,
            &mut self.eval,
            (&EVAL_AFTER, &mut self.eval_change),
        );
        self.turns.extend(each().map(|spell| spell.turns));
        self.ended.extend(each().map(spell_end));
        self.moved_away.extend(each().map(|spell| match spell.end {
            End::Freed { moved_away, .. } => moved_away,
            End::Captured | End::GameOver => None,
        }));
        let captures = || each().map(|spell| spell.capture);
        self.capture.push(captures());
        self.net
            .extend(captures().map(|capture| capture.map(|capture| capture.net)));
        for (place, column) in self.material.iter_mut().enumerate() {
            column.extend(each().map(|spell| spell.material[place]));
        }
    }
}

impl SpellColumns {
    /// Puts the spells of one sort together, those of all games in their order.
    pub fn put_alike_together(&mut self) {
        let sort = |row: usize| {
            let undeveloped = self.cause.is(row, CauseKind::Undeveloped);
            Sort::of(undeveloped, self.developed.at(row))
        };
        let mut ranges: [Vec<Range<usize>>; 3] = Default::default();
        let mut start = 0;
        for row in 1..=self.row_count() {
            if row == self.row_count() || sort(row) != sort(start) {
                ranges[sort(start) as usize].push(start..row);
                start = row;
            }
        }
        self.columns().keep(&ranges.concat());
    }
}

/// Sorts of spells that are kept apart in a row group: what is the same in all rows of a sort then
/// takes no room there.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    /// Without a cause: restricted ever since the record began.
    Undeveloped,
    /// Of a piece that had not moved.
    Unmoved,
    /// All others.
    Developed,
}

impl Sort {
    fn of(undeveloped: bool, developed: bool) -> Sort {
        match (undeveloped, developed) {
            (true, _) => Sort::Undeveloped,
            (_, false) => Sort::Unmoved,
            (_, true) => Sort::Developed,
        }
    }
}

/// The spells of a game by sort, start, piece and k.
#[derive(Default)]
pub struct Order {
    /// Sort, start, slot and lowest k of a spell, and below them its place, in one number each.
    keys: Vec<u64>,
}

/// Bits of a place: a game has at most 32,767 turns, at each of which five spells of 255 pieces start.
const PLACE_BITS: u32 = 26;

impl Order {
    /// Puts spells in order.
    fn sort(&mut self, spells: &[Spell]) {
        let key = |(place, spell): (usize, &Spell)| {
            let undeveloped = spell.cause.kind == CauseKind::Undeveloped;
            let sort = Sort::of(undeveloped, spell.state.developed) as u64;
            // k takes 3 bits, a slot 8, a start 16.
            let start = sort << 16 | u64::from(spell.start);
            let piece = start << 11 | u64::from(spell.slot) << 3 | u64::from(spell.k_low);
            piece << PLACE_BITS | place as u64
        };
        self.keys.clear();
        self.keys.extend(spells.iter().enumerate().map(key));
        self.keys.sort_unstable();
    }

    /// The spells that were put in order.
    fn of<'a>(&self, spells: &'a [Spell]) -> impl ExactSizeIterator<Item = &'a Spell> + Clone {
        let place = |key: u64| (key & ((1 << PLACE_BITS) - 1)) as usize;
        self.keys.iter().map(move |&key| &spells[place(key)])
    }
}

/// How a spell ended.
pub fn spell_end(spell: &Spell) -> SpellEnd {
    match (spell.end, spell.capture) {
        (End::Freed { .. }, _) => SpellEnd::Freed,
        (End::GameOver, _) => SpellEnd::GameOver,
        (End::Captured, capture) => match capture.map(|capture| capture.fate) {
            Some(Fate::Traded) => SpellEnd::Traded,
            Some(Fate::Sold) => SpellEnd::Sold,
            _ => SpellEnd::Lost,
        },
    }
}
