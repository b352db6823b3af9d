//! What may be given beside a question of any sort.

use std::path::PathBuf;

use hobble_dataset::{Dataset, DatasetError};
use serde::{Deserialize, Serialize};

use crate::AskError;
use crate::any_state::AnyState;
use crate::terms::YesNo;

/// What is given beside a question.
#[derive(Default)]
pub struct Given {
    /// What goes before what its file says.
    pub overrides: Overrides,
    /// The player it is about, for a question about one.
    pub player: Option<Player>,
    /// What to compare the player with; the question's own dataset otherwise.
    pub peers: Option<Peers>,
    /// For counting the parts again: the sum of the states of the first count.
    pub first: Option<Box<dyn AnyState>>,
}

/// Other players that a player is compared with.
#[derive(Debug)]
pub enum Peers {
    /// Tables with their games.
    Tables(Box<Dataset>),
    /// A file of norms: what was counted of such tables.
    Norms(PathBuf),
}

impl Peers {
    /// The tables in a folder, or what else is there as a file of norms.
    ///
    /// # Errors
    ///
    /// Where the folder holds no tables that can be read. A file is not opened.
    pub fn open(path: PathBuf) -> Result<Peers, DatasetError> {
        if path.is_file() {
            return Ok(Peers::Norms(path));
        }
        Ok(Peers::Tables(Box::new(Dataset::open(path)?)))
    }
}

/// A player, by name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Player {
    /// As named in the archive.
    pub name: String,
    /// Other spellings.
    pub aliases: Vec<String>,
}

/// What is given beside the question and goes before what it says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Overrides {
    /// Safe squares, from 0 to 4.
    pub k: Option<u8>,
    /// Horizon in moves: 3, 5, 10, 15 or 20.
    pub within: Option<u32>,
    /// Whether pieces must have moved.
    pub developed: Option<YesNo>,
    /// Width of rating bands in points: a multiple of 100.
    pub band_width: Option<u16>,
}

impl Overrides {
    /// Checks that a question with these fields takes all that is given.
    ///
    /// # Errors
    ///
    /// The first that has no field there.
    pub fn taken_by(&self, fields: &[&str]) -> Result<(), AskError> {
        let given = [
            ("k", self.k.is_some()),
            ("within", self.within.is_some()),
            ("developed", self.developed.is_some()),
            ("band_width", self.band_width.is_some()),
        ];
        let unknown = |(name, given): &(&str, bool)| *given && !fields.contains(name);
        match given.into_iter().find(unknown) {
            None => Ok(()),
            Some((name, _)) => Err(AskError::Override {
                name,
                what: "a question of this sort has no such field".to_owned(),
            }),
        }
    }
}
