//! What `hobble examples` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use hobble_conditions::Opening;
use hobble_terms::Phase;

use crate::values::{phase_of, rating_of};

/// Print games that show a training claim, and some in which the piece got away
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble examples knight-restrained-by-pawn --data data
  hobble examples bishop-restrained --data data --count 20 --opening sicilian,C6 --phase middlegame
  hobble examples rook-restrained --data data --player Petrov --rating 1600-2200
  hobble examples queen-restrained --data data --count 20 --out games.pgn
  hobble examples queen-restrained --data data --count 20 --out boards.html

A piece is shown as lost for want of squares where the restraining move was quiet and safe, and \
the piece had no safe square when it was threatened; with --format json each example says why it \
was chosen. Three in four examples show that, the others a piece that got away.")]
pub struct Examples {
    /// A training claim that comes with the program (see `hobble questions`), or a file
    pub question: String,
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Examples, at most
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=200))]
    pub count: usize,
    /// Only games of these openings: ECO codes, beginnings of these, as B9, or names, as sicilian
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub opening: Vec<Opening>,
    /// Only games between players rated so, as 1600-2200
    #[arg(long, value_name = "LOW-HIGH", value_parser = rating_of)]
    pub rating: Option<(u16, u16)>,
    /// Only games of a player whose name contains this, in capitals or not
    #[arg(long, value_name = "NAME")]
    pub player: Option<String>,
    /// Only restraints that began in these phases: opening, middlegame, endgame
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = phase_of)]
    pub phase: Vec<Phase>,
    /// Safe squares at most for a piece to be restrained [default: as the claim says]
    #[arg(long, value_name = "SQUARES")]
    pub k: Option<u8>,
    /// Moves within which the piece is lost: 3, 5, 10, 15 or 20 [default: as the claim says]
    #[arg(long, value_name = "MOVES")]
    pub within: Option<u32>,
    /// How they are written [default: by the ending of --out, else text]
    #[arg(long, value_enum)]
    pub format: Option<ExamplesFormat>,
    /// File to write to instead of the terminal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// How examples are written.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ExamplesFormat {
    /// A line each, and the positions
    Text,
    Json,
    /// The games with comments
    Pgn,
    /// One page with boards
    Html,
}
