//! The tables of a dataset, and where their files are.

use std::path::{Path, PathBuf};

use crate::words;

words! {
    /// A table.
    Table {
        /// One row a game kept.
        Games = "games",
        /// One row a ply.
        Moves = "moves",
        /// One row a restriction spell.
        Spells = "spells",
        /// One row a piece at a sampled turn or a landmark.
        Turns = "turns",
        /// One row a chance to restrain at a sampled turn.
        Decisions = "decisions",
        /// One row a game and side.
        Sides = "sides",
        /// One row a player.
        Players = "players",
        /// The cube of observations.
        Exposure = "exposure",
        /// One row a game left out.
        Skipped = "skipped",
    }
}

/// What stands for the name of a source where a file is of all of them together.
pub const ALL_SOURCES: &str = "all";

/// What the name of a source's folder begins with.
const SOURCE: &str = "source=";

impl Table {
    /// Tables that are one file for all sources once a scan has ended.
    pub const OF_ALL_SOURCES: [Table; 2] = [Table::Players, Table::Exposure];

    /// Folder of the table in a dataset.
    pub fn folder(self, dataset: &Path) -> PathBuf {
        dataset.join(self.name())
    }

    /// Folder of a source's part files.
    pub fn source_folder(self, dataset: &Path, source: &str) -> PathBuf {
        self.folder(dataset).join(format!("{SOURCE}{source}"))
    }

    /// File of a part of a source.
    pub fn part_file(self, dataset: &Path, source: &str, part: u64) -> PathBuf {
        self.source_folder(dataset, source).join(part_name(part))
    }

    /// The table whose folder has this name.
    pub fn of_folder(name: &str) -> Option<Table> {
        Table::from_name(name)
    }
}

/// The source whose folder has this name.
pub fn source_of_folder(name: &str) -> Option<&str> {
    name.strip_prefix(SOURCE)
}

/// Name of the file of a part.
pub fn part_name(part: u64) -> String {
    format!("part-{part:05}.parquet")
}

/// The part whose file has this name.
pub fn part_of_file(name: &str) -> Option<u64> {
    name.strip_prefix("part-")?
        .strip_suffix(".parquet")?
        .parse()
        .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_read_back() {
        let path = Table::Moves.part_file(Path::new("data"), "a.pgn", 12);
        assert_eq!(
            path,
            Path::new("data/moves/source=a.pgn/part-00012.parquet")
        );
        assert_eq!(part_of_file("part-00012.parquet"), Some(12));
        assert_eq!(Table::of_folder("moves"), Some(Table::Moves));
        assert_eq!(source_of_folder("source=a.pgn"), Some("a.pgn"));
        assert_eq!(part_of_file("part-1.csv"), None);
    }
}
