//! The rows that the filters of a question are put to, and the side of a comparison a filter
//! narrows.

/// The rows that filters are put to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedRows {
    /// Rows of `spells`: the piece as it stood at the start of its spell.
    Spells,
    /// Rows of `exposure`: counts of turns, of restricted and free pieces alike.
    Exposure,
    /// Rows of `turns` at which a piece is restrained.
    RestrainedTurns,
    /// Rows of `turns` at which a piece is held, restrained or not.
    HeldTurns,
    /// Rows of `turns` of free pieces that restrained ones are compared with.
    FreeBesideRestrained,
    /// Rows of `turns` of free pieces that held ones are compared with.
    FreeBesideHeld,
    /// Rows of `decisions`: a piece that the side on move, not its owner, could restrain.
    Chances,
    /// Rows of `sides`: which sides of which games are looked at. The rows of others are not read.
    Sides,
}

/// The side of a comparison that a filter narrows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Narrows {
    /// Restricted pieces alone: what restricted them, how and for how long. A free piece has none
    /// of this.
    Restricted,
    /// Restricted pieces and the free ones they are compared with: where and how a piece stands,
    /// and in what game.
    BothSides,
    /// The games and their sides, before any row of theirs is read.
    Games,
}

impl Narrows {
    /// Whether the filter is asked of these rows.
    pub const fn asks(self, rows: AskedRows) -> bool {
        match (self, rows) {
            (Narrows::Games, AskedRows::Sides) => true,
            (Narrows::Games, _) | (_, AskedRows::Sides) => false,
            (Narrows::BothSides, _)
            | (_, AskedRows::Spells | AskedRows::RestrainedTurns | AskedRows::HeldTurns) => true,
            (
                Narrows::Restricted,
                AskedRows::Exposure
                | AskedRows::FreeBesideRestrained
                | AskedRows::FreeBesideHeld
                | AskedRows::Chances,
            ) => false,
        }
    }
}
