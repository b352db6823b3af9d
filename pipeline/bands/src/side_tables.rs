//! What the tables of a part say of each side of its games.

use std::ops::AddAssign;

use super::chances::Chances;
use super::cube::Counted;
use super::file::BandReport;
use super::moves::Moves;
use super::per_side::{Entry, Of, PerSide};
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
    /// From the sampled rows of `turns`, where games or sides are chosen.
    pub turns: Option<PerSide<Counted>>,
}

/// A row of `sides` as far as the measures need it.
#[derive(Debug, Clone, Copy, Default)]
pub struct SideRow {
    /// Turns of the side.
    pub turns: u32,
    /// Held turns of developed pieces, by kind.
    pub held: [u32; Kind::COUNT],
    /// Turns of developed pieces, by kind.
    pub developed: [u32; Kind::COUNT],
    /// Held turns after which the piece is lost within [`WITHIN`] moves, by kind.
    pub lost: [u32; Kind::COUNT],
    /// By phase, held turns, those before a loss, and all turns of developed pieces.
    pub of_phase: [[u32; 3]; Phase::COUNT],
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
    /// Adds a count of one kind in one phase where it belongs.
    fn add(&mut self, of: Of, count: Count, number: u32) {
        for sums in [&mut self.whole, &mut self.phases[of.phase as usize]] {
            *sums.count(count, None) += number;
            // Pawns and kings have moves, but no counts of their own.
            if let Some(&kind) = Kind::ALL.get(usize::from(of.kind)) {
                *sums.count(count, Some(kind)) += number;
            }
        }
    }
}

impl SideTables {
    /// What is counted of a game's side.
    pub fn counts(&self, (game, color): (u32, u8), row: &SideRow, report: &BandReport) -> OfPhases {
        let mut counts = OfPhases {
            whole: Sums::NONE,
            phases: [Sums::NONE; Phase::COUNT],
        };
        counts.whole.turns = row.turns;
        for sums in counts.phases.iter_mut().chain([&mut counts.whole]) {
            sums.sides = 1;
        }
        for Entry {
            of, counts: one, ..
        } in of_side(&self.spells, game, color)
        {
            counts.add(of, Count::Spells, one.spells);
            counts.add(of, Count::SpellTurns, one.turns);
            counts.add(of, Count::Freed, one.freed);
            counts.add(of, Count::Lost, one.lost);
            counts.add(of, Count::Restraints, one.restrained);
            counts.add(of, Count::RestraintsLost, one.restrained_lost);
            // Of all pieces the turns in spells are all held turns.
            if report.developed == YesNo::Any {
                counts.add(of, Count::HeldOfSides, one.turns);
            }
        }
        for Entry {
            of, counts: one, ..
        } in of_side(&self.moves, game, color)
        {
            counts.add(of, Count::Moves, one.moves);
            counts.add(of, Count::SquaresTaken, one.taken);
        }
        for Entry {
            of, counts: one, ..
        } in of_side(&self.chances, game, color)
        {
            counts.add(of, Count::Chances, one.chances);
            counts.add(of, Count::ChancesTaken, one.taken);
            counts.add(of, Count::AtRandom, one.at_random);
        }
        if report.developed == YesNo::Yes {
            add_held(row, report, self.turns.is_none(), &mut counts);
        }
        for Entry {
            of, counts: one, ..
        } in self
            .turns
            .iter()
            .flat_map(|turns| of_side(turns, game, color))
        {
            counts.add(of, Count::PieceTurns, one.turns as u32);
            counts.add(of, Count::Held, one.lost.trials as u32);
            counts.add(of, Count::HeldWithFate, one.lost.trials as u32);
            counts.add(of, Count::HeldLost, one.lost.events as u32);
        }
        counts
    }
}

/// Counts of one side of a game.
fn of_side<T: Copy + Default + AddAssign>(
    per_side: &PerSide<T>,
    game: u32,
    color: u8,
) -> impl Iterator<Item = Entry<T>> {
    let of_game = per_side.of_game(game).iter().copied();
    of_game.filter(move |one| one.of.color == color)
}

/// Adds the held pieces of a row of `sides`; `shares` says whether it is asked how many of all pieces
/// they are, and how many of them are lost.
fn add_held(row: &SideRow, report: &BandReport, shares: bool, counts: &mut OfPhases) {
    let has_losses = report.within == WITHIN;
    let add = |sums: &mut Sums, kind, [held, lost, developed]: [u32; 3]| {
        *sums.count(Count::PieceTurns, kind) += developed;
        *sums.count(Count::Held, kind) += held;
        if has_losses {
            *sums.count(Count::HeldWithFate, kind) += held;
            *sums.count(Count::HeldLost, kind) += lost;
        }
    };
    for (at, &kind) in Kind::ALL.iter().enumerate() {
        for kind in [None, Some(kind)] {
            let whole = &mut counts.whole;
            *whole.count(Count::HeldOfSides, kind) += row.held[at];
            if shares {
                let of_kind = [row.held[at], row.lost[at], row.developed[at]];
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
