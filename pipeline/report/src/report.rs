//! The model of a report: what every rendering for readers is made from.

use serde::{Deserialize, Serialize};

use std::any::Any;
use std::fmt;

use crate::cell::Cell;
use crate::columns::ColumnText;
use crate::fact::Fact;
use crate::games::Games;
use crate::plot::Plot;
use crate::tidy::Tidy;

/// An answer that can be written as JSON, whatever its type.
pub trait Answer {
    /// The answer as indented JSON.
    ///
    /// # Errors
    ///
    /// Where a value cannot be written as JSON.
    fn json(&self) -> serde_json::Result<String>;
}

impl<T: Serialize> Answer for T {
    fn json(&self) -> serde_json::Result<String> {
        serde_json::to_string_pretty(self)
    }
}

/// An answer as readers see it.
#[derive(Debug)]
pub struct Report<'a> {
    /// The sort of report, as `Restraint in played games`.
    pub subject: &'static str,
    /// Title.
    pub title: String,
    /// Its sections, in the order they are read.
    pub sections: Vec<Section>,
    /// By what it was made.
    pub made: Made,
    /// The figures as one tidy table, for CSV.
    pub tidy: Tidy,
    /// The answer itself, for JSON.
    pub answer: &'a dyn Answer,
}

impl Report<'_> {
    /// Its games to look at, section by section.
    pub fn games(&self) -> impl Iterator<Item = &Games> {
        let blocks = self.sections.iter().flat_map(|section| &section.blocks);
        blocks.filter_map(|placed| match &placed.block {
            Block::Games(games) => Some(games),
            _ => None,
        })
    }
}

/// Which programs made a report, and by what definitions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the program that made the tables; empty where unknown.
    pub tables_by: String,
    /// Version of the definitions.
    pub definitions: u32,
}

impl Made {
    /// Of an answer of this version.
    pub fn of(hobble: &str, tables_by: &str, definitions: u32) -> Made {
        Made {
            hobble: hobble.to_owned(),
            tables_by: tables_by.to_owned(),
            definitions,
        }
    }
}

/// An answer of which there is a report.
pub trait Reported: Any {
    /// The report that every rendering is made from.
    fn report(&self) -> Report<'_>;

    /// The columns that its tidy table can have, in their order, for the codebook.
    fn columns() -> Vec<ColumnText>
    where
        Self: Sized;
}

impl fmt::Debug for dyn Answer + '_ {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("Answer")
    }
}

/// A section.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Its name within the page, of letters, digits and hyphens.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What stands in it.
    pub blocks: Vec<Placed>,
}

/// A block, and where it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Whether a terminal leaves it out: long prose that a document has room for.
    pub document_only: bool,
    /// The block.
    pub block: Block,
}

/// What a section is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading within the section.
    Heading(String),
    /// A paragraph.
    Paragraph(Tone, String),
    /// A list of sentences.
    List(Vec<Item>),
    /// Words that a reader needs, with what they mean.
    Terms(Vec<Fact>),
    /// Names and what is said of each.
    Facts(Vec<Fact>),
    /// How figures were worked out.
    Methods(Vec<Method>),
    /// A table.
    Table(Table),
    /// A plot, for renderers that can draw.
    Plot(Plot),
    /// Games with their boards.
    Games(Games),
}

/// How much a paragraph weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// The answer in one or two sentences.
    Lead,
    /// A warning not to read too much into it.
    Caution,
    /// Anything else.
    Plain,
    /// A remark beside a table.
    Quiet,
}

/// A sentence of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// What it is about, where it does not say so itself.
    pub name: Option<String>,
    /// The sentence.
    pub text: String,
    /// Remarks on it.
    pub remarks: Vec<String>,
}

/// How a figure was worked out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Method {
    /// Name of the method.
    pub name: String,
    /// What it does here, in plain words.
    pub text: String,
    /// Where it is published, and where the citation was looked up.
    pub source: String,
}

impl Method {
    /// A method.
    pub fn new(name: &str, text: impl Into<String>, source: &str) -> Method {
        Method {
            name: name.to_owned(),
            text: text.into(),
            source: source.to_owned(),
        }
    }
}

/// A table. The first column names the rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Title; empty where the section's is enough.
    pub title: String,
    /// One sentence on what the cells are; may be empty.
    pub caption: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name; may be empty in the first column.
    pub name: String,
    /// The group of neighbouring columns it belongs to.
    pub group: Option<&'static str>,
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// A cell a column.
    pub cells: Vec<Cell>,
    /// Whether it is the row of all.
    pub all: bool,
}

impl Section {
    /// An empty section.
    pub fn new(id: impl Into<String>, title: impl Into<String>) -> Section {
        Section {
            id: id.into(),
            title: title.into(),
            blocks: Vec::new(),
        }
    }

    /// Adds a block.
    pub fn block(&mut self, block: Block) -> &mut Section {
        self.blocks.push(Placed {
            document_only: false,
            block,
        });
        self
    }

    /// Adds a block that a terminal leaves out.
    pub fn document(&mut self, block: Block) -> &mut Section {
        self.blocks.push(Placed {
            document_only: true,
            block,
        });
        self
    }

    /// Adds a paragraph.
    pub fn paragraph(&mut self, tone: Tone, text: impl Into<String>) -> &mut Section {
        self.block(Block::Paragraph(tone, text.into()))
    }

    /// Adds a list of sentences, where there are any.
    pub fn list<T: Into<Item>>(&mut self, items: impl IntoIterator<Item = T>) -> &mut Section {
        let items: Vec<Item> = items.into_iter().map(Into::into).collect();
        if !items.is_empty() {
            self.block(Block::List(items));
        }
        self
    }
}

impl From<&String> for Item {
    fn from(text: &String) -> Item {
        Item {
            name: None,
            text: text.clone(),
            remarks: Vec::new(),
        }
    }
}

impl From<String> for Item {
    fn from(text: String) -> Item {
        Item {
            name: None,
            text,
            remarks: Vec::new(),
        }
    }
}

impl Table {
    /// A table without rows; the names are those of its columns.
    pub fn new<T: Into<Column>>(columns: impl IntoIterator<Item = T>) -> Table {
        Table {
            title: String::new(),
            caption: String::new(),
            columns: columns.into_iter().map(Into::into).collect(),
            rows: Vec::new(),
        }
    }

    /// With a title.
    #[must_use]
    pub fn titled(mut self, title: impl Into<String>) -> Table {
        self.title = title.into();
        self
    }

    /// With a sentence on what the cells are.
    #[must_use]
    pub fn captioned(mut self, caption: impl Into<String>) -> Table {
        self.caption = caption.into();
        self
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) -> &mut Table {
        self.rows.push(Row { cells, all: false });
        self
    }

    /// Adds the row of all.
    pub fn row_of_all(&mut self, cells: Vec<Cell>) -> &mut Table {
        self.rows.push(Row { cells, all: true });
        self
    }

    /// Whether a column holds words, which stand to the left.
    pub fn is_words(&self, column: usize) -> bool {
        column == 0
            || self
                .rows
                .iter()
                .filter_map(|row| row.cells.get(column))
                .any(Cell::is_words)
    }
}

impl From<&str> for Column {
    fn from(name: &str) -> Column {
        Column {
            name: name.to_owned(),
            group: None,
        }
    }
}

impl From<String> for Column {
    fn from(name: String) -> Column {
        Column { name, group: None }
    }
}

impl From<(&'static str, &str)> for Column {
    fn from((group, name): (&'static str, &str)) -> Column {
        Column {
            name: name.to_owned(),
            group: Some(group).filter(|group| !group.is_empty()),
        }
    }
}

impl Column {
    /// Its name with that of its group, for renderings with one line of names.
    pub fn full_name(&self) -> String {
        match self.group {
            Some(group) => format!("{group}: {}", self.name),
            None => self.name.clone(),
        }
    }
}
