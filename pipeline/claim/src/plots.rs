//! The plots of a claim: the evidence, the curve and the shares.

use super::answer::{
    ClaimAnswer, Compared, CurvePoint, Rung, Shares, SideOutcome, Standing, Varied,
};
use super::outcome::ClaimOutcome;
use super::report_words::{since, title};
use super::{side, side_words::milder as milder_pieces};
use hobble_report::Plot;
use hobble_report::number::{capital, count, list, percent};
use hobble_report::plot::{Curve, Dot, Dots, Drawing, Incidence, Row, Scale, Step, ends};
use hobble_statistics::Estimate;

/// Every rung with its interval, and beside them what should show nothing.
pub(super) fn evidence(answer: &ClaimAnswer) -> Plot {
    let guards = &answer.guards;
    let half = |varied| {
        let row = answer.sensitivity.iter().find(|row| row.varied == varied);
        row.map(|row| row.ratio)
    };
    let found = |rung| {
        let found = answer.evidence.at(rung).finding();
        found.map(|found| found.estimate)
    };
    let places = [
        (title(Rung::Association), found(Rung::Association)),
        ("\u{2013} in half of the games", half(Varied::EvenGames)),
        ("\u{2013} in the other half", half(Varied::OddGames)),
        (title(Rung::Twins), found(Rung::Twins)),
        (title(Rung::Decision), found(Rung::Decision)),
        (
            "Guard: that side\u{2019}s other pieces",
            Some(guards.others.ratio),
        ),
        (
            "Guard: squares taken, more left",
            guards.placebo.as_ref().map(|placebo| placebo.ratio),
        ),
    ];
    let rows: Vec<Row> = places
        .iter()
        .map(|(label, estimate)| Row {
            label: (*label).to_owned(),
            all: label.starts_with("Guard: that"),
            dots: vec![estimate.and_then(|estimate| ratio_dot(&estimate))],
            missing: match answer.evidence.at(Rung::Twins) {
                Standing::NoTwins if *label == title(Rung::Twins) => "no twins".to_owned(),
                _ if *label == title(Rung::Decision) => {
                    answer.evidence.at(Rung::Decision).name().to_owned()
                }
                _ => "too few games".to_owned(),
            },
        })
        .collect();
    let said: Vec<String> = rows
        .iter()
        .map(|row| {
            let label = row.label.trim_start_matches("\u{2013} ");
            match row.dots.first() {
                Some(Some(Dot {
                    text,
                    interval: Some((low, high)),
                    ..
                })) => format!("{label} {text} ({low:.2} to {high:.2})"),
                _ => format!("{label}: {}", row.missing),
            }
        })
        .collect();
    let outcome = answer.claim.of_piece();
    Plot {
        name: "evidence".to_owned(),
        title: "How far the evidence goes".to_owned(),
        words: format!("Times as often {outcome}: {}.", said.join("; ")),
        caption: format!(
            "How many times as often {outcome} as what it is compared with; whiskers are 95% intervals. 1 is no difference. The two guards should lie near 1, and the claim beyond them. Not shown: confirmation (not asked)."
        ),
        drawing: Drawing::Dots(Dots {
            series: vec!["ratio".to_owned()],
            rows,
            scale: Scale::Ratio,
            axis: "times as often".to_owned(),
        }),
    }
}

/// The scores of the claim's sides and of what they are compared with, rung by rung; `None` where the
/// claim is not about the score.
pub(super) fn evidence_of_side(answer: &ClaimAnswer) -> Option<Plot> {
    if answer.claim.outcome != ClaimOutcome::Score {
        return None;
    }
    let dot = |estimate: Estimate| {
        ratio_dot(&estimate).map(|dot| Dot {
            text: percent(dot.value),
            ..dot
        })
    };
    let of = |row: &SideOutcome| vec![dot(row.held_value), dot(row.free_value)];
    let own = side::own(&answer.claim, &answer.side);
    let guards = answer.guards.side.as_ref();
    let milder = guards.and_then(|guards| guards.placebo.as_ref());
    let places = [
        (title(Rung::Association).to_owned(), own.map(of)),
        (
            "Guard: restrained less".to_owned(),
            milder.map(|milder| of(&milder.sides)),
        ),
    ];
    let rows: Vec<Row> = places
        .into_iter()
        .map(|(label, dots)| Row {
            label,
            all: false,
            dots: dots.unwrap_or_else(|| vec![None, None]),
            missing: "too few games".to_owned(),
        })
        .collect();
    let said: Vec<String> = rows
        .iter()
        .map(|row| match row.dots.as_slice() {
            [Some(such), Some(free)] => {
                format!("{} {}, comparable free {}", row.label, such.text, free.text)
            }
            _ => format!("{}: {}", row.label, row.missing),
        })
        .collect();
    let others = [Rung::Twins, Rung::Decision, Rung::Confirmation];
    let others: Vec<String> = others
        .iter()
        .map(|rung| format!("{} ({})", title(*rung), answer.evidence.at(*rung).name()))
        .collect();
    Some(Plot {
        name: "evidence".to_owned(),
        title: "How far the evidence goes".to_owned(),
        words: format!("Score: {}.", said.join("; ")),
        caption: format!(
            "Score of the owner\u{2019}s side; whiskers are 95% intervals. The guard: {}. The gap between the two dots should be wider for the claim than for the guard. Not shown: {}.",
            milder_pieces(&answer.claim),
            list(&others)
        ),
        drawing: Drawing::Dots(Dots {
            series: vec!["with such a piece".to_owned(), "comparable free".to_owned()],
            rows,
            scale: Scale::Share,
            axis: "score".to_owned(),
        }),
    })
}

fn ratio_dot(estimate: &Estimate) -> Option<Dot> {
    let value = estimate.value?;
    let interval = ends(Some(estimate.jackknife?));
    Some(Dot {
        value,
        interval,
        text: format!("{value:.2}"),
    })
}

/// Held beside free at each horizon.
pub(super) fn shares(answer: &ClaimAnswer) -> Plot {
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
    let title = format!("Share {}, {state} and free", answer.claim.of_piece());
    let said: Vec<String> = answer
        .comparison
        .iter()
        .map(|row| in_words(row, state))
        .collect();
    let words = format!("{}.", capital(&list(&said)));
    let caption = "At five horizons; whiskers are 95% intervals.".to_owned();
    Plot {
        name: "shares".to_owned(),
        title,
        words,
        caption,
        drawing: Drawing::Dots(Dots {
            series: series.to_vec(),
            rows,
            scale: Scale::Share,
            axis: format!("share {}", answer.claim.of_piece()),
        }),
    }
}

fn dot(row: &Compared, estimate: &Estimate) -> Option<Dot> {
    let value = estimate.value.filter(|_| row.too_few.is_none())?;
    Some(Dot {
        value,
        interval: ends(estimate.jackknife),
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

pub(super) fn curve(answer: &ClaimAnswer) -> Plot {
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
                    interval: ends(of(point).share.jackknife),
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
    Plot {
        name: "curve".to_owned(),
        title,
        words,
        caption,
        drawing: Drawing::Incidence(Incidence {
            curves,
            moves: 20.0,
            axis: format!("share of the {state} pieces"),
        }),
    }
}
