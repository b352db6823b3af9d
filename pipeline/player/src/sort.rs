//! Questions about a player as a sort of question: asked at once, or counted in two steps.

use std::path::Path;
use std::sync::Arc;

use hobble_conditions::any_state::{AnyState, OfSum, Written as _};
use hobble_conditions::counted::About;
use hobble_conditions::counting::Counting;
use hobble_conditions::sort::Sort;
use hobble_conditions::{AskError, Given};
use hobble_dataset::Dataset;
use hobble_report::{ColumnText, Report, Reported};

use crate::ask::{BesidePeers, answer};
use crate::own::OwnSides;
use crate::steps::{asked, next};
use crate::{Habits, HabitsAnswer, report};

impl Sort for Habits {
    type Answer = HabitsAnswer;

    const OF_A_PLAYER: bool = true;

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<HabitsAnswer, AskError> {
        let (habits, player) = asked(self, given)?;
        answer(&habits, dataset, player, given.peers.as_ref())
    }

    fn counting(&self, given: &Given) -> Result<Arc<dyn Counting>, AskError> {
        next(self, given)
    }

    fn read_state(path: &Path) -> Result<Box<dyn AnyState>, AskError> {
        let count = About::read(path)?.asked.map(|asked| asked.count);
        if count == Some(OwnSides::COUNT) {
            return Ok(Box::new(OfSum::<OwnSides>::read(path)?));
        }
        Ok(Box::new(OfSum::<BesidePeers>::read(path)?))
    }
}

impl Reported for HabitsAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }

    fn columns() -> Vec<ColumnText> {
        crate::tidy::texts()
    }
}
