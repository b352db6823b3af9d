//! The spells a claim speaks of, for every k and every number of turns: one choice of these
//! is the claim's own, the others its sensitivity.

use polars::prelude::{BooleanChunked, NewChunkedArray as _};
use rayon::prelude::*;

use super::file::{By, Claim};
use super::stratum::{Stratum, Words};
use crate::columns::Rows;
use crate::dataset::{Dataset, Part};
use crate::error::AskError;
use crate::filter::both;
use crate::terms::{Kind, Outcome, YesNo};

/// What became of the piece in the rest of the game.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    Survived,
    Lost,
    Traded,
    Sold,
}

/// How the spell ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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

/// One row of the table of spells that passes the claim's filters, k and turns left open.
#[derive(Debug, Clone)]
pub struct Held {
    pub part: usize,
    pub row: usize,
    pub game: u64,
    pub fold: u32,
    pub piece: u64,
    pub kind: Kind,
    pub white: bool,
    pub k_low: u8,
    pub k_high: u8,
    pub start: u32,
    pub turns: u32,
    pub stratum: Stratum,
    /// Squares taken: safe before less safe at the start, where an opponent's ply did it.
    pub drop: Option<i32>,
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
    /// Whether it is a spell at k that lasted so many turns.
    pub fn is(&self, k: u8, turns: u32) -> bool {
        self.k_low <= k && k <= self.k_high && self.turns >= turns
    }

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

/// Columns the filter needs; where nothing passes, the others are not read.
const FIRST: [&str; 8] = [
    "kind",
    "cause",
    "cause_kind",
    "attacked_by",
    "developed",
    "phase",
    "good",
    "k_high",
];

const REST: [&str; 24] = [
    "game",
    "fold",
    "piece",
    "color",
    "k_low",
    "start_ply",
    "turns",
    "cause_by",
    "safe_before",
    "safe",
    "defended",
    "balance",
    "end",
    "end_by",
    "moved_away",
    "end_ply",
    "fate",
    "fate_ply",
    "plies_left",
    "material_3",
    "material_5",
    "material_10",
    "band",
    "time_class",
];

/// Reads the spells of a claim, in the order of the table.
pub fn read(claim: &Claim, dataset: &Dataset) -> Result<(Vec<Part>, Vec<Held>), AskError> {
    let parts = dataset.parts("spells")?;
    let mut groups = Vec::new();
    for (number, part) in parts.iter().enumerate() {
        groups.extend(part.row_groups()?.into_iter().map(|rows| (number, rows)));
    }
    let found: Vec<Vec<Held>> = groups
        .into_par_iter()
        .map(|(number, group)| in_group(claim, &parts[number], number, group))
        .collect::<Result<_, _>>()?;
    Ok((parts, found.into_iter().flatten().collect()))
}

fn in_group(
    claim: &Claim,
    part: &Part,
    number: usize,
    group: (usize, usize),
) -> Result<Vec<Held>, AskError> {
    let first = part.read_alone(&FIRST, group)?;
    let rows = Rows::new(part.table, &first);
    let mask = mask(claim, &rows)?;
    if !mask.iter().any(|passes| passes == Some(true)) {
        return Ok(Vec::new());
    }
    let places: Vec<usize> = mask
        .iter()
        .enumerate()
        .filter(|(_, passes)| *passes == Some(true))
        .map(|(row, _)| row)
        .collect();
    let first = rows.filter(&mask)?;
    let rest = part.read_alone(&REST, group)?;
    let rest = Rows::new(part.table, &rest).filter(&mask)?;
    let (a, b) = (Rows::new(part.table, &first), Rows::new(part.table, &rest));
    let small = |rows: &Rows<'_>, name: &str| -> Result<Vec<u32>, AskError> {
        rows.numbers(name)?
            .into_iter()
            .map(|n| {
                u32::try_from(n).map_err(|_| rows.bad(format!("column \"{name}\" is out of range")))
            })
            .collect()
    };
    let (kind, phase, attacked) = (a.texts("kind")?, a.texts("phase")?, a.texts("attacked_by")?);
    let (developed, defended) = (a.booleans("developed")?, b.booleans("defended")?);
    let (band, class) = (b.texts("band")?, b.texts("time_class")?);
    let (color, by) = (b.texts("color")?, b.texts("cause_by")?);
    let (end, end_by) = (b.texts("end")?, b.texts("end_by")?);
    let moved_away = b.optional_booleans("moved_away")?;
    let fate = b.texts("fate")?;
    let (game, piece) = (b.numbers("game")?, b.numbers("piece")?);
    let (fold, start, turns) = (
        small(&b, "fold")?,
        small(&b, "start_ply")?,
        small(&b, "turns")?,
    );
    let (low, high) = (small(&b, "k_low")?, small(&a, "k_high")?);
    let (before, safe) = (b.optional_numbers("safe_before")?, b.numbers("safe")?);
    let (end_ply, left) = (small(&b, "end_ply")?, small(&b, "plies_left")?);
    let fate_ply = b.optional_numbers("fate_ply")?;
    let balance = b.signed("balance")?;
    let material = [
        b.signed("material_3")?,
        b.signed("material_5")?,
        b.signed("material_10")?,
    ];
    let mut out = Vec::with_capacity(places.len());
    for (i, place) in places.iter().enumerate() {
        let text = |column: &'_ polars::prelude::StringChunked| -> String {
            column.get(i).unwrap_or_default().to_owned()
        };
        let words = Words {
            kind: kind.get(i).unwrap_or_default(),
            phase: phase.get(i).unwrap_or_default(),
            time_class: class.get(i).unwrap_or_default(),
            band: band.get(i).unwrap_or_default(),
            developed: developed[i],
            attacked: attacked.get(i).is_some_and(|letters| !letters.is_empty()),
            defended: defended[i],
        };
        if (!claim.band.is_empty() && !claim.band.iter().any(|wanted| wanted == words.band))
            || (!claim.time_class.is_empty()
                && !claim
                    .time_class
                    .iter()
                    .any(|wanted| wanted == words.time_class))
        {
            continue;
        }
        let (Some(stratum), Some(piece_kind)) = (Stratum::of(&words), Kind::from_word(words.kind))
        else {
            return Err(b.bad(format!(
                "row {} names a kind, phase, band or time class that is none",
                group.0 + place
            )));
        };
        let end = match (end.get(i), end_by.get(i), moved_away[i]) {
            (Some("lost"), ..) => End::Lost,
            (Some("traded"), ..) => End::Traded,
            (Some("sold"), ..) => End::Sold,
            (Some("game over"), ..) => End::GameOver,
            (Some("freed"), Some("own"), Some(true)) => End::MovedAway,
            (Some("freed"), Some("own"), _) => End::FreedByOwnMove,
            (Some("freed"), Some("opponent"), _) => End::FreedByOpponent,
            _ => return Err(b.bad(format!("end \"{}\" is none", text(end)))),
        };
        let fate = match fate.get(i) {
            Some("lost") => Fate::Lost,
            Some("traded") => Fate::Traded,
            Some("sold") => Fate::Sold,
            Some("survived") => Fate::Survived,
            _ => return Err(b.bad(format!("fate \"{}\" is none", text(fate)))),
        };
        let by_opponent = by.get(i) == Some("opponent");
        out.push(Held {
            part: number,
            row: group.0 + place,
            game: game[i],
            fold: fold[i],
            piece: piece[i],
            kind: piece_kind,
            white: color.get(i) == Some("white"),
            k_low: low[i] as u8,
            k_high: high[i] as u8,
            start: start[i],
            turns: turns[i],
            stratum,
            drop: before[i]
                .filter(|_| by_opponent)
                .map(|before| before as i32 - safe[i] as i32),
            end,
            end_ply: end_ply[i],
            fate,
            fate_ply: fate_ply[i].map_or(0, |ply| ply as u32),
            plies_left: left[i],
            balance: balance[i].unwrap_or(0),
            material: [material[0][i], material[1][i], material[2][i]],
        });
    }
    Ok(out)
}

fn mask(claim: &Claim, rows: &Rows<'_>) -> Result<BooleanChunked, AskError> {
    let mut mask = Some(rows.any_of("kind", claim.kinds.iter().map(|kind| kind.word()))?);
    if !claim.cause.is_empty() {
        both(
            &mut mask,
            rows.any_of("cause", claim.cause.iter().map(String::as_str))?,
        );
    }
    match claim.by {
        By::Any => {}
        By::Pawn => both(&mut mask, rows.any_of("cause_kind", ["pawn"])?),
        By::Piece => both(
            &mut mask,
            rows.any_of("cause_kind", ["knight", "bishop", "rook", "queen", "king"])?,
        ),
    }
    if !claim.phase.is_empty() {
        both(
            &mut mask,
            rows.any_of("phase", claim.phase.iter().map(String::as_str))?,
        );
    }
    match claim.attacked {
        YesNo::Any => {}
        YesNo::No => both(&mut mask, rows.any_of("attacked_by", [""])?),
        YesNo::Yes => both(&mut mask, !&rows.any_of("attacked_by", [""])?),
    }
    if let Some(developed) = claim.developed.wanted() {
        both(&mut mask, rows.is("developed", developed)?);
    }
    if let Some(good) = claim.good {
        both(&mut mask, rows.at_most("good", good)?);
    }
    Ok(mask.unwrap_or_else(|| BooleanChunked::from_slice("all".into(), &[])))
}
