//! A tidy table: one record a line, one column a name, figures at full precision.

/// A table of records that share their columns.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tidy {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// The records, each with a value a column.
    pub records: Vec<Vec<Value>>,
}

/// A value of a record.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Words; may come from an archive or a question file.
    Text(String),
    /// A whole number; none where it does not apply.
    Count(Option<u64>),
    /// A figure; none where it does not exist.
    Figure(Option<f64>),
    /// Yes or no.
    Flag(bool),
}

/// A record being built, with the names of its columns.
#[derive(Debug, Clone, Default)]
pub struct Record {
    names: Vec<String>,
    values: Vec<Value>,
}

impl Tidy {
    /// A table of records that all name the same columns in the same order.
    pub fn of(records: impl IntoIterator<Item = Record>) -> Tidy {
        let mut tidy = Tidy::default();
        for record in records {
            debug_assert!(tidy.columns.is_empty() || tidy.columns == record.names);
            if tidy.columns.is_empty() {
                tidy.columns = record.names;
            }
            tidy.records.push(record.values);
        }
        tidy
    }
}

impl Record {
    /// Adds a column.
    pub fn put(&mut self, name: impl Into<String>, value: Value) -> &mut Record {
        self.names.push(name.into());
        self.values.push(value);
        self
    }

    /// Adds words.
    pub fn text(&mut self, name: impl Into<String>, text: &str) -> &mut Record {
        self.put(name, Value::Text(text.to_owned()))
    }

    /// Adds a whole number.
    pub fn count(&mut self, name: impl Into<String>, count: impl Into<u64>) -> &mut Record {
        self.put(name, Value::Count(Some(count.into())))
    }

    /// Adds a whole number that may not apply.
    pub fn optional(&mut self, name: impl Into<String>, count: Option<u64>) -> &mut Record {
        self.put(name, Value::Count(count))
    }

    /// Adds a figure.
    pub fn figure(&mut self, name: impl Into<String>, figure: Option<f64>) -> &mut Record {
        self.put(name, Value::Figure(figure))
    }
}
