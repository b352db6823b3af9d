//! Positions of a game measured eight at once, with each instruction set of this machine,
//! against the measures of single positions.

mod common;

use common::runner::{Tally, check};
use common::{Units, games, instruction_sets, is_piece};
use hobble_tracks::lanes::sheet::{BEFORE, Positions, Sheet};
use hobble_tracks::lanes::{CHUNK, InstructionSet};
use hobble_tracks::pawns::Steps;
use hobble_tracks::survey::Survey;
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;
use shakmaty::fen::Fen;
use shakmaty::{Bitboard, Chess, Color, EnPassantMode, Role, Square};

/// Measures consecutive positions from `first` on, as a chunk with nothing before it.
fn measure(
    instructions: InstructionSet,
    positions: &[Chess],
    first: usize,
    units: &Units,
    sheet: &mut Sheet,
) {
    sheet.begin();
    for lane in 0..CHUNK {
        // Where there are fewer positions, the last is repeated.
        let at = units.at[first + lane.min(positions.len() - 1)];
        for (square, slot) in at.iter().enumerate() {
            if let Some(slot) = slot {
                sheet.squares[*slot][BEFORE + lane] = square as u8;
            }
        }
    }
    sheet.list(units.units.len(), |slot| {
        let unit = &units.units[usize::from(slot)];
        (unit.kind, unit.color)
    });
    instructions.measure(positions, &mut Positions::default(), sheet);
}

/// Squares of the pawn on a square among sets of squares by step.
fn of_pawn<const N: usize>(
    steps: &[[u64; N]; 4],
    at: usize,
    color: Color,
    from: Square,
) -> Bitboard {
    Steps::new([0, 1, 2, 3].map(|step| Bitboard(steps[step][at]))).of(color, from)
}

/// Compares a lane with its position.
fn compare(
    sheet: &Sheet,
    lane: usize,
    position: &Chess,
    slot_at: &[Option<usize>; 64],
) -> TestCaseResult {
    let survey = Survey::of(position);
    let fen = Fen::from_position(position, EnPassantMode::Legal);
    let at = BEFORE + lane;
    let mut sums = [[0_usize; 6]; 2];
    let mut reaches = [0_usize; 2];
    for unit in &survey.units {
        let (square, color) = (unit.square, unit.color);
        let side = usize::from(color.is_black());
        let slot = slot_at[square.to_usize()].expect("a unit stands there");
        let (reach, safe) = match unit.kind {
            Role::Pawn => (
                of_pawn(&sheet.pawn_reach[side], lane, color, square),
                of_pawn(&sheet.pawn_safe[side], at, color, square),
            ),
            _ => (
                Bitboard(sheet.reach[slot][lane]),
                sheet.safe(slot as u8, at),
            ),
        };
        prop_assert_eq!(reach, unit.reach, "reach on {} in {}", square, fen);
        prop_assert_eq!(safe, unit.safe, "safe on {} in {}", square, fen);
        if unit.kind != Role::Pawn {
            prop_assert_eq!(usize::from(sheet.counts[slot][at]), unit.safe.count());
        }
        let pinned = Bitboard(sheet.pinned[side][at]).contains(square);
        prop_assert_eq!(pinned, unit.pinned, "pin on {} in {}", square, fen);
        let attacked = |by: usize| Bitboard(sheet.attacked[by][at]).contains(square);
        prop_assert_eq!(
            attacked(side ^ 1),
            unit.attackers.any(),
            "{} in {}",
            square,
            fen
        );
        prop_assert_eq!(attacked(side), unit.defended, "{} in {}", square, fen);
        sums[side][unit.kind as usize - 1] += safe.count();
        reaches[side] += reach.count();
    }
    for side in 0..2 {
        let of_side = &sheet.sums[side];
        prop_assert_eq!(
            of_side.safe.map(|lanes| usize::from(lanes[lane])),
            sums[side]
        );
        prop_assert_eq!(of_side.reach[lane] as usize, reaches[side]);
    }
    Ok(())
}

/// Reach, safe squares, attacks and pins of every unit are those of the single position.
#[test]
fn lanes_measure_what_single_positions_do() {
    let [positions_seen, units_seen, pieces_seen] = [const { Tally::new() }; 3];
    let played = check(file!(), "lanes", 300, &games(130), |game| {
        let (positions, units) = (game.positions(), Units::of(&game.start(), &game.moves()));
        let mut sheet = Box::<Sheet>::default();
        for instructions in InstructionSet::available() {
            for (nth, chunk) in positions.chunks(CHUNK).enumerate() {
                let first = nth * CHUNK;
                measure(instructions, chunk, first, &units, &mut sheet);
                for (lane, position) in chunk.iter().enumerate() {
                    let slot_at = &units.at[first + lane];
                    compare(&sheet, lane, position, slot_at)?;
                    positions_seen.add(1);
                    units_seen.add(slot_at.iter().flatten().count());
                    let kinds = slot_at.iter().flatten().map(|&slot| units.units[slot].kind);
                    pieces_seen.add(kinds.filter(|&kind| is_piece(kind)).count());
                }
            }
        }
        Ok(())
    });
    println!(
        "lanes ({}): {played} games, {} positions, {} units, {} of them pieces, 0 differences",
        instruction_sets(),
        positions_seen.sum(),
        units_seen.sum(),
        pieces_seen.sum()
    );
    assert!(pieces_seen.sum() > 10_000);
}

/// The widest registers hold a chunk, and there is always a way to measure.
#[test]
fn there_is_always_an_instruction_set() {
    let names: Vec<_> = InstructionSet::available()
        .into_iter()
        .map(InstructionSet::name)
        .collect();
    assert_eq!(names.last(), Some(&"portable"));
    assert_eq!(InstructionSet::fastest().name(), names[0]);
}
