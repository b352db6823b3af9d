//! The figures over time: periods of a year or a quarter, run together until each holds
//! enough games.

use std::collections::BTreeMap;

use crate::Habits;
use crate::answer::{Bin, Trend};
use crate::count::Counts;
use crate::figure::{self, Wanted};

/// Quarters are shown where the games span no more years than this.
const QUARTERS_UP_TO: u32 = 3;

/// Most periods: with many games each holds more.
const MOST: usize = 16;

/// Year and quarter of a date tag; the quarter where the month is known.
pub fn year_and_quarter(date: &str) -> Option<(u32, Option<u32>)> {
    let mut parts = date.split(['.', '-', '/']);
    let year = parts.next()?;
    if year.len() != 4 {
        return None;
    }
    let year: u32 = year.parse().ok().filter(|year| *year > 0)?;
    let month = parts
        .next()
        .and_then(|month| month.parse::<u32>().ok())
        .filter(|month| (1..=12).contains(month));
    Some((year, month.map(|month| (month - 1) / 3 + 1)))
}

/// Period by period.
pub fn trend(
    habits: &Habits,
    games: &[(Option<&str>, &Counts)],
    held: &Wanted,
    lost: &Wanted,
) -> Trend {
    let dates: Vec<Option<(u32, Option<u32>)>> = games
        .iter()
        .map(|(date, _)| date.and_then(year_and_quarter))
        .collect();
    let years = || dates.iter().flatten().map(|date| date.0);
    let span = years().max().unwrap_or(0) - years().min().unwrap_or(0) + 1;
    let dated = dates.iter().flatten().count();
    let with_month = dates
        .iter()
        .flatten()
        .filter(|date| date.1.is_some())
        .count();
    let quarters = span <= QUARTERS_UP_TO && with_month * 10 >= dated * 9 && dated > 0;

    let mut periods: BTreeMap<(u32, u32), Vec<&Counts>> = BTreeMap::new();
    let mut undated = 0;
    for (date, (_, counts)) in dates.iter().zip(games) {
        let period = match (date, quarters) {
            (Some((year, Some(quarter))), true) => Some((*year, *quarter)),
            (Some((year, _)), false) => Some((*year, 0)),
            _ => None,
        };
        match period {
            Some(period) => periods.entry(period).or_default().push(counts),
            None => undated += 1,
        }
    }
    let least = habits.minimum_games.max(dated.div_ceil(MOST) as u64).max(1);
    let bins: Vec<Bin> = run_together(periods, least)
        .into_iter()
        .map(|(from, to, counts)| {
            let own: Vec<(usize, &Counts)> = counts.iter().map(|counts| (0, *counts)).collect();
            let name = |(year, quarter): (u32, u32)| {
                if quarters {
                    format!("{year} Q{quarter}")
                } else {
                    year.to_string()
                }
            };
            Bin {
                label: if from == to {
                    name(from)
                } else {
                    format!("{} to {}", name(from), name(to))
                },
                games: counts.len() as u64,
                held: figure::own_figure(habits, held, &own).0,
                lost: figure::own_figure(habits, lost, &own).0,
            }
        })
        .collect();
    Trend {
        by: if quarters { "quarter" } else { "year" }.to_owned(),
        verdict: verdict(&bins),
        bins,
        undated,
    }
}

type Run<'a> = ((u32, u32), (u32, u32), Vec<&'a Counts>);

/// Periods run together, oldest first, until each holds so many games; what is left at the end
/// goes to the last.
fn run_together(periods: BTreeMap<(u32, u32), Vec<&Counts>>, least: u64) -> Vec<Run<'_>> {
    let mut runs: Vec<Run<'_>> = Vec::new();
    let mut open: Option<Run<'_>> = None;
    for (period, counts) in periods {
        let run = match open.take() {
            Some((from, _, mut before)) => {
                before.extend(counts);
                (from, period, before)
            }
            None => (period, period, counts),
        };
        if run.2.len() as u64 >= least {
            runs.push(run);
        } else {
            open = Some(run);
        }
    }
    if let Some((from, to, rest)) = open {
        match runs.last_mut() {
            Some(last) => {
                last.1 = to;
                last.2.extend(rest);
            }
            None => runs.push((from, to, rest)),
        }
    }
    runs
}

/// Says more only where the intervals of the first and the last period lie apart.
fn verdict(bins: &[Bin]) -> String {
    let (Some(first), Some(last)) = (bins.first(), bins.last()) else {
        return "No game has a date, so nothing is said of a trend.".to_owned();
    };
    if bins.len() < 2 {
        return "There are too few games to tell one period from another.".to_owned();
    }
    match (first.held.interval, last.held.interval) {
        (Some(a), Some(b)) if a.high < b.low => format!(
            "Pieces were held more often in {} than in {}: the two intervals lie apart.",
            last.label, first.label
        ),
        (Some(a), Some(b)) if b.high < a.low => format!(
            "Pieces were held less often in {} than in {}: the two intervals lie apart.",
            last.label, first.label
        ),
        _ => format!(
            "These games do not show that pieces were held more or less often in {} than in {}.",
            last.label, first.label
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::count::COUNTS;

    #[test]
    fn dates_as_they_stand() {
        assert_eq!(year_and_quarter("2023.09.07"), Some((2023, Some(3))));
        assert_eq!(year_and_quarter("2023.??.??"), Some((2023, None)));
        assert_eq!(year_and_quarter("2023.13.01"), Some((2023, None)));
        assert_eq!(year_and_quarter("2023-01-01"), Some((2023, Some(1))));
        for none in ["????.??.??", "", "23.09.07", "0000.01.01", "September"] {
            assert_eq!(year_and_quarter(none), None, "{none}");
        }
    }

    #[test]
    fn periods_run_together_until_they_hold_enough() {
        let one: Counts = [0; COUNTS];
        let of = |number: usize| vec![&one; number];
        let periods = BTreeMap::from([
            ((2000, 0), of(3)),
            ((2001, 0), of(8)),
            ((2003, 0), of(12)),
            ((2004, 0), of(2)),
        ]);
        let runs: Vec<_> = run_together(periods, 10)
            .into_iter()
            .map(|(a, b, c)| (a.0, b.0, c.len()))
            .collect();
        assert_eq!(runs, [(2000, 2001, 11), (2003, 2004, 14)]);
        let few: Vec<_> = run_together(BTreeMap::from([((2000, 0), of(3))]), 10)
            .into_iter()
            .map(|run| run.2.len())
            .collect();
        assert_eq!(few, [3]);
    }
}
