//! The spells a claim is about.

use serde::{Deserialize, Serialize};

use super::file::Claim;
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::filter::{self, Condition};
use hobble_conditions::terms::{Kind, Outcome};
use hobble_dataset::columns::{Rows, boolean, short};
use hobble_dataset::part::{Group, Part};
use hobble_examples::restraint::{self, Restraint};
use hobble_terms::Fate;

/// How the spell ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum End {
    Lost,
    Traded,
    Sold,
    MovedAway,
    FreedByOwnMove,
    FreedByOpponent,
    GameOver,
}

impl End {
    pub const ALL: [End; 7] = [
        End::Lost,
        End::Traded,
        End::Sold,
        End::MovedAway,
        End::FreedByOwnMove,
        End::FreedByOpponent,
        End::GameOver,
    ];

    /// The end that the columns of a spell name.
    fn of(end: Option<&str>, by: Option<&str>, moved_away: Option<bool>) -> Option<End> {
        Some(match (end?, by, moved_away) {
            ("lost", ..) => End::Lost,
            ("traded", ..) => End::Traded,
            ("sold", ..) => End::Sold,
            ("game over", ..) => End::GameOver,
            ("freed", Some("own"), Some(true)) => End::MovedAway,
            ("freed", Some("own"), _) => End::FreedByOwnMove,
            ("freed", Some("opponent"), _) => End::FreedByOpponent,
            _ => return None,
        })
    }

    pub fn in_words(self) -> &'static str {
        match self {
            End::Lost => "lost while held",
            End::Traded => "traded while held",
            End::Sold => "sold for more than its value while held",
            End::MovedAway => "freed: the piece moved away",
            End::FreedByOwnMove => "freed by another move of its owner",
            End::FreedByOpponent => "freed by the opponent's move",
            End::GameOver => "still held when the game ended",
        }
    }

    pub fn freed(self) -> bool {
        matches!(
            self,
            End::MovedAway | End::FreedByOwnMove | End::FreedByOpponent
        )
    }
}

/// One row of the table of spells that passes the claim's filters, k and turns among them.
#[derive(Debug, Clone)]
pub struct Held {
    pub row: usize,
    pub game: u64,
    pub fold: u8,
    pub piece: u64,
    pub kind: Kind,
    pub white: bool,
    pub start: u32,
    pub turns: u32,
    pub end: End,
    pub end_ply: u32,
    pub fate: Fate,
    pub fate_ply: u32,
    pub plies_left: u32,
    pub balance: i64,
    /// Change of the owner's balance in 3, 5, 10 moves from the start of the spell.
    pub material: [Option<i64>; 3],
}

impl Held {
    /// Plies from the turn that counts as the start, the `turns`-th of the spell, to the
    /// capture, and how it was captured.
    pub fn captured(&self, turns: u32) -> Option<(u32, Fate)> {
        let zero = self.start + 2 * (turns - 1);
        (self.fate != Fate::Survived).then(|| (self.fate_ply.saturating_sub(zero), self.fate))
    }

    /// Whether the counted outcome came within so many moves.
    pub fn met(&self, turns: u32, within: u32, outcome: Outcome) -> bool {
        self.captured(turns).is_some_and(|(after, fate)| {
            after <= 2 * within
                && match outcome {
                    Outcome::Lost => fate == Fate::Lost,
                    Outcome::Traded => fate == Fate::Traded,
                    Outcome::Sold => fate == Fate::Sold,
                    Outcome::Captured => true,
                }
        })
    }

    /// Whether the game ended within so many moves with the piece still there.
    pub fn over(&self, turns: u32, within: u32) -> bool {
        let left = self.plies_left.saturating_sub(2 * (turns - 1));
        self.fate == Fate::Survived && left < 2 * within
    }
}

/// Columns every claim reads beside [`restraint::COLUMNS`].
const COLUMNS: [&str; 6] = [
    "fold",
    "piece",
    "plies_left",
    "material_3",
    "material_5",
    "restrained",
];

/// Places of the spells of a claim in a row group.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn places(claim: &Claim, part: &Part, group: Group) -> Result<Vec<usize>, AskError> {
    let asked = claim.conditions(AskedRows::Spells, &[]);
    // One row in fifty is restrained, so the other filters are put to those alone.
    let restrained = Condition::Is("restrained", true);
    let few = asked.contains(&restrained);
    let (first, others): (Vec<_>, Vec<_>) = asked.into_iter().partition(|condition| {
        !few || *condition == restrained || condition.columns().all(|column| column == "kind")
    });
    filter::places(part, group, &first, &others)
}

/// Reads the spells of a claim in a row group, in the order of the table, and those of them that
/// may be shown.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn read(
    claim: &Claim,
    part: &Part,
    group: Group,
) -> Result<(Vec<Held>, Vec<Restraint>), AskError> {
    let places = places(claim, part, group)?;
    if places.is_empty() {
        return Ok(Default::default());
    }
    let mut columns = COLUMNS.to_vec();
    columns.extend(restraint::COLUMNS);
    let rows = part.pick(&columns, group, &places)?;
    Ok((spells(&rows)?, restraint::among(part, &rows)?))
}

/// The spells of rows of a part.
fn spells(rows: &Rows) -> Result<Vec<Held>, AskError> {
    let kinds = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
    let white = rows.texts("color")?.any_of(["white"]);
    let (ends, end_by) = (rows.texts("ended")?, rows.texts("end_by")?);
    let moved_away = rows.optional_booleans("moved_away")?;
    let fates = rows.texts("fate")?;
    let fate = fates.read_as(|word| Fate::from_name(word?));
    let (game, piece) = (rows.numbers("game")?, rows.numbers("piece")?);
    let (fold, start, turns) = (
        rows.bytes("fold")?,
        rows.pairs("start_ply")?,
        rows.pairs("turns")?,
    );
    let (end_ply, left) = (rows.pairs("end_ply")?, rows.pairs("plies_left")?);
    let fate_ply = rows.optional_numbers("fate_ply")?;
    let balance = rows.signed("balance")?;
    let signed = |name: &str| rows.signed(name);
    let material = [
        signed("material_3")?,
        signed("material_5")?,
        signed("material_10")?,
    ];
    let mut out = Vec::with_capacity(rows.len());
    for i in 0..rows.len() {
        let kind = kinds.at(i).ok_or_else(|| {
            let place = rows.place(i);
            rows.bad(format!("row {place} names an unknown kind"))
        })?;
        let end = End::of(ends.get(i), end_by.get(i), boolean(moved_away, i)).ok_or_else(|| {
            let end = ends.get(i).unwrap_or_default();
            rows.bad(format!("invalid end \"{end}\""))
        })?;
        let fate = fate.at(i).ok_or_else(|| {
            let fate = fates.get(i).unwrap_or_default();
            rows.bad(format!("invalid fate \"{fate}\""))
        })?;
        out.push(Held {
            row: rows.place(i),
            game: game.at(i),
            fold: fold[i],
            piece: piece.at(i),
            kind,
            white: white.at(i),
            start: start[i].into(),
            turns: turns[i].into(),
            end,
            end_ply: end_ply[i].into(),
            fate,
            fate_ply: fate_ply.get(i).map_or(0, |ply| ply as u32),
            plies_left: left[i].into(),
            balance: short(balance, i).unwrap_or(0),
            material: material.map(|column| short(column, i)),
        });
    }
    Ok(out)
}
