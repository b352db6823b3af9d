//! An answer's rows as CSV (RFC 4180): one header line, one line a row, CR LF between.
//!
//! Figures stand at full precision as fractions; a figure that does not exist is an empty
//! cell. Text cells that a spreadsheet would take for a formula (starting with `=`, `+`,
//! `-`, `@`, tab or CR) are led by an apostrophe; numbers never are.

use crate::answer::{Answer, Estimate, Interval, Side};

/// One cell.
enum Cell {
    Text(String),
    Number(String),
}

impl Cell {
    fn written(&self) -> String {
        let text = match self {
            Cell::Number(number) => return number.clone(),
            Cell::Text(text) => text,
        };
        let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
        let safe = if formula {
            format!("'{text}")
        } else {
            text.clone()
        };
        if safe.contains([',', '"', '\r', '\n']) {
            format!("\"{}\"", safe.replace('"', "\"\""))
        } else {
            safe
        }
    }
}

/// A text cell as it is written.
pub(crate) fn quoted(text: &str) -> String {
    Cell::Text(text.to_owned()).written()
}

/// A line being built, with the names of its cells.
#[derive(Default)]
pub(crate) struct Line {
    names: Vec<String>,
    cells: Vec<Cell>,
}

impl Line {
    pub(crate) fn text(&mut self, name: &str, text: &str) {
        self.names.push(name.to_owned());
        self.cells.push(Cell::Text(text.to_owned()));
    }

    pub(crate) fn number(&mut self, name: &str, number: impl ToString) {
        self.names.push(name.to_owned());
        self.cells.push(Cell::Number(number.to_string()));
    }

    pub(crate) fn figure(&mut self, name: &str, figure: Option<f64>) {
        self.number(name, figure.map_or_else(String::new, |f| f.to_string()));
    }

    fn interval(&mut self, name: &str, interval: Option<Interval>) {
        self.figure(&format!("{name}_low"), interval.map(|i| i.low));
        self.figure(&format!("{name}_high"), interval.map(|i| i.high));
    }

    fn estimate(&mut self, name: &str, estimate: &Estimate) {
        self.figure(name, estimate.value);
        let jackknife = format!("{name}_jackknife");
        self.interval(&jackknife, estimate.jackknife);
        self.figure(
            &format!("{jackknife}_se"),
            estimate.jackknife.and_then(|i| i.se),
        );
        let df = estimate.jackknife.and_then(|i| i.df);
        self.number(
            &format!("{jackknife}_df"),
            df.map_or_else(String::new, |df| df.to_string()),
        );
    }

    /// The names, as a line.
    pub(crate) fn head(&self) -> String {
        self.names.join(",") + "\r\n"
    }

    /// The cells, as a line.
    pub(crate) fn written(&self) -> String {
        let cells: Vec<String> = self.cells.iter().map(Cell::written).collect();
        cells.join(",") + "\r\n"
    }

    fn side(&mut self, name: &str, side: &Side) {
        self.number(&format!("{name}_turns"), side.turns);
        self.number(&format!("{name}_outcomes"), side.outcomes);
        self.number(&format!("{name}_over"), side.over);
        self.number(&format!("{name}_folds"), side.folds);
        self.number(&format!("{name}_outcome_folds"), side.outcome_folds);
        let estimate = Estimate {
            value: side.rate,
            jackknife: side.jackknife,
        };
        self.estimate(&format!("{name}_rate"), &estimate);
        self.interval(&format!("{name}_rate_wilson"), side.wilson);
    }
}

/// The rows of an answer as CSV.
pub fn csv(answer: &Answer) -> String {
    let p = &answer.parameters;
    let mut out = String::new();
    for (index, row) in answer.rows.iter().enumerate() {
        let mut line = Line::default();
        line.text("question", &answer.question.name);
        line.number("definitions", answer.definitions);
        line.number("k", p.k);
        line.number("within", p.within);
        line.text("outcome", p.outcome.name());
        line.text("developed_only", p.developed.name());
        line.text("row", if row.all { "all" } else { "group" });
        for key in &p.group_by {
            line.text(key.name(), row.group.get(key).map_or("", String::as_str));
        }
        line.side("held", &row.held);
        line.side("free", &row.free);
        line.estimate("raw_ratio", &row.raw.ratio);
        line.interval("raw_ratio_katz", row.raw.ratio_katz);
        line.estimate("raw_difference", &row.raw.difference);
        line.interval("raw_difference_newcombe", row.raw.difference_newcombe);
        let s = &row.standardised;
        line.number("strata", s.strata);
        line.number("strata_left_out", s.strata_left_out);
        line.number("compared_held_turns", s.held_turns);
        line.number("compared_held_outcomes", s.held_outcomes);
        line.number("held_turns_left_out", s.held_turns_left_out);
        line.number("held_outcomes_left_out", s.held_outcomes_left_out);
        line.number("compared_free_turns", s.free_turns);
        line.number("compared_free_outcomes", s.free_outcomes);
        line.estimate("compared_held_rate", &s.held_rate);
        line.estimate("standardised_free_rate", &s.free_rate);
        line.estimate("standardised_ratio", &s.ratio);
        line.estimate("standardised_difference", &s.difference);
        line.text("too_few", row.too_few.as_deref().unwrap_or_default());
        if index == 0 {
            out.push_str(&line.head());
        }
        out.push_str(&line.written());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::sample;
    use crate::terms::Key;

    #[test]
    fn one_line_a_row_with_as_many_cells_as_names() {
        let answer = sample::answer();
        let out = csv(&answer);
        let lines: Vec<&str> = out.split_terminator("\r\n").collect();
        assert_eq!(lines.len(), 1 + answer.rows.len());
        let names: Vec<&str> = lines[0].split(',').collect();
        let mut unique = names.clone();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), names.len(), "a name stands twice");
        let cells: Vec<&str> = lines[1].split(',').collect();
        assert_eq!(cells.len(), names.len());
        let at = |name: &str| cells[names.iter().position(|n| *n == name).unwrap()];
        assert_eq!(at("kind"), "knight");
        assert_eq!(at("held_turns"), "80");
        assert_eq!(
            at("held_rate").parse::<f64>().unwrap(),
            answer.rows[0].held.rate.unwrap()
        );
        assert!(
            lines[2].ends_with("too few games to tell: 3 held turns in 1 fold (asked: 20 in 5)")
        );
    }

    #[test]
    fn quoted_and_no_formula() {
        let written = |text: &str| Cell::Text(text.to_owned()).written();
        assert_eq!(written("a, \"b\""), "\"a, \"\"b\"\"\"");
        assert_eq!(written("=1+1"), "'=1+1");
        assert_eq!(written("@cmd"), "'@cmd");
        assert_eq!(written("+1,2"), "\"'+1,2\"");
        assert_eq!(written("<=-200"), "<=-200");
        assert_eq!(Cell::Number("-0.5".to_owned()).written(), "-0.5");
        let mut answer = sample::answer();
        answer.parameters.question.group_by = vec![Key::RatingDiff];
        answer.rows[0].group = [(Key::RatingDiff, "-199..-50".to_owned())].into();
        assert!(csv(&answer).contains(",'-199..-50,"));
    }
}
