//! An answer to a claim as CSV: one line a figure, the same columns in every line. A column
//! that a figure has no use for is empty.

use crate::answer::Estimate;
use crate::claim::answer::{ClaimAnswer, Compared, Shares};

const HEAD: &str =
    "claim,definitions,table,label,k,turns,within,outcome,count,of,figure,value,low,high";

/// The figures, tidy.
pub fn csv(answer: &ClaimAnswer) -> String {
    let mut out = format!("{HEAD}\r\n");
    let claim = &answer.claim;
    let name: String = claim
        .name
        .chars()
        .map(|c| {
            if matches!(c, ',' | '"') || c.is_control() {
                '_'
            } else {
                c
            }
        })
        .collect();
    // A formula to a spreadsheet.
    let name = if name.starts_with(['=', '+', '-', '@']) {
        format!("'{name}")
    } else {
        name
    };
    let start = |table: &str| format!("{name},{},{table}", answer.definitions);
    let mut line = |start: String, figure: &str, estimate: &Estimate| {
        let number = |number: Option<f64>| number.map_or_else(String::new, |n| n.to_string());
        out.push_str(&format!(
            "{start},{figure},{},{},{}\r\n",
            number(estimate.value),
            number(estimate.jackknife.map(|i| i.low)),
            number(estimate.jackknife.map(|i| i.high))
        ));
    };
    let mut compared = |table: &str, row: &Compared| {
        for (figure, estimate, count, of) in [
            (
                "held rate",
                &row.held_rate,
                row.compared_held_outcomes,
                row.compared_held,
            ),
            (
                "free rate",
                &row.free_rate,
                row.compared_free_outcomes,
                row.compared_free,
            ),
            (
                "ratio",
                &row.ratio,
                row.compared_held_outcomes,
                row.compared_held,
            ),
            (
                "difference",
                &row.difference,
                row.compared_held_outcomes,
                row.compared_held,
            ),
        ] {
            let start = format!(
                "{},,{},{},{},{},{count},{of}",
                start(table),
                row.k,
                row.turns,
                row.within,
                row.outcome
            );
            line(start, figure, estimate);
        }
    };
    for row in &answer.comparison {
        compared("comparison", row);
    }
    for row in &answer.sensitivity {
        compared("sensitivity", row);
    }
    let mut shares =
        |table: &str, label: &str, within: Option<u32>, outcome: &str, shares: &Shares| {
            let within = within.map_or_else(String::new, |within| within.to_string());
            let start = format!(
                "{},{label},{},{},{within},{outcome},{},{}",
                start(table),
                claim.k,
                claim.turns,
                shares.count,
                answer.spells
            );
            line(start, "share", &shares.share);
        };
    for point in &answer.curve {
        for (outcome, of) in [
            ("lost", &point.lost),
            ("traded", &point.traded),
            ("sold", &point.sold),
            ("game over", &point.over),
        ] {
            shares("curve", "", Some(point.moves), outcome, of);
        }
    }
    for end in &answer.ends {
        shares("ends", &end.end, None, "", &end.share);
    }
    for row in &answer.material {
        shares(
            "material",
            "lost or two pawns down",
            Some(row.within),
            "",
            &row.share,
        );
    }
    for score in &answer.scores {
        for (figure, estimate, count) in [
            ("score", &score.score, score.compared_games),
            (
                "comparable score",
                &score.comparable,
                score.comparable_games,
            ),
            ("difference", &score.difference, score.compared_games),
        ] {
            let start = format!(
                "{},{},{},{},,,{},{count}",
                start("score"),
                score.label,
                claim.k,
                claim.turns,
                score.half_points
            );
            line(start, figure, estimate);
        }
    }
    out
}
