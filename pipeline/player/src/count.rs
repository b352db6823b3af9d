//! What is counted of a side.

/// What is counted of a side. Where nothing else is said, of its developed pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(usize)]
#[allow(missing_docs)]
pub enum Count {
    /// Games: one a side.
    Games,
    /// Spells.
    Spells,
    Knights,
    Bishops,
    Rooks,
    Queens,
    /// Spells of pieces that had not moved.
    Undeveloped,
    /// Spells with a cause ply.
    Caused,
    /// By a ply of the owner's.
    ByOwn,
    Blocked,
    Entered,
    /// Pinned by a ply of the owner's.
    PinnedByOwn,
    Taken,
    /// Pinned by a ply of the opponent's.
    PinnedByOpponent,
    /// Blocked by a pawn, and so on.
    BlockedByPawn,
    BlockedByKnight,
    BlockedByBishop,
    BlockedByRook,
    BlockedByQueen,
    BlockedByKing,
    /// Spells of so many turns as count as long.
    Long,
    Lost,
    Traded,
    Sold,
    Freed,
    /// Freed by a ply of the owner's.
    FreedByOwn,
    GameOver,
    /// Spells whose piece was lost within the horizon.
    LostWithin,
    /// Spells of the opponent's pieces whose squares the side took.
    Held,
    /// Those whose piece was lost within the horizon.
    Won,
    /// Spells that are restraints.
    Restrained,
    /// Those whose piece was lost within the horizon, counted from the landmark.
    RestrainedLost,
    /// The same of the opponent's pieces.
    OpponentRestrained,
    OpponentRestrainedLost,
    /// Chances to restrain a piece of the opponent, in the sample of turns.
    Chances,
    ChancesTaken,
    KnightChances,
    KnightChancesTaken,
    BishopChances,
    BishopChancesTaken,
    RookChances,
    RookChancesTaken,
    QueenChances,
    QueenChancesTaken,
    OpeningChances,
    OpeningChancesTaken,
    MiddlegameChances,
    MiddlegameChancesTaken,
    EndgameChances,
    EndgameChancesTaken,
    /// With less than a minute left.
    HurriedChances,
    HurriedChancesTaken,
    /// With a minute left or more.
    UnhurriedChances,
    UnhurriedChancesTaken,
    /// Chances of the opponent's in the same games.
    ChancesAgainst,
    ChancesAgainstTaken,
    KnightChancesAgainst,
    KnightChancesAgainstTaken,
    BishopChancesAgainst,
    BishopChancesAgainstTaken,
    RookChancesAgainst,
    RookChancesAgainstTaken,
    QueenChancesAgainst,
    QueenChancesAgainstTaken,
}

/// Number of counts.
pub const COUNTS: usize = Count::QueenChancesAgainstTaken as usize + 1;

/// The counts of a side, or of many added up.
pub type Counts = [u64; COUNTS];
