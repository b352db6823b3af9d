//! What is counted of a side.

/// Declares what is counted, each with its name in a file of norms.
macro_rules! counts {
    ($($(#[doc = $text:literal])* $name:ident = $word:literal,)+) => {
        /// What is counted of a side. Where nothing else is said, of its developed pieces.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        #[repr(usize)]
        #[allow(missing_docs)]
        pub enum Count {
            $($(#[doc = $text])* $name,)+
        }

        /// The names, in the same order.
        pub const NAMES: &[&str] = &[$($word),+];
    };
}

counts! {
    /// Games: one a side.
    Games = "games",
    /// Spells.
    Spells = "spells",
    Knights = "knights",
    Bishops = "bishops",
    Rooks = "rooks",
    Queens = "queens",
    /// Spells of pieces that had not moved.
    Undeveloped = "undeveloped",
    /// Spells with a cause ply.
    Caused = "caused",
    /// By a ply of the owner's.
    ByOwn = "by_own",
    Blocked = "blocked",
    Entered = "entered",
    /// Pinned by a ply of the owner's.
    PinnedByOwn = "pinned_by_own",
    Taken = "taken",
    /// Pinned by a ply of the opponent's.
    PinnedByOpponent = "pinned_by_opponent",
    /// Blocked by a pawn, and so on.
    BlockedByPawn = "blocked_by_pawn",
    BlockedByKnight = "blocked_by_knight",
    BlockedByBishop = "blocked_by_bishop",
    BlockedByRook = "blocked_by_rook",
    BlockedByQueen = "blocked_by_queen",
    BlockedByKing = "blocked_by_king",
    /// Spells of so many turns as count as long.
    Long = "long",
    Lost = "lost",
    Traded = "traded",
    Sold = "sold",
    Freed = "freed",
    /// Freed by a ply of the owner's.
    FreedByOwn = "freed_by_own",
    GameOver = "game_over",
    /// Spells whose piece was lost within the horizon.
    LostWithin = "lost_within",
    /// Spells of the opponent's pieces whose squares the side took.
    Held = "held",
    /// Those whose piece was lost within the horizon.
    Won = "won",
    /// Spells that are restraints.
    Restrained = "restrained",
    /// Those whose piece was lost within the horizon, counted from the landmark.
    RestrainedLost = "restrained_lost",
    /// The same of the opponent's pieces.
    OpponentRestrained = "opponent_restrained",
    OpponentRestrainedLost = "opponent_restrained_lost",
    /// Chances to restrain a piece of the opponent, in the sample of turns.
    Chances = "chances",
    ChancesTaken = "chances_taken",
    KnightChances = "knight_chances",
    KnightChancesTaken = "knight_chances_taken",
    BishopChances = "bishop_chances",
    BishopChancesTaken = "bishop_chances_taken",
    RookChances = "rook_chances",
    RookChancesTaken = "rook_chances_taken",
    QueenChances = "queen_chances",
    QueenChancesTaken = "queen_chances_taken",
    OpeningChances = "opening_chances",
    OpeningChancesTaken = "opening_chances_taken",
    MiddlegameChances = "middlegame_chances",
    MiddlegameChancesTaken = "middlegame_chances_taken",
    EndgameChances = "endgame_chances",
    EndgameChancesTaken = "endgame_chances_taken",
    /// With less than a minute left.
    HurriedChances = "hurried_chances",
    HurriedChancesTaken = "hurried_chances_taken",
    /// With a minute left or more.
    UnhurriedChances = "unhurried_chances",
    UnhurriedChancesTaken = "unhurried_chances_taken",
    /// Chances of the opponent's in the same games.
    ChancesAgainst = "chances_against",
    ChancesAgainstTaken = "chances_against_taken",
    KnightChancesAgainst = "knight_chances_against",
    KnightChancesAgainstTaken = "knight_chances_against_taken",
    BishopChancesAgainst = "bishop_chances_against",
    BishopChancesAgainstTaken = "bishop_chances_against_taken",
    RookChancesAgainst = "rook_chances_against",
    RookChancesAgainstTaken = "rook_chances_against_taken",
    QueenChancesAgainst = "queen_chances_against",
    QueenChancesAgainstTaken = "queen_chances_against_taken",
    /// Restraints by the kind of piece, and by phase.
    RestrainedKnights = "restrained_knights",
    RestrainedBishops = "restrained_bishops",
    RestrainedRooks = "restrained_rooks",
    RestrainedQueens = "restrained_queens",
    RestrainedOpening = "restrained_opening",
    RestrainedMiddlegame = "restrained_middlegame",
    RestrainedEndgame = "restrained_endgame",
    /// Restraints of which the evaluation is known then and five moves later.
    RestrainedEvaluated = "restrained_evaluated",
    /// Those after which the owner stood so much worse.
    RestrainedWorse = "restrained_worse",
    /// Chances not taken of which the evaluation is known then and five moves later.
    MissedEvaluated = "missed_evaluated",
    /// Those after which the side stood so much worse.
    MissedWorse = "missed_worse",
    /// Turns of developed pieces in the sample, with less than a minute left, and restrained.
    HurriedTurns = "hurried_turns",
    HurriedTurnsRestrained = "hurried_turns_restrained",
    /// The same with a minute left or more.
    UnhurriedTurns = "unhurried_turns",
    UnhurriedTurnsRestrained = "unhurried_turns_restrained",
    /// Turns in the sample with a restrained piece of which the time used is known, and that time in
    /// milliseconds.
    TimedRestrained = "timed_restrained",
    TimeRestrained = "time_restrained",
    /// The same of turns without one.
    TimedOther = "timed_other",
    TimeOther = "time_other",
}

/// A side stands worse where its evaluation fell by so much in five moves, in pawns.
pub const WORSE_BY: f32 = 1.0;

/// Number of counts.
pub const COUNTS: usize = NAMES.len();

/// The counts of a side, or of many added up.
pub type Counts = [u64; COUNTS];
