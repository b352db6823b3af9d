//! The table `moves` counted again.

use std::path::Path;

use arrow_array::Array as _;
use hobble_terms::Kind;

use super::captures::{PlayedPly, Run};
use super::games::{GameStart, GameStarts};
use super::totals::Totals;
use crate::error::Error;
use crate::moves::MOVES;
use crate::rows::{Rows, read};

/// The game whose plies are being read: batches end anywhere.
struct OpenGame {
    number: i32,
    start: GameStart,
    /// Plies met.
    seen: i16,
    /// The capture run that is open.
    run: Run,
}

/// Counts the plies of a part, and turns × pieces by counting the pieces down from the start
/// of each game; a game whose plies are met leaves `starts`. Returns the number of rows.
pub(super) fn moves(
    path: &Path,
    totals: &mut Totals,
    starts: &mut GameStarts,
) -> Result<u64, Error> {
    let columns = [
        MOVES.game.name(),
        MOVES.ply.name(),
        MOVES.captured.name(),
        MOVES.promotion.name(),
        MOVES.gives_check.name(),
        MOVES.captured_fate.name(),
        MOVES.captured_net.name(),
        MOVES.castling.name(),
        MOVES.en_passant.name(),
    ];
    let mut open = None;
    let rows = read(path, &columns, |rows| {
        let (captured, promotion) = (rows.read(MOVES.captured)?, rows.read(MOVES.promotion)?);
        let account = &mut totals.moves;
        account.plies += rows.len() as u64;
        account.captures += (captured.len() - captured.null_count()) as u64;
        account.promotions += (promotion.len() - promotion.null_count()) as u64;
        account.castlings += rows.read(MOVES.castling)?.true_count() as u64;
        account.en_passant += rows.read(MOVES.en_passant)?.true_count() as u64;
        follow(rows, totals, starts, &mut open)
    })?;
    totals.broken_games += u64::from(open.is_some());
    Ok(rows)
}

/// Follows the games of some rows, ply by ply.
fn follow(
    rows: &Rows<'_>,
    totals: &mut Totals,
    starts: &mut GameStarts,
    open: &mut Option<OpenGame>,
) -> Result<(), Error> {
    let games = rows.read(MOVES.game)?;
    let plies = rows.read(MOVES.ply)?;
    let captured = rows.read(MOVES.captured)?;
    let promotion = rows.read(MOVES.promotion)?;
    let check = rows.read(MOVES.gives_check)?;
    let fates = rows.read(MOVES.captured_fate)?;
    let nets = rows.read(MOVES.captured_net)?;
    for row in 0..rows.len() {
        let number = games.value(row);
        if open.as_ref().is_none_or(|game| game.number != number) {
            totals.broken_games += u64::from(open.is_some());
            *open = starts.remove(&number).map(|start| OpenGame {
                number,
                start,
                seen: 0,
                run: Run::default(),
            });
            totals.broken_games += u64::from(open.is_none());
        }
        let Some(game) = open else {
            continue;
        };
        game.seen = game.seen.saturating_add(1);
        totals.broken_games += u64::from(plies.value(row) != game.seen);
        let start = &mut game.start;
        let (own, other) = start.turn.fold_wb((0, 1), (1, 0));
        totals.observations_of_moves += start.pieces[own];
        if captured.is_valid(row) && Kind::from_name(captured.value(row)).is_some() {
            start.pieces[other] = start.pieces[other].saturating_sub(1);
        }
        if promotion.is_valid(row) {
            start.pieces[own] += 1;
        }
        let played = PlayedPly {
            game: number,
            ply: plies.value(row),
            color: start.turn,
            captured: captured.is_valid(row).then(|| captured.value(row)),
            promotion: promotion.is_valid(row).then(|| promotion.value(row)),
            check: check.value(row),
            fate: fates.is_valid(row).then(|| fates.value(row)),
            net: nets.is_valid(row).then(|| nets.value(row)),
        };
        game.run.follow(&played, &mut totals.captured);
        start.turn = !start.turn;
        if game.seen == game.start.plies {
            game.run.end(&mut totals.captured);
            *open = None;
        }
    }
    Ok(())
}
