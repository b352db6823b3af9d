//! The first moves of games, which give their opening where they have no ECO code.

use std::collections::HashMap;

use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::columns::Rows;
use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use shakmaty::Square;

use crate::openings::{FIRST_PLIES, Opening, step};

/// First moves by game, while they are read.
type Steps = HashMap<u32, [u16; FIRST_PLIES]>;

const COLUMNS: [&str; 5] = ["game", "ply", "from_square", "to_square", "promotion"];

/// What `made` makes of the first moves of the games of a part that are wanted, by their numbers;
/// nothing where the table of moves was not written.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn read<T>(
    dataset: &Dataset,
    id: &PartId,
    wanted: impl Fn(u64) -> bool + Sync,
    made: impl Fn(Opening) -> Option<T>,
) -> Result<HashMap<u64, T>, AskError> {
    let Some(part) = dataset.part(Table::Moves, id) else {
        return Ok(HashMap::new());
    };
    let steps: Steps = part.count(
        &COLUMNS,
        Steps::new,
        |rows: &Rows, steps: &mut Steps| in_batch(rows, |game| wanted(game.into()), steps),
        |sum, steps| {
            for (game, steps) in steps {
                let sum = sum.entry(game).or_default();
                for (to, from) in sum.iter_mut().zip(steps) {
                    *to |= from;
                }
            }
        },
    )?;
    let openings = steps.into_iter();
    Ok(openings
        .filter_map(|(game, steps)| Some((game.into(), made(Opening::of_moves(steps)?)?)))
        .collect())
}

fn in_batch(rows: &Rows, wanted: impl Fn(u32) -> bool, steps: &mut Steps) -> Result<(), AskError> {
    let (games, plies) = (rows.fours("game")?, rows.pairs("ply")?);
    let square = |name: &str| -> Result<_, AskError> {
        Ok(rows
            .texts(name)?
            .read_as(|word| word?.parse::<Square>().ok()))
    };
    let (from, to) = (square("from_square")?, square("to_square")?);
    let promotion = rows.texts("promotion")?;
    let promotion = promotion.read_as(|word| Kind::from_name(word?).map(Kind::role));
    for (row, (&game, &ply)) in games.iter().zip(plies).enumerate() {
        let place = usize::from(ply).wrapping_sub(1);
        if place >= FIRST_PLIES || !wanted(game) {
            continue;
        }
        let squares = from.at(row).zip(to.at(row));
        let (from, to) =
            squares.ok_or_else(|| rows.bad(format!("row {}: invalid square", rows.place(row))))?;
        steps.entry(game).or_default()[place] = step(from, to, promotion.at(row));
    }
    Ok(())
}
