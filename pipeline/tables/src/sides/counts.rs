//! What is counted of a side in a game, for its row in the table `sides`.

use hobble_terms::{CauseKind, Fate, HORIZONS, Kind, MAX_K, PLIES_TO_LANDMARK, SpellEnd};
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

/// Piece-turns: all, developed, held, and held before a loss.
fn count_observations(track: &Track, sides: &mut [SideCounts; 2]) {
    // By side, whether developed, kind and safe squares: held at k is what stands at k or below.
    let mut seen = [[[[0_i32; 10]; KINDS]; 2]; 2];
    let mut lost = [[0_i32; 10]; 2];
    for (color, key, outcome) in track.observations() {
        let (side, safe) = (side(color), usize::from(key.safe()).min(9));
        let developed = key.developed();
        seen[side][usize::from(developed)][kind_of(key)][safe] += 1;
        lost[side][safe] += i32::from(developed && LOST_IN_TIME[outcome.index()]);
    }
    for (side, count) in sides.iter_mut().enumerate() {
        let [at_home, developed] = &seen[side];
        for kind in 0..KINDS {
            let moved: i32 = developed[kind].iter().sum();
            count.developed_turns[kind] = moved;
            count.piece_turns[kind] = moved + at_home[kind].iter().sum::<i32>();
            let mut held = 0;
            for (k, turns) in developed[kind].iter().take(KS).enumerate() {
                held += turns;
                count.held[kind * KS + k] = held;
            }
        }
        let mut held = 0;
        for (k, turns) in lost[side].iter().take(KS).enumerate() {
            held += turns;
            count.held_lost[k] = held;
        }
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
