//! The plots of an answer.

use hobble_report::Plot;
use hobble_report::number::{capital, percent};
use hobble_report::plot::{Dot, Dots, Drawing, Mark, Multiples, Panel, Row, Scale, ends};

use super::answer::{SidesAnswer, Window};
use super::compare::OfLevel;
use super::estimate::Clustered;
use super::level::Measure;

const SERIES: [&str; 2] = ["as counted", "adjusted"];

/// Scores by level, as counted and adjusted.
pub fn scores(measure: Measure, levels: &[OfLevel]) -> Plot {
    let rows: Vec<Row> = levels
        .iter()
        .enumerate()
        .map(|(place, level)| Row {
            label: label(measure, place),
            all: false,
            dots: vec![dot(level, &level.score), dot(level, &level.adjusted_score)],
            missing: "too few games".to_owned(),
        })
        .collect();
    let said = levels.iter().enumerate().map(|(place, level)| {
        let name = measure.in_words(place);
        match (
            level.score.value,
            level.adjusted_score.value,
            &level.too_few,
        ) {
            (Some(score), Some(adjusted), None) => {
                format!("{name}: {}, adjusted {}", percent(score), percent(adjusted))
            }
            _ => format!("{name}: too few games"),
        }
    });
    let said: Vec<String> = said.collect();
    let (title, beside) = match measure {
        Measure::Scope => (
            "Score by safe squares beside the opponent\u{2019}s",
            "as many squares",
        ),
        Measure::Held => ("Score by pieces held at once", "no piece held"),
        Measure::Restrained => ("Score by pieces restrained at once", "no piece restrained"),
    };
    Plot {
        name: format!("score-{}", measure.name().replace(' ', "-")),
        title: title.to_owned(),
        words: capital(&format!("{}.", said.join("; "))),
        caption: format!(
            "Score of the side on move; 50% is even. Adjusted: what it differs by from comparable positions with {beside}, put on the score of those. Whiskers are 95% intervals."
        ),
        drawing: Drawing::Dots(Dots {
            series: SERIES.map(str::to_owned).to_vec(),
            rows,
            scale: Scale::Share,
            axis: "score".to_owned(),
        }),
    }
}

/// A level as a row is named.
fn label(measure: Measure, place: usize) -> String {
    match (measure, measure.bounds(place)) {
        (Measure::Scope, (None, Some(high))) => format!("at least {} fewer", -high),
        (Measure::Scope, (Some(low), None)) => format!("at least {low} more"),
        (Measure::Scope, (Some(low), Some(high))) if high < 0 => {
            format!("{} to {} fewer", -high, -low)
        }
        (Measure::Scope, (Some(low), Some(high))) if low > 0 => format!("{low} to {high} more"),
        (Measure::Scope, _) => "about as many".to_owned(),
        _ => capital(&measure.in_words(place)),
    }
}

fn dot(level: &OfLevel, estimate: &Clustered) -> Option<Dot> {
    let shown = estimate.shown();
    let value = shown.value.filter(|_| level.too_few.is_none())?;
    Some(Dot {
        value,
        interval: ends(Some(shown.jackknife?)),
        text: percent(value),
    })
}

/// The same within ten plies each, a panel a window.
pub fn curves(answer: &SidesAnswer, measure: Measure) -> Option<Plot> {
    let windows: Vec<&Window> = answer
        .windows
        .iter()
        .filter(|window| window.measure == measure)
        .collect();
    let levels = (0..measure.levels()).map(|place| tick(measure, place));
    let mark = |level: &OfLevel, estimate: &Clustered| {
        let shown = estimate.shown();
        let value = shown.value.filter(|_| level.too_few.is_none())?;
        let interval = ends(Some(shown.jackknife?));
        Some(Mark { value, interval })
    };
    let panels: Vec<Panel> = windows
        .iter()
        .map(|window| Panel {
            title: format!("Plies {} to {}", window.from_ply, window.to_ply),
            share: true,
            marks: window
                .levels
                .iter()
                .map(|level| {
                    vec![
                        mark(level, &level.score),
                        mark(level, &level.adjusted_score),
                    ]
                })
                .collect(),
            all: None,
        })
        .collect();
    let said = windows.iter().map(|window| {
        let scores = window.levels.iter().map(|level| {
            let score = level.score.value.filter(|_| level.too_few.is_none());
            let score = score.map_or_else(|| "too few games".to_owned(), percent);
            format!("{} {score}", level.level)
        });
        let scores: Vec<String> = scores.collect();
        format!(
            "plies {} to {}: {}",
            window.from_ply,
            window.to_ply,
            scores.join(", ")
        )
    });
    let said: Vec<String> = said.collect();
    let (name, title, below) = match measure {
        Measure::Scope => (
            "curves-scope",
            "Score by safe squares, early and late",
            "Below each panel: safe squares beside the opponent\u{2019}s, by the middle of the level.",
        ),
        _ => (
            "curves-held",
            "Score by pieces held, early and late",
            "Below each panel: pieces held at once.",
        ),
    };
    (!panels.is_empty()).then(|| Plot {
        name: name.to_owned(),
        title: title.to_owned(),
        words: capital(&format!("{}.", said.join("; "))),
        caption: format!("{below} Bands and whiskers are 95% intervals."),
        drawing: Drawing::Multiples(Multiples {
            levels: levels.collect(),
            panels,
            series: SERIES.map(str::to_owned).to_vec(),
            ordered: true,
        }),
    })
}

/// A level as an axis names it.
fn tick(measure: Measure, place: usize) -> String {
    let signed = |value: i32| match value {
        ..0 => format!("\u{2212}{}", -value),
        0 => "0".to_owned(),
        _ => format!("+{value}"),
    };
    match (measure, measure.bounds(place)) {
        (Measure::Scope, (Some(low), Some(high))) => {
            // Away from 0 where the middle lies between two numbers.
            let middle = f64::from(low + high) / 2.0;
            signed(middle.round() as i32)
        }
        (Measure::Scope, (None, Some(end))) => format!("\u{2264}{}", signed(end)),
        (Measure::Scope, (Some(end), None)) => format!("\u{2265}{end}"),
        _ => measure.short(place),
    }
}
