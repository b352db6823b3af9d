//! The command line: the commands, and what each takes in a file of its own.

mod ask;
mod check;
mod codebook;
mod completions;
mod deposit;
mod desk;
mod examples;
mod find;
mod game;
mod gather;
mod handout;
mod inquiry;
mod norms;
mod page;
mod position;
mod quiz;
mod repeats;
mod scan;
mod schema;
mod sift;

use clap::{Parser, Subcommand};

pub use ask::{Ask, Format};
pub use check::Check;
pub use codebook::{Codebook, CodebookFormat};
pub use completions::Completions;
pub use deposit::Deposit;
pub use desk::Desk;
pub use examples::{Examples, ExamplesFormat};
pub use find::{Find, FindFormat};
pub use game::{Game, GameFormat, Lesson};
pub use gather::Gather;
pub use handout::Handout;
pub use inquiry::Inquiry;
pub use norms::Norms;
pub use page::Page;
pub use position::Position;
pub use quiz::{Quiz, QuizFormat, ToMove};
pub use repeats::{FindRepeats, Keys};
pub use scan::{Repeats, Scan};
pub use schema::{Schema, SchemaOf};
pub use sift::Sift;

/// Measures restraint in chess: how few safe squares each piece has, what took them away,
/// and what became of the piece.
#[derive(Debug, Parser)]
#[command(name = "hobble", version, max_term_width = 100)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read archives of games and write tables
    Scan(Scan),
    /// Open a local web page from which everything can be done: read games, open them, ask questions,
    /// collect positions
    Desk(Desk),
    /// Join tables that were scanned apart
    Gather(Gather),
    /// Answer a question from the tables
    Ask(Ask),
    /// Answer a question as one HTML page with plot and boards
    #[command(after_help = "Examples:
  hobble page restrained-piece-lost --data data
  hobble page held-piece-lost --data data --k 1 --out page.html")]
    Page(Page),
    Handout(Handout),
    /// Print games that show a training claim, and some in which the piece got away
    Examples(Examples),
    Find(Find),
    /// Write a quiz: positions in which exactly one quiet move restrains a piece
    Quiz(Quiz),
    /// Write what is counted of all players of an archive into one small file, to compare a player
    /// with on another machine
    Norms(Norms),
    /// Try a grid of training claims on one half of the games, and ask the other half what passed
    Sift(Sift),
    /// Walk through one game: what each move took and gave, a line for each piece, the moves
    /// that mattered, a board to step through
    Game(Game),
    /// Walk through every game of a file: an index, a page a game, a sheet of exercises
    Lesson(Lesson),
    /// List the questions that come with the program
    Questions,
    /// Count the tables again and say what reconciles
    Check(Check),
    /// Write a folder to publish: the tables, a description of every file and column, how to cite
    /// them
    Deposit(Deposit),
    /// Print reach and safe squares of every unit in positions given as FEN on standard input
    Position(Position),
    /// Print the schema file of a table or of a sort of question file
    Schema(Schema),
    /// Write the keys of an archive's games, by which `hobble repeats` finds repeats among archives
    Keys(Keys),
    /// Find the games that repeat another one among the keys of archives that are scanned apart
    Repeats(FindRepeats),
    /// Print the data dictionary of the tables
    Dictionary,
    /// Print the codebook: one row a variable of the tables, of answers as CSV, and of other files
    Codebook(Codebook),
    /// Print completions for a shell
    Completions(Completions),
    /// Print the manual page
    Manual,
}
