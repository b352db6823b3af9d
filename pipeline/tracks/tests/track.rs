//! A game followed from its first ply to its last: the identity of units, and plies, spells
//! and observations against a second reading of the definitions (`common/reading.rs`).

mod common;

use std::collections::BTreeMap;

use common::games;
use common::mirror::{mirrored_move, mirrored_position};
use common::reading::Reading;
use common::runner::{Tally, check};
use hobble_terms::CauseKind;
use hobble_tracks::exposure::{Outcome, within};
use hobble_tracks::lanes::InstructionSet;
use hobble_tracks::roster::Roster;
use hobble_tracks::spell::{End, Spell, StartState};
use hobble_tracks::track::{Ply, Track};
use proptest::prelude::*;
use shakmaty::{Chess, Move, Position, Square};

fn follow(track: &mut Track, start: &Chess, moves: &[Move]) {
    track.begin(start);
    for &m in moves {
        track.play(m);
    }
    track.finish();
}

fn sorted_spells(track: &Track) -> Vec<Spell> {
    let mut spells = track.spells().to_vec();
    spells.sort_by_key(|spell| (spell.slot, spell.start, spell.k_low));
    spells
}

fn sorted_observations(track: &Track) -> Vec<(bool, usize, [[u64; 4]; 5])> {
    let mut seen: Vec<_> = track
        .observations()
        .map(|(color, key, outcome)| {
            let mut one = [0; Outcome::COUNT];
            one[outcome.index()] = 1;
            (color.is_white(), key.index(), within(&one))
        })
        .collect();
    seen.sort();
    seen
}

/// Each occupied square has a unit of its own, of the kind and colour the board shows.
#[test]
fn units_keep_their_identity() {
    let plies = Tally::new();
    check(file!(), "identity", 300, &games(150), |game| {
        let (mut position, moves) = (game.start(), game.moves());
        let expected = Reading::of(&position, &moves).units;
        let mut roster = Roster::default();
        roster.begin(position.board());
        for ply in 0..=moves.len() {
            if ply > 0 {
                let m = moves[ply - 1];
                let change = roster.play(m, position.turn(), ply as u16);
                let mover = expected.at[ply - 1][m.from().unwrap().to_usize()];
                prop_assert_eq!(Some(usize::from(change.mover)), mover);
                position.play_unchecked(m);
            }
            let mut met = Vec::new();
            for (square, piece) in position.board().iter() {
                let slot = roster.at(square);
                met.push(slot);
                prop_assert_eq!(Some(usize::from(slot)), expected.at[ply][square.to_usize()]);
                prop_assert_eq!(roster.kind(slot), piece.role);
                prop_assert_eq!(roster.color(slot), piece.color);
                prop_assert_eq!(roster.square(slot), square);
                prop_assert_eq!(roster.gone(slot), None);
                let unit = &expected.units[usize::from(slot)];
                prop_assert_eq!(roster.birth(slot), unit.birth);
                prop_assert_eq!(roster.last_moved(slot), unit.moved_by(ply).unwrap_or(0));
                prop_assert_eq!(roster.is_developed(slot), unit.developed(ply));
            }
            met.sort_unstable();
            let units = met.len();
            met.dedup();
            prop_assert_eq!(units, met.len(), "a unit on two squares");
            for slot in (0..roster.len() as u8).filter(|slot| !met.contains(slot)) {
                let unit = &expected.units[usize::from(slot)];
                let gone = unit.captured.map(|(ply, _)| ply).or(unit.promoted);
                prop_assert_eq!(roster.gone(slot), gone);
            }
            plies.add(1);
        }
        Ok(())
    });
    println!(
        "identity of units: {} positions, 0 differences",
        plies.sum()
    );
}

fn cause_name(spell: &Spell) -> &'static str {
    spell.cause.kind.name()
}

fn end_name(spell: &Spell) -> &'static str {
    match (spell.end, spell.capture) {
        (End::Captured, Some(capture)) => capture.fate.name(),
        (End::Captured, None) => "captured by nobody",
        (End::Freed { by, .. }, _) => by.name(),
        (End::GameOver, _) => "game over",
    }
}

/// Every ply, spell and observation is what the definitions say.
#[test]
fn tracks_are_what_the_definitions_say() {
    let mut met: BTreeMap<&str, u64> = BTreeMap::new();
    let counts = std::cell::RefCell::new(&mut met);
    let rows = [const { Tally::new() }; 3];
    let played = check(file!(), "definitions", 300, &games(130), |game| {
        let (start, moves) = (game.start(), game.moves());
        let reading = Reading::of(&start, &moves);
        let plies: Vec<Ply> = (1..=moves.len()).map(|ply| reading.ply(ply)).collect();
        let (spells, observations) = (reading.spells(), reading.observations());
        for instructions in InstructionSet::available() {
            let mut track = Track::with(instructions);
            follow(&mut track, &start, &moves);
            let name = instructions.name();
            prop_assert_eq!(track.start_safe(), reading.safe_by_kind(0), "{}", name);
            prop_assert_eq!(track.plies(), &plies, "{}", name);
            prop_assert_eq!(&sorted_spells(&track), &spells, "{}", name);
            prop_assert_eq!(&sorted_observations(&track), &observations, "{}", name);
        }
        for (tally, n) in rows
            .iter()
            .zip([moves.len(), spells.len(), observations.len()])
        {
            tally.add(n);
        }
        for spell in &spells {
            for name in [cause_name(spell), end_name(spell)] {
                *counts.borrow_mut().entry(name).or_default() += 1;
            }
        }
        Ok(())
    });
    let [plies, spells, observations] = rows.map(|tally| tally.sum());
    println!(
        "tracks against a second reading: {played} games, {plies} plies, {spells} spells, \
         {observations} observations, 0 differences with each of {}; {met:?}",
        common::instruction_sets()
    );
    for name in [
        CauseKind::Undeveloped.name(),
        CauseKind::Taken.name(),
        CauseKind::Blocked.name(),
        CauseKind::Entered.name(),
        CauseKind::Pinned.name(),
        "lost",
        "traded",
        "sold",
        "own",
        "opponent",
        "game over",
    ] {
        assert!(met.get(name).is_some_and(|&n| n >= 20), "{name}: {met:?}");
    }
}

/// What must hold of any game's spells and observations, whatever the definitions of a safe
/// square or a cause.
#[test]
fn turns_and_spells_add_up() {
    let turns_seen = Tally::new();
    check(file!(), "sums", 300, &games(150), |game| {
        let (start, moves) = (game.start(), game.moves());
        let reading = Reading::of(&start, &moves);
        let mut track = Track::new();
        follow(&mut track, &start, &moves);
        let plies = moves.len();
        // Turns times pieces.
        let turns: usize = reading.pieces().map(|slot| reading.turns(slot).len()).sum();
        prop_assert_eq!(track.observed(), turns);
        prop_assert_eq!(track.observations().count(), turns);
        turns_seen.add(turns);
        let mut ends = [0_usize; 3];
        for slot in reading.pieces() {
            let turns = reading.turns(slot);
            let own = |spell: &&Spell| usize::from(spell.slot) == slot;
            for k in 0..=4_u8 {
                let holds = |spell: &&Spell| (spell.k_low..=spell.k_high).contains(&k);
                let mut spells: Vec<_> = track.spells().iter().filter(own).filter(holds).collect();
                spells.sort_by_key(|spell| spell.start);
                // Each restricted turn lies in one spell, each other turn in none.
                for &turn in &turns {
                    let covering = spells
                        .iter()
                        .filter(|spell| {
                            let first = usize::from(spell.start);
                            let after = first + 2 * usize::from(spell.turns);
                            (first..after).contains(&turn)
                        })
                        .count();
                    let restricted = reading.safe(slot, turn) <= Some(usize::from(k));
                    prop_assert_eq!(covering, usize::from(restricted), "turn {}", turn);
                }
                let covered: usize = spells.iter().map(|spell| usize::from(spell.turns)).sum();
                let restricted = turns
                    .iter()
                    .filter(|&&turn| reading.safe(slot, turn) <= Some(usize::from(k)))
                    .count();
                prop_assert_eq!(covered, restricted);
                // One spell ends before the next of the same piece and k starts.
                for pair in spells.windows(2) {
                    prop_assert!(pair[0].end_ply <= pair[1].start);
                    let freed = matches!(pair[0].end, End::Freed { .. });
                    prop_assert!(freed, "only a piece set free is restricted again");
                }
            }
            for spell in track.spells().iter().filter(own) {
                let last = usize::from(spell.start) + 2 * usize::from(spell.turns) - 2;
                let end = usize::from(spell.end_ply);
                prop_assert!(spell.k_low <= spell.k_high && spell.k_high <= 4);
                prop_assert!(spell.state.safe <= spell.k_low);
                prop_assert_eq!(spell.capture, reading.capture(slot));
                match spell.end {
                    End::Captured => {
                        ends[0] += 1;
                        prop_assert_eq!(end, last + 2, "the other side's ply captures");
                        prop_assert_eq!(spell.capture.map(|c| usize::from(c.ply)), Some(end));
                    }
                    End::Freed { .. } => {
                        ends[1] += 1;
                        prop_assert!(end == last + 1 || end == last + 2);
                        prop_assert!(reading.safe(slot, end) > Some(usize::from(spell.k_high)));
                    }
                    End::GameOver => {
                        ends[2] += 1;
                        prop_assert_eq!(end, plies);
                        prop_assert!(last + 2 >= plies && spell.capture.is_none());
                    }
                }
            }
        }
        prop_assert_eq!(ends.iter().sum::<usize>(), track.spells().len());
        Ok(())
    });
    println!(
        "turns and spells: {} turns of pieces added up, 0 differences",
        turns_seen.sum()
    );
}

fn mirrored_ply(ply: &Ply) -> Ply {
    let [white, black] = ply.safe;
    Ply {
        from: ply.from.flip_vertical(),
        to: ply.to.flip_vertical(),
        safe: [black, white],
        ..*ply
    }
}

/// The same game with the board upside down and the colours changed is the same game.
#[test]
fn colours_are_treated_alike() {
    let rows = [const { Tally::new() }; 2];
    let played = check(file!(), "mirror", 300, &games(150), |game| {
        let (start, moves) = (game.start(), game.moves());
        let mirrored = mirrored_position(&start);
        let (mut ours, mut theirs) = (Track::new(), Track::new());
        follow(&mut ours, &start, &moves);
        let flipped: Vec<Move> = moves.iter().copied().map(mirrored_move).collect();
        follow(&mut theirs, &mirrored, &flipped);

        let plies: Vec<Ply> = ours.plies().iter().map(mirrored_ply).collect();
        prop_assert_eq!(&plies, theirs.plies());
        let [white, black] = ours.start_safe();
        prop_assert_eq!([black, white], theirs.start_safe());

        // Units of the start are numbered by their squares, which are others now.
        let squares = |position: &Chess| -> Vec<Square> {
            position.board().iter().map(|(square, _)| square).collect()
        };
        let (from, to) = (squares(&start), squares(&mirrored));
        let slot = |slot: u8| match from.get(usize::from(slot)) {
            Some(square) => {
                let there = square.flip_vertical();
                to.iter().position(|&square| square == there).unwrap() as u8
            }
            None => slot,
        };
        let mut spells: Vec<Spell> = ours
            .spells()
            .iter()
            .map(|spell| Spell {
                slot: slot(spell.slot),
                color: !spell.color,
                state: StartState {
                    square: spell.state.square.flip_vertical(),
                    ..spell.state
                },
                ..*spell
            })
            .collect();
        spells.sort_by_key(|spell| (spell.slot, spell.start, spell.k_low));
        prop_assert_eq!(&spells, &sorted_spells(&theirs));

        let mut observations: Vec<_> = sorted_observations(&ours)
            .into_iter()
            .map(|(white, key, outcome)| (!white, key, outcome))
            .collect();
        observations.sort();
        prop_assert_eq!(observations, sorted_observations(&theirs));
        rows[0].add(plies.len());
        rows[1].add(spells.len());
        Ok(())
    });
    let [plies, spells] = rows.map(|tally| tally.sum());
    println!("colours changed: {played} games, {plies} plies, {spells} spells, 0 differences");
}

/// A tracker used before says the same as a new one.
#[test]
fn nothing_is_carried_over_from_game_to_game() {
    let pairs = (games(100), games(100));
    let compared = check(file!(), "carried over", 200, &pairs, |(one, two)| {
        let mut used = Track::new();
        for game in [&one, &two, &one] {
            let (start, moves) = (game.start(), game.moves());
            let mut new = Track::new();
            follow(&mut new, &start, &moves);
            follow(&mut used, &start, &moves);
            prop_assert_eq!(new.plies(), used.plies());
            prop_assert_eq!(new.spells(), used.spells());
            prop_assert_eq!(new.start_safe(), used.start_safe());
            prop_assert_eq!(sorted_observations(&new), sorted_observations(&used));
        }
        // A game broken off in the middle leaves nothing behind either.
        used.begin(&two.start());
        for m in two.moves() {
            used.play(m);
        }
        let (start, moves) = (one.start(), one.moves());
        let mut new = Track::new();
        follow(&mut new, &start, &moves);
        follow(&mut used, &start, &moves);
        prop_assert_eq!(new.spells(), used.spells());
        Ok(())
    });
    println!("tracker used again: {compared} pairs of games, 0 differences");
}
