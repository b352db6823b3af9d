//! A figure of one side: counted, worked out, and its interval by leaving out a game at a time.

use crate::Habits;
use crate::answer::{Figure, TooFew, Unit};
use crate::count::{Count, Counts};
use hobble_statistics::risk::Scale;
use hobble_statistics::{Interval, LEVEL, StandardError, jackknife};

/// A figure to be worked out.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Name for machines.
    pub name: &'static str,
    /// What it is, in words; `{long}` and `{within}` are filled in.
    pub label: &'static str,
    /// How it is counted.
    pub unit: Unit,
    /// What the base is, in words.
    pub of: &'static str,
    /// What is counted.
    pub events: Count,
    /// Out of what.
    pub base: Count,
    /// Whether it is counted in the sample of turns.
    pub sampled: bool,
}

impl Wanted {
    /// The same, counted in the sample of turns.
    pub const fn sampled(self) -> Wanted {
        Wanted {
            sampled: true,
            ..self
        }
    }
}

/// A share.
pub const fn share(
    name: &'static str,
    label: &'static str,
    events: Count,
    of: &'static str,
    base: Count,
) -> Wanted {
    Wanted {
        name,
        label,
        unit: Unit::Share,
        of,
        events,
        base,
        sampled: false,
    }
}

/// The scale a figure's interval is made on.
pub(crate) fn scale(unit: Unit) -> Scale {
    match unit {
        Unit::PerGame | Unit::Seconds => Scale::Log,
        Unit::Share => Scale::Logit,
    }
}

/// An interval by the t quantile; `None` without spread or degrees of freedom.
pub(crate) fn interval(scale: Scale, value: f64, se: Option<f64>, df: usize) -> Option<Interval> {
    let df = u32::try_from(df).ok()?;
    StandardError::new(se?, df)?.interval(scale, value, LEVEL)
}

/// Events and base of each game in which either is not 0.
pub(crate) fn per_game(wanted: &Wanted, own: &[(usize, &Counts)]) -> Vec<(u64, u64)> {
    own.iter()
        .map(|(_, counts)| (counts[wanted.events as usize], counts[wanted.base as usize]))
        .filter(|(events, base)| *events > 0 || *base > 0)
        .collect()
}

/// A figure with one game left out each.
pub(crate) fn without_a_game(unit: Unit, games: &[(u64, u64)], on: Scale) -> Vec<f64> {
    let (events, base) = sum(games);
    games
        .iter()
        .map(|(n, d)| on.forward(unit.each() * (events - n) as f64 / (base - d) as f64))
        .collect()
}

/// Events and base of all.
pub(crate) fn sum(games: &[(u64, u64)]) -> (u64, u64) {
    games
        .iter()
        .fold((0, 0), |(n, d), one| (n + one.0, d + one.1))
}

/// Why the player's games are too few, if they are.
fn too_few(habits: &Habits, games: usize, with_event: usize) -> Option<TooFew> {
    if (games as u64) < habits.minimum_games {
        return Some(TooFew::Games {
            have: games as u64,
            need: habits.minimum_games,
        });
    }
    ((with_event as u64) < habits.minimum_event_games).then_some(TooFew::Happened {
        have: with_event as u64,
        need: habits.minimum_event_games,
    })
}

/// The player's own figure, with its interval where the games are enough.
pub fn own_figure(
    habits: &Habits,
    wanted: &Wanted,
    own: &[(usize, &Counts)],
) -> (Figure, Option<TooFew>) {
    figure(habits, wanted.unit, &per_game(wanted, own), own.len())
}

/// A share of the player's, from its events and base in each game, with its interval where the games
/// are enough.
pub fn own_share(habits: &Habits, games: &[(u64, u64)]) -> (Figure, Option<TooFew>) {
    let counted: Vec<(u64, u64)> = games.iter().copied().filter(|game| game.1 > 0).collect();
    figure(habits, Unit::Share, &counted, games.len())
}

/// A figure from its events and base in the games that have either, of so many games.
fn figure(
    habits: &Habits,
    unit: Unit,
    games: &[(u64, u64)],
    number: usize,
) -> (Figure, Option<TooFew>) {
    let (events, base) = sum(games);
    let with_event = games.iter().filter(|(events, _)| *events > 0).count();
    let few = too_few(habits, number, with_event);
    let on = scale(unit);
    let value = (few.is_none() && base > 0).then(|| unit.each() * events as f64 / base as f64);
    let interval = value.and_then(|value| {
        let se = jackknife::standard_error(&without_a_game(unit, games, on));
        interval(on, value, se, games.len().saturating_sub(1))
    });
    let figure = Figure {
        events,
        base,
        value,
        interval,
    };
    (figure, few)
}
