//! The page of a comparison: its report, and both plots.

use anyhow::Result;
use hobble_comparison::answer::{Answer, Row as AnswerRow};
use hobble_comparison::report;
use hobble_comparison::words::{label, level, outcome};
use hobble_report::number::{at_most, capital};
use hobble_report::{Figure, Unit};
use hobble_statistics::Estimate;

use crate::html::html;
use crate::plot::Drawn;
use crate::plot::dots::{Dot, Dots, Row, Scale};

/// The answer as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where an example holds a position or square that cannot be read, naming it.
pub fn comparison_page(answer: &Answer) -> Result<String> {
    html(&report(answer), &[shares(answer)?, ratios(answer)?])
}

fn figure(unit: Unit, estimate: &Estimate) -> Option<Figure> {
    let interval = hobble_report::sections::bounds(estimate.jackknife);
    Some(Figure::new(unit, estimate.value?, interval))
}

/// A figure without an interval gets no dot: it would say more than the games do.
fn dot(unit: Unit, estimate: &Estimate) -> Option<Dot> {
    let figure = figure(unit, estimate)?;
    let interval = figure.interval?;
    let drawable = interval.low.is_finite() && interval.high.is_finite();
    (drawable && (unit != Unit::Ratio || figure.value > 0.0)).then(|| Dot {
        value: figure.value,
        interval: Some((interval.low, interval.high)),
        text: figure.words(),
    })
}

fn in_words(unit: Unit, estimate: &Estimate) -> String {
    match figure(unit, estimate) {
        None => "no figure".to_owned(),
        Some(figure) if figure.interval.is_none() => format!("{}, no interval", figure.words()),
        Some(figure) => figure.line(),
    }
}

/// What stands in a plot where there is no dot.
fn missing(row: &AnswerRow) -> String {
    match row.too_few {
        Some(_) => "too few games",
        None => "no interval",
    }
    .to_owned()
}

fn rows(answer: &Answer, dots: impl Fn(&AnswerRow) -> Vec<Option<Dot>>) -> Vec<Row> {
    answer
        .rows
        .iter()
        .map(|row| Row {
            label: label(row),
            all: row.all && answer.rows.len() > 1,
            dots: dots(row),
            missing: missing(row),
        })
        .collect()
}

/// The shares side by side.
fn shares(answer: &Answer) -> Result<Drawn> {
    let parameters = &answer.parameters;
    let (level, outcome) = (level(parameters), outcome(parameters));
    let held = at_most(parameters.k.into(), "safe square");
    let series = [format!("Held: {held}"), "Comparable free pieces".to_owned()];
    let rows = rows(answer, |row| {
        vec![
            dot(Unit::Share, &row.standardised.held_rate),
            dot(Unit::Share, &row.standardised.free_rate),
        ]
    });
    let title = format!("Share {outcome}, held and comparable free pieces");
    let words: Vec<String> = answer
        .rows
        .iter()
        .map(|row| {
            format!(
                "{}: held {}, comparable free {}.",
                label(row),
                in_words(Unit::Share, &row.standardised.held_rate),
                in_words(Unit::Share, &row.standardised.free_rate)
            )
        })
        .collect();
    let caption = format!(
        "{title}. Disc: held. Diamond: comparable free. The line through each is its {level} interval: the figures the games leave open. The table below holds the same figures."
    );
    let axis = format!("share {outcome}, with {level} interval");
    Drawn::new(
        "share",
        (&title, &words.join(" ")),
        caption,
        |words, width| {
            Dots {
                series: &series,
                rows: &rows,
                scale: Scale::Share,
                axis: &axis,
            }
            .draw(words, width)
        },
    )
}

/// How many times as often.
fn ratios(answer: &Answer) -> Result<Drawn> {
    let parameters = &answer.parameters;
    let rows = rows(answer, |row| {
        vec![dot(Unit::Ratio, &row.standardised.ratio)]
    });
    let title = format!(
        "How many times as often held pieces are {}",
        parameters.outcome
    );
    let words: Vec<String> = answer
        .rows
        .iter()
        .map(|row| {
            let times = in_words(Unit::Ratio, &row.standardised.ratio);
            format!("{}: {times}.", capital(&label(row)))
        })
        .collect();
    let caption = format!(
        "{title}, within {} moves, as comparable free pieces. Where the line crosses 1, these games do not tell which of the two is {} more often.",
        parameters.within, parameters.outcome
    );
    let axis = format!(
        "times as often as free ones, {} interval",
        level(parameters)
    );
    let series = ["ratio".to_owned()];
    Drawn::new(
        "ratio",
        (&title, &words.join(" ")),
        caption,
        |words, width| {
            Dots {
                series: &series,
                rows: &rows,
                scale: Scale::Ratio,
                axis: &axis,
            }
            .draw(words, width)
        },
    )
}
