//! Rows of the table `turns`, with the columns that comparisons read.

use arrow_array::RecordBatch;

use crate::{column, table};

/// One row; by default a free knight of White at move 15.
#[derive(Debug, Clone)]
pub struct Turn {
    pub game: u32,
    pub fold: u8,
    pub ply: u16,
    pub sampled: bool,
    pub landmark: bool,
    pub color: &'static str,
    pub kind: &'static str,
    pub square: &'static str,
    pub safe: u8,
    pub good: u8,
    pub safe_last: Option<u8>,
    pub safe_before_last: Option<u8>,
    pub attacked_last: Option<bool>,
    pub attackers: u8,
    pub defenders: u8,
    pub held_turns: Option<u16>,
    pub cause: Option<&'static str>,
    pub cause_kind: Option<&'static str>,
    pub quiet: Option<bool>,
    pub squares_taken: Option<u8>,
    pub restrained: [Option<u16>; 5],
    pub restrained_by: Option<&'static str>,
    pub restrained_taken: Option<u8>,
    pub others_held: u8,
    pub scope_own: u16,
    pub scope_other: u16,
    pub balance: i16,
    pub phase: &'static str,
    pub band: &'static str,
    pub time_class: &'static str,
    pub rating_diff: &'static str,
    pub fate: &'static str,
    pub fate_ply: Option<u16>,
    pub others_lost_ply: Option<u16>,
    /// Change of the balance after 1, 3, 5, 10 and 20 moves.
    pub material: [Option<i16>; 5],
    /// Change of the evaluation after 1, 3, 5 and 10 moves.
    pub evals: [Option<f32>; 4],
    pub plies_left: u16,
    pub owner_result: &'static str,
}

impl Default for Turn {
    fn default() -> Self {
        Turn {
            game: 1,
            fold: 0,
            ply: 28,
            sampled: false,
            landmark: true,
            color: "white",
            kind: "knight",
            square: "c3",
            safe: 5,
            good: 0,
            safe_last: Some(5),
            safe_before_last: Some(5),
            attacked_last: Some(false),
            attackers: 0,
            defenders: 1,
            held_turns: None,
            cause: None,
            cause_kind: None,
            quiet: None,
            squares_taken: None,
            restrained: [None; 5],
            restrained_by: None,
            restrained_taken: None,
            others_held: 0,
            scope_own: 30,
            scope_other: 30,
            balance: 0,
            phase: "middlegame",
            band: "1400-1599",
            time_class: "rapid",
            rating_diff: "-49..49",
            fate: "survived",
            fate_ply: None,
            others_lost_ply: None,
            material: [Some(0); 5],
            evals: [None; 4],
            plies_left: 60,
            owner_result: "draw",
        }
    }
}

impl Turn {
    /// A knight at its landmark at k = 1, restrained by a pawn; at every higher k as well.
    pub fn restrained() -> Turn {
        Turn {
            safe: 1,
            safe_last: Some(1),
            held_turns: Some(2),
            cause: Some("taken"),
            cause_kind: Some("pawn"),
            quiet: Some(true),
            squares_taken: Some(4),
            restrained: [None, Some(1), Some(1), Some(1), Some(1)],
            restrained_by: Some("pawn"),
            restrained_taken: Some(4),
            ..Turn::default()
        }
    }

    /// The same piece, lost at this ply.
    pub fn lost(self, ply: u16) -> Turn {
        Turn {
            fate: "lost",
            fate_ply: Some(ply),
            ..self
        }
    }
}

/// The table of these rows.
pub fn turns(rows: &[Turn]) -> RecordBatch {
    macro_rules! columns {
        ($($field:ident),+ $(,)?) => {
            vec![$(column(
                stringify!($field),
                rows.iter().map(|row| row.$field).collect::<Vec<_>>(),
            )),+]
        };
    }
    let mut columns = columns!(
        game,
        fold,
        ply,
        landmark,
        sampled,
        color,
        kind,
        square,
        safe,
        good,
        safe_last,
        safe_before_last,
        attacked_last,
        attackers,
        defenders,
        held_turns,
        cause,
        cause_kind,
        quiet,
        squares_taken,
        restrained_by,
        restrained_taken,
        others_held,
        scope_own,
        scope_other,
        balance,
        phase,
        band,
        time_class,
        rating_diff,
        fate,
        fate_ply,
        others_lost_ply,
        plies_left,
        owner_result,
    );
    for (place, moves) in [1, 3, 5, 10, 20].into_iter().enumerate() {
        let values: Vec<_> = rows.iter().map(|row| row.material[place]).collect();
        columns.push(column(&format!("material_{moves}"), values));
    }
    for (place, moves) in [1, 3, 5, 10].into_iter().enumerate() {
        let values: Vec<_> = rows.iter().map(|row| row.evals[place]).collect();
        columns.push(column(&format!("eval_{moves}"), values));
    }
    for k in 0..5 {
        let values: Vec<_> = rows.iter().map(|row| row.restrained[k]).collect();
        columns.push(column(&format!("restrained_{k}"), values));
    }
    table(columns)
}
