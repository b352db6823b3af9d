//! Cells shared by the renderings for readers.

use crate::answer::{Answer, Estimate, Interval, Parameters, Row};
use crate::terms::Kind;
use crate::words;

/// What stands where the counts allow no interval.
pub const TOO_FEW: &str = "too few games to tell";

/// Text from an archive made harmless for a terminal: control characters, and marks that
/// turn the direction of writing or cannot be seen, become spaces.
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if steers(c) { ' ' } else { c })
        .collect()
}

/// Whether a character steers a terminal or the text around it.
fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

/// Head and rows of the table of counts.
pub fn counts(answer: &Answer) -> (Vec<String>, Vec<Vec<String>>) {
    let happened = answer.parameters.outcome.name();
    let head = [
        "piece",
        "held turns",
        happened,
        "game over",
        "rate",
        "95% jackknife",
        "95% Wilson",
    ];
    let rows = answer.rows.iter().map(|row| {
        vec![
            plain(&row.label),
            words::count(row.held.turns),
            words::count(row.held.outcomes),
            words::count(row.held.over),
            percent(row.held.rate, row.held.jackknife),
            percents(row.held.jackknife),
            percents(row.held.wilson),
        ]
    });
    (head.map(str::to_owned).to_vec(), rows.collect())
}

/// Head and rows of the comparison.
pub fn comparison(answer: &Answer) -> (Vec<String>, Vec<Vec<String>>) {
    let head = [
        "piece",
        "held",
        "comparable free",
        "ratio",
        "95% jackknife",
        "difference",
        "95% jackknife",
        "all free",
    ];
    let rows = answer.rows.iter().map(|row| {
        let s = &row.standardised;
        let digits = words::ratio_digits(s.ratio.jackknife);
        let ratio = |value: f64| format!("{value:.digits$}");
        let digits = words::percent_digits(s.difference.jackknife);
        let points = |value: f64| format!("{:+.digits$}", value * 100.0);
        vec![
            plain(&row.label),
            percent(s.held_rate.value, s.held_rate.jackknife),
            percent(s.free_rate.value, s.free_rate.jackknife),
            s.ratio.value.map_or_else(dash, ratio),
            interval(row, s.ratio, ratio),
            s.difference.value.map_or_else(dash, points),
            interval(row, s.difference, points),
            percent(row.free.rate, row.free.jackknife),
        ]
    });
    (head.map(str::to_owned).to_vec(), rows.collect())
}

fn interval(row: &Row, estimate: Estimate, word: impl Fn(f64) -> String) -> String {
    match (estimate.jackknife, &row.too_few) {
        (Some(interval), _) => format!("{} to {}", word(interval.low), word(interval.high)),
        (None, Some(_)) => TOO_FEW.to_owned(),
        (None, None) => dash(),
    }
}

fn dash() -> String {
    "-".to_owned()
}

fn percent(rate: Option<f64>, interval: Option<Interval>) -> String {
    let digits = words::percent_digits(interval);
    rate.map_or_else(dash, |rate| format!("{:.digits$}%", rate * 100.0))
}

fn percents(interval: Option<Interval>) -> String {
    let digits = words::percent_digits(interval);
    interval.map_or_else(
        || TOO_FEW.to_owned(),
        |interval| {
            format!(
                "{:.digits$}% to {:.digits$}%",
                interval.low * 100.0,
                interval.high * 100.0
            )
        },
    )
}

/// What was asked, in one sentence.
pub fn asked(parameters: &Parameters) -> String {
    let kinds: Vec<String> = parameters
        .kinds
        .iter()
        .map(|kind| match kind {
            Kind::Knight => "knights",
            Kind::Bishop => "bishops",
            Kind::Rook => "rooks",
            Kind::Queen => "queens",
        })
        .map(str::to_owned)
        .collect();
    let mut asked = format!(
        "Asked of {}: held to {} or fewer safe squares, {} within {} moves",
        words::list(&kinds),
        parameters.k,
        parameters.outcome,
        parameters.within
    );
    for said in parameters.said() {
        let name = said.name.to_lowercase();
        asked.push_str(&format!("; {name}: {}", said.words));
    }
    asked.push('.');
    asked
}

/// What the tables were made from, in one sentence.
pub fn dataset(answer: &Answer) -> String {
    let data = &answer.dataset;
    let mut text = format!(
        "From {} in {}, {} of {} read",
        words::counted(data.kept, "game"),
        words::counted(data.sources.len() as u64, "archive file"),
        words::count(data.kept),
        words::count(data.read),
    );
    if data.skipped > 0 {
        let reasons: Vec<String> = data
            .skipped_by_reason
            .iter()
            .filter(|(_, count)| **count > 0)
            .map(|(reason, count)| format!("{} {reason}", words::count(*count)))
            .collect();
        text.push_str(&format!(
            "; skipped: {} ({})",
            words::count(data.skipped),
            reasons.join(", ")
        ));
    }
    text.push('.');
    plain(&text)
}
