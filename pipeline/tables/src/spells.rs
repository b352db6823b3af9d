//! The table `spells`.

use arrow_array::types::{Float32Type, Int16Type, UInt8Type, UInt16Type, UInt32Type};
use shakmaty::Color;

use hobble_game::reader::GameResult;
use hobble_game::tags::{Band, RatingDiff};
use hobble_game::time_control::TimeClass;
use hobble_tracks::exposure::Fate;
use hobble_tracks::material::Phase;
use hobble_tracks::spell::{By, CauseKind, End, Spell, kind_letters};

use crate::column::{
    Codes, Flags, KINDS, MaybeFlags, MaybeNumbers, Numbers, kind_code, square_names,
};
use crate::encode::Columns;

/// Ends of a spell, as the table names them.
pub const ENDS: [&str; 5] = ["lost", "traded", "sold", "freed", "game over"];

/// Code of a spell's end in [`ENDS`].
pub fn end_code(spell: &Spell) -> u8 {
    match spell.end {
        End::Captured => spell.capture.map_or(0, |capture| capture.fate as u8),
        End::Freed { .. } => 3,
        End::GameOver => 4,
    }
}

/// What a game adds to the rows of its spells.
pub struct SpellGame<'a> {
    /// Number in the source.
    pub number: u32,
    /// Fold.
    pub fold: u8,
    /// Plies of the game.
    pub plies: u16,
    /// Bands of White and Black.
    pub bands: [Band; 2],
    /// Rating difference seen from White and from Black.
    pub diffs: [RatingDiff; 2],
    /// Time class.
    pub time_class: TimeClass,
    /// Result.
    pub result: GameResult,
    /// Seconds left after each ply, where told.
    pub clocks: &'a [Option<f32>],
}

/// Growing rows of `spells`.
pub struct SpellColumns {
    band_width: u16,
    game: Numbers<UInt32Type>,
    fold: Numbers<UInt8Type>,
    piece: Numbers<UInt8Type>,
    kind: Codes,
    color: Codes,
    k_low: Numbers<UInt8Type>,
    k_high: Numbers<UInt8Type>,
    start_ply: Numbers<UInt16Type>,
    cause: Codes,
    cause_ply: MaybeNumbers<UInt16Type>,
    cause_by: Codes,
    cause_kind: Codes,
    safe_before: MaybeNumbers<UInt8Type>,
    square: Codes,
    safe: Numbers<UInt8Type>,
    good: Numbers<UInt8Type>,
    reach: Numbers<UInt8Type>,
    legal: Numbers<UInt8Type>,
    attacked_by: Codes,
    defended: Flags,
    developed: Flags,
    phase: Codes,
    balance: Numbers<Int16Type>,
    clock: MaybeNumbers<Float32Type>,
    turns: Numbers<UInt16Type>,
    end: Codes,
    end_ply: Numbers<UInt16Type>,
    end_by: Codes,
    moved_away: MaybeFlags,
    fate: Codes,
    fate_ply: MaybeNumbers<UInt16Type>,
    net: MaybeNumbers<Int16Type>,
    material: [MaybeNumbers<Int16Type>; 3],
    plies_left: Numbers<UInt16Type>,
    owner_result: Codes,
    band: Codes,
    rating_diff: Codes,
    time_class: Codes,
}

const CAUSES: [CauseKind; 5] = [
    CauseKind::Undeveloped,
    CauseKind::Taken,
    CauseKind::Blocked,
    CauseKind::Entered,
    CauseKind::Pinned,
];
const BY: [By; 2] = [By::Own, By::Opponent];

/// Highest rating a band is kept for.
const TOP: u16 = 4000;

fn band_names(width: u16) -> Vec<String> {
    let steps = TOP / width;
    (0..=steps)
        .map(|step| Band::From(step * width).name(width))
        .chain([Band::Unrated.name(width), Band::Missing.name(width)])
        .collect()
}

fn band_code(band: Band, width: u16) -> u8 {
    let steps = TOP / width;
    let code = match band {
        Band::From(low) => low / width,
        Band::Unrated => steps + 1,
        Band::Missing => steps + 2,
    };
    code as u8
}

/// Narrowest band there are codes for.
pub const NARROWEST_BAND: u16 = 20;

impl SpellColumns {
    /// No rows yet, for rating bands of a width of [`NARROWEST_BAND`] or more.
    pub fn new(band_width: u16) -> SpellColumns {
        SpellColumns {
            band_width,
            game: Numbers::default(),
            fold: Numbers::default(),
            piece: Numbers::default(),
            kind: Codes::of(KINDS),
            color: Codes::of(["white", "black"]),
            k_low: Numbers::default(),
            k_high: Numbers::default(),
            start_ply: Numbers::default(),
            cause: Codes::of(CAUSES.map(CauseKind::name)),
            cause_ply: MaybeNumbers::default(),
            cause_by: Codes::of(BY.map(By::name)),
            cause_kind: Codes::of(KINDS),
            safe_before: MaybeNumbers::default(),
            square: Codes::of(square_names()),
            safe: Numbers::default(),
            good: Numbers::default(),
            reach: Numbers::default(),
            legal: Numbers::default(),
            attacked_by: Codes::of((0..64).map(kind_letters)),
            defended: Flags::default(),
            developed: Flags::default(),
            phase: Codes::of(Phase::ALL.map(Phase::name)),
            balance: Numbers::default(),
            clock: MaybeNumbers::default(),
            turns: Numbers::default(),
            end: Codes::of(ENDS),
            end_ply: Numbers::default(),
            end_by: Codes::of(BY.map(By::name)),
            moved_away: MaybeFlags::default(),
            fate: Codes::of(Fate::ALL.map(Fate::name).into_iter().chain(["survived"])),
            fate_ply: MaybeNumbers::default(),
            net: MaybeNumbers::default(),
            material: std::array::from_fn(|_| MaybeNumbers::default()),
            plies_left: Numbers::default(),
            owner_result: Codes::of(["win", "loss", "draw", "unknown"]),
            band: Codes::of(band_names(band_width)),
            rating_diff: Codes::of(RatingDiff::ALL.map(RatingDiff::name)),
            time_class: Codes::of(TimeClass::ALL.map(TimeClass::name)),
        }
    }

    /// Adds a spell.
    pub fn push(&mut self, game: &SpellGame<'_>, spell: &Spell) {
        let side = spell.color.fold_wb(0, 1);
        self.game.push(game.number);
        self.fold.push(game.fold);
        self.piece.push(spell.slot);
        self.kind.push(kind_code(spell.kind));
        self.color.push(side as u8);
        self.k_low.push(spell.k_low);
        self.k_high.push(spell.k_high);
        self.start_ply.push(spell.start);
        self.cause.push(spell.cause.kind as u8);
        let cause = spell.cause.ply;
        self.cause_ply.push(cause.map(|cause| cause.ply));
        self.cause_by.push_maybe(cause.map(|cause| cause.by as u8));
        self.cause_kind
            .push_maybe(cause.map(|cause| kind_code(cause.mover)));
        self.safe_before
            .push(cause.and_then(|cause| cause.safe_before));
        let state = &spell.state;
        self.square.push(state.square as u8);
        self.safe.push(state.safe);
        self.good.push(state.good);
        self.reach.push(state.reach);
        self.legal.push(state.legal);
        self.attacked_by.push(state.attacked_by);
        self.defended.push(state.defended);
        self.developed.push(state.developed);
        self.phase.push(state.phase as u8);
        self.balance.push(state.balance);
        self.clock.push(clock_before(game.clocks, spell.start));
        self.turns.push(spell.turns);
        self.end.push(end_code(spell));
        self.end_ply.push(spell.end_ply);
        let (by, away) = match spell.end {
            End::Freed { by, moved_away } => (Some(by as u8), moved_away),
            End::Captured | End::GameOver => (None, None),
        };
        self.end_by.push_maybe(by);
        self.moved_away.push(away);
        self.fate
            .push(spell.capture.map_or(3, |capture| capture.fate as u8));
        self.fate_ply.push(spell.capture.map(|capture| capture.ply));
        self.net.push(spell.capture.map(|capture| capture.net));
        for (column, change) in self.material.iter_mut().zip(spell.material) {
            column.push(change);
        }
        self.plies_left.push(game.plies - spell.start);
        self.owner_result.push(match (game.result, spell.color) {
            (GameResult::White, Color::White) | (GameResult::Black, Color::Black) => 0,
            (GameResult::White | GameResult::Black, _) => 1,
            (GameResult::Draw, _) => 2,
            (GameResult::Unknown, _) => 3,
        });
        self.band.push(band_code(game.bands[side], self.band_width));
        self.rating_diff.push(game.diffs[side] as u8);
        self.time_class.push(game.time_class as u8);
    }

    /// The rows as arrays, in the order of the schema.
    pub fn finish(&mut self) -> Columns {
        let mut columns = Columns::new(self.game.len());
        columns.add("game", &mut self.game);
        columns.add("fold", &mut self.fold);
        columns.add("piece", &mut self.piece);
        columns.add("kind", &mut self.kind);
        columns.add("color", &mut self.color);
        columns.add("k_low", &mut self.k_low);
        columns.add("k_high", &mut self.k_high);
        columns.add("start_ply", &mut self.start_ply);
        columns.add("cause", &mut self.cause);
        columns.add("cause_ply", &mut self.cause_ply);
        columns.add("cause_by", &mut self.cause_by);
        columns.add("cause_kind", &mut self.cause_kind);
        columns.add("safe_before", &mut self.safe_before);
        columns.add("square", &mut self.square);
        columns.add("safe", &mut self.safe);
        columns.add("good", &mut self.good);
        columns.add("reach", &mut self.reach);
        columns.add("legal", &mut self.legal);
        columns.add("attacked_by", &mut self.attacked_by);
        columns.add("defended", &mut self.defended);
        columns.add("developed", &mut self.developed);
        columns.add("phase", &mut self.phase);
        columns.add("balance", &mut self.balance);
        columns.add("clock", &mut self.clock);
        columns.add("turns", &mut self.turns);
        columns.add("end", &mut self.end);
        columns.add("end_ply", &mut self.end_ply);
        columns.add("end_by", &mut self.end_by);
        columns.add("moved_away", &mut self.moved_away);
        columns.add("fate", &mut self.fate);
        columns.add("fate_ply", &mut self.fate_ply);
        columns.add("net", &mut self.net);
        for (name, column) in ["material_3", "material_5", "material_10"]
            .iter()
            .zip(&mut self.material)
        {
            columns.add(name, column);
        }
        columns.add("plies_left", &mut self.plies_left);
        columns.add("owner_result", &mut self.owner_result);
        columns.add("band", &mut self.band);
        columns.add("rating_diff", &mut self.rating_diff);
        columns.add("time_class", &mut self.time_class);
        columns
    }
}

/// Time the side on move at `position` has left, from the last comment on one of its plies.
fn clock_before(clocks: &[Option<f32>], position: u16) -> Option<f32> {
    // Its plies are number position − 1, position − 3, …; ply n is at n − 1.
    (1..usize::from(position))
        .rev()
        .step_by(2)
        .find_map(|ply| clocks.get(ply - 1).copied().flatten())
}
