//! Hazard of one kind of end, turn by turn, with a state that comes and goes.
//!
//! The hazard at a turn in a state is the number of ends of that kind ÷ the number at risk
//! there. Ends of another kind, and the end of observation, take a unit out of the numbers at
//! risk of later turns; the hazard is that of the one cause. A unit counts at each turn in the
//! state it is in then, so that a state may come and go.
//!
//! The hazard ratio of two states is taken within turns, by Breslow's partial likelihood:
//! turn by turn the hazards may be any, their quotient is one for all turns. Its clustered
//! standard error sums the score residuals of each cluster.
//!
//! Sources: Prentice and Gloeckler 1978, Breslow 1974, Lin and Wei 1989, in full in
//! [`crate::sources`].

use std::collections::BTreeMap;

use crate::clusters::{Clustering, ScoreSums};
use crate::fit::FitError;
use crate::interval::{Interval, StandardError, existing};
use crate::newton;
use crate::risk::Scale;

/// Numbers at risk and ends, by turn, state and clusters.
#[derive(Debug, Clone)]
pub struct Hazards {
    clustering: Clustering,
    rows: Vec<Row>,
}

#[derive(Debug, Clone, Copy)]
struct Row {
    turn: u32,
    state: u32,
    clusters: [u32; 2],
    at_risk: f64,
    ends: f64,
}

/// Hazard at a turn in a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// The turn.
    pub turn: u32,
    /// The state.
    pub state: u32,
    /// Number at risk.
    pub at_risk: f64,
    /// Ends among them.
    pub ends: f64,
    /// Ends ÷ number at risk; `None` where nothing is at risk.
    pub value: Option<f64>,
    /// Clustered interval, on the logit scale; `None` where it has no place there or the
    /// clusters show no spread.
    pub interval: Option<Interval>,
}

/// Hazard ratio of two states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HazardRatio {
    /// Its natural logarithm.
    pub log: f64,
    /// Standard error of the logarithm, were all units and turns independent.
    pub model_error: f64,
    /// Clustered standard error of the logarithm; `None` where the clusters show no spread.
    pub error: Option<StandardError>,
}

impl HazardRatio {
    /// Clustered interval of the ratio.
    pub fn interval(&self, level: f64) -> Option<Interval> {
        self.error?.interval(Scale::Log, self.log.exp(), level)
    }
}

/// Numbers at risk and ends of both states at one turn.
#[derive(Debug, Clone, Copy, Default)]
struct Turn {
    at_risk: [f64; 2],
    ends: [f64; 2],
}

impl Turn {
    /// Share of the first state in the number at risk, each of its units counted `ratio` times,
    /// and that number.
    fn share(&self, ratio: f64) -> (f64, f64) {
        let all = self.at_risk[0] * ratio + self.at_risk[1];
        (self.at_risk[0] * ratio / all, all)
    }

    fn all_ends(&self) -> f64 {
        self.ends[0] + self.ends[1]
    }
}

impl Hazards {
    /// No unit yet.
    pub fn new(clustering: Clustering) -> Hazards {
        Hazards {
            clustering,
            rows: Vec::new(),
        }
    }

    /// Adds units of a pair of clusters: those at risk at a turn in a state, and those of them
    /// that end there by the cause. Weights are allowed.
    pub fn add(&mut self, (turn, state): (u32, u32), clusters: [u32; 2], at_risk: f64, ends: f64) {
        self.rows.push(Row {
            turn,
            state,
            clusters,
            at_risk,
            ends,
        });
    }

    /// Adds the units of another piece of the data.
    pub fn append(&mut self, other: &Hazards) {
        self.rows.extend_from_slice(&other.rows);
    }

    /// The hazard of each turn and state, in their order.
    pub fn rates(&self, level: f64) -> Vec<Rate> {
        let mut places: BTreeMap<(u32, u32), (f64, f64, ScoreSums)> = BTreeMap::new();
        for row in &self.rows {
            let (at_risk, ends, _) = places
                .entry((row.turn, row.state))
                .or_insert_with(|| (0.0, 0.0, ScoreSums::new(1, self.clustering)));
            *at_risk += row.at_risk;
            *ends += row.ends;
        }
        for row in &self.rows {
            if let Some((at_risk, ends, sums)) = places.get_mut(&(row.turn, row.state)) {
                let hazard = *ends / *at_risk;
                sums.add(
                    row.clusters,
                    &[(row.ends - hazard * row.at_risk) / *at_risk],
                );
            }
        }
        places
            .into_iter()
            .map(|((turn, state), (at_risk, ends, sums))| {
                let hazard = ends / at_risk;
                let error = sums.of_influence().and_then(|found| found.error(0));
                let on_logit = |error: StandardError| {
                    StandardError::new(error.se / (hazard * (1.0 - hazard)), error.df)
                };
                Rate {
                    turn,
                    state,
                    at_risk,
                    ends,
                    value: existing(hazard),
                    interval: error
                        .and_then(on_logit)
                        .and_then(|error| error.interval(Scale::Logit, hazard, level)),
                }
            })
            .collect()
    }

    /// Hazard in `state` ÷ hazard in `other` at the same turn. Units in further states are
    /// left out.
    ///
    /// # Errors
    ///
    /// [`FitError::Collinear`] where no turn with an end has units in both states,
    /// [`FitError::Separated`] where ends come in one of them alone, and
    /// [`FitError::OneCluster`].
    pub fn ratio(&self, state: u32, other: u32) -> Result<HazardRatio, FitError> {
        let mut turns: BTreeMap<u32, Turn> = BTreeMap::new();
        let of_both = || {
            self.rows.iter().filter_map(|row| {
                let side = [state, other].iter().position(|of| *of == row.state)?;
                Some((row, side))
            })
        };
        for (row, side) in of_both() {
            let turn = turns.entry(row.turn).or_default();
            turn.at_risk[side] += row.at_risk;
            turn.ends[side] += row.ends;
        }
        turns.retain(|_, turn| turn.all_ends() > 0.0);
        let found = newton::maximise(vec![0.0], |at, out| {
            for turn in turns.values() {
                let (share, all) = turn.share(at[0].exp());
                out.value += turn.ends[0] * at[0] - turn.all_ends() * all.ln();
                out.gradient[0] += turn.ends[0] - turn.all_ends() * share;
                out.information
                    .add_outer(&[1.0], turn.all_ends() * share * (1.0 - share));
            }
        })?;
        let log = found.at[0];
        let mut sums = ScoreSums::new(1, self.clustering);
        for (row, side) in of_both() {
            let score = turns.get(&row.turn).map_or(0.0, |turn| {
                let (share, all) = turn.share(log.exp());
                let (in_state, times) = if side == 0 {
                    (1.0, log.exp())
                } else {
                    (0.0, 1.0)
                };
                let expected = turn.all_ends() / all * times * row.at_risk;
                (in_state - share) * (row.ends - expected)
            });
            sums.add(row.clusters, &[score]);
        }
        let clustered = sums
            .covariance(&found.covariance)
            .ok_or(FitError::OneCluster)?;
        Ok(HazardRatio {
            log,
            model_error: found.covariance.get(0, 0).sqrt(),
            error: clustered.error(0),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One turn, 100 at risk in each state, 20 and 10 ends. By Breslow's likelihood the ratio
    /// is 2, the information 30 × 2/3 × 1/3.
    #[test]
    fn one_turn_by_hand() {
        let mut hazards = Hazards::new(Clustering::OneWay);
        for unit in 0u32..200 {
            let state = unit % 2;
            let ends = unit / 2 < if state == 1 { 20 } else { 10 };
            hazards.add((1, state), [unit, 0], 1.0, f64::from(u32::from(ends)));
        }
        let ratio = hazards.ratio(1, 0).unwrap();
        assert!((ratio.log - 2.0f64.ln()).abs() < 1e-12);
        assert!((ratio.model_error.powi(2) - 9.0 / 60.0).abs() < 1e-12);
        // Katz's variance of a risk ratio, times 200/199: units are their own clusters.
        let katz = 1.0 / 20.0 - 1.0 / 100.0 + 1.0 / 10.0 - 1.0 / 100.0;
        assert!((ratio.error.unwrap().se.powi(2) - katz * 200.0 / 199.0).abs() < 1e-12);
        let rates = hazards.rates(0.95);
        assert_eq!((rates[1].state, rates[1].value), (1, Some(0.2)));
        let se = rates[1].interval.unwrap().se.unwrap();
        assert!((se.powi(2) - 100.0 / 99.0 / (100.0 * 0.2 * 0.8)).abs() < 1e-12);
    }

    #[test]
    fn no_ratio() {
        let mut hazards = Hazards::new(Clustering::OneWay);
        hazards.add((1, 0), [0, 0], 5.0, 1.0);
        hazards.add((2, 1), [1, 0], 5.0, 1.0);
        assert_eq!(
            hazards.ratio(1, 0),
            Err(FitError::Collinear { covariate: 0 })
        );
        hazards.add((1, 1), [2, 0], 5.0, 0.0);
        assert_eq!(
            hazards.ratio(1, 0),
            Err(FitError::Separated { covariate: 0 })
        );
        assert_eq!(Hazards::new(Clustering::OneWay).rates(0.95), []);
    }
}
