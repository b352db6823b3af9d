//! The two counts of a question about a player whose states are written: the player's games, then these
//! beside peers.

use std::any::Any;
use std::sync::Arc;

use hobble_conditions::any_state::{OfSum, Written};
use hobble_conditions::counting::Counting;
use hobble_conditions::fields::QuestionFile;
use hobble_conditions::{AskError, Given, Peers};
use hobble_report::Reported;

use crate::ask::BesidePeers;
use crate::own::{Own, OwnSides};
use crate::{Habits, HabitsAnswer, Player};

/// What is counted next: the player's games, or where the states of these are given, what is in them and
/// in those of peers.
///
/// # Errors
///
/// Where no player is named, what is given does not fit, or parts are missing in the first count.
pub fn next(habits: &Habits, given: &Given) -> Result<Arc<dyn Counting>, AskError> {
    let (habits, player) = asked(habits, given)?;
    if matches!(given.peers, Some(Peers::Tables(_))) {
        return Err(AskError::Override {
            name: "peers",
            what:
                "every share would count them anew: give norms of them, which `hobble norms` writes"
                    .to_owned(),
        });
    }
    let own = OwnSides::of(&habits, player)?;
    let Some(first) = &given.first else {
        return Ok(Arc::new(own));
    };
    let first: &dyn Any = &**first;
    let counted = first
        .downcast_ref::<OfSum<OwnSides>>()
        .ok_or_else(|| AskError::State("the state given is not of a player's games".to_owned()))?;
    let own = counted.came(&own)?;
    let beside = BesidePeers::of(&habits, player, own, given.peers.as_ref())?;
    Ok(Arc::new(beside))
}

/// The question as it is asked, and of whom.
///
/// # Errors
///
/// Where no player is named, or what is given is out of range.
pub fn asked<'a>(habits: &Habits, given: &'a Given) -> Result<(Habits, &'a Player), AskError> {
    let Some(player) = &given.player else {
        return Err(AskError::Override {
            name: "player",
            what: "this question is about one player: name one with --player NAME".to_owned(),
        });
    };
    if given.overrides.developed.is_some() {
        return Err(AskError::Override {
            name: "developed",
            what: "a report about a player shows developed pieces, and undeveloped ones apart"
                .to_owned(),
        });
    }
    Ok((habits.with(&given.overrides)?, player))
}

impl Written for OwnSides {
    const ABOUT: &'static str = <Habits as QuestionFile>::ABOUT;

    fn name(&self) -> String {
        self.habits.name.clone()
    }

    fn is_first(&self) -> bool {
        true
    }

    fn reported(&self, _: Own) -> Result<Box<dyn Reported>, AskError> {
        Err(AskError::State(
            "these states hold which games are the player's: write their sum with --state, and count the parts again with --first"
                .to_owned(),
        ))
    }
}

impl Written for BesidePeers {
    const ABOUT: &'static str = OwnSides::ABOUT;
    const COUNT: u8 = 2;

    fn name(&self) -> String {
        self.habits.name.clone()
    }

    fn reported(&self, answer: HabitsAnswer) -> Result<Box<dyn Reported>, AskError> {
        Ok(Box::new(answer))
    }
}
