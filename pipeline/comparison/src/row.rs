//! One row of an answer from its counts.

use std::collections::BTreeMap;

use crate::answer::{RawComparison, Row, Side, Standardised};
use crate::observations::Tables;
use crate::question::Question;
use hobble_conditions::terms::{Key, Kind, Outcome};
use hobble_conditions::words;
use hobble_report::few::{Lack, Nouns};
use hobble_statistics::few::{COVERED, Least};
use hobble_statistics::interval::existing;
use hobble_statistics::risk::{self, Scale};
use hobble_statistics::standardise::{self, Cell, Figures, Spread, Table, WithoutFold};
use hobble_statistics::{Estimate, Interval};

pub use hobble_statistics::LEVEL;

/// Share of restricted pieces without comparison above which a row warns of it.
const MUCH_LEFT_OUT: f64 = 0.1;

/// The row of a group; `values` are those of the question's `group_by`, `None` for all.
pub fn row(question: &Question, values: Option<&[String]>, tables: &Tables) -> Row {
    let group: BTreeMap<Key, String> = question
        .group_by
        .iter()
        .enumerate()
        .map(|(index, &key)| {
            let value = values.and_then(|values| values.get(index));
            (key, value.cloned().unwrap_or_else(|| "all".to_owned()))
        })
        .collect();
    let all = values.is_none();
    let label = if all {
        "all".to_owned()
    } else {
        words::label(&question.group_by, &group)
    };

    let table = &tables.turns;
    let (figures, rows) = (table.figures(), tables.rows.figures());
    let spread = table.spread(false);
    let without_one = WithoutOne::of(table);
    let side = |side: [Cell; 2], spread, replicates: &[Figures], rate: fn(&Figures) -> f64| {
        side_of(question, side, spread, replicates, rate)
    };
    let both = [figures.raw.held, rows.raw.held];
    let restricted = side(both, spread.0, &without_one.restricted, |figures| {
        figures.raw.held.rate()
    });
    let both = [figures.raw.free, rows.raw.free];
    let free = side(both, spread.1, &without_one.free, |figures| {
        figures.raw.free.rate()
    });
    let raw = raw(question, &figures, &rows, spread, &without_one.either);
    let compared_spread = table.spread(true);
    let few = least(question).check(&rows, compared_spread.0, compared_spread.1);
    let standardised = Standardised {
        free_rows: rows.compared.free.turns,
        ..standardised(&figures, compared_spread, &without_one, few.is_none())
    };
    let too_few = few.map(|few| nouns(question, &outcome_words(question.outcome)).lack(few));
    let remarks = remarks(question, &figures);
    let verdict = verdict(question, &group, all, &standardised, too_few.as_ref());
    Row {
        group,
        label,
        all,
        restricted,
        free,
        raw,
        standardised,
        against_all: None,
        too_few,
        verdict,
        remarks,
    }
}

/// The figures with one fold left out each: of the folds with restricted pieces, with free ones,
/// with either.
struct WithoutOne {
    restricted: Vec<Figures>,
    free: Vec<Figures>,
    either: Vec<Figures>,
}

impl WithoutOne {
    fn of(table: &Table) -> WithoutOne {
        let all = table.without_each_fold();
        let those = |counts: fn(&WithoutFold) -> bool| {
            let counted = all.iter().filter(|one| counts(one));
            counted.map(|one| one.figures).collect()
        };
        WithoutOne {
            restricted: those(|one| one.sum.held.turns > 0),
            free: those(|one| one.sum.free.turns > 0),
            either: those(|_| true),
        }
    }
}

/// Interval of a figure by the delete-a-fold jackknife. Degrees of freedom: one less than
/// the folds with turns, on the side that has fewer of them.
fn jackknifed(
    scale: Scale,
    of: impl Fn(&Figures) -> f64,
    whole: f64,
    without_one: &[Figures],
    folds: u32,
) -> Option<Interval> {
    standardise::interval(scale, of, whole, without_one, folds, LEVEL)
}

/// The least that a question asks for.
fn least(question: &Question) -> Least {
    Least {
        trials: question.minimum_turns,
        folds: question.minimum_folds,
        outcome_folds: question.minimum_outcome_folds,
    }
}

/// A side, from its turns and its rows.
fn side_of(
    question: &Question,
    [turns, rows]: [Cell; 2],
    spread: Spread,
    without_one: &[Figures],
    rate: fn(&Figures) -> f64,
) -> Side {
    let least = least(question);
    let enough = least.trials(rows, spread) && least.outcomes(spread);
    let jackknife = enough
        .then(|| jackknifed(Scale::Logit, rate, turns.rate(), without_one, spread.folds))
        .flatten();
    Side {
        rows: rows.turns,
        turns: turns.turns,
        outcomes: turns.outcomes,
        over: turns.over,
        folds: spread.folds,
        outcome_folds: spread.outcome_folds,
        rate: existing(turns.rate()),
        jackknife,
    }
}

fn raw(
    question: &Question,
    figures: &Figures,
    rows: &Figures,
    (restricted, free): (Spread, Spread),
    without_one: &[Figures],
) -> RawComparison {
    let two = figures.raw.two();
    let folds = restricted.folds.min(free.folds);
    let least = least(question);
    let sides = [(rows.raw.held, restricted), (rows.raw.free, free)];
    let enough = |(cell, spread)| least.trials(cell, spread) && least.outcomes(spread);
    let enough = sides.into_iter().all(enough);
    let ratio = |f: &Figures| risk::ratio(f.raw.two()).unwrap_or(f64::NAN);
    let difference = |f: &Figures| risk::difference(f.raw.two()).unwrap_or(f64::NAN);
    let interval = |scale, of: &dyn Fn(&Figures) -> f64| {
        enough
            .then(|| jackknifed(scale, of, of(figures), without_one, folds))
            .flatten()
    };
    RawComparison {
        ratio: Estimate {
            value: risk::ratio(two),
            jackknife: interval(Scale::Log, &ratio),
        },
        difference: Estimate {
            value: risk::difference(two),
            jackknife: interval(Scale::Plain, &difference),
        },
    }
}

fn standardised(
    figures: &Figures,
    (restricted, free): (Spread, Spread),
    without_one: &WithoutOne,
    enough: bool,
) -> Standardised {
    let both = restricted.folds.min(free.folds);
    let whole = (figures, without_one.either.as_slice());
    let estimate = |scale, of, folds| standardise::estimate(scale, of, whole, folds, LEVEL, enough);
    Standardised {
        strata: figures.strata,
        strata_left_out: figures.strata_left_out,
        restricted_turns: figures.compared.held.turns,
        restricted_outcomes: figures.compared.held.outcomes,
        restricted_turns_left_out: figures.left_out.turns,
        restricted_outcomes_left_out: figures.left_out.outcomes,
        free_turns: figures.compared.free.turns,
        free_outcomes: figures.compared.free.outcomes,
        free_rows: 0,
        restricted_rate: estimate(Scale::Logit, Figures::held_rate, restricted.folds),
        free_rate: estimate(Scale::Logit, Figures::free_rate, both),
        ratio: estimate(Scale::Log, Figures::ratio, both),
        difference: estimate(Scale::Plain, Figures::difference, both),
    }
}

impl Standardised {
    /// Share of the restricted pieces that have comparable free ones.
    pub fn covered(&self) -> f64 {
        let all = self.restricted_turns + self.restricted_turns_left_out;
        self.restricted_turns as f64 / all as f64
    }
}

/// What stands behind a number of turns that met the outcome.
fn outcome_words(outcome: Outcome) -> String {
    format!(" end {}", words::happened(outcome))
}

/// What a comparison calls its turns; `outcome` is made by [`outcome_words`].
fn nouns<'a>(question: &Question, outcome: &'a str) -> Nouns<'a> {
    let (nothing, own) = if question.is_of_restrained() {
        ("no piece is restrained", "restrained piece")
    } else {
        ("no piece is held", "held turn")
    };
    Nouns {
        nothing,
        own,
        other: "comparable free turn",
        incomparable: "has enough comparable free pieces",
        outcome,
    }
}

fn remarks(question: &Question, figures: &Figures) -> Vec<String> {
    if figures.left_out.turns == 0 || figures.strata == 0 {
        return Vec::new();
    }
    let share = figures.left_out.turns as f64 / figures.raw.held.turns as f64;
    let mut remark = format!(
        "{} ({}) in {} have too few comparable free pieces and are left out of both sides of the comparison.",
        words::counted(figures.left_out.turns, nouns(question, "").own),
        words::percent(share),
        if figures.strata_left_out == 1 {
            "1 stratum".to_owned()
        } else {
            format!("{} strata", words::count(figures.strata_left_out))
        },
    );
    if share > MUCH_LEFT_OUT {
        remark.push_str(" The comparison speaks of the others only.");
    }
    vec![remark]
}

/// The row in one sentence.
fn verdict(
    question: &Question,
    group: &BTreeMap<Key, String>,
    all: bool,
    compared: &Standardised,
    too_few: Option<&Lack>,
) -> String {
    if let Some(too_few) = too_few {
        return words::capital(&format!("{}.", too_few.sentence()));
    }
    let (Some(rate), Some(free), Some(ratio), Some(interval)) = (
        compared.restricted_rate.value,
        compared.free_rate.value,
        compared.ratio.value,
        compared.ratio.jackknife,
    ) else {
        return "Too few games to tell: the ratio has no interval.".to_owned();
    };
    if compared.covered() < COVERED {
        return format!(
            "No verdict: only {} of them have comparable free pieces, and at least {:.0}% are needed.",
            words::percent(compared.covered()),
            COVERED * 100.0
        );
    }
    let subject = subject(question, group, all);
    let happened = words::happened(question.outcome);
    let digits = words::percent_digits(compared.difference.jackknife);
    let per = if question.is_of_restrained() {
        "of cases"
    } else {
        "of its turns"
    };
    let facts = format!(
        "A {} {subject} was {happened} within {} moves in {:.digits$}% {per}, a comparable free one in {:.digits$}%",
        question.state(),
        question.within,
        rate * 100.0,
        free * 100.0
    );
    let digits = words::ratio_digits(Some(interval));
    let bounds = format!(
        "95% interval {:.digits$} to {:.digits$}",
        interval.low, interval.high
    );
    if interval.low > 1.0 || interval.high < 1.0 {
        format!("{facts}: {ratio:.digits$} times as often ({bounds}).")
    } else {
        format!("{facts}; these games do not tell them apart (ratio {ratio:.digits$}, {bounds}).")
    }
}

fn subject(question: &Question, group: &BTreeMap<Key, String>, all: bool) -> String {
    let kind = match (group.get(&Key::Kind), question.kinds.as_slice()) {
        (Some(kind), _) if !all => kind.as_str(),
        (_, [one]) => Kind::name(*one),
        _ => "piece",
    };
    let rest: Vec<Key> = question
        .group_by
        .iter()
        .copied()
        .filter(|&key| key != Key::Kind)
        .collect();
    if all || rest.is_empty() {
        return kind.to_owned();
    }
    format!("{kind} ({})", words::label(&rest, group))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::observations::Observed;

    fn cell(stratum: usize, fold: u32, restricted: bool, turns: u64, lost: u64) -> Observed {
        let cell = Cell {
            turns,
            outcomes: lost,
            over: 0,
        };
        Observed::every_turn(stratum, fold, restricted, cell)
    }

    fn row_of(cells: &[Observed], values: Option<&[String]>) -> Row {
        row(&question(), values, &Tables::of(cells))
    }

    fn question() -> Question {
        Question::load("held-piece-lost").unwrap()
    }

    /// Eight folds alike but for the first: every figure can be worked out by hand.
    fn eight() -> Vec<Observed> {
        let of_fold = |fold| {
            let first = u64::from(fold == 0) * 2;
            let own = cell(0, fold, true, 10, 2 + first);
            [own, cell(0, fold, false, 40, 4 + first)]
        };
        (0..8).flat_map(of_fold).collect()
    }

    #[test]
    fn figures_by_hand() {
        let row = row_of(&eight(), Some(&["knight".to_owned()]));
        assert_eq!((row.restricted.turns, row.restricted.outcomes), (80, 18));
        assert_eq!(row.restricted.rate, Some(0.225));
        assert_eq!(row.too_few, None);
        assert_eq!(row.standardised.ratio.value, Some(0.225 / (34.0 / 320.0)));
        // Replicates of the difference: 14/70 − 28/280 without fold 0, else 16/70 − 30/280.
        let (a, b) = (14.0 / 70.0 - 28.0 / 280.0, 16.0 / 70.0 - 30.0 / 280.0);
        let mean: f64 = (a + 7.0 * b) / 8.0;
        let squares: f64 = (a - mean).powi(2) + 7.0 * (b - mean).powi(2);
        let se = (7.0 / 8.0 * squares).sqrt();
        let got = row.standardised.difference.jackknife.unwrap();
        assert!((got.se.unwrap() - se).abs() < 1e-15);
        assert_eq!(got.df, Some(7));
        // t(0.975, 7) = 2.364624 in every table.
        let value = 0.225 - 34.0 / 320.0;
        assert!((got.high - (value + 2.364_624 * se)).abs() < 1e-6 * se);
        assert_eq!(row.raw.difference, row.standardised.difference);
        assert!(row.verdict.starts_with(
            "A held knight was lost within 10 moves in 22.5% of its turns, a comparable free one in 10.6%: 2.12 times as often (95% interval "
        ), "{}", row.verdict);
    }

    #[test]
    fn too_few_has_counts_and_no_interval() {
        let few = [cell(0, 0, true, 12, 3), cell(0, 1, false, 5000, 100)];
        let row = row_of(&few, None);
        assert_eq!(row.label, "all");
        assert_eq!(row.restricted.rate, Some(0.25));
        assert_eq!(row.restricted.jackknife, None);
        assert_eq!(row.standardised.ratio.jackknife, None);
        assert_eq!(
            row.too_few.as_ref().map(Lack::sentence),
            Some("too few games to tell: 12 held turns in 1 fold (asked: 20 in 5)")
        );
        assert_eq!(
            row.verdict,
            "Too few games to tell: 12 held turns in 1 fold (asked: 20 in 5)."
        );
    }

    /// Nothing lost: a rate of 0, but no interval and no ratio.
    #[test]
    fn no_outcome_has_no_jackknife() {
        let of_fold = |fold| [cell(0, fold, true, 10, 0), cell(0, fold, false, 10, 1)];
        let none: Vec<Observed> = (0..64).flat_map(of_fold).collect();
        let row = row_of(&none, None);
        assert_eq!(row.restricted.rate, Some(0.0));
        assert_eq!(row.restricted.jackknife, None);
        assert!(row.free.jackknife.is_none(), "all folds alike: no spread");
        assert_eq!(
            row.standardised.ratio,
            Estimate {
                value: Some(0.0),
                jackknife: None
            }
        );
        assert!(
            row.too_few
                .unwrap()
                .sentence()
                .contains("0 held turns end lost, in 0 folds")
        );
    }

    #[test]
    fn what_cannot_be_compared_is_counted_and_left_out() {
        let mut cells = eight();
        cells.push(cell(1, 3, true, 10, 10));
        // Four rows of free pieces are too few for a rate.
        cells.push(cell(1, 3, false, 4, 1));
        let row = row_of(&cells, None);
        assert_eq!((row.restricted.turns, row.free.turns), (90, 324));
        assert_eq!(row.standardised.restricted_turns, 80);
        assert_eq!(row.standardised.restricted_rate.value, Some(0.225));
        assert_eq!(row.standardised.restricted_turns_left_out, 10);
        assert_eq!(row.standardised.restricted_outcomes_left_out, 10);
        assert_eq!(
            row.remarks,
            [
                "10 held turns (11.1%) in 1 stratum have too few comparable free pieces and are left out of both sides of the comparison. The comparison speaks of the others only."
            ]
        );
        assert!(
            row.verdict.starts_with("A held piece was lost"),
            "{}",
            row.verdict
        );

        // With one in five left out, those compared may not be like the others.
        cells.push(cell(2, 3, true, 20, 0));
        let row = row_of(&cells, None);
        assert_eq!(
            row.verdict,
            "No verdict: only 72.7% of them have comparable free pieces, and at least 80% are needed."
        );
    }

    #[test]
    fn nothing_at_all() {
        let row = row_of(&[], None);
        assert_eq!(row.restricted.rate, None);
        assert_eq!(row.standardised.free_rate.value, None);
        assert_eq!(
            row.too_few.as_ref().map(Lack::sentence),
            Some("too few games to tell: no piece is held")
        );
    }

    /// An interval that holds 1 must never read as a difference.
    #[test]
    fn verdict_says_no_more_than_the_interval() {
        let lost = |fold: u32| 1 + u64::from(fold % 3);
        let of_fold = |fold| {
            let own = cell(0, fold, true, 10, lost(fold));
            [own, cell(0, fold, false, 10, lost(fold + 1))]
        };
        let cells: Vec<Observed> = (0..8).flat_map(of_fold).collect();
        let row = row_of(&cells, None);
        let interval = row.standardised.ratio.jackknife.unwrap();
        assert!(interval.low < 1.0 && interval.high > 1.0);
        assert!(
            row.verdict.contains("do not tell them apart"),
            "{}",
            row.verdict
        );
    }
}
