//! A figure with its interval by games and by players.

use hobble_statistics::{Estimate, Interval};
use serde::Serialize;

/// A figure with two intervals. Positions of one game share its result; games of one player share
/// the player.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Clustered {
    /// The figure.
    pub value: Option<f64>,
    /// Its interval by leaving out one fold of games at a time.
    pub by_games: Option<Interval>,
    /// Its interval by leaving out one fold of players on move at a time.
    pub by_players: Option<Interval>,
}

impl Clustered {
    /// The figure with the wider of its intervals, which is the one shown.
    pub fn shown(&self) -> Estimate {
        let width = |interval: &Interval| interval.high - interval.low;
        let wider = match (self.by_games, self.by_players) {
            (Some(games), Some(players)) if width(&players) > width(&games) => Some(players),
            (games, players) => games.or(players),
        };
        Estimate {
            value: self.value,
            jackknife: wider,
        }
    }

    /// Whether all of the shown interval lies above 0, or all of it below: 1, −1, else 0.
    pub fn sign(&self) -> i8 {
        match self.shown().jackknife {
            Some(interval) if interval.low > 0.0 => 1,
            Some(interval) if interval.high < 0.0 => -1,
            _ => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn interval(low: f64, high: f64) -> Option<Interval> {
        Some(Interval {
            low,
            high,
            se: None,
            df: None,
        })
    }

    #[test]
    fn the_wider_is_shown() {
        let mut estimate = Clustered {
            value: Some(0.2),
            by_games: interval(0.1, 0.3),
            by_players: interval(-0.1, 0.5),
        };
        assert_eq!(estimate.shown().jackknife, interval(-0.1, 0.5));
        assert_eq!(estimate.sign(), 0);
        estimate.by_players = interval(0.15, 0.25);
        assert_eq!(estimate.shown().jackknife, interval(0.1, 0.3));
        assert_eq!(estimate.sign(), 1);
        estimate.by_players = None;
        assert_eq!(estimate.shown().jackknife, interval(0.1, 0.3));
    }
}
