//! The rows of a comparison as one tidy table.

use hobble_report::{Record, Tidy};

use crate::answer::{Answer, Row, Side as Counts};
use hobble_statistics::{Estimate, Interval};

/// The rows, with every figure at full precision.
pub(super) fn tidy(answer: &Answer) -> Tidy {
    Tidy::of(answer.rows.iter().map(|row| record(answer, row)))
}

fn record(answer: &Answer, row: &Row) -> Record {
    let p = &answer.parameters;
    let s = &row.standardised;
    let mut out = Record::default();
    out.text("question", &answer.question.name)
        .count("definitions", answer.definitions)
        .count("k", p.k)
        .count("within", p.within)
        .text("outcome", p.outcome.name())
        .text("state", p.state())
        .text("row", if row.all { "all" } else { "group" });
    for key in &p.group_by {
        out.text(key.name(), row.group.get(key).map_or("", String::as_str));
    }
    side(&mut out, "restricted", &row.restricted);
    side(&mut out, "free", &row.free);
    estimate(&mut out, "raw_ratio", &row.raw.ratio);
    estimate(&mut out, "raw_difference", &row.raw.difference);
    out.count("strata", s.strata)
        .count("strata_left_out", s.strata_left_out)
        .count("compared_restricted_turns", s.restricted_turns)
        .count("compared_restricted_outcomes", s.restricted_outcomes)
        .count("restricted_turns_left_out", s.restricted_turns_left_out)
        .count(
            "restricted_outcomes_left_out",
            s.restricted_outcomes_left_out,
        )
        .count("compared_free_turns", s.free_turns)
        .count("compared_free_outcomes", s.free_outcomes)
        .count("compared_free_rows", s.free_rows);
    estimate(&mut out, "compared_restricted_rate", &s.restricted_rate);
    estimate(&mut out, "standardised_free_rate", &s.free_rate);
    estimate(&mut out, "standardised_ratio", &s.ratio);
    estimate(&mut out, "standardised_difference", &s.difference);
    let over = row.against_all;
    out.figure("ratio_over_all", over.map(|it| it.value))
        .figure("ratio_over_all_low", over.map(|it| it.low))
        .figure("ratio_over_all_high", over.map(|it| it.high))
        .figure("ratio_over_all_se", over.map(|it| it.se))
        .figure("ratio_over_all_p", over.map(|it| it.p))
        .figure("ratio_over_all_p_holm", over.map(|it| it.p_holm));
    let too_few = row.too_few.as_ref().map_or("", |lack| lack.sentence());
    out.text("too_few", too_few);
    out
}

fn side(out: &mut Record, name: &str, side: &Counts) {
    out.count(format!("{name}_rows"), side.rows)
        .count(format!("{name}_turns"), side.turns)
        .count(format!("{name}_outcomes"), side.outcomes)
        .count(format!("{name}_over"), side.over)
        .count(format!("{name}_folds"), side.folds)
        .count(format!("{name}_outcome_folds"), side.outcome_folds);
    let rate = Estimate {
        value: side.rate,
        jackknife: side.jackknife,
    };
    estimate(out, &format!("{name}_rate"), &rate);
}

fn estimate(out: &mut Record, name: &str, estimate: &Estimate) {
    out.figure(name, estimate.value);
    let jackknife = format!("{name}_jackknife");
    interval(out, &jackknife, estimate.jackknife);
    let se = estimate.jackknife.and_then(|it| it.se);
    let df = estimate.jackknife.and_then(|it| it.df);
    out.figure(format!("{jackknife}_se"), se);
    out.optional(format!("{jackknife}_df"), df.map(u64::from));
}

fn interval(out: &mut Record, name: &str, interval: Option<Interval>) {
    out.figure(format!("{name}_low"), interval.map(|it| it.low));
    out.figure(format!("{name}_high"), interval.map(|it| it.high));
}
