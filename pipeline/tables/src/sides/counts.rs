//! What is counted of a side in a game, for its row in the table `sides`.

use hobble_terms::{CauseKind, Fate, HORIZONS, Kind, MAX_K, PLIES_TO_LANDMARK, Phase, SpellEnd};
use hobble_tracks::decision::DecisionRow;
use hobble_tracks::exposure::{BoardKey, Outcome};
use hobble_tracks::spell::Spell;
use hobble_tracks::track::Track;
use shakmaty::Color;

use crate::spells::spell_end;

/// Values of k.
pub const KS: usize = MAX_K as usize + 1;

/// Kinds of piece.
pub const KINDS: usize = Kind::COUNT;

/// Phases of a game.
pub const PHASES: usize = Phase::COUNT;

/// Moves within which a loss counts.
pub const WITHIN: usize = HORIZONS[2];

/// Parts that a chance is counted in for what a random move would take.
const PARTS: i32 = 1000;

/// What is counted of a side in a game. Arrays are by kind and k, or as their columns say.
#[derive(Clone, Debug)]
pub struct SideCounts {
    pub turns: i32,
    pub piece_turns: [i32; KINDS],
    pub developed_turns: [i32; KINDS],
    pub held: [i32; KINDS * KS],
    pub held_lost: [i32; KS],
    pub held_lost_by_kind: [i32; KINDS * KS],
    pub developed_turns_by_phase: [i32; PHASES],
    pub held_by_phase: [i32; PHASES * KS],
    pub held_lost_by_phase: [i32; PHASES * KS],
    pub restrained: [i32; KINDS * KS],
    pub causes: [i32; CauseKind::COUNT * KS],
    pub ends: [i32; SpellEnd::COUNT * KS],
    pub spell_turns: [i32; KS],
    pub restraints: [i32; KS],
    pub restraints_lost: [i32; KS],
    pub taken: i32,
    pub given: i32,
    pub own_taken: i32,
    pub own_given: i32,
    pub scope_own: i32,
    pub scope_other: i32,
    pub captured: [i32; 15],
    pub chances: i32,
    pub chances_taken: i32,
    pub chances_at_random: i32,
}

impl SideCounts {
    /// Nothing counted.
    const NONE: SideCounts = SideCounts {
        turns: 0,
        piece_turns: [0; KINDS],
        developed_turns: [0; KINDS],
        held: [0; KINDS * KS],
        held_lost: [0; KS],
        held_lost_by_kind: [0; KINDS * KS],
        developed_turns_by_phase: [0; PHASES],
        held_by_phase: [0; PHASES * KS],
        held_lost_by_phase: [0; PHASES * KS],
        restrained: [0; KINDS * KS],
        causes: [0; CauseKind::COUNT * KS],
        ends: [0; SpellEnd::COUNT * KS],
        spell_turns: [0; KS],
        restraints: [0; KS],
        restraints_lost: [0; KS],
        taken: 0,
        given: 0,
        own_taken: 0,
        own_given: 0,
        scope_own: 0,
        scope_other: 0,
        captured: [0; 15],
        chances: 0,
        chances_taken: 0,
        chances_at_random: 0,
    };

    /// Counts of White and Black in a game that was followed to its end; `chances` are the rows
    /// of its chances to restrain, `first` is the side that plays ply 1.
    pub fn of(track: &Track, chances: &[DecisionRow], first: Color) -> [SideCounts; 2] {
        let mut sides = [SideCounts::NONE; 2];
        count_plies(track, first, &mut sides);
        count_observations(track, &mut sides);
        for spell in track.spells() {
            sides[side(spell.color)].add_spell(spell);
        }
        for (victim, capture) in track.captures() {
            let kind = usize::from(hobble_terms::unit_code(victim.kind));
            let fate = capture.fate as usize;
            if let Some(count) = sides[side(victim.color)].captured.get_mut(fate * 5 + kind) {
                *count += 1;
            }
        }
        for row in chances {
            sides[side(row.color)].add_chance(row);
        }
        sides
    }

    fn add_spell(&mut self, spell: &Spell) {
        if !spell.state.developed {
            return;
        }
        let restrained = spell.is_restrained();
        let turns = i32::from(spell.turns);
        let last = usize::from(spell.start + PLIES_TO_LANDMARK) + 2 * WITHIN;
        let lost_in_time = spell
            .capture
            .is_some_and(|capture| capture.fate == Fate::Lost && usize::from(capture.ply) <= last);
        let kind = Kind::of(spell.kind).map_or(0, |kind| kind as usize);
        let (cause, end) = (spell.cause.kind as usize, spell_end(spell) as usize);
        for k in usize::from(spell.k_low)..=usize::from(spell.k_high).min(KS - 1) {
            self.causes[cause * KS + k] += 1;
            self.ends[end * KS + k] += 1;
            self.spell_turns[k] += turns;
            if restrained {
                // All turns but the first: the landmark is the second.
                self.restrained[kind * KS + k] += turns - 1;
                self.restraints[k] += 1;
                self.restraints_lost[k] += i32::from(lost_in_time);
            }
        }
    }

    fn add_chance(&mut self, row: &DecisionRow) {
        self.chances += 1;
        self.chances_taken += i32::from(row.played.restrains);
        let quiet = i32::from(row.quiet.max(1));
        // Rounded to the nearest part.
        self.chances_at_random += (2 * PARTS * i32::from(row.chance.moves()) + quiet) / (2 * quiet);
    }
}

fn side(color: Color) -> usize {
    color.fold_wb(0, 1)
}

/// Turns, scope, and squares taken and given.
fn count_plies(track: &Track, first: Color, sides: &mut [SideCounts; 2]) {
    let scopes = |safe: &[[u8; 6]; 2]| safe.map(|units| units.iter().map(|&n| i32::from(n)).sum());
    let mut scope: [i32; 2] = scopes(&track.start_safe());
    let mut mover = side(first);
    for ply in track.plies() {
        let count = &mut sides[mover];
        count.turns += 1;
        count.scope_own += scope[mover];
        count.scope_other += scope[1 - mover];
        count.taken += i32::from(ply.taken);
        count.given += i32::from(ply.given);
        count.own_taken += i32::from(ply.own_taken);
        count.own_given += i32::from(ply.own_given);
        scope = scopes(&ply.safe);
        mover = 1 - mover;
    }
}

/// Safe squares that are told apart, 9 for 9 and more.
const SAFE: usize = 10;

/// Turns of the developed pieces of a kind or in a phase, by safe squares.
#[derive(Clone, Copy, Default)]
struct BySafe {
    turns: [i32; SAFE],
    /// Those after which the piece was lost within [`WITHIN`] moves.
    lost: [i32; SAFE],
}

impl BySafe {
    fn add(&mut self, safe: usize, lost: bool) {
        self.turns[safe] += 1;
        self.lost[safe] += i32::from(lost);
    }
}

/// Held at k is what has k safe squares or fewer.
fn held(by_safe: &[i32; SAFE]) -> [i32; KS] {
    let mut sum = 0;
    std::array::from_fn(|k| {
        sum += by_safe[k];
        sum
    })
}

/// Puts the counts of each kind or phase one after the other.
fn in_rows<const N: usize, const ALL: usize>(rows: [[i32; KS]; N]) -> [i32; ALL] {
    std::array::from_fn(|at| rows[at / KS][at % KS])
}

/// Piece-turns: all, developed, held, and held before a loss.
fn count_observations(track: &Track, sides: &mut [SideCounts; 2]) {
    let mut kinds = [[BySafe::default(); KINDS]; 2];
    let mut phases = [[BySafe::default(); PHASES]; 2];
    for (color, key, outcome) in track.observations() {
        let (side, kind) = (side(color), kind_of(key));
        sides[side].piece_turns[kind] += 1;
        if key.developed() {
            let safe = usize::from(key.safe()).min(SAFE - 1);
            let lost = LOST_IN_TIME[outcome.index()];
            kinds[side][kind].add(safe, lost);
            phases[side][key.phase() as usize].add(safe, lost);
        }
    }
    for (side, count) in sides.iter_mut().enumerate() {
        let (kinds, phases) = (&kinds[side], &phases[side]);
        let lost_of_kinds = kinds.map(|kind| held(&kind.lost));
        count.developed_turns = kinds.map(|kind| kind.turns.iter().sum());
        count.held = in_rows(kinds.map(|kind| held(&kind.turns)));
        count.held_lost = std::array::from_fn(|k| lost_of_kinds.iter().map(|lost| lost[k]).sum());
        count.held_lost_by_kind = in_rows(lost_of_kinds);
        count.developed_turns_by_phase = phases.map(|phase| phase.turns.iter().sum());
        count.held_by_phase = in_rows(phases.map(|phase| held(&phase.turns)));
        count.held_lost_by_phase = in_rows(phases.map(|phase| held(&phase.lost)));
    }
}

fn kind_of(key: BoardKey) -> usize {
    Kind::of(key.kind()).map_or(0, |kind| kind as usize)
}

/// By packed outcome, whether the piece was lost within [`WITHIN`] moves.
static LOST_IN_TIME: std::sync::LazyLock<[bool; Outcome::COUNT]> = std::sync::LazyLock::new(|| {
    let mut lost = [false; Outcome::COUNT];
    for plies in 1..=2 * WITHIN {
        lost[Outcome::after(plies, Some(Fate::Lost)).index()] = true;
    }
    lost
});
