//! Columns that are not in the files, since they follow from others of the row or of its game. Each is
//! said once, as a formula: SQL for readers of the tables is written from it ([`crate::views`]), and the
//! program's own reader works it out.

use std::fmt::Write as _;

use serde::{Serialize, Serializer};

/// How a value follows from others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Formula {
    /// A column of the row.
    Column(&'static str),
    /// A column of the table `games`, of the row's game.
    OfGame(&'static str),
    /// A number.
    Number(i16),
    /// A word.
    Word(&'static str),
    /// No value.
    Null,
    /// One and the other.
    Sum(&'static [Formula; 2]),
    /// One less the other.
    Difference(&'static [Formula; 2]),
    /// Whether a test holds.
    Is(&'static Test),
    /// That of the first test that holds, and the last one where none does.
    Case(&'static [(Test, Formula)], &'static Formula),
}

/// A test of a value; it does not hold for a null, but for the last one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Test {
    /// Whether it is this word.
    Word(&'static Formula, &'static str),
    /// Whether it is this number or more.
    AtLeast(&'static Formula, i16),
    /// Whether it is null.
    Null(&'static Formula),
}

impl Formula {
    /// The formula in SQL, of rows of this table and of `games`.
    pub fn sql(&self, table: &str) -> String {
        let both = |[one, other]: &[Formula; 2], sign: &str| {
            let other_sql = other.sql(table);
            match other {
                Formula::Sum(_) | Formula::Difference(_) => {
                    format!("{} {sign} ({other_sql})", one.sql(table))
                }
                _ => format!("{} {sign} {other_sql}", one.sql(table)),
            }
        };
        match self {
            Formula::Column(name) => format!("{table}.{name}"),
            Formula::OfGame(name) => format!("games.{name}"),
            Formula::Number(number) => number.to_string(),
            Formula::Word(word) => quoted(word),
            Formula::Null => "NULL".to_owned(),
            Formula::Sum(parts) => both(parts, "+"),
            Formula::Difference(parts) => both(parts, "-"),
            Formula::Is(test) => test.sql(table),
            Formula::Case(cases, last) => {
                let mut text = "CASE".to_owned();
                for (test, formula) in *cases {
                    let (test, formula) = (test.sql(table), formula.sql(table));
                    let _ = write!(text, " WHEN {test} THEN {formula}");
                }
                text + " ELSE " + &last.sql(table) + " END"
            }
        }
    }

    /// Hands out the columns that the formula names: of the row, or of its game.
    pub fn each_column(&self, on: &mut impl FnMut(Named)) {
        match self {
            Formula::Column(name) => on(Named::OfRow(name)),
            Formula::OfGame(name) => on(Named::OfGame(name)),
            Formula::Number(_) | Formula::Word(_) | Formula::Null => {}
            Formula::Sum(parts) | Formula::Difference(parts) => {
                parts.iter().for_each(|part| part.each_column(on));
            }
            Formula::Is(test) => test.of().each_column(on),
            Formula::Case(cases, last) => {
                for (test, formula) in *cases {
                    test.of().each_column(on);
                    formula.each_column(on);
                }
                last.each_column(on);
            }
        }
    }
}

/// A column that a formula names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Named {
    /// Of the row.
    OfRow(&'static str),
    /// Of the row's game.
    OfGame(&'static str),
}

impl Test {
    /// What is tested.
    pub const fn of(&self) -> &'static Formula {
        match self {
            Test::Word(formula, _) | Test::AtLeast(formula, _) | Test::Null(formula) => formula,
        }
    }

    fn sql(&self, table: &str) -> String {
        let of = self.of().sql(table);
        match self {
            Test::Word(_, word) => format!("{of} = {}", quoted(word)),
            Test::AtLeast(_, number) => format!("{of} >= {number}"),
            Test::Null(_) => format!("{of} IS NULL"),
        }
    }
}

/// In a schema file a formula is SQL over `row` and `games`.
impl Serialize for Formula {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.sql("row"))
    }
}

fn quoted(word: &str) -> String {
    format!("'{word}'")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::description::ColumnType;
    use crate::schema::describe;
    use hobble_terms::Table;

    /// Each formula names columns that are in the files, and words that its columns can hold.
    #[test]
    fn formulas_name_what_is_there() {
        let mut formulas = 0;
        for table in Table::ALL {
            let described = describe(table);
            let has = |table: Table, name: &str| {
                let columns = &describe(table).columns;
                columns.iter().any(|column| column.name == name)
            };
            for derived in &described.derived {
                formulas += 1;
                assert!(!has(table, derived.column.name));
                derived.is.each_column(&mut |named| match named {
                    Named::OfRow(name) => assert!(has(table, name), "{name}"),
                    Named::OfGame(name) => assert!(has(Table::Games, name), "{name}"),
                });
                if derived.column.column_type == ColumnType::Dictionary {
                    each_word(&derived.is, &mut |word| {
                        assert!(derived.column.values.contains(&word), "{word}");
                    });
                }
            }
        }
        assert!(formulas >= 9, "{formulas}");
    }

    fn each_word(formula: &Formula, on: &mut impl FnMut(&'static str)) {
        match formula {
            Formula::Word(word) => on(word),
            Formula::Case(cases, last) => {
                cases.iter().for_each(|(_, formula)| each_word(formula, on));
                each_word(last, on);
            }
            _ => {}
        }
    }

    #[test]
    fn formulas_are_sql() {
        const LEFT: Formula =
            Formula::Difference(&[Formula::OfGame("plies"), Formula::Column("ply")]);
        const LONG: Formula = Formula::Case(
            &[
                (Test::Null(&LEFT), Formula::Null),
                (Test::AtLeast(&LEFT, 20), Formula::Word("long")),
                (
                    Test::Word(&Formula::Column("kind"), "rook"),
                    Formula::Word("rook"),
                ),
            ],
            &Formula::Word("short"),
        );
        assert_eq!(LEFT.sql("turns"), "games.plies - turns.ply");
        assert_eq!(
            LONG.sql("turns"),
            "CASE WHEN games.plies - turns.ply IS NULL THEN NULL \
             WHEN games.plies - turns.ply >= 20 THEN 'long' \
             WHEN turns.kind = 'rook' THEN 'rook' ELSE 'short' END"
        );
    }
}
