//! What a claim may count: what becomes of the piece, of its side, and of the game. Each outcome
//! is read as a whole number from a row of `turns`, so that sums do not depend on their order.
//!
//! An event is 0 or 1; its mean is a rate. Score and evaluation are means themselves.

use arrow_array::{Array as _, Float32Array, Int16Array};
use hobble_conditions::AskError;
use hobble_conditions::terms::half_points;
use hobble_dataset::columns::{Numbers, Read, Rows, short};
use hobble_terms::{Fate, words};

words! {
    /// What is counted.
    ClaimOutcome {
        /// The piece is captured at a loss.
        Lost = "lost",
        /// The piece is captured.
        Captured = "captured",
        /// Another knight, bishop, rook or queen of its side is lost.
        AnotherLost = "another piece lost",
        /// The balance of its owner is two pawns worse or more.
        MaterialLost = "material lost",
        /// What its owner scored in the game.
        Score = "score",
        /// The change of the evaluation for its owner.
        Evaluation = "evaluation",
    }
}

/// Number of outcomes of a side that are counted.
pub const MEASURED: usize = 7;

/// How an outcome is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// It comes or does not: 1 or 0. Compared by rates, their ratio and difference.
    Event,
    /// A mean, compared by its difference.
    Mean {
        /// The number that stands for 0.
        zero: u32,
        /// So many numbers are one point or pawn.
        per: u32,
    },
}

/// Moves after which the table `turns` has the balance.
pub const MATERIAL: [u32; 5] = [1, 3, 5, 10, 20];

/// Moves after which it has the evaluation.
const EVALUATION: [u32; 4] = [1, 3, 5, 10];

/// Pawns by which an owner is worse where material is lost.
pub const WORSE: i64 = 2;

/// Hundredths of a pawn by which an evaluation can fall: from 10 pawns ahead to 10 behind.
const FALL: u32 = 2000;

impl ClaimOutcome {
    /// How it is measured.
    pub const fn measure(self) -> Measure {
        match self {
            ClaimOutcome::Lost
            | ClaimOutcome::Captured
            | ClaimOutcome::AnotherLost
            | ClaimOutcome::MaterialLost => Measure::Event,
            ClaimOutcome::Score => Measure::Mean { zero: 0, per: 2 },
            ClaimOutcome::Evaluation => Measure::Mean {
                zero: FALL,
                per: 100,
            },
        }
    }

    /// Whether it is about the side or the game, not about the piece itself.
    pub const fn is_of_side(self) -> bool {
        !matches!(self, ClaimOutcome::Lost | ClaimOutcome::Captured)
    }

    /// Whether the table `turns` has it after so many moves.
    pub fn known_after(self, moves: u32) -> bool {
        match self {
            ClaimOutcome::MaterialLost => MATERIAL.contains(&moves),
            ClaimOutcome::Evaluation => EVALUATION.contains(&moves),
            _ => true,
        }
    }

    /// The columns of `turns` that it is read from.
    pub const fn columns(self) -> &'static [&'static str] {
        match self {
            ClaimOutcome::Lost | ClaimOutcome::Captured => &["ply", "fate", "fate_ply"],
            ClaimOutcome::AnotherLost => &["ply", "others_lost_ply"],
            ClaimOutcome::MaterialLost => &[
                "plies_left",
                "material_1",
                "material_3",
                "material_5",
                "material_10",
                "material_20",
            ],
            ClaimOutcome::Score => &["owner_result"],
            ClaimOutcome::Evaluation => &["plies_left", "eval_1", "eval_3", "eval_5", "eval_10"],
        }
    }
}

/// The values of an outcome in a batch of rows of `turns`.
pub struct Values<'a> {
    moves: u32,
    from: From<'a>,
}

/// The columns that an outcome is read from.
enum From<'a> {
    Capture {
        ply: &'a [u16],
        fates: Read<'a, Option<Fate>>,
        fate_ply: Numbers<'a>,
        lost_only: bool,
    },
    Another {
        ply: &'a [u16],
        lost_ply: Numbers<'a>,
    },
    Material {
        left: &'a [u16],
        changes: [&'a Int16Array; MATERIAL.len()],
    },
    Score(Read<'a, Option<u8>>),
    Evaluation {
        left: &'a [u16],
        changes: [&'a Float32Array; EVALUATION.len()],
    },
}

impl<'a> Values<'a> {
    /// The values of an outcome so many moves after the turn of each row.
    ///
    /// # Errors
    ///
    /// Where a column is missing or not of its type.
    pub fn of(rows: &'a Rows, outcome: ClaimOutcome, moves: u32) -> Result<Values<'a>, AskError> {
        let from = match outcome {
            ClaimOutcome::Lost | ClaimOutcome::Captured => From::Capture {
                ply: rows.pairs("ply")?,
                fates: rows.texts("fate")?.read_as(|word| Fate::from_name(word?)),
                fate_ply: rows.optional_numbers("fate_ply")?,
                lost_only: outcome == ClaimOutcome::Lost,
            },
            ClaimOutcome::AnotherLost => From::Another {
                ply: rows.pairs("ply")?,
                lost_ply: rows.optional_numbers("others_lost_ply")?,
            },
            ClaimOutcome::MaterialLost => From::Material {
                left: rows.pairs("plies_left")?,
                changes: [
                    rows.signed("material_1")?,
                    rows.signed("material_3")?,
                    rows.signed("material_5")?,
                    rows.signed("material_10")?,
                    rows.signed("material_20")?,
                ],
            },
            ClaimOutcome::Score => From::Score(rows.texts("owner_result")?.read_as(half_points)),
            ClaimOutcome::Evaluation => From::Evaluation {
                left: rows.pairs("plies_left")?,
                changes: [
                    rows.floats("eval_1")?,
                    rows.floats("eval_3")?,
                    rows.floats("eval_5")?,
                    rows.floats("eval_10")?,
                ],
            },
        };
        Ok(Values { moves, from })
    }

    /// The value of a row; `None` where it is not known.
    ///
    /// A piece still there when the game ends was not captured. Balance and evaluation are those
    /// after so many moves, or the last that are known where the game ends before: whoever resigns
    /// after a loss is not left out.
    pub fn at(&self, row: usize) -> Option<u32> {
        let in_time = |plies: Option<u64>, from: u16| {
            plies.is_some_and(|ply| ply.saturating_sub(from.into()) <= 2 * u64::from(self.moves))
        };
        match &self.from {
            From::Capture {
                ply,
                fates,
                fate_ply,
                lost_only,
            } => {
                let fate = fates.at(row)?;
                let counted = if *lost_only {
                    fate == Fate::Lost
                } else {
                    fate != Fate::Survived
                };
                Some((counted && in_time(fate_ply.get(row), ply[row])).into())
            }
            From::Another { ply, lost_ply } => Some(in_time(lost_ply.get(row), ply[row]).into()),
            From::Material { left, changes } => {
                let change = |place: usize| short(changes[place], row);
                let change = self.latest(&MATERIAL, left[row], change)?;
                Some((change <= -WORSE).into())
            }
            From::Score(half_points) => half_points.at(row).map(u32::from),
            From::Evaluation { left, changes } => {
                let change = |place: usize| {
                    let changes: &Float32Array = changes[place];
                    changes.is_valid(row).then(|| changes.value(row))
                };
                let change = self.latest(&EVALUATION, left[row], change)?;
                let hundredths = (f64::from(change) * 100.0).round() + f64::from(FALL);
                Some(hundredths.clamp(0.0, f64::from(2 * FALL)) as u32)
            }
        }
    }

    /// The change after so many moves; where the game ends before, the last of those `after` that
    /// it lasted.
    fn latest<T>(
        &self,
        after: &[u32],
        plies_left: u16,
        change: impl Fn(usize) -> Option<T>,
    ) -> Option<T> {
        let lasted = |moves: u32| 2 * moves <= u32::from(plies_left);
        let asked = after.iter().rposition(|moves| *moves == self.moves)?;
        if lasted(self.moves) {
            return change(asked);
        }
        let places = (0..asked).rev().filter(|place| lasted(after[*place]));
        places.map(change).next()?
    }
}
