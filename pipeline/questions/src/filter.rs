//! Which rows a question looks at, the same for turns (`exposure`) and for `spells`.

use crate::error::AskError;
use crate::question::Question;
use crate::terms::Kind;
use hobble_dataset::columns::Rows;

/// Which rows of a batch pass.
pub struct Mask(Vec<bool>);

impl Mask {
    /// All rows of a batch.
    pub fn all(rows: &Rows) -> Mask {
        Mask(vec![true; rows.len()])
    }

    /// Keeps the rows for which this holds as well.
    pub fn and(&mut self, holds: impl Fn(usize) -> bool) {
        for (row, passes) in self.0.iter_mut().enumerate() {
            *passes &= holds(row);
        }
    }

    /// Keeps the rows whose text is one of these.
    pub fn any_of<'a>(
        &mut self,
        rows: &Rows,
        name: &str,
        values: impl IntoIterator<Item = &'a str>,
    ) -> Result<(), AskError> {
        let is = rows.texts(name)?.any_of(values);
        self.and(|row| is.at(row));
        Ok(())
    }

    /// Keeps the rows whose boolean has this value.
    pub fn is(&mut self, rows: &Rows, name: &str, wanted: bool) -> Result<(), AskError> {
        let values = rows.booleans(name)?;
        self.and(|row| values.value(row) == wanted);
        Ok(())
    }

    /// The rows that pass.
    pub fn rows(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.0.len()).filter(|&row| self.0[row])
    }
}

/// Columns that a question's filters read, beside those for which the tables differ.
pub fn columns(question: &Question) -> Vec<&'static str> {
    let mut columns = Vec::new();
    if question.kinds.len() < Kind::ALL.len() {
        columns.push("kind");
    }
    columns.extend(
        lists(question)
            .into_iter()
            .filter(|(_, values)| !values.is_empty())
            .map(|(name, _)| name),
    );
    if question.developed.wanted().is_some() {
        columns.push("developed");
    }
    if question.defended.wanted().is_some() {
        columns.push("defended");
    }
    columns
}

/// The rows that pass the filters on those columns.
pub fn mask(question: &Question, rows: &Rows) -> Result<Mask, AskError> {
    let mut mask = Mask::all(rows);
    if question.kinds.len() < Kind::ALL.len() {
        mask.any_of(rows, "kind", question.kinds.iter().map(|kind| kind.name()))?;
    }
    for (name, values) in lists(question) {
        if !values.is_empty() {
            mask.any_of(rows, name, values.iter().map(String::as_str))?;
        }
    }
    for (name, wanted) in [
        ("developed", question.developed),
        ("defended", question.defended),
    ] {
        if let Some(wanted) = wanted.wanted() {
            mask.is(rows, name, wanted)?;
        }
    }
    Ok(mask)
}

fn lists(question: &Question) -> [(&'static str, &[String]); 4] {
    [
        ("phase", &question.phase),
        ("band", &question.band),
        ("time_class", &question.time_class),
        ("rating_diff", &question.rating_diff),
    ]
}
