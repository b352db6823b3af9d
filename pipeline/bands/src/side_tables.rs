//! What the tables of a part say of each side of its games.

use std::ops::AddAssign;

use super::chances::Chances;
use super::file::BandReport;
use super::moves::Moves;
use super::per_side::PerSide;
use super::side_counts::{Count, Sums};
use super::spells::Spells;
use hobble_conditions::terms::{Kind, Phase, YesNo};

/// Counts by side from the tables other than `sides`.
#[derive(Debug, Default)]
pub struct SideTables {
    /// From `spells`.
    pub spells: PerSide<Spells>,
    /// From `moves`.
    pub moves: PerSide<Moves>,
    /// From `decisions`.
    pub chances: PerSide<Chances>,
    /// From the sampled rows of `turns`, where games or sides are chosen; lost within the horizon of the
    /// report.
    pub turns: Option<PerSide<DevelopedTurns>>,
}

/// Turns of developed pieces.
#[derive(Debug, Clone, Copy, Default)]
pub struct DevelopedTurns {
    /// All of them.
    pub all: u32,
    /// Those at which the piece is held.
    pub held: u32,
    /// Those of the held ones after which it is soon lost.
    pub lost: u32,
}

impl AddAssign for DevelopedTurns {
    fn add_assign(&mut self, other: DevelopedTurns) {
        self.all += other.all;
        self.held += other.held;
        self.lost += other.lost;
    }
}

/// A row of `sides` as far as the measures need it. Losses are those within [`WITHIN`] moves.
#[derive(Debug, Clone, Copy, Default)]
pub struct SideRow {
    /// Turns of the side.
    pub turns: u32,
    /// Turns of its developed pieces, by kind.
    pub of_kind: [DevelopedTurns; Kind::COUNT],
    /// The same by phase.
    pub of_phase: [DevelopedTurns; Phase::COUNT],
}

/// The horizon of the losses in `sides`, in moves.
const WITHIN: u32 = 10;

/// What is counted of a side: in all phases and in each of them.
#[derive(Debug, Clone, Copy)]
pub struct OfPhases {
    /// In all phases.
    pub whole: Sums,
    /// By phase. A side has every phase, so that it counts in each of them; its turns are in none.
    pub phases: [Sums; Phase::COUNT],
}

impl OfPhases {
    /// Adds what a table counts of a game's side, each number by kind and phase where it belongs.
    fn add<T: Copy + Default + AddAssign, const N: usize>(
        &mut self,
        table: &PerSide<T>,
        (game, color): (u32, u8),
        numbers: impl Fn(T) -> [(Count, u32); N],
    ) {
        let of_game = table.of_game(game).iter();
        for entry in of_game.filter(|entry| entry.of.color == color) {
            let phase = &mut self.phases[entry.of.phase as usize];
            // Pawns and kings have moves, but no counts of their own.
            let kind = Kind::ALL.get(usize::from(entry.of.kind));
            for (count, number) in numbers(entry.counts) {
                for sums in [&mut self.whole, &mut *phase] {
                    *sums.count(count, None) += number;
                    if kind.is_some() {
                        *sums.count(count, kind.copied()) += number;
                    }
                }
            }
        }
    }
}

impl SideTables {
    /// What is counted of a game's side.
    pub fn counts(&self, side: (u32, u8), row: &SideRow, report: &BandReport) -> OfPhases {
        let mut counts = OfPhases {
            whole: Sums::NONE,
            phases: [Sums::NONE; Phase::COUNT],
        };
        counts.whole.turns = row.turns;
        for sums in counts.phases.iter_mut().chain([&mut counts.whole]) {
            sums.sides = 1;
        }
        counts.add(&self.spells, side, |one| {
            // Of all pieces the turns in spells are all held turns.
            let of_any = report.developed == YesNo::Any;
            [
                (Count::Spells, one.spells),
                (Count::SpellTurns, one.turns),
                (Count::Freed, one.freed),
                (Count::Lost, one.lost),
                (Count::Restraints, one.restrained),
                (Count::RestraintsLost, one.restrained_lost),
                (Count::HeldOfSides, if of_any { one.turns } else { 0 }),
            ]
        });
        counts.add(&self.moves, side, |one| {
            [(Count::Moves, one.moves), (Count::SquaresTaken, one.taken)]
        });
        counts.add(&self.chances, side, |one| {
            [
                (Count::Chances, one.chances),
                (Count::ChancesTaken, one.taken),
                (Count::AtRandom, one.at_random),
            ]
        });
        if report.developed == YesNo::Yes {
            add_held(row, report, self.turns.is_none(), &mut counts);
        }
        if let Some(turns) = &self.turns {
            counts.add(turns, side, |one| {
                [
                    (Count::PieceTurns, one.all),
                    (Count::Held, one.held),
                    (Count::HeldWithFate, one.held),
                    (Count::HeldLost, one.lost),
                ]
            });
        }
        counts
    }
}

/// Adds the held pieces of a row of `sides`; `shares` says whether it is asked how many of all pieces
/// they are, and how many of them are lost.
fn add_held(row: &SideRow, report: &BandReport, shares: bool, counts: &mut OfPhases) {
    let has_losses = report.within == WITHIN;
    let add = |sums: &mut Sums, kind, turns: DevelopedTurns| {
        *sums.count(Count::PieceTurns, kind) += turns.all;
        *sums.count(Count::Held, kind) += turns.held;
        if has_losses {
            *sums.count(Count::HeldWithFate, kind) += turns.held;
            *sums.count(Count::HeldLost, kind) += turns.lost;
        }
    };
    for (&kind, &of_kind) in Kind::ALL.iter().zip(&row.of_kind) {
        for kind in [None, Some(kind)] {
            let whole = &mut counts.whole;
            *whole.count(Count::HeldOfSides, kind) += of_kind.held;
            if shares {
                add(whole, kind, of_kind);
            }
        }
    }
    if shares {
        for (phase, &of_phase) in counts.phases.iter_mut().zip(&row.of_phase) {
            add(phase, None, of_phase);
        }
    }
}
