//! Turns in the sample, counted side by side: of developed pieces by the time their owner has left,
//! and at how many the piece was restrained; and the time used at turns with a restrained piece and
//! without one.

use crate::count::{Count, Counts};
use crate::hurry::Hurry;
use crate::sides::{NOT_COUNTED, Places};
use crate::tally::{Counted, Tally, holds_own};
use hobble_conditions::AskError;
use hobble_dataset::columns::{Rows, float};
use hobble_terms::Table;

/// Adds the turns of a part to what is counted; nothing where it has no table of them.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn count(counted: &Counted<'_>) -> Result<Tally, AskError> {
    let restrained = format!("restrained_{}", counted.habits.k);
    let columns = [
        "game",
        "ply",
        "sampled",
        "color",
        "clock",
        "seconds_used",
        &restrained,
    ];
    counted.tally(Table::Turns, |part, group, places, tally| {
        if holds_own(part, group, places)?.is_none() {
            return Ok(());
        }
        // The pieces of a turn stand one after the other, and a batch may end among them.
        let mut open = None;
        for rows in part.read(&columns, group)? {
            in_batch(&rows?, &restrained, places, &mut open, tally)?;
        }
        if let Some(turn) = open {
            turn.add_to(tally);
        }
        Ok(())
    })
}

fn in_batch(
    rows: &Rows,
    restrained: &str,
    places: [&Places; 2],
    open: &mut Option<Turn>,
    tally: &mut Tally,
) -> Result<(), AskError> {
    let (games, plies) = (rows.fours("game")?, rows.pairs("ply")?);
    let sampled = rows.booleans("sampled")?;
    let (clock, seconds) = (rows.floats("clock")?, rows.floats("seconds_used")?);
    let restrained = rows.optional_numbers(restrained)?;
    let sides = ["white", "black"];
    let color = rows.texts("color")?;
    let side = color.read_as(|word| sides.iter().position(|side| Some(*side) == word));
    for row in 0..rows.len() {
        let game = u64::from(games[row]);
        let counted = places.map(|of| of.of(game));
        if !sampled.value(row) || counted == [[NOT_COUNTED; 2]; 2] {
            continue;
        }
        let place = (game, plies[row]);
        if open.as_ref().is_none_or(|turn| turn.place != place) {
            let side = side.at(row).ok_or_else(|| {
                let word = color.get(row).unwrap_or("null");
                rows.bad(format!("invalid color \"{word}\""))
            })?;
            let new = Turn {
                place,
                counted,
                side,
                pieces: 0,
                restrained: 0,
                left: float(clock, row).map(Hurry::of),
                milliseconds: float(seconds, row)
                    .filter(|seconds| *seconds >= 0.0)
                    .map(|seconds| (f64::from(seconds) * 1000.0).round() as u64),
            };
            if let Some(turn) = open.replace(new) {
                turn.add_to(tally);
            }
        }
        if let Some(turn) = open {
            turn.pieces += 1;
            turn.restrained += u64::from(restrained.get(row).is_some());
        }
    }
    Ok(())
}

/// A turn of a side.
struct Turn {
    /// Game and position.
    place: (u64, u16),
    /// Whose sides of the game are counted.
    counted: [[u32; 2]; 2],
    /// Place of the side on move: 0 for White.
    side: usize,
    /// Developed pieces.
    pieces: u64,
    /// Restrained ones.
    restrained: u64,
    left: Option<Hurry>,
    /// Time used, where it is known.
    milliseconds: Option<u64>,
}

impl Turn {
    /// Counts it for the sides that it is a turn of.
    fn add_to(&self, tally: &mut Tally) {
        tally.count_of_side(self.counted, self.side, |counts| self.add(counts));
    }

    fn add(&self, counts: &mut Counts) {
        let mut add = |count: Count, number: u64| counts[count as usize] += number;
        if let Some(left) = self.left {
            let [turns, spent_restrained] = match left {
                Hurry::Hurried => [Count::HurriedTurns, Count::HurriedTurnsRestrained],
                Hurry::Unhurried => [Count::UnhurriedTurns, Count::UnhurriedTurnsRestrained],
            };
            add(turns, self.pieces);
            add(spent_restrained, self.restrained);
        }
        if let Some(milliseconds) = self.milliseconds {
            let [turns, time] = match self.restrained {
                0 => [Count::TimedOther, Count::TimeOther],
                _ => [Count::TimedRestrained, Count::TimeRestrained],
            };
            add(turns, 1);
            add(time, milliseconds);
        }
    }
}
