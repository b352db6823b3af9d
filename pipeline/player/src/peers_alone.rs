//! Peers of other tables than the player's: a sum of its own.

use std::borrow::Cow;

use hobble_conditions::AskError;
use hobble_conditions::chosen::{self, Chooses};
use hobble_conditions::sum::Sum;
use hobble_dataset::{Dataset, PartId};
use hobble_terms::Table;
use serde::Serialize;

use crate::Habits;
use crate::peer_counts::PeerCounts;
use crate::peer_sides::PeersAsked;
use crate::state::State;

/// Asks for what is counted of peers alone.
#[derive(Debug, Serialize)]
pub struct PeersAlone {
    /// The question.
    pub habits: Habits,
    /// Whose sides are peers'.
    pub peers: PeersAsked,
    /// Whether the question's keys choose among games and sides.
    pub chooses: bool,
}

impl Chooses for PeersAlone {
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        match self.chooses {
            true => chosen::of_question(&self.habits, dataset),
            false => Ok(Cow::Borrowed(dataset)),
        }
    }
}

impl Sum for PeersAlone {
    type State = PeerCounts;
    type Answer = PeerCounts;

    fn tables(&self) -> &'static [Table] {
        State::TABLES
    }

    fn optional(&self) -> &'static [Table] {
        State::OPTIONAL
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<PeerCounts, AskError> {
        Ok(State::of(&self.habits, dataset, id, &[], Some(&self.peers))?.peers)
    }

    fn answer(&self, _: &Dataset, state: &PeerCounts) -> Result<PeerCounts, AskError> {
        Ok(state.clone())
    }
}
