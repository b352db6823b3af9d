//! The standard error of a quotient of two sums whose terms belong to games and to players: two
//! ways to cluster.
//!
//! A row is a side in a game, with events e and trials t; R = Σe / Σt. With the residual
//! u = e − R t of a cluster, its sums in place of e and t,
//!
//! ```text
//! V = V(games) + V(players) − V(sides),   V(clusters) = G / (G − 1) × Σ u²
//! ```
//!
//! where a side is what a game and a player have in common (both sides together, if both are by one
//! name). On the logarithm V is divided by
//! (Σe)², on the logit by (Σt × R (1 − R))². A player may hold a large part of the trials, which makes
//! the own residual too small: of players the sum is that of the delete-one jackknife,
//! (G − 1) / G × Σ (u / (1 − t / Σt))². The degrees of freedom are one less than the number of players
//! that counts, (Σt)² / Σt², and at least 1.
//!
//! Sources: Cameron, Gelbach and Miller 2011; of the number of clusters that counts Kish 1965, in
//! full in [`crate::sources`].

use serde::{Deserialize, Serialize};

use crate::interval::StandardError;
use crate::risk::Scale;

/// Sums over clusters, from which the sum of their squared residuals follows for any R. Whole
/// numbers, so that the order of adding does not count.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Products {
    /// Clusters.
    pub clusters: u64,
    /// Events.
    pub events: u64,
    /// Trials.
    pub trials: u64,
    events_squared: u64,
    events_times_trials: u64,
    trials_squared: u64,
}

impl Products {
    /// No clusters.
    pub const NONE: Products = Products {
        clusters: 0,
        events: 0,
        trials: 0,
        events_squared: 0,
        events_times_trials: 0,
        trials_squared: 0,
    };

    /// Adds a cluster, unless it has no trials.
    pub fn add(&mut self, events: u64, trials: u64) {
        if trials == 0 {
            return;
        }
        self.merge(&Products {
            clusters: 1,
            events,
            trials,
            events_squared: events.saturating_mul(events),
            events_times_trials: events.saturating_mul(trials),
            trials_squared: trials.saturating_mul(trials),
        });
    }

    /// Adds the clusters of another.
    pub fn merge(&mut self, other: &Products) {
        let add = |sum: &mut u64, count: u64| *sum = sum.saturating_add(count);
        add(&mut self.clusters, other.clusters);
        add(&mut self.events, other.events);
        add(&mut self.trials, other.trials);
        add(&mut self.events_squared, other.events_squared);
        add(&mut self.events_times_trials, other.events_times_trials);
        add(&mut self.trials_squared, other.trials_squared);
    }

    /// Σ (e − R t)² over the clusters.
    fn squares(&self, ratio: f64) -> f64 {
        let squares = self.events_squared as f64 - 2.0 * ratio * self.events_times_trials as f64
            + ratio * ratio * self.trials_squared as f64;
        squares.max(0.0)
    }

    /// V of these clusters; `None` with fewer than two.
    fn variance(&self, ratio: f64) -> Option<f64> {
        let clusters = self.clusters as f64;
        (self.clusters > 1).then(|| clusters / (clusters - 1.0) * self.squares(ratio))
    }
}

/// The products of many quotients of the same clusters, by column, so that several are added at a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProductsOf<const N: usize> {
    clusters: [u64; N],
    events: [u64; N],
    trials: [u64; N],
    events_squared: [u64; N],
    events_times_trials: [u64; N],
    trials_squared: [u64; N],
}

impl<const N: usize> ProductsOf<N> {
    /// No clusters.
    pub const NONE: ProductsOf<N> = ProductsOf {
        clusters: [0; N],
        events: [0; N],
        trials: [0; N],
        events_squared: [0; N],
        events_times_trials: [0; N],
        trials_squared: [0; N],
    };

    /// Adds a cluster with its events and trials of each quotient. Without trials there must be no
    /// events: the cluster does not count there.
    ///
    /// Sums of squares wrap around at 2⁶⁴: 16 million clusters of up to a million trials each fit.
    pub fn add(&mut self, events: &[u32; N], trials: &[u32; N]) {
        let square = |one: u32, other: u32| u64::from(one) * u64::from(other);
        for at in 0..N {
            let (events, trials) = (events[at], trials[at]);
            debug_assert!(trials > 0 || events == 0, "{events} events without trials");
            self.clusters[at] += u64::from(trials > 0);
            self.events[at] += u64::from(events);
            self.trials[at] += u64::from(trials);
            let squares = &mut self.events_squared[at];
            *squares = squares.wrapping_add(square(events, events));
            let products = &mut self.events_times_trials[at];
            *products = products.wrapping_add(square(events, trials));
            let squares = &mut self.trials_squared[at];
            *squares = squares.wrapping_add(square(trials, trials));
        }
    }

    /// The products of each quotient.
    pub fn each(&self) -> impl Iterator<Item = Products> {
        (0..N).map(|at| Products {
            clusters: self.clusters[at],
            events: self.events[at],
            trials: self.trials[at],
            events_squared: self.events_squared[at],
            events_times_trials: self.events_times_trials[at],
            trials_squared: self.trials_squared[at],
        })
    }
}

/// What a quotient's rows are, two ways.
#[derive(Debug, Clone, Copy)]
pub struct Rows<'a> {
    /// Games.
    pub games: &'a Products,
    /// Sides in games: what a game and a player have in common.
    pub sides: &'a Products,
    /// Those of the sides without a name: each a player of its own.
    pub nameless: &'a Products,
}

/// A standard error two ways, and who the players are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoWay {
    /// The standard error; `None` where a variance cannot be had, or is not above 0.
    pub error: Option<StandardError>,
    /// Players named.
    pub players: u64,
    /// Largest share of the trials that one of them has.
    pub largest: f64,
}

/// The standard error of the quotient on a scale; `players` are events and trials of each player
/// named, always in the same order. `None` without trials.
pub fn two_way(
    scale: Scale,
    rows: Rows<'_>,
    players: impl Iterator<Item = (u64, u64)>,
) -> Option<TwoWay> {
    let (events, trials) = (rows.sides.events as f64, rows.sides.trials as f64);
    if rows.sides.trials == 0 {
        return None;
    }
    let ratio = events / trials;
    let (mut named, mut most) = (0_u64, 0_u64);
    let mut squares = rows.nameless.squares(ratio);
    let mut trials_squared = rows.nameless.trials_squared as f64;
    for (own, tried) in players.filter(|&(_, tried)| tried > 0) {
        named += 1;
        most = most.max(tried);
        let residual = own as f64 - ratio * tried as f64;
        // One who has all trials leaves none: no variance.
        squares += (residual / (1.0 - tried as f64 / trials)).powi(2);
        trials_squared += (tried as f64).powi(2);
    }
    let clusters = (named + rows.nameless.clusters) as f64;
    let of_players = (clusters - 1.0) / clusters * squares;
    let scaled = match scale {
        Scale::Log => events,
        Scale::Logit => trials * ratio * (1.0 - ratio),
        Scale::Plain => trials,
    };
    let effective = trials * trials / trials_squared;
    let variance = rows.games.variance(ratio).zip(rows.sides.variance(ratio));
    let error = variance.and_then(|(games, sides)| {
        let se = (games + of_players - sides).sqrt() / scaled;
        let df = (effective.floor() as u32).saturating_sub(1).max(1);
        let usable = se.is_finite() && clusters > 1.0;
        StandardError::new(se, df).filter(|_| usable)
    });
    Some(TwoWay {
        error,
        players: named,
        largest: most as f64 / trials,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of game, player, events, trials.
    type Row = (u64, u64, u64, u64);

    fn of(rows: &[Row], scale: Scale) -> TwoWay {
        let sums = |key: fn(&Row) -> u64| {
            let mut sums = std::collections::BTreeMap::<u64, (u64, u64)>::new();
            for row in rows {
                let sum = sums.entry(key(row)).or_default();
                sum.0 += row.2;
                sum.1 += row.3;
            }
            sums
        };
        let (mut games, mut sides) = (Products::default(), Products::default());
        for (events, trials) in sums(|row| row.0).into_values() {
            games.add(events, trials);
        }
        for row in rows {
            sides.add(row.2, row.3);
        }
        let rows = Rows {
            games: &games,
            sides: &sides,
            nameless: &Products::default(),
        };
        two_way(scale, rows, sums(|row| row.1).into_values()).unwrap()
    }

    /// Three games of three players, each against each other: 1 of 2 and 2 of 4, 3 of 4 and 0 of 2,
    /// 1 of 4 and 2 of 4. R = 9 / 20.
    #[test]
    fn by_hand() {
        let rows = [
            (1, 1, 1, 2),
            (1, 2, 2, 4),
            (2, 1, 3, 4),
            (2, 3, 0, 2),
            (3, 2, 1, 4),
            (3, 3, 2, 4),
        ];
        let got = of(&rows, Scale::Plain);
        // Residuals e − 0.45 t.
        let sides = [0.1, 0.2, 1.2, -0.9, -0.8, 0.2_f64];
        let of_sides = 6.0 / 5.0 * sides.iter().map(|u| u * u).sum::<f64>();
        let games = [0.3, 0.3, -0.6_f64];
        let of_games = 3.0 / 2.0 * games.iter().map(|u| u * u).sum::<f64>();
        // Trials of the players: 6, 8 and 6 of 20.
        let players = [1.3 / 0.7, -0.6 / 0.6, -0.7 / 0.7_f64];
        let of_players = 2.0 / 3.0 * players.iter().map(|u| u * u).sum::<f64>();
        let want = (of_games + of_players - of_sides).sqrt() / 20.0;
        let error = got.error.unwrap();
        assert!((error.se - want).abs() < 1e-14, "{} {want}", error.se);
        // 400 / 136 = 2.9.
        assert_eq!((error.df, got.players, got.largest), (1, 3, 0.4));
        let log = of(&rows, Scale::Log).error.unwrap().se;
        assert!((log - want * 20.0 / 9.0).abs() < 1e-14);
        let logit = of(&rows, Scale::Logit).error.unwrap().se;
        assert!((logit - want / (0.45 * 0.55)).abs() < 1e-14);
    }

    #[test]
    fn many_quotients_are_those_of_each() {
        let clusters = [
            ([3, 0], [7, 0]),
            ([1_000_000, 2], [1_000_001, 9]),
            ([0, 5], [4, 5]),
        ];
        let mut many = ProductsOf::NONE;
        let mut each = [Products::NONE; 2];
        for (events, trials) in clusters {
            many.add(&events, &trials);
            for (sums, (events, trials)) in each.iter_mut().zip(events.into_iter().zip(trials)) {
                sums.add(events.into(), trials.into());
            }
        }
        assert_eq!(many.each().collect::<Vec<_>>(), each);
    }

    /// Where every player plays one game, V(players) is V(sides) but for the shares left out.
    #[test]
    fn players_of_one_game_leave_the_games() {
        let rows: Vec<Row> = (0..2_000)
            .map(|side| (side / 2, side, side % 7 % 4, 4 + side % 3))
            .collect();
        let got = of(&rows, Scale::Plain).error.unwrap();
        let mut games = Products::default();
        for pair in rows.chunks(2) {
            games.add(pair[0].2 + pair[1].2, pair[0].3 + pair[1].3);
        }
        let ratio = games.events as f64 / games.trials as f64;
        let want = games.variance(ratio).unwrap().sqrt() / games.trials as f64;
        assert!((got.se / want - 1.0).abs() < 2e-3, "{} {want}", got.se);
    }

    #[test]
    fn too_few_clusters() {
        let alone = of(&[(1, 1, 1, 2), (2, 1, 2, 2)], Scale::Plain);
        assert_eq!((alone.error, alone.players, alone.largest), (None, 1, 1.0));
        let none = Products::default();
        let rows = Rows {
            games: &none,
            sides: &none,
            nameless: &none,
        };
        assert_eq!(two_way(Scale::Plain, rows, std::iter::empty()), None);
    }
}
