//! The figures of a player that are counted in the sample of turns, and those of clock and evaluation.

use crate::answer::Unit;
use crate::count::Count;
use crate::figure::{Wanted, share};

/// Seconds used at turns of the sample.
const fn seconds(name: &'static str, label: &'static str, events: Count, base: Count) -> Wanted {
    Wanted {
        unit: Unit::Seconds,
        ..share(
            name,
            label,
            events,
            "turns in the sample of known time",
            base,
        )
        .sampled()
    }
}

const TO_RESTRAIN: &str = "chances in the sample";
const AGAINST: &str = "their chances in the sample";
const PIECE_TURNS: &str = "turns of own pieces in the sample";

/// Share of the chances to restrain that was taken.
pub const TAKEN: Wanted = share(
    "chances_taken",
    "Chances taken",
    Count::ChancesTaken,
    TO_RESTRAIN,
    Count::Chances,
)
.sampled();

/// Of the chances to restrain, those taken.
pub const CHANCES: [Wanted; 10] = [
    TAKEN,
    share(
        "chances_taken_knights",
        "Chances taken against a knight",
        Count::KnightChancesTaken,
        TO_RESTRAIN,
        Count::KnightChances,
    )
    .sampled(),
    share(
        "chances_taken_bishops",
        "Chances taken against a bishop",
        Count::BishopChancesTaken,
        TO_RESTRAIN,
        Count::BishopChances,
    )
    .sampled(),
    share(
        "chances_taken_rooks",
        "Chances taken against a rook",
        Count::RookChancesTaken,
        TO_RESTRAIN,
        Count::RookChances,
    )
    .sampled(),
    share(
        "chances_taken_queens",
        "Chances taken against the queen",
        Count::QueenChancesTaken,
        TO_RESTRAIN,
        Count::QueenChances,
    )
    .sampled(),
    share(
        "chances_taken_opening",
        "Chances taken in the opening",
        Count::OpeningChancesTaken,
        TO_RESTRAIN,
        Count::OpeningChances,
    )
    .sampled(),
    share(
        "chances_taken_middlegame",
        "Chances taken in the middlegame",
        Count::MiddlegameChancesTaken,
        TO_RESTRAIN,
        Count::MiddlegameChances,
    )
    .sampled(),
    share(
        "chances_taken_endgame",
        "Chances taken in the endgame",
        Count::EndgameChancesTaken,
        TO_RESTRAIN,
        Count::EndgameChances,
    )
    .sampled(),
    share(
        "chances_taken_hurried",
        "Chances taken with less than a minute left",
        Count::HurriedChancesTaken,
        TO_RESTRAIN,
        Count::HurriedChances,
    )
    .sampled(),
    share(
        "chances_taken_unhurried",
        "Chances taken with a minute left or more",
        Count::UnhurriedChancesTaken,
        TO_RESTRAIN,
        Count::UnhurriedChances,
    )
    .sampled(),
];

/// The same of the opponents' chances in the same games.
pub const CHANCES_AGAINST: [Wanted; 5] = [
    share(
        "chances_taken_against",
        "Opponents\u{2019} chances taken",
        Count::ChancesAgainstTaken,
        AGAINST,
        Count::ChancesAgainst,
    )
    .sampled(),
    share(
        "chances_taken_against_knights",
        "Opponents\u{2019} chances taken against an own knight",
        Count::KnightChancesAgainstTaken,
        AGAINST,
        Count::KnightChancesAgainst,
    )
    .sampled(),
    share(
        "chances_taken_against_bishops",
        "Opponents\u{2019} chances taken against an own bishop",
        Count::BishopChancesAgainstTaken,
        AGAINST,
        Count::BishopChancesAgainst,
    )
    .sampled(),
    share(
        "chances_taken_against_rooks",
        "Opponents\u{2019} chances taken against an own rook",
        Count::RookChancesAgainstTaken,
        AGAINST,
        Count::RookChancesAgainst,
    )
    .sampled(),
    share(
        "chances_taken_against_queens",
        "Opponents\u{2019} chances taken against the own queen",
        Count::QueenChancesAgainstTaken,
        AGAINST,
        Count::QueenChancesAgainst,
    )
    .sampled(),
];

/// By the clock and by the evaluation.
pub const CLOCK_AND_EVALUATION: [Wanted; 6] = [
    share(
        "restrained_hurried",
        "Own pieces restrained at a turn, with less than a minute left",
        Count::HurriedTurnsRestrained,
        PIECE_TURNS,
        Count::HurriedTurns,
    )
    .sampled(),
    share(
        "restrained_unhurried",
        "Own pieces restrained at a turn, with a minute left or more",
        Count::UnhurriedTurnsRestrained,
        PIECE_TURNS,
        Count::UnhurriedTurns,
    )
    .sampled(),
    seconds(
        "seconds_restrained",
        "Seconds used at a turn with a restrained piece",
        Count::TimeRestrained,
        Count::TimedRestrained,
    ),
    seconds(
        "seconds_other",
        "Seconds used at a turn without one",
        Count::TimeOther,
        Count::TimedOther,
    ),
    share(
        "restrained_worse",
        "A pawn or more worse five moves after an own piece was restrained",
        Count::RestrainedWorse,
        "times restrained, with evaluations",
        Count::RestrainedEvaluated,
    ),
    share(
        "missed_worse",
        "A pawn or more worse five moves after a chance to restrain was not taken",
        Count::MissedWorse,
        "chances in the sample not taken, with evaluations",
        Count::MissedEvaluated,
    )
    .sampled(),
];
