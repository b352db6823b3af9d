//! One row of an answer from its counts.

use std::collections::BTreeMap;

use crate::answer::{RawComparison, Row, Side, Standardised};
use crate::question::Question;
use hobble_conditions::terms::{Key, Kind, Outcome};
use hobble_conditions::words;
use hobble_report::few::{Lack, Nouns};
use hobble_statistics::few::Least;
use hobble_statistics::interval::existing;
use hobble_statistics::risk::{self, Scale};
use hobble_statistics::standardise::{self, Cell, Figures, Spread, Table};
use hobble_statistics::{Estimate, Interval, quantile, wilson};

pub use hobble_statistics::LEVEL;

/// Share of held turns without comparison above which a row warns of it.
const MUCH_LEFT_OUT: f64 = 0.1;

/// The row of a group; `values` are those of the question's `group_by`, `None` for all.
pub fn row(question: &Question, values: Option<&[String]>, table: &Table) -> Row {
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

    let figures = table.figures();
    let (held_spread, free_spread) = table.spread(false);
    let without_one = WithoutOne {
        held: table.figures_without_one(|sum| sum.held.turns > 0),
        free: table.figures_without_one(|sum| sum.free.turns > 0),
        either: table.figures_without_one(|_| true),
    };
    let held = side(
        question,
        figures.raw.held,
        held_spread,
        &without_one.held,
        |f| f.raw.held.rate(),
    );
    let free = side(
        question,
        figures.raw.free,
        free_spread,
        &without_one.free,
        |f| f.raw.free.rate(),
    );
    let raw = raw(
        question,
        &figures,
        (held_spread, free_spread),
        &without_one.either,
    );
    let compared_spread = table.spread(true);
    let (held_compared, free_compared) = compared_spread;
    let few = least(question).check(&figures, held_compared, free_compared);
    let standardised = standardised(&figures, compared_spread, &without_one, few.is_none());
    let too_few = few.map(|few| nouns(&outcome_words(question.outcome)).lack(few));
    let remarks = remarks(&figures);
    let verdict = verdict(question, &group, all, &standardised, too_few.as_ref());
    Row {
        group,
        label,
        all,
        held,
        free,
        raw,
        standardised,
        too_few,
        verdict,
        remarks,
    }
}

/// The figures with one fold left out each: of the folds with held turns, with free turns,
/// with either.
struct WithoutOne {
    held: Vec<Figures>,
    free: Vec<Figures>,
    either: Vec<Figures>,
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

fn side(
    question: &Question,
    cell: Cell,
    spread: Spread,
    without_one: &[Figures],
    rate: impl Fn(&Figures) -> f64,
) -> Side {
    let least = least(question);
    let enough = least.trials(cell, spread);
    let z = quantile::normal(LEVEL);
    let jackknife = (enough && least.outcomes(spread))
        .then(|| jackknifed(Scale::Logit, rate, cell.rate(), without_one, spread.folds))
        .flatten();
    let wilson = enough
        .then(|| wilson::interval(cell.outcomes, cell.turns, z))
        .flatten()
        .map(|bounds| Interval::normal(bounds, None));
    Side {
        turns: cell.turns,
        outcomes: cell.outcomes,
        over: cell.over,
        folds: spread.folds,
        outcome_folds: spread.outcome_folds,
        rate: existing(cell.rate()),
        jackknife,
        wilson,
    }
}

fn raw(
    question: &Question,
    figures: &Figures,
    (held, free): (Spread, Spread),
    without_one: &[Figures],
) -> RawComparison {
    let two = figures.raw.two();
    let z = quantile::normal(LEVEL);
    let folds = held.folds.min(free.folds);
    let least = least(question);
    let turns = least.trials(figures.raw.held, held) && least.trials(figures.raw.free, free);
    let outcomes = turns && least.outcomes(held) && least.outcomes(free);
    let ratio = |f: &Figures| risk::ratio(f.raw.two()).unwrap_or(f64::NAN);
    let difference = |f: &Figures| risk::difference(f.raw.two()).unwrap_or(f64::NAN);
    let interval = |scale, of: &dyn Fn(&Figures) -> f64| {
        outcomes
            .then(|| jackknifed(scale, of, of(figures), without_one, folds))
            .flatten()
    };
    RawComparison {
        ratio: Estimate {
            value: risk::ratio(two),
            jackknife: interval(Scale::Log, &ratio),
        },
        ratio_katz: turns
            .then(|| risk::katz(two, z))
            .flatten()
            .map(|(bounds, se)| Interval::normal(bounds, Some(se))),
        difference: Estimate {
            value: risk::difference(two),
            jackknife: interval(Scale::Plain, &difference),
        },
        difference_newcombe: turns
            .then(|| risk::newcombe(two, z))
            .flatten()
            .map(|bounds| Interval::normal(bounds, None)),
    }
}

fn standardised(
    figures: &Figures,
    (held, free): (Spread, Spread),
    without_one: &WithoutOne,
    enough: bool,
) -> Standardised {
    let both = held.folds.min(free.folds);
    let whole = (figures, without_one.either.as_slice());
    let estimate = |scale, of, folds| standardise::estimate(scale, of, whole, folds, LEVEL, enough);
    Standardised {
        strata: figures.strata,
        strata_left_out: figures.strata_left_out,
        held_turns: figures.compared.held.turns,
        held_outcomes: figures.compared.held.outcomes,
        held_turns_left_out: figures.left_out.turns,
        held_outcomes_left_out: figures.left_out.outcomes,
        free_turns: figures.compared.free.turns,
        free_outcomes: figures.compared.free.outcomes,
        held_rate: estimate(Scale::Logit, Figures::held_rate, held.folds),
        free_rate: estimate(Scale::Logit, Figures::free_rate, both),
        ratio: estimate(Scale::Log, Figures::ratio, both),
        difference: estimate(Scale::Plain, Figures::difference, both),
    }
}

/// What stands behind a number of turns that met the outcome.
fn outcome_words(outcome: Outcome) -> String {
    format!(" end {}", words::happened(outcome))
}

/// What a comparison calls its turns; `outcome` is made by [`outcome_words`].
const fn nouns(outcome: &str) -> Nouns<'_> {
    Nouns {
        nothing: "no piece is held",
        own: "held turn",
        other: "comparable free turn",
        incomparable: "has a comparable free piece",
        outcome,
    }
}

fn remarks(figures: &Figures) -> Vec<String> {
    let mut remarks = Vec::new();
    if figures.left_out.turns > 0 && figures.strata > 0 {
        let share = figures.left_out.turns as f64 / figures.raw.held.turns as f64;
        let mut remark = format!(
            "{} ({}) in {} have no comparable free piece and are left out of both sides of the comparison.",
            words::counted(figures.left_out.turns, "held turn"),
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
        remarks.push(remark);
    }
    remarks
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
    let (Some(held), Some(free), Some(ratio), Some(interval)) = (
        compared.held_rate.value,
        compared.free_rate.value,
        compared.ratio.value,
        compared.ratio.jackknife,
    ) else {
        return "Too few games to tell: the ratio has no interval.".to_owned();
    };
    let subject = subject(question, group, all);
    let happened = words::happened(question.outcome);
    let digits = words::percent_digits(compared.difference.jackknife);
    let facts = format!(
        "A held {subject} was {happened} within {} moves in {:.digits$}% of its turns, a comparable free one in {:.digits$}%",
        question.within,
        held * 100.0,
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

    fn cell(turns: u64, outcomes: u64) -> Cell {
        Cell {
            turns,
            outcomes,
            over: 0,
        }
    }

    fn question() -> Question {
        Question::load("held-piece-lost").unwrap()
    }

    /// Eight folds alike but for the first: every figure can be worked out by hand.
    fn table() -> Table {
        let mut table = Table::default();
        for fold in 0..8 {
            table.add(0, fold, true, cell(10, if fold == 0 { 4 } else { 2 }));
            table.add(0, fold, false, cell(40, if fold == 0 { 6 } else { 4 }));
        }
        table
    }

    #[test]
    fn figures_by_hand() {
        let row = row(&question(), Some(&["knight".to_owned()]), &table());
        assert_eq!((row.held.turns, row.held.outcomes), (80, 18));
        assert_eq!(row.held.rate, Some(0.225));
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
        let mut few = Table::default();
        few.add(0, 0, true, cell(12, 3));
        few.add(0, 1, false, cell(5000, 100));
        let row = row(&question(), None, &few);
        assert_eq!(row.label, "all");
        assert_eq!(row.held.rate, Some(0.25));
        assert_eq!((row.held.wilson, row.held.jackknife), (None, None));
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

    /// Nothing lost: a rate of 0 with a Wilson interval, but no jackknife and no ratio.
    #[test]
    fn no_outcome_has_no_jackknife() {
        let mut none = Table::default();
        for fold in 0..64 {
            none.add(0, fold, true, cell(10, 0));
            none.add(0, fold, false, cell(10, 1));
        }
        let row = row(&question(), None, &none);
        assert_eq!(row.held.rate, Some(0.0));
        assert_eq!(row.held.jackknife, None);
        assert!(row.held.wilson.unwrap().high > 0.0);
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
        let mut table = table();
        table.add(1, 3, true, cell(40, 40));
        let row = row(&question(), None, &table);
        assert_eq!(row.held.turns, 120);
        assert_eq!(row.standardised.held_turns, 80);
        assert_eq!(row.standardised.held_rate.value, Some(0.225));
        assert_eq!(row.standardised.held_turns_left_out, 40);
        assert_eq!(row.standardised.held_outcomes_left_out, 40);
        assert_eq!(
            row.remarks,
            [
                "40 held turns (33.3%) in 1 stratum have no comparable free piece and are left out of both sides of the comparison. The comparison speaks of the others only."
            ]
        );
    }

    #[test]
    fn nothing_at_all() {
        let row = row(&question(), None, &Table::default());
        assert_eq!(row.held.rate, None);
        assert_eq!(row.standardised.free_rate.value, None);
        assert_eq!(
            row.too_few.as_ref().map(Lack::sentence),
            Some("too few games to tell: no piece is held")
        );
    }

    /// An interval that holds 1 must never read as a difference.
    #[test]
    fn verdict_says_no_more_than_the_interval() {
        let mut table = Table::default();
        for fold in 0..8 {
            table.add(0, fold, true, cell(10, 1 + u64::from(fold % 3)));
            table.add(0, fold, false, cell(10, 1 + u64::from((fold + 1) % 3)));
        }
        let row = row(&question(), None, &table);
        let interval = row.standardised.ratio.jackknife.unwrap();
        assert!(interval.low < 1.0 && interval.high > 1.0);
        assert!(
            row.verdict.contains("do not tell them apart"),
            "{}",
            row.verdict
        );
    }
}
