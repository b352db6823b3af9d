//! Words of the report on a claim that several of its parts use.

use super::answer::{ClaimAnswer, Rung};

/// From when the moves of the curve are counted.
pub fn since(answer: &ClaimAnswer) -> String {
    match answer.claim.turns {
        turns if answer.claim.is_of_restrained() && turns == answer.claim.first_turn() => {
            "since the turn after it was restrained".to_owned()
        }
        1 => "since it was first held".to_owned(),
        turns => format!("since it had been held for {turns} turns"),
    }
}

/// What a reader calls a rung.
pub const fn title(rung: Rung) -> &'static str {
    match rung {
        Rung::Association => "Against comparable pieces",
        Rung::Twins => "Twins in one position",
        Rung::Decision => "Played against not played",
        Rung::Guards => "Guards",
        Rung::Confirmation => "Confirmed on unseen games",
    }
}
