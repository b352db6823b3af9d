//! The table `decisions`.

use hobble_terms::{Band, Fate, Kind, Phase, RatingDiff, TimeClass, landmark_k};
use hobble_tracks::decision::DecisionRow;
use shakmaty::{Color, Role, Square};

use crate::declare::table;
use crate::game_facts::{EVAL_AFTER, GameFacts};
use crate::words::{Attackers, OwnerResult};

table! {
    /// One row a chance to restrain: at each turn of the sample, each developed knight, bishop,
    /// rook or queen of the other side that the side on move could restrain. A row stands for as
    /// many turns as `sample` in the manifest says.
    Decisions, schema 1, row "source, game, ply, piece";
    columns DecisionColumns;
    handles DecisionHandles, DECISIONS;

    /// Number of the game in its source, from 1; skipped games are counted too. With `source`
    /// (the folder) it names the game in every table.
    game: u32;
    /// Game id modulo 64: the groups of the jackknife.
    fold: u8;
    /// Group of the player on move: hash of the name modulo 64 (definitions, section 9). All
    /// turns of a player are in one group.
    player_fold: Option<u8>, null "name missing, empty or ?";
    /// Position of the turn: the number of plies played before it. The move played is ply + 1.
    ply: u16, unit "ply";
    /// The side on move, which has the chance.
    color: Color;
    /// Slot of the piece that could be restrained, in its game (definitions, section 2). It is of
    /// the other side.
    piece: u8;
    /// Kind of that piece.
    kind: Kind;
    /// Where it stands.
    square: Square, unit "square";
    /// Its safe squares, the turn passed.
    safe: u8, unit "squares";
    /// Its safe squares at its owner's last turn.
    safe_last: Option<u8>, unit "squares", null "no such turn, or not yet on the board";
    /// Kinds of units of the side on move that attack it, as letters in the order PNBRQK, each
    /// once; empty for none.
    attacked_by: Attackers;
    /// Number of units of the side on move that attack it.
    attackers: u8, unit "units";
    /// Kinds of units of its own side that defend it, as letters in the order PNBRQK, each once;
    /// empty for none.
    defended_by: Attackers;
    /// Number of units of its own side that defend it.
    defenders: u8, unit "units";
    /// Whether it stands behind a wedge of pawns (definitions, section 6).
    wedge: Option<bool>, null "not a bishop";
    /// Other developed knights, bishops, rooks and queens of its side that have at most 2 safe
    /// squares, the turn passed.
    others_held: u8, unit "pieces";
    /// Number of restraining moves.
    restraining: u8, unit "moves";
    /// How many of them leave the piece so many safe squares.
    leaving: [Option<u8>; 3], unit "moves", null "would not restrain a piece of this kind" {
        /// Restraining moves that leave the piece no safe square.
        leaving_0;
        /// Those that leave it one.
        leaving_1;
        /// Those that leave it two.
        leaving_2;
    };
    /// Fewest safe squares that a restraining move leaves it.
    best: u8, unit "squares";
    /// Restraining moves of pawns.
    by_pawn: u8, unit "moves";
    /// Quiet moves that give nothing away and leave the piece as few squares as a restraining one
    /// may, but attack it.
    attacking: u8, unit "moves";
    /// Legal moves of the side on move.
    legal: u8, unit "moves";
    /// Those of them that are quiet and give nothing away.
    quiet: u8, unit "moves";
    /// Kind of unit that moved with the move played.
    played: Role;
    /// Whether the move played is quiet and gives nothing away.
    played_quiet: bool;
    /// Whether the move played is one of the restraining moves.
    restrains: bool;
    /// Whether the piece is attacked after the move played; false where it was captured by it.
    attacks: bool;
    /// Safe squares of the piece after the move played.
    left: Option<u8>, unit "squares", null "captured by it";
    /// Scope of the side on move: safe squares of all its units.
    scope_own: u16, unit "squares";
    /// Scope of the other side, the turn passed.
    scope_other: u16, unit "squares";
    /// Material of the side on move less the other side's.
    balance: i16, unit "pawns";
    /// Phase of the game.
    phase: Phase;
    /// Time the side on move has left.
    clock: Option<f32>, unit "seconds", null "no clock comment";
    /// Evaluation of the position for the side on move, between −10 and 10.
    eval: Option<f32>, unit "pawns", null "no evaluation comment on the ply before";
    /// What became of the piece in the rest of the game.
    fate: Fate;
    /// Ply that captured it.
    fate_ply: Option<u16>, unit "ply", null "survived";
    /// First later ply that captured another knight, bishop, rook or queen of its side which is
    /// lost by it.
    others_lost_ply: Option<u16>, unit "ply", null "none is lost";
    /// Changes of the balance of the side on move.
    material: [Option<i16>; 5], unit "pawns", null "game ended sooner" {
        /// Change of the balance of the side on move in the next move.
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
        /// Change of the evaluation, for the side on move, in the next move.
        eval_1;
        /// The same in 3 moves.
        eval_3;
        /// The same in 5 moves.
        eval_5;
        /// The same in 10 moves.
        eval_10;
    };
    /// Plies played in the game after the position.
    plies_left: u16, unit "plies";
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
        self.game.fill(game.number, rows.len());
        self.fold.fill(game.fold, rows.len());
        self.player_fold
            .extend(each().map(|row| game.player_folds[row.color.fold_wb(0, 1)]));
        self.ply.extend(each().map(|row| row.position));
        self.color.extend(each().map(|row| row.color));
        self.push_piece(rows);
        self.push_moves(rows);
        let settings = || rows.iter().map(|row| row.setting);
        self.scope_own
            .extend(settings().map(|setting| setting.scope));
        self.scope_other
            .extend(settings().map(|setting| setting.scope_opponent));
        self.balance
            .extend(settings().map(|setting| setting.balance));
        self.phase.extend(settings().map(|setting| setting.phase));
        self.push_outcomes(game, rows);
        game.push_comments(
            each().map(|row| (row.position, row.color)),
            &mut self.clock,
            &mut self.eval,
            (&EVAL_AFTER, &mut self.eval_change),
        );
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
        let around = || rows.iter().map(|row| row.around);
        self.attacked_by
            .extend(around().map(|around| around.attacked_by));
        self.attackers
            .extend(around().map(|around| around.attackers));
        self.defended_by
            .extend(around().map(|around| around.defended_by));
        self.defenders
            .extend(around().map(|around| around.defenders));
        self.wedge.extend(around().map(|around| around.wedge));
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
        self.left.extend(played().map(|played| played.left));
    }

    fn push_outcomes(&mut self, game: &GameFacts<'_>, rows: &[DecisionRow]) {
        let captures = || rows.iter().map(|row| row.capture);
        self.fate.extend(
            captures().map(|capture| capture.map_or(Fate::Survived, |capture| capture.fate)),
        );
        self.fate_ply
            .extend(captures().map(|capture| capture.map(|capture| capture.ply)));
        self.others_lost_ply
            .extend(rows.iter().map(|row| row.others_lost));
        for (place, column) in self.material.iter_mut().enumerate() {
            column.extend(rows.iter().map(|row| row.setting.material[place]));
        }
        self.plies_left
            .extend(rows.iter().map(|row| game.plies - row.position));
    }
}
