//! Restraints that an answer may show, as the table of spells records them (definitions,
//! section 6): an opponent's quiet move took squares from a piece that it did not attack.

use hobble_conditions::AskError;
use hobble_conditions::filter::{self, Condition};
use hobble_conditions::terms::half_points;
use hobble_dataset::PartId;
use hobble_dataset::columns::{Rows, boolean, short};
use hobble_dataset::part::{Group, Part};
use hobble_report::Stretch;
use hobble_terms::{CauseKind, Fate, Kind, Phase, SpellEnd, value};
use serde::{Deserialize, Serialize};
use shakmaty::{Color, Square};

use crate::played::Played;
use crate::shown_games::Key;
use crate::stretch::{self, Followed};

/// Pawns that one side may be ahead for the material to count as level.
pub const LEVEL: i16 = 2;

/// A row of the table of spells that may be shown. Plies are counted from 1, safe squares are
/// those at the start of the spell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Restraint {
    /// The part its game stands in.
    pub part: PartId,
    /// Row in the table.
    pub row: usize,
    /// Number of the game in its source.
    pub game: u64,
    /// Kind of the piece.
    pub kind: Kind,
    /// Whether its owner is White.
    pub white: bool,
    /// Where it stood, as `e4`.
    pub square: String,
    /// Position at which the spell starts, and the ply that took the squares.
    pub start: u32,
    /// Turns it lasted.
    pub turns: u32,
    /// What restricted it.
    pub cause: CauseKind,
    /// Safe squares before that ply.
    pub safe_before: u8,
    /// Safe squares after it.
    pub safe: u8,
    /// Safe squares that it took.
    pub taken: u8,
    /// How the spell ended.
    pub end: SpellEnd,
    /// Whether the owner's own move freed the piece.
    pub freed_by_owner: bool,
    /// Whether the piece freed itself by moving.
    pub moved_away: bool,
    /// Ply that ended the spell.
    pub end_ply: u32,
    /// What became of the piece.
    pub fate: Fate,
    /// Ply that captured it; 0 where none did.
    pub fate_ply: u32,
    /// The owner's net in that run of captures; 0 where there is none.
    pub net: i16,
    /// The owner's balance at the start.
    pub balance: i16,
    /// Change of it in ten moves; `None` where the game ended sooner.
    pub after_ten: Option<i16>,
    /// Phase of the game at the start.
    pub phase: Phase,
    /// The owner's points in the game in halves; `None` where the result is not known.
    pub half_points: Option<u8>,
    /// Whether an own unit defended the piece at the start.
    pub defended: bool,
}

/// Columns of [`Restraint`].
pub const COLUMNS: [&str; 22] = [
    "game",
    "kind",
    "color",
    "square",
    "start_ply",
    "turns",
    "cause",
    "safe_before",
    "safe",
    "squares_taken",
    "ended",
    "end_by",
    "moved_away",
    "end_ply",
    "fate",
    "fate_ply",
    "net",
    "balance",
    "material_10",
    "phase",
    "owner_result",
    "defended",
];

/// The least number of squares that the move took.
const LEAST_TAKEN: u64 = 1;

/// The restraints of a row group that meet these conditions as well and took a square, in the
/// order of the table. `first` is looked at in every row together with `restrained`, which
/// passes one in fifty; the others in the rows that pass.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn read(
    part: &Part,
    group: Group,
    first: &Condition<'_>,
    asked: &[Condition<'_>],
) -> Result<Vec<Restraint>, AskError> {
    let first = [Condition::Is("restrained", true), first.clone()];
    let mut asked = asked.to_vec();
    asked.push(Condition::AtLeast("squares_taken", LEAST_TAKEN));
    let places = filter::places(part, group, &first, &asked)?;
    if places.is_empty() {
        return Ok(Vec::new());
    }
    restraints(part, &part.pick(&COLUMNS, group, &places)?, |_| true)
}

/// The spells of a row group that meet these conditions, whatever began them, in the order of the
/// table. `first` is looked at in every row, the others in the rows that pass.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn spells(
    part: &Part,
    group: Group,
    first: &Condition<'_>,
    asked: &[Condition<'_>],
) -> Result<Vec<Restraint>, AskError> {
    let places = filter::places(part, group, std::slice::from_ref(first), asked)?;
    if places.is_empty() {
        return Ok(Vec::new());
    }
    restraints(part, &part.pick(&COLUMNS, group, &places)?, |_| true)
}

/// The restraints among some rows with [`COLUMNS`] and `restrained` that took a square.
///
/// # Errors
///
/// Where a column is missing or not of its schema.
pub fn among(part: &Part, rows: &Rows) -> Result<Vec<Restraint>, AskError> {
    let restrained = rows.booleans("restrained")?;
    let taken = rows.optional_numbers("squares_taken")?;
    restraints(part, rows, |row| {
        restrained.value(row) && taken.get(row).is_some_and(|taken| taken >= LEAST_TAKEN)
    })
}

fn restraints(
    part: &Part,
    rows: &Rows,
    wanted: impl Fn(usize) -> bool,
) -> Result<Vec<Restraint>, AskError> {
    let bad = |row: usize, what: &str| -> AskError {
        let place = rows.place(row);
        rows.bad(format!("row {place} has an invalid {what}"))
            .into()
    };
    let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
    let end = rows
        .texts("ended")?
        .read_as(|word| SpellEnd::from_name(word?));
    let cause = rows
        .texts("cause")?
        .read_as(|word| CauseKind::from_name(word?));
    let fate = rows.texts("fate")?.read_as(|word| Fate::from_name(word?));
    let white = rows.texts("color")?.any_of(["white"]);
    let own = rows.texts("end_by")?.any_of(["own"]);
    let square = rows.texts("square")?;
    let half_points = rows.texts("owner_result")?.read_as(half_points);
    let defended = rows.booleans("defended")?;
    let moved_away = rows.optional_booleans("moved_away")?;
    let (game, fate_ply) = (rows.numbers("game")?, rows.optional_numbers("fate_ply")?);
    let (start, turns) = (rows.pairs("start_ply")?, rows.pairs("turns")?);
    let end_ply = rows.pairs("end_ply")?;
    let (before, safe) = (rows.optional_numbers("safe_before")?, rows.bytes("safe")?);
    let taken = rows.optional_numbers("squares_taken")?;
    let (net, balance) = (rows.signed("net")?, rows.signed("balance")?);
    let after_ten = rows.signed("material_10")?;
    let mut found = Vec::new();
    for i in (0..rows.len()).filter(|row| wanted(*row)) {
        found.push(Restraint {
            part: part.id().clone(),
            row: rows.place(i),
            game: game.at(i),
            kind: kind.at(i).ok_or_else(|| bad(i, "kind"))?,
            white: white.at(i),
            square: square.get(i).unwrap_or_default().to_owned(),
            start: start[i].into(),
            turns: turns[i].into(),
            cause: cause.at(i).ok_or_else(|| bad(i, "cause"))?,
            safe_before: before.get(i).map_or(0, |number| number as u8),
            safe: safe[i],
            taken: taken.get(i).map_or(0, |number| number as u8),
            end: end.at(i).ok_or_else(|| bad(i, "ended"))?,
            freed_by_owner: own.at(i),
            moved_away: boolean(moved_away, i) == Some(true),
            end_ply: end_ply[i].into(),
            fate: fate.at(i).ok_or_else(|| bad(i, "fate"))?,
            fate_ply: fate_ply.get(i).map_or(0, |ply| ply as u32),
            net: short(net, i).map_or(0, |net| net as i16),
            balance: short(balance, i).map_or(0, |balance| balance as i16),
            after_ten: short(after_ten, i).map(|change| change as i16),
            phase: phase.at(i).ok_or_else(|| bad(i, "phase"))?,
            half_points: half_points.at(i),
            defended: defended.value(i),
        });
    }
    Ok(found)
}

impl Restraint {
    /// The piece, which stands on `square` when the spell starts, followed through its game to the end
    /// of the spell.
    pub fn stretch(&self, played: &Played, square: Square) -> Option<Stretch> {
        let piece = Followed {
            role: self.kind.role(),
            color: Color::from_white(self.white),
            square,
            start: self.start,
            shown: self.start,
            end: self.end_ply,
        };
        stretch::stretch(played, piece)
    }

    /// Plies from the start of the spell to the capture; 0 where there was none.
    pub fn wait(&self) -> u32 {
        self.fate_ply.saturating_sub(self.start)
    }

    /// Whether the balance is near enough to level.
    pub fn is_level(&self) -> bool {
        self.balance.abs() <= LEVEL
    }

    /// Whether its owner freed the piece, did not lose it later, and did not lose the game.
    pub fn is_escape(&self) -> bool {
        self.end == SpellEnd::Freed
            && self.freed_by_owner
            && self.fate != Fate::Lost
            && matches!(self.half_points, Some(1 | 2))
    }

    /// Whether the piece was captured before it had more squares again.
    pub fn captured_in_place(&self) -> bool {
        matches!(self.end, SpellEnd::Lost | SpellEnd::Traded | SpellEnd::Sold)
    }

    /// Whether it may show a piece lost by its restraint, as far as the table shows: lost while
    /// restrained, for nothing but a pawn or a lesser piece, with level material, and its owner
    /// did not win.
    pub fn may_show_loss(&self) -> bool {
        let worth = value(self.kind.role()) as i16;
        self.end == SpellEnd::Lost
            && self.is_level()
            && (-worth..=-2).contains(&self.net)
            && self.half_points != Some(2)
    }

    /// Whether it may show a piece that got away, as far as the table shows: several squares
    /// taken for several turns with level material, freed by its owner, who kept the material
    /// and did not lose.
    pub fn may_show_escape(&self) -> bool {
        self.is_escape()
            && (self.fate == Fate::Survived || self.fate_ply >= self.end_ply + 10)
            && self.balance.abs() <= 1
            && (3..=10).contains(&self.turns)
            && self.taken >= 2
            && self.after_ten.is_some_and(|change| change >= 0)
            && self.phase != Phase::Opening
    }

    /// Whether its first position may be set as a task, as far as the table shows: several
    /// squares taken for several turns with level material, and the side that took them did
    /// not come off worse.
    pub fn may_be_task(&self) -> bool {
        let least = if self.kind == Kind::Knight { 2 } else { 3 };
        self.taken >= least
            && self.balance.abs() <= 1
            && (4..=12).contains(&self.turns)
            && matches!(self.half_points, Some(0 | 1))
            && self.after_ten.is_none_or(|change| change <= 0)
            && (self.fate == Fate::Survived
                || self.fate == Fate::Lost
                || self.fate_ply > self.start + 12)
    }

    /// Order of losses: those that may be shown, then the most points, then the first in the
    /// archive.
    pub fn order_of_loss(&self) -> impl Ord + use<> {
        (!self.may_show_loss(), -self.points_of_loss(), self.place())
    }

    /// The same of escapes.
    pub fn order_of_escape(&self) -> impl Ord + use<> {
        (
            !self.may_show_escape(),
            -self.points_of_escape(),
            self.place(),
        )
    }

    /// The same of tasks.
    pub fn order_of_task(&self) -> impl Ord + use<> {
        (!self.may_be_task(), -self.points_of_task(), self.place())
    }

    /// Source and number of its game.
    pub fn key(&self) -> Key {
        (self.part.source.clone(), self.game)
    }

    /// Its place in the archive. In the table the games of a row group are cut in three.
    pub fn place(&self) -> (PartId, u64, usize) {
        (self.part.clone(), self.game, self.row)
    }

    /// Points for a clear loss that the table gives: turns, squares taken, for how little the
    /// piece was lost, and whether its owner lost the game.
    fn points_of_loss(&self) -> i32 {
        let worth = value(self.kind.role()) as i16;
        let turns = self.turns as i32;
        10 * (turns - 1).min(6) + 15 * i32::from(self.taken.min(4)) - 5 * (turns - 12).max(0)
            + if self.net == -worth { 10 } else { 0 }
            + if self.half_points == Some(0) { 5 } else { 0 }
    }

    /// Points for an escape: turns, squares taken, a win, and whether the piece itself moved
    /// away.
    fn points_of_escape(&self) -> i32 {
        10 * (self.turns as i32).min(8)
            + 15 * i32::from(self.taken.min(4))
            + if self.half_points == Some(2) { 20 } else { 0 }
            + if self.moved_away { 10 } else { 0 }
    }

    /// Points for a task: squares taken, turns, and whether the owner lost.
    fn points_of_task(&self) -> i32 {
        15 * i32::from(self.taken.min(5))
            + 2 * (self.turns as i32).min(8)
            + if self.half_points == Some(0) { 10 } else { 0 }
    }
}
