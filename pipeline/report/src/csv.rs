//! A report's tidy table as CSV (RFC 4180): a line of names, a line a record, CR LF between.
//!
//! Figures stand at full precision as fractions; a figure that does not exist is an empty
//! cell. Words that a spreadsheet would take for a formula (starting with `=`, `+`, `-`, `@`,
//! tab or CR) are led by an apostrophe; numbers never are.

use crate::report::Report;
use crate::tidy::{Tidy, Value};

/// The tidy table of a report as CSV; empty where it has none.
pub fn csv(report: &Report<'_>) -> String {
    table(&report.tidy)
}

fn table(tidy: &Tidy) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(Vec::new());
    let lines = std::iter::once(tidy.columns.clone())
        .filter(|names| !names.is_empty())
        .chain(
            tidy.records
                .iter()
                .map(|record| record.iter().map(written).collect()),
        );
    for line in lines {
        // Writing to memory cannot fail.
        let _ = writer.write_record(&line);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

fn written(value: &Value) -> String {
    match value {
        Value::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => {
            format!("'{text}")
        }
        Value::Text(text) => text.clone(),
        Value::Count(count) => count.map_or_else(String::new, |count| count.to_string()),
        Value::Figure(figure) => figure.map_or_else(String::new, |figure| figure.to_string()),
        Value::Flag(flag) => flag.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::Record;

    fn one(value: Value) -> String {
        let mut record = Record::default();
        record.put("a", value).count("b", 1u8);
        let out = table(&Tidy::of([record]));
        let line = out.strip_prefix("a,b\r\n").unwrap_or(&out);
        line.strip_suffix(",1\r\n").unwrap_or(line).to_owned()
    }

    #[test]
    fn quoted_and_no_formula() {
        let text = |text: &str| one(Value::Text(text.to_owned()));
        assert_eq!(text("a, \"b\""), "\"a, \"\"b\"\"\"");
        assert_eq!(text("two\r\nlines"), "\"two\r\nlines\"");
        assert_eq!(text("=1+1"), "'=1+1");
        assert_eq!(text("@cmd"), "'@cmd");
        assert_eq!(text("+1,2"), "\"'+1,2\"");
        assert_eq!(text("<=-200"), "<=-200");
        assert_eq!(one(Value::Figure(Some(-0.5))), "-0.5");
        assert_eq!(one(Value::Figure(None)), "");
        assert_eq!(one(Value::Flag(true)), "true");
        // The shortest decimal that reads back to the same bits.
        assert_eq!(one(Value::Figure(Some(0.1 + 0.2))), "0.30000000000000004");
    }

    #[test]
    fn no_records_no_text() {
        assert_eq!(table(&Tidy::default()), "");
    }
}
