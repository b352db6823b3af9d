//! How a figure about a player is shown: what it is called, which are drawn, what stands in a cell.

use super::answer::{Figure, HabitsAnswer, Measure, TooFew, Unit};
use hobble_report::sections::bounds;
use hobble_report::{Cell, Unit as Written, Why};

/// Figures drawn beside peers; the tables hold all.
const DRAWN: [&str; 12] = [
    "held",
    "held_knights",
    "held_bishops",
    "held_rooks",
    "held_queens",
    "by_own_moves",
    "taken",
    "long",
    "ended_freed",
    "lost_within",
    "opponent_held",
    "opponent_won",
];

/// The figures drawn beside peers.
pub fn drawn(answer: &HabitsAnswer) -> Vec<&Measure> {
    answer
        .sections
        .iter()
        .flat_map(|section| &section.measures)
        .filter(|measure| DRAWN.contains(&measure.name.as_str()))
        .collect()
}

/// A measure's name for readers.
pub fn label(measure: &Measure) -> String {
    match measure.name.as_str() {
        "entered" => "The piece walked into it".to_owned(),
        _ => measure.label.clone(),
    }
}

/// What a figure is written in.
pub const fn written(unit: Unit) -> Written {
    match unit {
        Unit::PerGame | Unit::Seconds => Written::Number,
        Unit::Share => Written::Share,
    }
}

/// Why a figure is not there.
pub const fn why(too_few: Option<&TooFew>) -> Why {
    match too_few {
        None => Why::Undefined,
        Some(TooFew::NoPeers | TooFew::NoOpenings | TooFew::Covered { .. }) => Why::NoPeers,
        Some(_) => Why::TooFew,
    }
}

/// A figure of one side for readers.
pub fn shown(unit: Unit, figure: &Figure) -> Cell {
    match figure.value {
        Some(value) => Cell::figure(written(unit), Some(value), bounds(figure.interval)),
        None => Cell::None(Why::TooFew, None),
    }
}
