//! The figures given of a player.

use crate::answer::Unit;
use crate::count::Count;
use crate::figure::{Wanted, share};
use crate::sampled_measures as sampled;
pub use crate::sampled_measures::TAKEN;

const fn per_game(name: &'static str, label: &'static str, events: Count) -> Wanted {
    Wanted {
        name,
        label,
        unit: Unit::PerGame,
        of: "games",
        events,
        base: Count::Games,
        sampled: false,
    }
}

const SPELLS: &str = "times held";
const CAUSED: &str = "times held by a move";
const BLOCKED: &str = "times blocked";

/// Own pieces that the opponent restrained, a game.
pub const RESTRAINED: Wanted = per_game(
    "restrained",
    "Own pieces restrained, a game",
    Count::Restrained,
);
/// Share of those lost within the horizon.
pub const RESTRAINED_LOST: Wanted = share(
    "restrained_lost",
    "Own restrained pieces lost within {within} moves",
    Count::RestrainedLost,
    "times restrained",
    Count::Restrained,
);
/// Opponent's pieces that the player restrained, a game.
pub const OPPONENT_RESTRAINED: Wanted = per_game(
    "opponent_restrained",
    "Opponent\u{2019}s pieces restrained, a game",
    Count::OpponentRestrained,
);
/// Share of those lost within the horizon.
pub const OPPONENT_RESTRAINED_LOST: Wanted = share(
    "opponent_restrained_lost",
    "Opponent\u{2019}s restrained pieces lost within {within} moves",
    Count::OpponentRestrainedLost,
    "times the opponent was restrained",
    Count::OpponentRestrained,
);
/// Held pieces a game.
pub const HELD: Wanted = per_game("held", "Own pieces held, a game", Count::Spells);
/// Share lost within the horizon.
pub const LOST_WITHIN: Wanted = share(
    "lost_within",
    "Own held pieces lost within {within} moves",
    Count::LostWithin,
    SPELLS,
    Count::Spells,
);
/// Share that the owner's moves did.
pub const BY_OWN: Wanted = share(
    "by_own_moves",
    "Held by an own move",
    Count::ByOwn,
    CAUSED,
    Count::Caused,
);
/// Opponent's pieces held a game.
pub const OPPONENT_HELD: Wanted = per_game(
    "opponent_held",
    "Opponent\u{2019}s pieces held, a game",
    Count::Held,
);
/// Share of those won.
pub const WON: Wanted = share(
    "opponent_won",
    "Opponent\u{2019}s lost within {within} moves",
    Count::Won,
    "times the opponent was held",
    Count::Held,
);

/// The section on chances to restrain, given where their table was written.
pub const CHANCES: &str = "Chances to restrain a piece of the opponent that were taken";
/// The section on the opponents' chances in the same games, given with it.
pub const CHANCES_AGAINST: &str =
    "Chances of the opponents to restrain an own piece that were taken";
/// The section on clock and evaluation, given where the games have them.
pub const CLOCK_AND_EVALUATION: &str = "By the clock, and by the evaluation";

/// All figures, in sections.
pub const SECTIONS: [(&str, &[Wanted]); 9] = [
    (
        "Restrained, and restraining",
        &[
            RESTRAINED,
            RESTRAINED_LOST,
            per_game(
                "restrained_knights",
                "Knights restrained, a game",
                Count::RestrainedKnights,
            ),
            per_game(
                "restrained_bishops",
                "Bishops restrained, a game",
                Count::RestrainedBishops,
            ),
            per_game(
                "restrained_rooks",
                "Rooks restrained, a game",
                Count::RestrainedRooks,
            ),
            per_game(
                "restrained_queens",
                "Queens restrained, a game",
                Count::RestrainedQueens,
            ),
            per_game(
                "restrained_opening",
                "Own pieces restrained in the opening, a game",
                Count::RestrainedOpening,
            ),
            per_game(
                "restrained_middlegame",
                "Own pieces restrained in the middlegame, a game",
                Count::RestrainedMiddlegame,
            ),
            per_game(
                "restrained_endgame",
                "Own pieces restrained in the endgame, a game",
                Count::RestrainedEndgame,
            ),
            OPPONENT_RESTRAINED,
            OPPONENT_RESTRAINED_LOST,
        ],
    ),
    (
        "How often pieces get held",
        &[
            HELD,
            per_game("held_knights", "Knights held, a game", Count::Knights),
            per_game("held_bishops", "Bishops held, a game", Count::Bishops),
            per_game("held_rooks", "Rooks held, a game", Count::Rooks),
            per_game("held_queens", "Queens held, a game", Count::Queens),
            per_game(
                "held_undeveloped",
                "Pieces held before they had moved, a game",
                Count::Undeveloped,
            ),
        ],
    ),
    (
        "By which moves",
        &[
            BY_OWN,
            share(
                "blocked",
                "Blocked by an own unit",
                Count::Blocked,
                CAUSED,
                Count::Caused,
            ),
            share(
                "entered",
                "Went there itself",
                Count::Entered,
                CAUSED,
                Count::Caused,
            ),
            share(
                "pinned_by_own",
                "Pinned after an own move",
                Count::PinnedByOwn,
                CAUSED,
                Count::Caused,
            ),
            share(
                "taken",
                "Squares taken by the opponent",
                Count::Taken,
                CAUSED,
                Count::Caused,
            ),
            share(
                "pinned",
                "Pinned by the opponent",
                Count::PinnedByOpponent,
                CAUSED,
                Count::Caused,
            ),
        ],
    ),
    (
        "What blocked",
        &[
            share(
                "blocked_by_pawn",
                "Blocked by a pawn",
                Count::BlockedByPawn,
                BLOCKED,
                Count::Blocked,
            ),
            share(
                "blocked_by_knight",
                "Blocked by a knight",
                Count::BlockedByKnight,
                BLOCKED,
                Count::Blocked,
            ),
            share(
                "blocked_by_bishop",
                "Blocked by a bishop",
                Count::BlockedByBishop,
                BLOCKED,
                Count::Blocked,
            ),
            share(
                "blocked_by_rook",
                "Blocked by a rook",
                Count::BlockedByRook,
                BLOCKED,
                Count::Blocked,
            ),
            share(
                "blocked_by_queen",
                "Blocked by the queen",
                Count::BlockedByQueen,
                BLOCKED,
                Count::Blocked,
            ),
            share(
                "blocked_by_king",
                "Blocked by the king",
                Count::BlockedByKing,
                BLOCKED,
                Count::Blocked,
            ),
        ],
    ),
    (
        "How long, and how it ended",
        &[
            share(
                "long",
                "Left held for {long} turns or more",
                Count::Long,
                SPELLS,
                Count::Spells,
            ),
            share("ended_freed", "Freed", Count::Freed, SPELLS, Count::Spells),
            share(
                "ended_freed_by_own",
                "Freed by an own move",
                Count::FreedByOwn,
                SPELLS,
                Count::Spells,
            ),
            share(
                "ended_lost",
                "Lost while held",
                Count::Lost,
                SPELLS,
                Count::Spells,
            ),
            share(
                "ended_traded",
                "Traded while held",
                Count::Traded,
                SPELLS,
                Count::Spells,
            ),
            share(
                "ended_sold",
                "Sold while held for more than its value",
                Count::Sold,
                SPELLS,
                Count::Spells,
            ),
            share(
                "ended_game_over",
                "Still held when the game ended",
                Count::GameOver,
                SPELLS,
                Count::Spells,
            ),
            LOST_WITHIN,
        ],
    ),
    (
        "Holding the opponent by taking squares",
        &[OPPONENT_HELD, WON],
    ),
    (CHANCES, &sampled::CHANCES),
    (CHANCES_AGAINST, &sampled::CHANCES_AGAINST),
    (CLOCK_AND_EVALUATION, &sampled::CLOCK_AND_EVALUATION),
];

/// Figures given for each colour and opening.
pub const GROUPED: [Wanted; 6] = [
    RESTRAINED,
    RESTRAINED_LOST,
    HELD,
    OPPONENT_RESTRAINED,
    OPPONENT_RESTRAINED_LOST,
    TAKEN,
];

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unlike() {
        let names: Vec<&str> = SECTIONS
            .iter()
            .flat_map(|(_, all)| all.iter().map(|one| one.name))
            .collect();
        let different: BTreeSet<&str> = names.iter().copied().collect();
        assert_eq!(different.len(), names.len());
    }
}
