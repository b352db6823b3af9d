//! The table `exposure`: the rows of a cube of observations.

use hobble_terms::{Band, Kind, Phase, RatingDiff, TimeClass};
use hobble_tracks::exposure::{BoardKey, Outcome, within};

use crate::declare::{Small, table};
use crate::game_facts::GameFacts;

table! {
    /// A cube of counts: one row a combination of keys. It stands in one file for all sources when
    /// their scan has ended, and until then in files of parts, whose rows of the same keys add up. The
    /// cubes of two archives add.
    Exposure, schema 2, row "sum by keys";
    columns CubeColumns;
    handles CubeHandles, EXPOSURE;

    /// Kind of piece.
    kind: Kind;
    /// Safe squares of the piece; 9 stands for 9 and more.
    safe: Small, unit "squares";
    /// Whether it had moved (definitions, section 2).
    developed: bool;
    /// Whether an enemy unit attacks it.
    attacked: bool;
    /// Whether an own unit defends it.
    defended: bool;
    /// Phase of the game.
    phase: Phase;
    /// Owner's rating band.
    band: Band;
    /// Time class of the game.
    time_class: TimeClass;
    /// Owner's rating less the opponent's.
    rating_diff: RatingDiff;
    /// Game id modulo 64: the groups of the jackknife.
    fold: Small;
    /// Observations: turns of the owner × pieces.
    turns: i64, unit "turns";
    /// Observations by outcome, for each of [`hobble_terms::HORIZONS`].
    within: [i64; 20], unit "turns" {
        /// Observations captured at a loss within 3 moves.
        lost_3;
        /// Observations captured in an even exchange within 3 moves.
        traded_3;
        /// Observations captured for more than its value within 3 moves.
        sold_3;
        /// Observations alive when the game ended within 3 moves.
        over_3;
        /// Observations captured at a loss within 5 moves.
        lost_5;
        /// Observations captured in an even exchange within 5 moves.
        traded_5;
        /// Observations captured for more than its value within 5 moves.
        sold_5;
        /// Observations alive when the game ended within 5 moves.
        over_5;
        /// Observations captured at a loss within 10 moves.
        lost_10;
        /// Observations captured in an even exchange within 10 moves.
        traded_10;
        /// Observations captured for more than its value within 10 moves.
        sold_10;
        /// Observations alive when the game ended within 10 moves.
        over_10;
        /// Observations captured at a loss within 15 moves.
        lost_15;
        /// Observations captured in an even exchange within 15 moves.
        traded_15;
        /// Observations captured for more than its value within 15 moves.
        sold_15;
        /// Observations alive when the game ended within 15 moves.
        over_15;
        /// Observations captured at a loss within 20 moves.
        lost_20;
        /// Observations captured in an even exchange within 20 moves.
        traded_20;
        /// Observations captured for more than its value within 20 moves.
        sold_20;
        /// Observations alive when the game ended within 20 moves.
        over_20;
    };
}

/// The keys of an observation that do not change within a game.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Context {
    /// Owner's band.
    pub band: Band,
    /// Time class.
    pub time_class: TimeClass,
    /// Rating difference.
    pub rating_diff: RatingDiff,
    /// Fold.
    pub fold: u8,
}

impl Context {
    /// Of White and Black in a game.
    pub fn of(game: &GameFacts<'_>) -> [Context; 2] {
        [0, 1].map(|side| Context {
            band: game.bands[side],
            time_class: game.time_class,
            rating_diff: game.diffs[side],
            fold: game.fold,
        })
    }
}

impl CubeColumns {
    /// Adds a cell by its counts: turns, and those of `within` in the order of the columns.
    pub(crate) fn push_counts(
        &mut self,
        context: &Context,
        key: BoardKey,
        turns: i64,
        within: &[i64],
    ) {
        self.push_keys(context, key);
        self.turns.push(turns);
        for (column, &count) in self.within.iter_mut().zip(within) {
            column.push(count);
        }
    }

    fn push_keys(&mut self, context: &Context, key: BoardKey) {
        self.kind.push(key.kind());
        self.safe.push(key.safe());
        self.developed.push(key.developed());
        self.attacked.push(key.attacked());
        self.defended.push(key.defended());
        self.phase.push(key.phase());
        self.band.push(context.band.code(Band::WIDTH));
        self.time_class.push(context.time_class);
        self.rating_diff.push(context.rating_diff);
        self.fold.push(context.fold);
    }

    /// Adds a cell of the cube: the counts of outcomes of its observations.
    pub fn push(&mut self, context: &Context, key: BoardKey, cell: &[u32; Outcome::COUNT]) {
        self.push_keys(context, key);
        self.turns.push(cell.iter().map(|&n| i64::from(n)).sum());
        for (column, &count) in self.within.iter_mut().zip(within(cell).as_flattened()) {
            column.push(count as i64);
        }
    }
}
