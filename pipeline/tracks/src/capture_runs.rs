//! Capture runs, and what became of each captured unit in them (definitions, section 7).

use hobble_terms::{Fate, value};
use shakmaty::{Color, Role, Square};

use crate::ply::Ply;
use crate::roster::Slot;
use crate::spell::Capture;

/// Most free plies between two plies of a run that change material.
pub const FREE_PLIES: usize = 2;

/// A captured unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Victim {
    /// Ply that captured it.
    pub ply: u16,
    /// The unit.
    pub slot: Slot,
    /// Its kind.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// Where it stood.
    pub square: Square,
    /// Ply of the promotion by which it was born; 0 where it was there from the start.
    pub birth: u16,
}

/// Number of different values a captured unit can have.
const VALUES: usize = 4;

/// Rank of a unit's value among those a captured unit can have, cheapest first.
const fn rank(kind: Role) -> usize {
    match kind {
        Role::Pawn | Role::King => 0,
        Role::Knight | Role::Bishop => 1,
        Role::Rook => 2,
        Role::Queen => 3,
    }
}

// Equal values have one rank, and ranks are ordered as values are.
const _: () = {
    let mut a = 0;
    while a < 5 {
        let mut b = 0;
        while b < 5 {
            let (one, other) = (Role::ALL[a], Role::ALL[b]);
            assert!((value(one) < value(other)) == (rank(one) < rank(other)));
            b += 1;
        }
        a += 1;
    }
};

/// Whether a ply captures or promotes.
const fn changes_material(ply: &Ply) -> bool {
    ply.captured.is_some() || ply.promotion.is_some()
}

/// Calls `on_fate` with each victim and what became of it.
///
/// `victims` are the captured units of a game in the order of their plies, `balance` is
/// White's balance at each position.
pub fn decide_fates(
    plies: &[Ply],
    victims: &[Victim],
    balance: &[i16],
    mut on_fate: impl FnMut(&Victim, Capture),
) {
    let mut rest = victims;
    let mut at = 0;
    while let Some(first) = rest.first() {
        // A run that starts with a promotion may hold captures too, so that it is looked for
        // from the plies, not from the captures.
        let Some(start) = (at..plies.len()).find(|&ply| changes_material(&plies[ply])) else {
            return;
        };
        let end = run_end(plies, start);
        at = end;
        if usize::from(first.ply) > end {
            continue;
        }
        let count = rest.partition_point(|victim| usize::from(victim.ply) <= end);
        let (run, later) = rest.split_at(count);
        rest = later;
        let net = balance[end] - balance[start];
        decide_run(run, start as u16, net, &mut on_fate);
    }
}

/// Position after the last ply of the run that starts with ply `start + 1`.
fn run_end(plies: &[Ply], start: usize) -> usize {
    let mut end = start + 1;
    let mut free = 0;
    for ply in start + 1..plies.len() {
        if changes_material(&plies[ply]) {
            end = ply + 1;
            free = 0;
        } else if !(plies[ply].check || plies[ply - 1].check) {
            free += 1;
            if free > FREE_PLIES {
                break;
            }
        }
    }
    end
}

/// Decides the fates of the units captured in one run, which starts behind position `start`; `net` is
/// White's.
fn decide_run(run: &[Victim], start: u16, net: i16, on_fate: &mut impl FnMut(&Victim, Capture)) {
    // A piece born in the run counts as the pawn that its side gave for it.
    let rank = |victim: &Victim| {
        rank(if victim.birth > start {
            Role::Pawn
        } else {
            victim.kind
        })
    };
    for color in Color::ALL {
        let net = color.fold_wb(net, -net);
        // Captured units of the other side that are not paired yet, by value.
        let mut others = [0_u8; VALUES];
        for victim in run.iter().filter(|victim| victim.color != color) {
            others[rank(victim)] += 1;
        }
        let turns = (0..VALUES)
            .rev()
            .flat_map(|value| [(value, true), (value, false)]);
        for (value, exchanged) in turns {
            let own = run.iter().filter(|victim| {
                victim.color == color
                    && rank(victim) == value
                    && was_exchanged(run, victim) == exchanged
            });
            for victim in own {
                let partner = (value..VALUES).find(|&value| others[value] > 0);
                if let Some(partner) = partner {
                    others[partner] -= 1;
                }
                let (fate, ply) = (fate(net, value, partner), victim.ply);
                on_fate(victim, Capture { fate, ply, net });
            }
        }
    }
}

/// Fate of a captured unit by its owner's net, its value and that of the unit it is paired
/// with, by rank.
const fn fate(net: i16, value: usize, partner: Option<usize>) -> Fate {
    match partner {
        None if net <= -2 => Fate::Lost,
        None if net >= 2 => Fate::Sold,
        Some(partner) if net >= 2 && partner > value => Fate::Sold,
        _ => Fate::Traded,
    }
}

/// Whether a unit of the other side was captured in the run on the same square.
fn was_exchanged(run: &[Victim], victim: &Victim) -> bool {
    run.iter()
        .any(|other| other.color != victim.color && other.square == victim.square)
}
