//! The tables of an answer, as text and Markdown both show them.

use crate::answer::{Estimate, Interval};
use crate::claim::answer::{ClaimAnswer, Compared};
use crate::words;

/// A table with its title.
pub struct Shown {
    pub title: String,
    pub head: Vec<&'static str>,
    pub rows: Vec<Vec<String>>,
}

const NONE: &str = "\u{2013}";

fn interval(interval: Option<Interval>, shown: impl Fn(f64) -> String) -> String {
    interval.map_or_else(
        || NONE.to_owned(),
        |interval| format!("{} to {}", shown(interval.low), shown(interval.high)),
    )
}

fn share(estimate: &Estimate) -> [String; 2] {
    [
        estimate
            .value
            .map_or_else(|| NONE.to_owned(), words::percent),
        interval(estimate.jackknife, words::percent),
    ]
}

fn ratio(estimate: &Estimate) -> [String; 2] {
    let shown = |value: f64| format!("{value:.2}");
    [
        estimate.value.map_or_else(|| NONE.to_owned(), shown),
        interval(estimate.jackknife, shown),
    ]
}

fn compared(row: &Compared) -> Vec<String> {
    let mut cells = vec![words::count(row.held), words::count(row.held_outcomes)];
    cells.extend(share(&row.held_rate));
    cells.extend(share(&row.free_rate));
    cells.extend(ratio(&row.ratio));
    cells
}

/// All tables of an answer, in the order they are read.
pub fn tables(answer: &ClaimAnswer) -> Vec<Shown> {
    let claim = &answer.claim;
    let mut out = Vec::new();
    out.push(Shown {
        title: format!("{} against comparable free turns", claim.outcome),
        head: vec![
            "within", "spells", "of them", "held", "95%", "free", "95%", "ratio", "95%",
        ],
        rows: answer
            .comparison
            .iter()
            .map(|row| {
                let mut cells = vec![format!("{} moves", row.within)];
                cells.extend(compared(row));
                cells
            })
            .collect(),
    });
    out.push(Shown {
        title: "By each of the next moves".to_owned(),
        head: vec!["moves", "lost", "95%", "traded", "sold", "game over"],
        rows: answer
            .curve
            .iter()
            .map(|point| {
                let mut cells = vec![point.moves.to_string()];
                cells.extend(share(&point.lost.share));
                for other in [&point.traded, &point.sold, &point.over] {
                    cells.push(share(&other.share)[0].clone());
                }
                cells
            })
            .collect(),
    });
    out.push(Shown {
        title: "What ended the spells".to_owned(),
        head: vec!["end", "spells", "share", "95%"],
        rows: answer
            .ends
            .iter()
            .map(|end| {
                let mut cells = vec![end.end.clone(), words::count(end.share.count)];
                cells.extend(share(&end.share.share));
                cells
            })
            .collect(),
    });
    out.push(Shown {
        title: "What the restrainer scored (1 a win, 0.5 a draw)".to_owned(),
        head: vec![
            "of",
            "games",
            "score",
            "95%",
            "comparable",
            "difference",
            "95%",
        ],
        rows: answer
            .scores
            .iter()
            .map(|score| {
                let shown = |value: f64| format!("{value:.3}");
                let value =
                    |estimate: &Estimate| estimate.value.map_or_else(|| NONE.to_owned(), shown);
                vec![
                    score.label.clone(),
                    words::count(score.games),
                    value(&score.score),
                    interval(score.score.jackknife, shown),
                    value(&score.comparable),
                    value(&score.difference),
                    interval(score.difference.jackknife, shown),
                ]
            })
            .collect(),
    });
    out.push(Shown {
        title: "Had the claim been put otherwise".to_owned(),
        head: vec![
            "k", "turns", "outcome", "spells", "of them", "held", "95%", "free", "95%", "ratio",
            "95%",
        ],
        rows: answer
            .sensitivity
            .iter()
            .map(|row| {
                let mut cells = vec![
                    row.k.to_string(),
                    row.turns.to_string(),
                    row.outcome.to_string(),
                ];
                cells.extend(compared(row));
                cells
            })
            .collect(),
    });
    out.push(Shown {
        title: "A wider loss: the piece lost, or its owner two pawns down, from the start of the spell (no comparison: free turns are not counted for it)".to_owned(),
        head: vec!["within", "spells", "share", "95%"],
        rows: answer
            .material
            .iter()
            .map(|row| {
                let mut cells = vec![
                    format!("{} moves", row.within),
                    words::count(row.share.count),
                ];
                cells.extend(share(&row.share.share));
                cells
            })
            .collect(),
    });
    out
}
