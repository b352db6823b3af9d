//! What a scan knows of repeats.

use super::game_key::GameKey;
use super::list::RepeatsList;
use super::register::Original;
use super::turnstile::Turnstile;

/// What a scan knows of repeats.
pub enum Known {
    /// The games it kept so far.
    Kept(Turnstile),
    /// The games that a first pass over all archives found to be repeats.
    Listed(RepeatsList),
}

impl Known {
    /// Blocks from this number on are of a source.
    pub fn begin_source(&self, source: &str, first_block: u64) {
        if let Known::Kept(games) = self {
            games.begin_source(source, first_block);
        }
    }

    /// Asks for each game of a block which one it repeats; `None` where another worker has given
    /// up.
    pub fn ask(&self, block: u64, games: &[GameKey]) -> Option<Vec<Option<Original>>> {
        match self {
            Known::Kept(kept) => kept.ask(block, games),
            Known::Listed(list) => {
                let originals = games.iter().map(|game| list.original(game));
                Some(originals.collect())
            }
        }
    }

    /// Ends all waiting for a block that will not come.
    pub fn stop(&self) {
        if let Known::Kept(games) = self {
            games.stop();
        }
    }
}
