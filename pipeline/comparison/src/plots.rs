//! Both plots of a comparison.

use super::answer::{Answer, Row as AnswerRow};
use super::words::{label, level, outcome};
use hobble_report::number::{at_most, capital};
use hobble_report::plot::{Dot, Dots, Drawing, Row, Scale};
use hobble_report::{Figure, Plot, Unit};
use hobble_statistics::Estimate;

fn figure(unit: Unit, estimate: &Estimate) -> Option<Figure> {
    let interval = hobble_report::sections::bounds(estimate.jackknife);
    Some(Figure::new(unit, estimate.value?, interval))
}

fn dot(unit: Unit, estimate: &Estimate) -> Option<Dot> {
    Dot::of(unit, estimate.value, estimate.jackknife)
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
    match &row.too_few {
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
pub(super) fn shares(answer: &Answer) -> Plot {
    let parameters = &answer.parameters;
    let (level, outcome) = (level(parameters), outcome(parameters));
    let (state, heading) = (parameters.state(), parameters.state_as_heading());
    let squares = at_most(parameters.k.into(), "safe square");
    let restricted = format!("{heading}: {squares}");
    let series = [restricted, "Comparable free pieces".to_owned()];
    let rows = rows(answer, |row| {
        vec![
            dot(Unit::Share, &row.standardised.restricted_rate),
            dot(Unit::Share, &row.standardised.free_rate),
        ]
    });
    let title = format!("Share {outcome}, {state} and comparable free pieces");
    let words: Vec<String> = answer
        .rows
        .iter()
        .map(|row| {
            format!(
                "{}: {state} {}, comparable free {}.",
                label(row),
                in_words(Unit::Share, &row.standardised.restricted_rate),
                in_words(Unit::Share, &row.standardised.free_rate)
            )
        })
        .collect();
    let caption = format!(
        "{title}. Disc: {state}. Diamond: comparable free. The line through each is its {level} interval: the figures the games leave open. The table below holds the same figures."
    );
    Plot {
        name: "share".to_owned(),
        title,
        words: words.join(" "),
        caption,
        drawing: Drawing::Dots(Dots {
            series: series.to_vec(),
            rows,
            scale: Scale::Share,
            axis: format!("share {outcome}, with {level} interval"),
        }),
    }
}

/// How many times as often.
pub(super) fn ratios(answer: &Answer) -> Plot {
    let parameters = &answer.parameters;
    let rows = rows(answer, |row| {
        vec![dot(Unit::Ratio, &row.standardised.ratio)]
    });
    let title = format!(
        "How many times as often {} pieces are {}",
        parameters.state(),
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
    Plot {
        name: "ratio".to_owned(),
        title,
        words: words.join(" "),
        caption,
        drawing: Drawing::Dots(Dots {
            series: vec!["ratio".to_owned()],
            rows,
            scale: Scale::Ratio,
            axis: format!(
                "times as often as free ones, {} interval",
                level(parameters)
            ),
        }),
    }
}
