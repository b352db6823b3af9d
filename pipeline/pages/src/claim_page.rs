//! The page of a training claim: its report, the curve and the shares.

use anyhow::Result;
use hobble_claim::answer::{ClaimAnswer, Compared, CurvePoint, Shares};
use hobble_claim::report::{report, since};
use hobble_report::number::{capital, count, list, percent};
use hobble_statistics::{Estimate, Interval};

use crate::html::html;
use crate::plot::Drawn;
use crate::plot::dots::{Dot, Dots, Row, Scale};
use crate::plot::incidence::{Curve, Incidence, Step};

/// The answer to a claim as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where an example holds a position or square that cannot be read, naming it.
pub fn claim_page(answer: &ClaimAnswer) -> Result<String> {
    html(&report(answer), &[curve(answer)?, shares(answer)?])
}

fn bounds(interval: Option<Interval>) -> Option<(f64, f64)> {
    interval.map(|interval| (interval.low, interval.high))
}

/// Held beside free at each horizon.
fn shares(answer: &ClaimAnswer) -> Result<Drawn> {
    let rows: Vec<Row> = answer
        .comparison
        .iter()
        .map(|row| Row {
            label: format!("within {} moves", row.within),
            all: false,
            dots: vec![dot(row, &row.held_rate), dot(row, &row.free_rate)],
            missing: "too few games".to_owned(),
        })
        .collect();
    let state = answer.claim.state();
    let series = [state.to_owned(), "comparable free".to_owned()];
    let title = format!("Share {}, {state} and free", answer.claim.outcome);
    let said: Vec<String> = answer
        .comparison
        .iter()
        .map(|row| in_words(row, state))
        .collect();
    let words = format!("{}.", capital(&list(&said)));
    let caption = "Exact counts at the five horizons for which free pieces are counted; whiskers are 95% intervals.".to_owned();
    let axis = format!("share {}", answer.claim.outcome);
    Drawn::new("shares", (&title, &words), caption, |words, width| {
        Dots {
            series: &series,
            rows: &rows,
            scale: Scale::Share,
            axis: &axis,
        }
        .draw(words, width)
    })
}

fn dot(row: &Compared, estimate: &Estimate) -> Option<Dot> {
    let value = estimate.value.filter(|_| row.too_few.is_none())?;
    Some(Dot {
        value,
        interval: bounds(estimate.jackknife),
        text: percent(value),
    })
}

fn in_words(row: &Compared, state: &str) -> String {
    match (row.held_rate.value, row.free_rate.value, &row.too_few) {
        (Some(held), Some(free), None) => format!(
            "within {} moves {} {state}, {} free",
            row.within,
            percent(held),
            percent(free)
        ),
        _ => format!("within {} moves too few games", row.within),
    }
}

type Of = fn(&CurvePoint) -> &Shares;

/// What became of the held pieces, move by move.
const ENDS: [(&str, Of); 4] = [
    ("lost", |point| &point.lost),
    ("traded", |point| &point.traded),
    ("sold", |point| &point.sold),
    ("game over", |point| &point.over),
];

fn curve(answer: &ClaimAnswer) -> Result<Drawn> {
    let state = answer.claim.state();
    let curves: Vec<Curve> = ENDS
        .iter()
        .map(|(label, of)| Curve {
            label: (*label).to_owned(),
            steps: answer
                .curve
                .iter()
                .map(|point| Step {
                    moves: f64::from(point.moves),
                    share: of(point).share.value.unwrap_or(0.0),
                    interval: bounds(of(point).share.jackknife),
                })
                .collect(),
        })
        .collect();
    let last: Vec<String> = ENDS
        .iter()
        .filter_map(|(label, of)| {
            let value = of(answer.curve.last()?).share.value?;
            Some(format!("{label} {}", percent(value)))
        })
        .collect();
    let words = format!(
        "Of {} spells, after 20 moves: {}.",
        count(answer.spells),
        list(&last)
    );
    let caption = format!(
        "What had become of the {state} piece, by moves {}; bands are 95% intervals. Exact counts: every game is known to its end. Sold: captured for more than its value.",
        since(answer)
    );
    let title = format!("What became of the {state} pieces");
    let axis = format!("share of the {state} pieces");
    Drawn::new("curve", (&title, &words), caption, |words, width| {
        Incidence {
            curves: &curves,
            moves: 20.0,
            axis: &axis,
        }
        .draw(words, width)
    })
}
