//! Numbers of moves beneath a plot of a game.

use hobble_walkthrough::Walkthrough;
use shakmaty::Position as _;

/// Room a number takes, in units of the plot.
const NUMBER: f64 = 38.0;

/// Positions after White's move that get a number, with the number of the move, as many as
/// `room` units have room for.
pub(super) fn ticks(walkthrough: &Walkthrough, room: f64) -> Vec<(usize, u32)> {
    let positions = &walkthrough.game.positions;
    let plies = walkthrough.game.plies.len();
    let least = (NUMBER * plies as f64 / room / 2.0).max(1.0);
    let step = [1, 2, 5, 10, 20, 25, 50, 100, 200]
        .into_iter()
        .find(|&step| f64::from(step) >= least)
        .unwrap_or(500);
    (1..)
        .zip(positions)
        .take(plies)
        .filter(|(_, position)| position.chess.turn().is_white())
        .map(|(at, position)| (at, position.chess.fullmoves().get()))
        .filter(|(_, number)| number.is_multiple_of(step))
        .collect()
}
