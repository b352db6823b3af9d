//! Tables that both tests start from.

use arrow_array::RecordBatch;
use hand_made_tables::{column, table};

/// Rapid games of four plies with these numbers; White is rated 1400-1599, Black 1600-1799.
pub fn games(
    number: &[u32],
    eco: Vec<Option<&'static str>>,
    start_fen: Vec<Option<&'static str>>,
) -> RecordBatch {
    let n = number.len();
    let ids: Vec<u64> = number.iter().map(|&n| n.into()).collect();
    table(vec![
        column("game", number.to_vec()),
        column("game_id", ids),
        column("white_band", vec!["1400-1599"; n]),
        column("black_band", vec!["1600-1799"; n]),
        column("time_class", vec!["rapid"; n]),
        column("eco", eco),
        column("start_fen", start_fen),
        column("plies", vec![4_u16; n]),
    ])
}
