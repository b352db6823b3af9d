//! Why a comparison has no interval.

use std::fmt;

use hobble_conditions::words::{count, counted};
use serde::{Serialize, Serializer};

/// Why a comparison has no interval. Serialised it is a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TooFew {
    /// The player has too few games.
    Games {
        /// How many there are.
        have: u64,
        /// How many are needed.
        need: u64,
    },
    /// It happened in too few of the player's games.
    Happened {
        /// In how many it happened.
        have: u64,
        /// How many are needed.
        need: u64,
    },
    /// With peers it happened in too few folds of games.
    PeersFolds {
        /// In how many it happened.
        have: u64,
        /// How many are needed.
        need: u64,
    },
    /// It happened to opponents in too few games.
    OpponentsHappened {
        /// In how many it happened.
        have: u64,
        /// How many are needed.
        need: u64,
    },
    /// It happened too few times on both sides together.
    Together {
        /// How often it happened.
        have: u64,
        /// How often it must have.
        need: u64,
    },
    /// Strata with enough peers cover too few of the player's cases.
    Covered {
        /// Cases covered.
        have: u64,
        /// All cases.
        of: u64,
    },
    /// There are no peers.
    NoPeers,
    /// The peers' openings are not known.
    NoOpenings,
}

impl TooFew {
    /// For readers, as `too few games: 10 of the 20 needed`.
    pub fn plainly(&self) -> String {
        match self {
            TooFew::Games { have, need } => {
                format!("too few games: {} of the {need} needed", count(*have))
            }
            TooFew::Happened { have, need }
            | TooFew::PeersFolds { have, need }
            | TooFew::OpponentsHappened { have, need } => {
                let folds = match self {
                    TooFew::PeersFolds { .. } => " folds",
                    _ => "",
                };
                let whom = self.whom();
                format!("too few games: {whom}it happened in {have} of the {need}{folds} needed")
            }
            TooFew::Together { have, need } => format!(
                "too few games: it happened {} of the {need} times needed, on both sides together",
                count(*have)
            ),
            TooFew::NoPeers | TooFew::NoOpenings | TooFew::Covered { .. } => self.to_string(),
        }
    }
}

impl TooFew {
    /// With whom it happened too seldom, where that is not the player.
    const fn whom(&self) -> &'static str {
        match self {
            TooFew::PeersFolds { .. } => "with peers ",
            TooFew::OpponentsHappened { .. } => "with opponents ",
            _ => "",
        }
    }
}

impl fmt::Display for TooFew {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            TooFew::Games { have, need } => write!(
                out,
                "too few games to tell: {} (asked: {need})",
                counted(have, "game")
            ),
            TooFew::Happened { have, need }
            | TooFew::PeersFolds { have, need }
            | TooFew::OpponentsHappened { have, need } => {
                let what = match self {
                    TooFew::PeersFolds { .. } => "fold",
                    _ => "game",
                };
                write!(
                    out,
                    "too few games to tell: {}it happened in {} (asked: {need})",
                    self.whom(),
                    counted(have, what)
                )
            }
            TooFew::Together { have, need } => write!(
                out,
                "too few games to tell: it happened {} on both sides together (asked: {need})",
                counted(have, "time")
            ),
            TooFew::Covered { have, of } => write!(
                out,
                "too few peers: there are enough for {} of {} cases (80% are needed)",
                count(have),
                count(of)
            ),
            TooFew::NoOpenings => out.write_str("no peers: norms tell no openings apart"),
            TooFew::NoPeers => {
                out.write_str("no peers: no game of others in the same rating band and time class")
            }
        }
    }
}

impl Serialize for TooFew {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
