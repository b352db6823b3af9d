//! What may be given beside a question of any sort.

use hobble_dataset::Dataset;

use crate::AskError;
use crate::terms::YesNo;

/// What is given beside a question.
#[derive(Debug, Default)]
pub struct Given {
    /// What goes before what its file says.
    pub overrides: Overrides,
    /// The player it is about, for a question about one.
    pub player: Option<Player>,
    /// Tables with the games of other players; those of the question's own dataset otherwise.
    pub peers: Option<Dataset>,
}

/// A player, by name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
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
