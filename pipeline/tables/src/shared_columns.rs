//! Columns that several tables have, each declared and filled once.

use hobble_terms::{Band, By, Fate, Phase, RatingDiff, TimeClass};
use hobble_tracks::spell::{Capture, CausePly};
use hobble_tracks::surroundings::Surroundings;
use hobble_tracks::turn::Setting;
use shakmaty::{Color, Role};

use crate::declare::{Declared, GameNumber, Large, Small, group};
use crate::formula::Formula::{self, Case, Difference, OfGame, Word};
use crate::formula::Test;
use crate::game_facts::{EVAL_AFTER, GameFacts};
use crate::words::{Attackers, OwnerResult};

group! {
    /// Which game a row belongs to: `spells`, `turns`, `decisions`.
    OriginColumns, OriginHandles;

    /// Number of the game in its source, from 1; skipped games are counted too. With `source`
    /// (the folder) it names the game in every table.
    game: GameNumber;
    /// Game id modulo 64: the groups of the jackknife.
    fold: Small;
}

impl OriginColumns {
    /// Adds so many rows of a game.
    pub fn push(&mut self, game: &GameFacts<'_>, rows: usize) {
        self.game.fill(game.number, rows);
        self.fold.fill(game.fold, rows);
    }
}

group! {
    /// What stands around a piece: `turns`, `decisions`.
    SurroundingColumns, SurroundingHandles;

    /// Kinds of {attackers} that attack it, as letters in the order PNBRQK, each once; empty for
    /// none.
    attacked_by: Attackers;
    /// Number of {attackers} that attack it.
    attackers: Small, unit "units";
    /// Kinds of {defenders} that defend it, as letters in the order PNBRQK, each once; empty for
    /// none.
    defended_by: Attackers;
    /// Number of {defenders} that defend it.
    defenders: Small, unit "units";
    /// Whether it stands behind a wedge of pawns (definitions, section 6).
    wedge: Option<bool>, null "not a bishop";
}

impl SurroundingColumns {
    /// Adds a row for each piece.
    pub fn push<'a>(&mut self, around: impl ExactSizeIterator<Item = &'a Surroundings> + Clone) {
        let each = || around.clone();
        self.attacked_by.extend(each().map(|one| one.attacked_by));
        self.attackers.extend(each().map(|one| one.attackers));
        self.defended_by.extend(each().map(|one| one.defended_by));
        self.defenders.extend(each().map(|one| one.defenders));
        self.wedge.extend(each().map(|one| one.wedge));
    }
}

group! {
    /// What became of a piece: `spells`, and `turns` and `decisions` by [`PositionColumns`].
    FateColumns, FateHandles;

    /// What became of the piece in {rest} of the game.
    fate: Fate;
    /// Ply that captured it.
    fate_ply: Option<Large>, unit "ply", null "survived";
}

impl FateColumns {
    /// Adds a row for each piece, by its capture.
    pub fn push(&mut self, captures: impl ExactSizeIterator<Item = Option<Capture>> + Clone) {
        self.fate.extend(
            captures
                .clone()
                .map(|capture| capture.map_or(Fate::Survived, |capture| capture.fate)),
        );
        self.fate_ply
            .extend(captures.map(|capture| capture.map(|capture| capture.ply)));
    }
}

/// A column while it grows.
type Growing<T> = <T as Declared>::Growing;

/// Columns of plies: whose they were, the kinds of units that moved, whether they were quiet.
type Plies<'a> = (
    &'a mut Growing<Option<By>>,
    &'a mut Growing<Option<Role>>,
    &'a mut Growing<Option<bool>>,
);

/// Adds a row for each piece to the columns of the ply that restricted it: whose it was, the kind of
/// unit that moved, whether it was quiet; the piece's safe squares before it, and how many it took.
/// `spells` and `turns` have them, with texts and nulls of their own.
pub fn push_cause_plies(
    plies: impl ExactSizeIterator<Item = Option<CausePly>> + Clone,
    (by, kind, quiet): Plies<'_>,
    (safe_before, taken): (&mut Growing<Option<Small>>, &mut Growing<Option<Small>>),
) {
    let each = || plies.clone();
    by.extend(each().map(|ply| ply.map(|ply| ply.by)));
    kind.extend(each().map(|ply| ply.map(|ply| ply.mover)));
    quiet.extend(each().map(|ply| ply.map(|ply| ply.quiet)));
    let before = || each().map(|ply| ply.and_then(|ply| ply.before));
    safe_before.extend(before().map(|before| before.map(|before| before.safe)));
    taken.extend(before().map(|before| before.map(|before| before.taken)));
}

group! {
    /// A position as the side on move sees it, and what followed: `turns`, `decisions`.
    PositionColumns, PositionHandles;

    /// Scope of {side}: safe squares of all its units.
    scope_own: Large, unit "squares";
    /// Scope of the other side, the turn passed.
    scope_other: Large, unit "squares";
    /// {material}.
    balance: i16, unit "pawns";
    /// Phase of the game.
    phase: Phase;
    /// Time {owner} has left; before its first ply the base of the time control (definitions,
    /// section 10).
    clock: Option<f32>, unit "seconds", null "no clock comment, or a base that is not known";
    /// Seconds {owner} uses for the move that follows (definitions, section 8).
    seconds_used: Option<f32>, unit "seconds",
        null "no clock comments around it, or not one stage of known time";
    /// Evaluation of the position {view}, between −10 and 10.
    eval: Option<f32>, unit "pawns", null "no evaluation comment on the ply before";
    /// What became of the piece.
    capture: FateColumns, words [rest "the rest"];
    /// First later ply that captured another knight, bishop, rook or queen of its side which is
    /// lost by it.
    others_lost_ply: Option<Large>, unit "ply", null "none is lost";
    /// Changes of the balance.
    material: [Option<i16>; 5], unit "pawns", null "game ended sooner" {
        /// Change of {balance} in the next move.
        material_1;
        /// The same in 3 moves.
        material_3;
        /// The same in 5 moves.
        material_5;
        /// The same in 10 moves.
        material_10;
        /// The same in 20 moves.
        material_20;
    };
    /// Changes of the evaluation.
    eval_change: [Option<f32>; 4], unit "pawns", null "no evaluation at one of the two positions" {
        /// Change of the evaluation, {view}, in the next move.
        eval_1;
        /// The same in 3 moves.
        eval_3;
        /// The same in 5 moves.
        eval_5;
        /// The same in 10 moves.
        eval_10;
    };
    /// Plies played in the game after the position.
    plies_left: Large, unit "plies";
}

/// A piece at a turn, as far as [`PositionColumns`] hold it.
pub trait AtTurn {
    /// Number of plies played before the turn.
    fn position(&self) -> u16;
    /// The side on move.
    fn color(&self) -> Color;
    /// The game at the turn.
    fn setting(&self) -> &Setting;
    /// The piece's capture in the rest of the game, if any.
    fn capture(&self) -> Option<Capture>;
    /// First later ply at which another piece of its side is lost.
    fn others_lost(&self) -> Option<u16>;
}

/// Rows of the kernel that have these fields.
macro_rules! at_turn {
    ($($row:ty),+) => {
        $(
            impl AtTurn for $row {
                fn position(&self) -> u16 {
                    self.position
                }

                fn color(&self) -> Color {
                    self.color
                }

                fn setting(&self) -> &Setting {
                    &self.setting
                }

                fn capture(&self) -> Option<Capture> {
                    self.capture
                }

                fn others_lost(&self) -> Option<u16> {
                    self.others_lost
                }
            }
        )+
    };
}

at_turn!(
    hobble_tracks::turn::TurnRow,
    hobble_tracks::decision::DecisionRow
);

impl PositionColumns {
    /// Adds a row for each piece.
    pub fn push<R: AtTurn>(&mut self, game: &GameFacts<'_>, rows: &[R]) {
        let settings = || rows.iter().map(R::setting);
        self.scope_own.extend(settings().map(|at| at.scope));
        self.scope_other
            .extend(settings().map(|at| at.scope_opponent));
        self.balance.extend(settings().map(|at| at.balance));
        self.phase.extend(settings().map(|at| at.phase));
        self.capture.push(rows.iter().map(R::capture));
        self.others_lost_ply.extend(rows.iter().map(R::others_lost));
        for (place, column) in self.material.iter_mut().enumerate() {
            column.extend(settings().map(|at| at.material[place]));
        }
        game.push_comments(
            rows.iter().map(|row| (row.position(), row.color())),
            &mut self.clock,
            &mut self.eval,
            (&EVAL_AFTER, &mut self.eval_change),
        );
        game.push_seconds_used(rows.iter().map(R::position), &mut self.seconds_used);
        self.plies_left
            .extend(rows.iter().map(|row| game.plies - row.position()));
    }
}

group! {
    /// The game as the owner of a piece sees it: `turns`, and `spells` by the formulas below.
    OwnerColumns, OwnerHandles;

    /// Game result for the owner.
    owner_result: OwnerResult;
    /// Owner's rating band.
    band: Band;
    /// Owner's rating less the opponent's.
    rating_diff: RatingDiff;
    /// Time class of the game.
    time_class: TimeClass;
}

/// The owner's result, of rows with a `color`.
pub const RESULT: Formula = Case(
    &[
        (Test::Word(&OfGame("result"), "1/2-1/2"), Word("draw")),
        (Test::Word(&OfGame("result"), "*"), Word("unknown")),
        (
            WHITE,
            Case(
                &[(Test::Word(&OfGame("result"), "1-0"), Word("win"))],
                &Word("loss"),
            ),
        ),
    ],
    &Case(
        &[(Test::Word(&OfGame("result"), "0-1"), Word("win"))],
        &Word("loss"),
    ),
);

/// The owner's rating band.
pub const BAND: Formula = Case(&[(WHITE, OfGame("white_band"))], &OfGame("black_band"));

/// The owner's rating less the opponent's.
pub const RATING_DIFF: Formula = Case(
    &[
        (Test::Null(&DIFFERENCE), Word("unknown")),
        (Test::AtLeast(&DIFFERENCE, 200), Word(">=200")),
        (Test::AtLeast(&DIFFERENCE, 50), Word("50..199")),
        (Test::AtLeast(&DIFFERENCE, -49), Word("-49..49")),
        (Test::AtLeast(&DIFFERENCE, -199), Word("-199..-50")),
    ],
    &Word("<=-200"),
);

const DIFFERENCE: Formula = Case(
    &[(
        WHITE,
        Difference(&[OfGame("white_rating"), OfGame("black_rating")]),
    )],
    &Difference(&[OfGame("black_rating"), OfGame("white_rating")]),
);

const WHITE: Test = Test::Word(&Formula::Column("color"), "white");

impl OwnerColumns {
    /// Adds a row for each piece, by its owner.
    pub fn push(
        &mut self,
        game: &GameFacts<'_>,
        owners: impl ExactSizeIterator<Item = Color> + Clone,
    ) {
        let rows = owners.len();
        let sides = || owners.clone().map(|owner| owner.fold_wb(0, 1));
        let (results, bands) = (game.results(), game.band_codes());
        self.owner_result.extend(sides().map(|side| results[side]));
        self.band.extend(sides().map(|side| bands[side]));
        self.rating_diff
            .extend(sides().map(|side| game.diffs[side]));
        self.time_class.fill(game.time_class, rows);
    }
}
