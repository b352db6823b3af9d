//! The table `spells`.

use shakmaty::Color;

use hobble_terms::{
    Band, By, CauseKind, Fate, GameResult, Phase, RatingDiff, SpellEnd, TimeClass, UNIT_NAMES,
    unit_code,
};
use hobble_tracks::spell::{End, Spell, kind_letters};

use crate::column::{Codes, Flags, Fractions, MaybeFlags, MaybeNumbers, Numbers, square_names};
use crate::encode::Columns;

/// How a spell ended, as the table names it.
pub fn spell_end(spell: &Spell) -> SpellEnd {
    match spell.end {
        End::Captured => match spell.capture.map(|capture| capture.fate) {
            Some(Fate::Traded) => SpellEnd::Traded,
            Some(Fate::Sold) => SpellEnd::Sold,
            Some(Fate::Lost | Fate::Survived) | None => SpellEnd::Lost,
        },
        End::Freed { .. } => SpellEnd::Freed,
        End::GameOver => SpellEnd::GameOver,
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
    game: Numbers<u32>,
    fold: Numbers<u8>,
    piece: Numbers<u8>,
    kind: Codes,
    color: Codes,
    k_low: Numbers<u8>,
    k_high: Numbers<u8>,
    start_ply: Numbers<u16>,
    cause: Codes,
    cause_ply: MaybeNumbers<u16>,
    cause_by: Codes,
    cause_kind: Codes,
    safe_before: MaybeNumbers<u8>,
    square: Codes,
    safe: Numbers<u8>,
    good: Numbers<u8>,
    reach: Numbers<u8>,
    legal: Numbers<u8>,
    attacked_by: Codes,
    defended: Flags,
    developed: Flags,
    phase: Codes,
    balance: Numbers<i16>,
    clock: Fractions,
    turns: Numbers<u16>,
    end: Codes,
    end_ply: Numbers<u16>,
    end_by: Codes,
    moved_away: MaybeFlags,
    fate: Codes,
    fate_ply: MaybeNumbers<u16>,
    net: MaybeNumbers<i16>,
    material: [MaybeNumbers<i16>; 3],
    plies_left: Numbers<u16>,
    owner_result: Codes,
    band: Codes,
    rating_diff: Codes,
    time_class: Codes,
}

impl SpellColumns {
    /// No rows yet, for rating bands of a width of [`Band::NARROWEST`] or more.
    pub fn new(band_width: u16) -> SpellColumns {
        SpellColumns {
            band_width,
            game: Numbers::default(),
            fold: Numbers::default(),
            piece: Numbers::default(),
            kind: Codes::of(UNIT_NAMES),
            color: Codes::of(["white", "black"]),
            k_low: Numbers::default(),
            k_high: Numbers::default(),
            start_ply: Numbers::default(),
            cause: Codes::of(CauseKind::ALL.map(CauseKind::name)),
            cause_ply: MaybeNumbers::default(),
            cause_by: Codes::of(By::ALL.map(By::name)),
            cause_kind: Codes::of(UNIT_NAMES),
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
            clock: Fractions::default(),
            turns: Numbers::default(),
            end: Codes::of(SpellEnd::ALL.map(SpellEnd::name)),
            end_ply: Numbers::default(),
            end_by: Codes::of(By::ALL.map(By::name)),
            moved_away: MaybeFlags::default(),
            fate: Codes::of(Fate::ALL.map(Fate::name)),
            fate_ply: MaybeNumbers::default(),
            net: MaybeNumbers::default(),
            material: std::array::from_fn(|_| MaybeNumbers::default()),
            plies_left: Numbers::default(),
            owner_result: Codes::of(["win", "loss", "draw", "unknown"]),
            band: Codes::of(Band::names(band_width)),
            rating_diff: Codes::of(RatingDiff::ALL.map(RatingDiff::name)),
            time_class: Codes::of(TimeClass::ALL.map(TimeClass::name)),
        }
    }

    /// Adds the spells of a game: a column at a time, which needs no look at each one's room.
    pub fn push(&mut self, game: &SpellGame<'_>, spells: &[Spell]) {
        let each = || spells.iter();
        let side = |spell: &Spell| spell.color.fold_wb(0, 1);
        self.game.fill(game.number, spells.len());
        self.fold.fill(game.fold, spells.len());
        self.piece.extend(each().map(|spell| spell.slot));
        self.kind.extend(each().map(|spell| unit_code(spell.kind)));
        self.color.extend(each().map(|spell| side(spell) as u8));
        self.k_low.extend(each().map(|spell| spell.k_low));
        self.k_high.extend(each().map(|spell| spell.k_high));
        self.start_ply.extend(each().map(|spell| spell.start));
        self.cause
            .extend(each().map(|spell| spell.cause.kind as u8));
        let causes = || each().map(|spell| spell.cause.ply);
        self.cause_ply
            .extend(causes().map(|cause| cause.map(|cause| cause.ply)));
        self.cause_by
            .extend_maybe(causes().map(|cause| cause.map(|cause| cause.by as u8)));
        self.cause_kind
            .extend_maybe(causes().map(|cause| cause.map(|cause| unit_code(cause.mover))));
        self.safe_before
            .extend(causes().map(|cause| cause.and_then(|cause| cause.safe_before)));
        let states = || each().map(|spell| &spell.state);
        self.square.extend(states().map(|state| state.square as u8));
        self.safe.extend(states().map(|state| state.safe));
        self.good.extend(states().map(|state| state.good));
        self.reach.extend(states().map(|state| state.reach));
        self.legal.extend(states().map(|state| state.legal));
        self.attacked_by
            .extend(states().map(|state| state.attacked_by));
        self.defended.extend(states().map(|state| state.defended));
        self.developed.extend(states().map(|state| state.developed));
        self.phase.extend(states().map(|state| state.phase as u8));
        self.balance.extend(states().map(|state| state.balance));
        if game.clocks.iter().all(Option::is_none) {
            self.clock.extend(each().map(|_| None));
        } else {
            self.clock
                .extend(each().map(|spell| clock_before(game.clocks, spell.start)));
        }
        self.turns.extend(each().map(|spell| spell.turns));
        self.end.extend(each().map(|spell| spell_end(spell) as u8));
        self.end_ply.extend(each().map(|spell| spell.end_ply));
        self.end_by
            .extend_maybe(each().map(|spell| match spell.end {
                End::Freed { by, .. } => Some(by as u8),
                End::Captured | End::GameOver => None,
            }));
        self.moved_away.extend(each().map(|spell| match spell.end {
            End::Freed { moved_away, .. } => moved_away,
            End::Captured | End::GameOver => None,
        }));
        let captures = || each().map(|spell| spell.capture);
        self.fate.extend(
            captures().map(|capture| capture.map_or(Fate::Survived, |capture| capture.fate) as u8),
        );
        self.fate_ply
            .extend(captures().map(|capture| capture.map(|capture| capture.ply)));
        self.net
            .extend(captures().map(|capture| capture.map(|capture| capture.net)));
        for (place, column) in self.material.iter_mut().enumerate() {
            column.extend(each().map(|spell| spell.material[place]));
        }
        self.plies_left
            .extend(each().map(|spell| game.plies - spell.start));
        let results = [Color::White, Color::Black].map(|owner| match (game.result, owner) {
            (GameResult::White, Color::White) | (GameResult::Black, Color::Black) => 0,
            (GameResult::White | GameResult::Black, _) => 1,
            (GameResult::Draw, _) => 2,
            (GameResult::Unknown, _) => 3,
        });
        let bands = game.bands.map(|band| band.code(self.band_width));
        let diffs = game.diffs.map(|diff| diff as u8);
        for (column, codes) in [
            (&mut self.owner_result, results),
            (&mut self.band, bands),
            (&mut self.rating_diff, diffs),
        ] {
            column.extend(each().map(|spell| codes[side(spell)]));
        }
        self.time_class.fill(game.time_class as u8, spells.len());
    }

    /// The columns, in the order of the schema.
    pub fn columns(&mut self) -> Columns<'_> {
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
