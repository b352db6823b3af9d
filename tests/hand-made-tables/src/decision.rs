//! Rows of the table `decisions`, with the columns that questions read.

use arrow_array::RecordBatch;

use crate::{column, table};

/// One row; by default a chance of White's to restrain a knight by a pawn, missed by another quiet
/// move at move 15.
#[derive(Debug, Clone)]
pub struct Decision {
    pub game: u32,
    pub color: &'static str,
    pub fold: u8,
    pub player_fold: Option<u8>,
    pub ply: u16,
    pub kind: &'static str,
    pub safe: u8,
    pub leaving: [Option<u16>; 3],
    pub by_pawn: u16,
    pub quiet: u16,
    pub played: &'static str,
    pub played_quiet: bool,
    pub restrains: bool,
    pub left: Option<u8>,
    pub balance: i16,
    pub phase: &'static str,
    pub fate: &'static str,
    pub fate_ply: Option<u16>,
    pub others_lost_ply: Option<u16>,
    /// Change of the balance after 1, 3, 5, 10 and 20 moves.
    pub material: [Option<i16>; 5],
    pub plies_left: u16,
    pub mover_result: &'static str,
    pub band: &'static str,
    pub owner_band: &'static str,
    pub time_class: &'static str,
}

impl Default for Decision {
    fn default() -> Self {
        Decision {
            game: 1,
            color: "white",
            fold: 0,
            player_fold: None,
            ply: 28,
            kind: "knight",
            safe: 4,
            leaving: [Some(0), Some(1), None],
            by_pawn: 1,
            quiet: 20,
            played: "rook",
            played_quiet: true,
            restrains: false,
            left: Some(4),
            balance: 0,
            phase: "middlegame",
            fate: "survived",
            fate_ply: None,
            others_lost_ply: None,
            material: [Some(0); 5],
            plies_left: 60,
            mover_result: "draw",
            band: "1400-1599",
            owner_band: "1400-1599",
            time_class: "rapid",
        }
    }
}

impl Decision {
    /// The same chance, taken by a pawn's move.
    pub fn taken() -> Decision {
        Decision {
            played: "pawn",
            restrains: true,
            left: Some(1),
            ..Decision::default()
        }
    }

    /// The same, the piece lost at this ply.
    pub fn lost(self, ply: u16) -> Decision {
        Decision {
            fate: "lost",
            fate_ply: Some(ply),
            ..self
        }
    }
}

/// The table of these rows.
pub fn decisions(rows: &[Decision]) -> RecordBatch {
    macro_rules! column {
        ($name:literal, $field:ident) => {
            column($name, rows.iter().map(|row| row.$field).collect::<Vec<_>>())
        };
    }
    let mut columns = vec![
        column!("game", game),
        column!("color", color),
        column!("fold", fold),
        column!("player_fold", player_fold),
        column!("ply", ply),
        column!("kind", kind),
        column!("safe", safe),
        column!("by_pawn", by_pawn),
        column!("quiet", quiet),
        column!("played", played),
        column!("played_quiet", played_quiet),
        column!("restrains", restrains),
        column!("squares_left", left),
        column!("balance", balance),
        column!("phase", phase),
        column!("fate", fate),
        column!("fate_ply", fate_ply),
        column!("others_lost_ply", others_lost_ply),
        column!("plies_left", plies_left),
        column!("mover_result", mover_result),
        column!("band", band),
        column!("owner_band", owner_band),
        column!("time_class", time_class),
    ];
    let all = |row: &Decision| row.leaving.iter().flatten().sum::<u16>();
    let restraining: Vec<u16> = rows.iter().map(all).collect();
    columns.push(column("restraining", restraining));
    for left in 0..3 {
        let moves: Vec<Option<u16>> = rows.iter().map(|row| row.leaving[left]).collect();
        columns.push(column(&format!("leaving_{left}"), moves));
    }
    for (place, moves) in [1, 3, 5, 10, 20].into_iter().enumerate() {
        let changes: Vec<Option<i16>> = rows.iter().map(|row| row.material[place]).collect();
        columns.push(column(&format!("material_{moves}"), changes));
    }
    table(columns)
}
