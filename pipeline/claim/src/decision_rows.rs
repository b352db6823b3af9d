//! Turns at which the claim's piece could have been restrained, counted by what was played
//! (definitions, section 12).

use arrow_array::{BooleanArray, Int16Array};
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::file::Claim;
use super::outcome::{ClaimOutcome, MATERIAL, WORSE};
use super::row_words::{self, Words};
use hobble_conditions::AskError;
use hobble_conditions::circumstances::Balance;
use hobble_conditions::terms::{Kind, MovedBy, Outcome, WITHIN, half_points};
use hobble_dataset::columns::{Numbers, Read, Rows, short};
use hobble_dataset::part::Part;
use hobble_terms::{Fate, landmark_k};

/// What was played at a chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// A restraining move.
    Played,
    /// Another quiet move that gives nothing away.
    OtherQuiet,
    /// Anything else.
    Other,
}

/// How the turns are put into folds for the jackknife.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Folds {
    /// By games.
    Games,
    /// By the player on move; where the name is missing, by games.
    Players,
}

impl Folds {
    /// Both ways.
    pub const ALL: [Folds; 2] = [Folds::Games, Folds::Players];
}

/// Folds of players are numbered from 0; those of games whose player has no name from here.
const NAMELESS: u8 = 64;

/// Sums over the turns of one cell.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sums {
    /// Turns in the sample.
    pub turns: u64,
    /// Those with the claim's outcome.
    pub outcomes: u64,
    /// Those at which another piece of that side was lost later.
    pub others: u64,
    /// Turns of games with a known result.
    pub scored: u64,
    /// Half points of the side on move in them.
    pub half_points: u64,
}

impl std::ops::AddAssign for Sums {
    fn add_assign(&mut self, other: Sums) {
        self.turns += other.turns;
        self.outcomes += other.outcomes;
        self.others += other.others;
        self.scored += other.scored;
        self.half_points += other.half_points;
    }
}

/// Way of folding, what was done, stratum, fold.
type Place = (u8, u8, u64, u8);

/// Sums by stratum and fold. The size depends on the strata met, not on the number of games.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<(Place, Sums)>", into = "Vec<(Place, Sums)>")]
pub struct Chances {
    cells: FxHashMap<Place, Sums>,
}

impl From<Vec<(Place, Sums)>> for Chances {
    fn from(rows: Vec<(Place, Sums)>) -> Chances {
        Chances {
            cells: rows.into_iter().collect(),
        }
    }
}

impl From<Chances> for Vec<(Place, Sums)> {
    fn from(chances: Chances) -> Self {
        let mut rows: Vec<_> = chances.cells.into_iter().collect();
        rows.sort_unstable_by_key(|row| row.0);
        rows
    }
}

impl Chances {
    /// Counts the rows of a part.
    pub fn of(claim: &Claim, part: &Part) -> Result<Chances, AskError> {
        let in_batch = |rows: &Rows, chances: &mut Chances| chances.in_batch(rows, claim);
        part.count(&COLUMNS, Chances::default, in_batch, Chances::add)
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Chances) {
        if self.cells.is_empty() {
            self.cells = other.cells;
            return;
        }
        for (place, sums) in other.cells {
            *self.cells.entry(place).or_default() += sums;
        }
    }

    /// Cells of one way of folding: what was done, stratum, fold, sums; in no order.
    pub fn folded(&self, folds: Folds) -> impl Iterator<Item = (Done, u64, u8, Sums)> {
        self.cells
            .iter()
            .filter(move |((way, ..), _)| *way == folds as u8)
            .map(|(&(_, done, stratum, fold), &sums)| {
                let done = [Done::Played, Done::OtherQuiet, Done::Other][usize::from(done)];
                (done, stratum, fold, sums)
            })
    }

    fn in_batch(&mut self, rows: &Rows, claim: &Claim) -> Result<(), AskError> {
        let columns = Columns::of(rows, claim)?;
        for row in 0..rows.len() {
            let Some((done, stratum, sums)) = columns.chance(rows, row, claim)? else {
                continue;
            };
            for (folds, fold) in Folds::ALL.into_iter().zip(columns.folds(row)) {
                let place = (folds as u8, done as u8, stratum, fold);
                *self.cells.entry(place).or_default() += sums;
            }
        }
        Ok(())
    }
}

/// Plies of one class, and the last class: ply 140 and later.
const PLIES: u16 = 10;
const LAST_PLIES: u16 = 14;

/// Columns that are read.
pub const COLUMNS: [&str; 28] = [
    "fold",
    "player_fold",
    "ply",
    "kind",
    "safe",
    "restraining",
    "leaving_0",
    "leaving_1",
    "by_pawn",
    "played",
    "played_quiet",
    "restrains",
    "squares_left",
    "balance",
    "phase",
    "fate",
    "fate_ply",
    "others_lost_ply",
    "material_1",
    "material_3",
    "material_5",
    "material_10",
    "material_20",
    "plies_left",
    "mover_result",
    "band",
    "owner_band",
    "time_class",
];

/// Places in [`Columns::bytes`].
const FOLD: usize = 0;
const SAFE: usize = 1;
/// Places in [`Columns::moves`].
const RESTRAINING: usize = 0;
const BY_PAWN: usize = 1;

/// Bits of the classes that make a stratum, in their order; the second is the phase.
const CLASS_BITS: [u32; 8] = [3, 2, 4, 2, 2, 2, 4, 20];

/// The phase of a stratum, by its place among all.
pub fn phase_of(stratum: u64) -> u64 {
    let [_, phase, behind @ ..] = CLASS_BITS;
    stratum >> behind.iter().sum::<u32>() & ((1 << phase) - 1)
}

/// The columns of a batch.
pub struct Columns<'a> {
    words: Words<'a>,
    /// Whether the owner's rating band is one of the claim's.
    of_band: Read<'a, bool>,
    owner_band: Read<'a, Option<u64>>,
    by_pawn: Read<'a, bool>,
    fate: Read<'a, Option<Fate>>,
    half_points: Read<'a, Option<u8>>,
    bytes: [&'a [u8]; 2],
    moves: [&'a [u16]; 2],
    leaving: [Numbers<'a>; 2],
    player_fold: Numbers<'a>,
    left: Numbers<'a>,
    fate_ply: Numbers<'a>,
    others_lost_ply: Numbers<'a>,
    ply: &'a [u16],
    plies_left: &'a [u16],
    flags: [&'a BooleanArray; 2],
    balance: &'a Int16Array,
    material: [&'a Int16Array; MATERIAL.len()],
}

impl<'a> Columns<'a> {
    /// Those of a batch, for a claim.
    ///
    /// # Errors
    ///
    /// Where one is missing or not of its type.
    pub fn of(rows: &'a Rows, claim: &Claim) -> Result<Columns<'a>, AskError> {
        let bands = claim.band.iter().map(String::as_str);
        Ok(Columns {
            words: Words::of(rows)?,
            of_band: if claim.band.is_empty() {
                rows.texts("owner_band")?.read_as(|_| true)
            } else {
                rows.texts("owner_band")?.any_of(bands)
            },
            owner_band: rows
                .texts("owner_band")?
                .read_as(|word| row_words::band(word?)),
            by_pawn: rows.texts("played")?.any_of(["pawn"]),
            fate: rows.texts("fate")?.read_as(|word| Fate::from_name(word?)),
            half_points: rows.texts("mover_result")?.read_as(half_points),
            bytes: [rows.bytes("fold")?, rows.bytes("safe")?],
            moves: [rows.pairs("restraining")?, rows.pairs("by_pawn")?],
            leaving: [
                rows.optional_numbers("leaving_0")?,
                rows.optional_numbers("leaving_1")?,
            ],
            player_fold: rows.optional_numbers("player_fold")?,
            left: rows.optional_numbers("squares_left")?,
            fate_ply: rows.optional_numbers("fate_ply")?,
            others_lost_ply: rows.optional_numbers("others_lost_ply")?,
            ply: rows.pairs("ply")?,
            plies_left: rows.pairs("plies_left")?,
            flags: [rows.booleans("played_quiet")?, rows.booleans("restrains")?],
            balance: rows.signed("balance")?,
            material: [
                rows.signed("material_1")?,
                rows.signed("material_3")?,
                rows.signed("material_5")?,
                rows.signed("material_10")?,
                rows.signed("material_20")?,
            ],
        })
    }

    /// What was done at a row, its stratum and what came of it; `None` where the row is not one of
    /// the claim's chances.
    fn chance(
        &self,
        rows: &Rows,
        row: usize,
        claim: &Claim,
    ) -> Result<Option<(Done, u64, Sums)>, AskError> {
        let Some((done, stratum)) = self.done_at(row, claim)? else {
            return Ok(None);
        };
        let half_points = self.half_points.at(row);
        let fate = self.fate(rows, row)?;
        let sums = Sums {
            turns: 1,
            outcomes: self.came(row, claim, fate).into(),
            others: self
                .in_time(row, claim.within, &self.others_lost_ply)
                .into(),
            scored: half_points.is_some().into(),
            half_points: half_points.unwrap_or(0).into(),
        };
        Ok(Some((done, stratum, sums)))
    }

    fn fate(&self, rows: &Rows, row: usize) -> Result<Fate, AskError> {
        let fate = self.fate.at(row).ok_or_else(|| {
            let place = rows.place(row);
            rows.bad(format!("row {place} names an unknown fate"))
        });
        Ok(fate?)
    }

    /// Place of the first of the claim's horizons within which the outcome came to the piece of a row; as
    /// many as there are where none did.
    ///
    /// # Errors
    ///
    /// Where the row names an unknown fate.
    pub fn first_horizon(&self, rows: &Rows, row: usize, claim: &Claim) -> Result<usize, AskError> {
        let fate = self.fate(rows, row)?;
        let counts = claim.of_piece() == Outcome::Captured || fate == Fate::Lost;
        let came = |within: &u32| counts && self.in_time(row, *within, &self.fate_ply);
        Ok(WITHIN.iter().position(came).unwrap_or(WITHIN.len()))
    }

    /// The fold of the game of a row, and of the player on move.
    pub fn folds(&self, row: usize) -> [u8; Folds::ALL.len()] {
        let fold = self.bytes[FOLD][row];
        let player = self.player_fold.get(row);
        [fold, player.map_or(NAMELESS + fold, |fold| fold as u8)]
    }

    /// The rating band of the owner of the piece, by its number.
    ///
    /// # Errors
    ///
    /// Where the row names an unknown band.
    pub fn owner_band(&self, rows: &Rows, row: usize) -> Result<u64, AskError> {
        let band = self.owner_band.at(row).ok_or_else(|| {
            let place = rows.place(row);
            rows.bad(format!("row {place} names an unknown rating band"))
        });
        Ok(band?)
    }

    /// What was done at a row and its stratum; `None` where the row is not one of the claim's chances.
    ///
    /// # Errors
    ///
    /// Where the row names an unknown kind, phase, band or time class.
    pub fn done_at(&self, row: usize, claim: &Claim) -> Result<Option<(Done, u64)>, AskError> {
        let (kind, phase, time_class, band) = self.words.at(row)?;
        let asked = claim.kinds.contains(&kind)
            && claim.k <= landmark_k(kind.role())
            && (claim.phase.is_empty() || claim.phase.contains(&phase))
            && (claim.time_class.is_empty() || claim.time_class.contains(&time_class))
            && self.of_band.at(row);
        if !asked {
            return Ok(None);
        }
        let moves = self.moves(row, claim, kind);
        let Some(done) = self.done(row, claim).filter(|_| moves > 0) else {
            return Ok(None);
        };
        let safe = self.bytes[SAFE][row].saturating_sub(claim.k);
        let by_doubling =
            |number: u64| u64::from(number > 1) + u64::from(number > 2) + u64::from(number > 4);
        let classes = [
            kind as u64,
            phase as u64,
            (self.ply[row] / PLIES).min(LAST_PLIES).into(),
            Balance::of(self.balance.value(row)) as u64,
            by_doubling(safe.into()),
            by_doubling(moves),
            time_class as u64,
            band,
        ];
        let pack = |packed: u64, (class, bits): (u64, u32)| packed << bits | class;
        let stratum = classes.into_iter().zip(CLASS_BITS).fold(0, pack);
        Ok(Some((done, stratum)))
    }

    /// Restraining moves at the claim's k, of the units that it names.
    fn moves(&self, row: usize, claim: &Claim, kind: Kind) -> u64 {
        let all = if claim.k == landmark_k(kind.role()) {
            u64::from(self.moves[RESTRAINING][row])
        } else {
            let leaving = self.leaving.iter().take(usize::from(claim.k) + 1);
            leaving.filter_map(|moves| moves.get(row)).sum()
        };
        let by_pawn = u64::from(self.moves[BY_PAWN][row]);
        match claim.by {
            MovedBy::Any => all,
            MovedBy::Pawn => by_pawn,
            MovedBy::Piece => all - by_pawn.min(all),
        }
    }

    /// What was done; `None` where a unit of the other sort restrained the piece.
    fn done(&self, row: usize, claim: &Claim) -> Option<Done> {
        let [quiet, restrains] = self.flags.map(|flags| flags.value(row));
        let few = self
            .left
            .get(row)
            .is_some_and(|left| left <= claim.k.into());
        if restrains && few {
            let by_pawn = self.by_pawn.at(row);
            let named = match claim.by {
                MovedBy::Any => true,
                MovedBy::Pawn => by_pawn,
                MovedBy::Piece => !by_pawn,
            };
            return named.then_some(Done::Played);
        }
        Some(if quiet { Done::OtherQuiet } else { Done::Other })
    }

    /// Whether the claim's outcome came, where it is an event.
    fn came(&self, row: usize, claim: &Claim, fate: Fate) -> bool {
        match claim.outcome {
            ClaimOutcome::Lost => {
                fate == Fate::Lost && self.in_time(row, claim.within, &self.fate_ply)
            }
            ClaimOutcome::Captured => self.in_time(row, claim.within, &self.fate_ply),
            ClaimOutcome::AnotherLost => self.in_time(row, claim.within, &self.others_lost_ply),
            ClaimOutcome::MaterialLost => self.won_material(row, claim),
            ClaimOutcome::Score | ClaimOutcome::Evaluation => false,
        }
    }

    /// Whether a ply came within so many moves.
    fn in_time(&self, row: usize, within: u32, plies: &Numbers<'_>) -> bool {
        let horizon = 2 * u64::from(within);
        let ply = u64::from(self.ply[row]);
        plies
            .get(row)
            .is_some_and(|at| at.saturating_sub(ply) <= horizon)
    }

    /// Whether the owner of the piece stands two pawns worse after the claim's horizon, or at
    /// the last turn that is kept where the game ends before.
    fn won_material(&self, row: usize, claim: &Claim) -> bool {
        let asked = MATERIAL.iter().filter(|moves| **moves <= claim.within);
        let lasted = |moves: u32| 2 * moves <= u32::from(self.plies_left[row]);
        let last = asked.filter(|moves| lasted(**moves)).count();
        let change = last
            .checked_sub(1)
            .and_then(|place| short(self.material[place], row));
        change.is_some_and(|change| change >= WORSE)
    }
}
