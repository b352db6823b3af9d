//! What a comparison of two sides over strata comes to: counts compared and left out, and the
//! events expected of the one side at the rates of the other.

use crate::cell::{Cell, Sides};

/// Events that a standard population would have at the rates of other strata.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Expected {
    /// The events.
    pub events: f64,
    /// Trials of the standard population in the strata added.
    pub trials: f64,
}

impl Expected {
    /// Adds a stratum: trials of the standard population in it, and the events expected
    /// among them at the stratum's rate.
    pub fn add(&mut self, trials: f64, events: f64) {
        self.events += events;
        self.trials += trials;
    }

    /// The standardised rate; NaN where no stratum was added.
    pub fn rate(self) -> f64 {
        self.events / self.trials
    }
}

/// Figures of a table, with or without one of its folds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Figures {
    /// Everything, as it stands.
    pub raw: Sides,
    /// What stands in strata with held and free turns.
    pub compared: Sides,
    /// What stands in strata with held turns alone.
    pub left_out: Cell,
    /// Number of strata compared.
    pub strata: u64,
    /// Number of strata with held turns alone.
    pub strata_left_out: u64,
    /// Outcomes the held turns would have at the free rates of their strata.
    pub expected: Expected,
}

impl Figures {
    /// Held rate in the strata compared; NaN where none is.
    pub fn held_rate(&self) -> f64 {
        self.compared.held.rate()
    }

    /// Standardised free rate; NaN where no stratum is compared.
    pub fn free_rate(&self) -> f64 {
        self.expected.rate()
    }

    /// Standardised risk ratio; not finite where the free rate is 0 or does not exist.
    pub fn ratio(&self) -> f64 {
        self.compared.held.outcomes as f64 / self.expected.events
    }

    /// Standardised risk difference; NaN where no stratum is compared.
    pub fn difference(&self) -> f64 {
        self.held_rate() - self.free_rate()
    }
}
