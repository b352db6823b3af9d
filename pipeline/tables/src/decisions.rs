//! The table `decisions`.

use hobble_terms::{Band, Kind, RatingDiff, TimeClass, landmark_k};
use hobble_tracks::decision::DecisionRow;
use shakmaty::{Color, Role, Square};

use crate::declare::{Large, OfSide, Small, table};
use crate::game_facts::GameFacts;
use crate::shared_columns::{OriginColumns, PositionColumns, SurroundingColumns};
use crate::words::OwnerResult;

table! {
    /// One row a chance to restrain: at each turn of the sample, each developed knight, bishop,
    /// rook or queen of the other side that the side on move could restrain. A row stands for as
    /// many turns as `sample` in the manifest says.
    Decisions, schema 4, row "source, game, ply, piece";
    columns DecisionColumns;
    handles DecisionHandles, DECISIONS;

    /// Its game.
    origin: OriginColumns, words [];
    /// Group of the player on move: hash of the player key modulo 64 (definitions, section 9). All
    /// turns of a player are in one group, however the name is spelled.
    player_fold: Option<Small>, null "no player key";
    /// Position of the turn: the number of plies played before it. The move played is ply + 1.
    ply: Large, unit "ply";
    /// The side on move, which has the chance.
    color: Color;
    /// Slot of the piece that could be restrained, in its game (definitions, section 2). It is of
    /// the other side.
    piece: Small;
    /// Kind of that piece.
    kind: Kind;
    /// Where it stands.
    square: Square, unit "square";
    /// Its safe squares, the turn passed.
    safe: Small, unit "squares";
    /// Its safe squares at its owner's last turn.
    safe_last: Option<Small>, unit "squares", null "no such turn, or not yet on the board";
    /// What stands around it.
    around: SurroundingColumns, words [
        attackers "units of the side on move",
        defenders "units of its own side"
    ];
    /// Other developed knights, bishops, rooks and queens of its side that have at most 2 safe
    /// squares, the turn passed.
    others_held: Small, unit "pieces";
    /// Number of restraining moves.
    restraining: OfSide, unit "moves";
    /// How many of them leave the piece so many safe squares.
    leaving: [Option<OfSide>; 3], unit "moves", null "would not restrain a piece of this kind" {
        /// Restraining moves that leave the piece no safe square.
        leaving_0;
        /// Those that leave it one.
        leaving_1;
        /// Those that leave it two.
        leaving_2;
    };
    /// Fewest safe squares that a restraining move leaves it.
    best: Small, unit "squares";
    /// Restraining moves of pawns.
    by_pawn: OfSide, unit "moves";
    /// Quiet moves that give nothing away and leave the piece as few squares as a restraining one
    /// may, but attack it.
    attacking: OfSide, unit "moves";
    /// Legal moves of the side on move.
    legal: OfSide, unit "moves";
    /// Those of them that are quiet and give nothing away.
    quiet: OfSide, unit "moves";
    /// Kind of unit that moved with the move played.
    played: Role;
    /// Whether the move played is quiet and gives nothing away.
    played_quiet: bool;
    /// Whether the move played is one of the restraining moves.
    restrains: bool;
    /// Whether the piece is attacked after the move played; false where it was captured by it.
    attacks: bool;
    /// Safe squares of the piece after the move played.
    squares_left: Option<Small>, unit "squares", null "captured by it";
    /// The position, and what followed.
    position: PositionColumns, words [
        side "the side on move",
        material "Material of the side on move less the other side's",
        owner "the side on move",
        view "for the side on move",
        balance "the balance of the side on move"
    ];
    /// Game result for the side on move.
    mover_result: OwnerResult;
    /// Rating band of the side on move.
    band: Band;
    /// Rating band of the other side, the owner of the piece.
    owner_band: Band;
    /// Rating of the side on move less the other side's.
    rating_diff: RatingDiff;
    /// Time class of the game.
    time_class: TimeClass;
}

impl DecisionColumns {
    /// Adds the rows of a game, a column at a time.
    pub fn push(&mut self, game: &GameFacts<'_>, rows: &[DecisionRow]) {
        let each = || rows.iter();
        self.origin.push(game, rows.len());
        self.player_fold
            .extend(each().map(|row| game.player_folds[row.color.fold_wb(0, 1)]));
        self.ply.extend(each().map(|row| row.position));
        self.color.extend(each().map(|row| row.color));
        self.push_piece(rows);
        self.push_moves(rows);
        self.position.push(game, rows);
        let side = |row: &DecisionRow| row.color.fold_wb(0, 1);
        let (results, bands) = (game.results(), game.band_codes());
        self.mover_result
            .extend(each().map(|row| results[side(row)]));
        self.band.extend(each().map(|row| bands[side(row)]));
        self.owner_band
            .extend(each().map(|row| bands[1 - side(row)]));
        self.rating_diff
            .extend(each().map(|row| game.diffs[side(row)]));
        self.time_class.fill(game.time_class, rows.len());
    }

    fn push_piece(&mut self, rows: &[DecisionRow]) {
        let each = || rows.iter();
        self.piece.extend(each().map(|row| row.slot));
        self.kind.extend(each().map(|row| row.chance.kind));
        self.square.extend(each().map(|row| row.chance.square));
        self.safe.extend(each().map(|row| row.chance.safe));
        self.safe_last
            .extend(each().map(|row| row.last.map(|last| last.safe)));
        self.around.push(each().map(|row| &row.around));
        self.others_held.extend(each().map(|row| row.others_held));
    }

    fn push_moves(&mut self, rows: &[DecisionRow]) {
        let chances = || rows.iter().map(|row| row.chance);
        self.restraining
            .extend(chances().map(|chance| chance.moves()));
        for (left, column) in self.leaving.iter_mut().enumerate() {
            let may = |kind| left <= usize::from(landmark_k(kind));
            let moves = chances().map(|chance| may(chance.kind).then_some(chance.leaving[left]));
            column.extend(moves);
        }
        // A row has a restraining move.
        self.best
            .extend(chances().map(|chance| chance.best().unwrap_or_default()));
        self.by_pawn.extend(chances().map(|chance| chance.by_pawn));
        self.attacking
            .extend(chances().map(|chance| chance.attacking));
        let each = || rows.iter();
        self.legal.extend(each().map(|row| row.legal));
        self.quiet.extend(each().map(|row| row.quiet));
        let played = || rows.iter().map(|row| row.played);
        self.played.extend(played().map(|played| played.mover));
        self.played_quiet
            .extend(played().map(|played| played.quiet));
        self.restrains
            .extend(played().map(|played| played.restrains));
        self.attacks.extend(played().map(|played| played.attacks));
        self.squares_left.extend(played().map(|played| played.left));
    }
}
