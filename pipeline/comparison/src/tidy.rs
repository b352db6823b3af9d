//! The rows of a comparison as one tidy table.

use hobble_conditions::terms::Key;
use hobble_report::Tidy;
use hobble_report::columns::{ColumnText, Columns, Of};

use crate::answer::{Answer, Parameters, RatioOfRatios, Row, Side as Counts};
use hobble_statistics::Estimate;

/// What a line of the table is made from.
struct Line {
    question: String,
    definitions: u32,
    parameters: Parameters,
    row: Row,
}

/// The rows, with every figure at full precision.
pub(super) fn tidy(answer: &Answer) -> Tidy {
    let lines = answer.rows.iter().map(|row| Line {
        question: answer.question.name.clone(),
        definitions: answer.definitions,
        parameters: answer.parameters.clone(),
        row: row.clone(),
    });
    let columns = columns(&answer.parameters.group_by);
    columns.tidy(&lines.collect::<Vec<_>>())
}

/// The columns there can be, with those of every key to group by.
pub(super) fn texts() -> Vec<ColumnText> {
    columns(&Key::ALL).texts()
}

/// Why a figure or its interval is missing.
const TOO_FEW: &str = "not known, or too few games for an interval";

fn columns(keys: &[Key]) -> Columns<Line> {
    let mut out = Columns::default();
    out.text("question", "Name of the question.", |line: &Line| {
        line.question.clone()
    });
    out.definitions_and_k(|line| (line.definitions, line.parameters.k));
    let within = "Moves within which an outcome counts.";
    out.count("within", "moves", within, |line| {
        line.parameters.within.into()
    });
    out.text("outcome", "The outcome that is counted.", |line| {
        line.parameters.outcome.name().to_owned()
    });
    let state = "Which pieces are compared with free ones: `restrained` or `held`.";
    out.text("state", state, |line| line.parameters.state().to_owned());
    let row = "`group` for a group, `all` for all groups together.";
    out.text("row", row, |line| {
        if line.row.all { "all" } else { "group" }.to_owned()
    });
    for &key in keys {
        let text = format!(
            "Value of the key `{key}` in the group; a column that is there where the question groups by it."
        );
        out.words(key.name(), "row of all groups", text, move |line| {
            line.row.group.get(&key).cloned().unwrap_or_default()
        });
    }
    side(&mut out, "restricted", |line| &line.row.restricted);
    side(&mut out, "free", |line| &line.row.free);
    let ratio = "Rate of the restricted pieces by that of the free ones, as they stand.";
    estimate(&mut out, "raw_ratio", RATIO, ratio, |line| {
        line.row.raw.ratio
    });
    let difference = "Rate of the restricted pieces less that of the free ones, as they stand.";
    let of = |line: &Line| line.row.raw.difference;
    estimate(&mut out, "raw_difference", DIFFERENCE, difference, of);
    standardised(&mut out);
    over_all(&mut out);
    let few = "Why there is no interval.";
    out.words("too_few", "there are enough", few, |line| {
        let lack = line.row.too_few.as_ref();
        lack.map_or_else(String::new, |lack| lack.sentence().to_owned())
    });
    out
}

fn standardised(out: &mut Columns<Line>) {
    for (name, unit, text, of) in STRATA {
        out.count(*name, unit, *text, *of);
    }
    let rate = "Rate of the restricted pieces in the strata compared.";
    let of = |line: &Line| line.row.standardised.restricted_rate;
    estimate(out, "compared_restricted_rate", RATE, rate, of);
    let rate = "Rate that the free pieces would have, were they spread over the strata as the restricted ones are.";
    let of = |line: &Line| line.row.standardised.free_rate;
    estimate(out, "standardised_free_rate", RATE, rate, of);
    let ratio =
        "Rate of the restricted pieces in the strata compared by that of comparable free ones.";
    let of = |line: &Line| line.row.standardised.ratio;
    estimate(out, "standardised_ratio", RATIO, ratio, of);
    let difference =
        "Rate of the restricted pieces in the strata compared less that of comparable free ones.";
    let of = |line: &Line| line.row.standardised.difference;
    estimate(out, "standardised_difference", DIFFERENCE, difference, of);
}

/// The group's ratio over that of all groups.
fn over_all(out: &mut Columns<Line>) {
    const NAME: &str = "ratio_over_all";
    const NONE: &str = "one group alone, the row of all groups, or too few games for an interval";
    let mut add = |end: &str, unit, text: &str, of: fn(&RatioOfRatios) -> f64| {
        let text = text.replace("NAME", NAME);
        out.figure(
            format!("{NAME}{end}"),
            Of::new(unit, NONE),
            text,
            move |line| line.row.against_all.as_ref().map(of),
        );
    };
    let ratio = "The group's standardised ratio over that of all groups together.";
    add("", "ratio", ratio, |it| it.value);
    add(
        "_low",
        "ratio",
        "Lower bound of the 95% interval of `NAME`.",
        |it| it.low,
    );
    add(
        "_high",
        "ratio",
        "Upper bound of the 95% interval of `NAME`.",
        |it| it.high,
    );
    let error = "Standard error behind the interval of `NAME`, on the scale of logarithms.";
    add("_se", "that scale", error, |it| it.se);
    add(
        "_p",
        "probability",
        "Two-sided p-value of `NAME` being 1.",
        |it| it.p,
    );
    let adjusted = "The same, adjusted for the tests of all groups by Holm's method.";
    add("_p_holm", "probability", adjusted, |it| it.p_holm);
}

type Counted = (&'static str, &'static str, &'static str, fn(&Line) -> u64);

const STRATA: &[Counted] = &[
    (
        "strata",
        "strata",
        "Strata compared: those with restricted pieces and enough free ones.",
        |line| line.row.standardised.strata,
    ),
    (
        "strata_left_out",
        "strata",
        "Strata with restricted pieces and too few free ones.",
        |line| line.row.standardised.strata_left_out,
    ),
    (
        "compared_restricted_turns",
        "turns",
        "Turns of restricted pieces in the strata compared.",
        |line| line.row.standardised.restricted_turns,
    ),
    (
        "compared_restricted_outcomes",
        "turns",
        "Counted outcomes among them.",
        |line| line.row.standardised.restricted_outcomes,
    ),
    (
        "restricted_turns_left_out",
        "turns",
        "Turns of restricted pieces in the strata left out.",
        |line| line.row.standardised.restricted_turns_left_out,
    ),
    (
        "restricted_outcomes_left_out",
        "turns",
        "Counted outcomes among those.",
        |line| line.row.standardised.restricted_outcomes_left_out,
    ),
    (
        "compared_free_turns",
        "turns",
        "Turns of free pieces in the strata compared.",
        |line| line.row.standardised.free_turns,
    ),
    (
        "compared_free_outcomes",
        "turns",
        "Counted outcomes among them.",
        |line| line.row.standardised.free_outcomes,
    ),
    (
        "compared_free_rows",
        "rows",
        "Rows of the table `turns` behind the turns of free pieces.",
        |line| line.row.standardised.free_rows,
    ),
];

fn side(out: &mut Columns<Line>, name: &'static str, of: fn(&Line) -> &Counts) {
    type Of = fn(&Counts) -> u64;
    let counts: [(&str, &str, &str, Of); 6] = [
        ("rows", "rows", "rows of the table `turns`", |side| {
            side.rows
        }),
        ("turns", "turns", "turns that these stand for", |side| {
            side.turns
        }),
        (
            "outcomes",
            "turns",
            "turns with the counted outcome",
            |side| side.outcomes,
        ),
        (
            "over",
            "turns",
            "turns of pieces alive when the game ended within the moves",
            |side| side.over,
        ),
        ("folds", "folds", "folds of games with a turn", |side| {
            side.folds.into()
        }),
        (
            "outcome_folds",
            "folds",
            "folds of games with a counted outcome",
            |side| side.outcome_folds.into(),
        ),
    ];
    for (what, unit, text, count) in counts {
        let text = format!("Of {name} pieces, as they stand: {text}.");
        out.count(format!("{name}_{what}"), unit, text, move |line| {
            count(of(line))
        });
    }
    let text = format!("Outcomes by turns of {name} pieces, as they stand.");
    let rate = move |line: &Line| Estimate {
        value: of(line).rate,
        jackknife: of(line).jackknife,
    };
    estimate(out, &format!("{name}_rate"), RATE, &text, rate);
}

/// Unit of a figure, and the scale of its standard error.
type OnScale = (&'static str, &'static str);

const RATE: OnScale = ("share", "logit scale");
const RATIO: OnScale = ("ratio", "scale of logarithms");
const DIFFERENCE: OnScale = ("share", "figure's own scale");

/// A figure with the interval of the jackknife, its standard error and degrees of freedom.
fn estimate(
    out: &mut Columns<Line>,
    name: &str,
    (unit, scale): OnScale,
    text: &str,
    of: impl Fn(&Line) -> Estimate + Clone + 'static,
) {
    let what = Of::new(unit, TOO_FEW);
    let (value, error, freedom) = (of.clone(), of.clone(), of.clone());
    out.figure(name, what, text, move |line| value(line).value);
    let jackknife = format!("{name}_jackknife");
    out.bounds(&jackknife, what, move |line| of(line).jackknife);
    out.error(&jackknife, scale, TOO_FEW, move |line| {
        error(line).jackknife
    });
    let text = format!("Degrees of freedom of the t quantile in the interval of `{name}`.");
    let degrees = Of::new("", TOO_FEW);
    out.optional(format!("{jackknife}_df"), degrees, text, move |line| {
        freedom(line).jackknife?.df.map(u64::from)
    });
}
