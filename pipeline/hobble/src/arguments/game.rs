//! Arguments of `hobble game` and `hobble lesson`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use hobble_terms::MAX_K;

/// How a walk through a game is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum GameFormat {
    /// One HTML page with a board to step through
    Page,
    /// Exercises to print, the answers apart
    Exercises,
    Text,
    Json,
    /// The game with comments in words
    Pgn,
}

/// Walk through one game
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble game club.pgn --game 12
  hobble game club.pgn --game 12 --format pgn --out lesson.pgn
  hobble game club.pgn --game 12 --boards slides
  hobble game - < game.pgn > game.html")]
pub struct Game {
    /// Archive with the game, or - for standard input
    #[arg(value_name = "ARCHIVE")]
    pub archive: PathBuf,
    /// Number of the game in the archive, from 1 [default: 1]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub game: Option<u64>,
    /// Id of the game, as answers and pages give it: 16 hexadecimal digits
    #[arg(long, value_name = "ID", conflicts_with = "game", value_parser = game_id)]
    pub id: Option<u64>,
    /// How it is written
    #[arg(long, value_enum, default_value_t = GameFormat::Page)]
    pub format: GameFormat,
    /// File to write [default: game-N.html for a page, exercises-N.html for exercises, else
    /// the terminal; with - always the terminal]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    #[command(flatten)]
    pub terms: Terms,
    /// Folder for pictures of the boards at the moves that mattered, as SVG and PNG
    #[arg(long, value_name = "DIR")]
    pub boards: Option<PathBuf>,
    /// Positions to make pictures of, by plies played, as 0,24,31 [default: those of the moves
    /// that mattered]
    #[arg(
        long,
        value_name = "PLIES",
        value_delimiter = ',',
        num_args = 1,
        requires = "boards"
    )]
    pub at: Vec<usize>,
}

/// What a walk through a game goes by.
#[derive(Clone, Debug, Args)]
pub struct Terms {
    /// Safe squares at most for a piece to be held
    #[arg(long, value_name = "SQUARES", default_value_t = 2, value_parser = clap::value_parser!(u8).range(0..=i64::from(MAX_K)))]
    pub k: u8,
    /// Folder of tables: each restrained piece is set beside what became of such pieces there
    #[arg(long, value_name = "DIR")]
    pub data: Option<PathBuf>,
}

/// Walk through every game of a file
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble lesson evening.pgn --out lesson

The folder then holds index.html, a page a game, exercises.html and games.pgn.")]
pub struct Lesson {
    /// Archive of 1 to 200 games, or - for standard input
    #[arg(value_name = "ARCHIVE")]
    pub archive: PathBuf,
    /// Folder for the pages
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub terms: Terms,
}

/// An id as answers and pages give it.
fn game_id(text: &str) -> Result<u64, String> {
    u64::from_str_radix(text, 16)
        .ok()
        .filter(|_| text.len() == 16)
        .ok_or_else(|| "a game's id has 16 hexadecimal digits".to_owned())
}
