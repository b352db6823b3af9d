//! What `hobble find` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Find positions in which a piece came to be restrained, by what did it, how long it lasted and how
/// it ended
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble find --data data --kind knight --by pawn --phase middlegame
  hobble find --data data --kind bishop --k 1 --turns 4 --ended lost --out lost-bishops.html
  hobble find --data data --held --cause blocked --player \"Windlass, Orla\" --out blocked.csv
  hobble find --data data --kind rook --order archive --count 500 --out rooks.pgn

A list takes commas. More conditions (squares, attackers, defenders, rating difference, title) go into \
a file that says about = \"positions\", which `hobble ask` and `hobble page` take; `hobble schema \
positions` lists its fields.")]
pub struct Find {
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Kinds of piece: knight, bishop, rook, queen [default: all]
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub kind: Vec<String>,
    /// Safe squares that the piece has at most [default: 2]
    #[arg(long, value_name = "SQUARES")]
    pub k: Option<u8>,
    /// Pieces held in any way, not only those restrained by a quiet move of the opponent
    #[arg(long)]
    pub held: bool,
    /// What restricted it: undeveloped, taken, blocked, entered, pinned
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub cause: Vec<String>,
    /// What moved: pawn or piece
    #[arg(long, value_name = "UNIT")]
    pub by: Option<String>,
    /// Turns of its owner that it stayed so, at least
    #[arg(long, value_name = "N")]
    pub turns: Option<u32>,
    /// How that ended: lost, traded, sold, freed, game over
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub ended: Vec<String>,
    /// Phases of the game: opening, middlegame, endgame
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub phase: Vec<String>,
    /// Rating bands of the piece's owner, as 1600-1799
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub band: Vec<String>,
    /// Rating bands of the opponent
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub opponent_band: Vec<String>,
    /// Openings by their ECO tag, as B90 or C4*
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub eco: Vec<String>,
    /// Time classes: bullet, blitz, rapid, classical, correspondence, unknown
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub time_class: Vec<String>,
    /// Players whose pieces they are, as their games name them; one each
    #[arg(long, value_name = "NAME")]
    pub player: Vec<String>,
    /// Events, as the games name them; one each
    #[arg(long, value_name = "NAME")]
    pub event: Vec<String>,
    /// First date, as 2024, 2024-03 or 2024-03-31
    #[arg(long, value_name = "DATE")]
    pub since: Option<String>,
    /// Last date
    #[arg(long, value_name = "DATE")]
    pub until: Option<String>,
    /// What comes first: longest, squares (most taken), archive (as the games stand)
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Positions, at most [default: 50]
    #[arg(long, value_name = "N")]
    pub count: Option<usize>,
    /// How they are written [default: by the ending of --out, else text]
    #[arg(long, value_enum)]
    pub format: Option<FindFormat>,
    /// File to write to instead of the terminal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// How positions are written.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum FindFormat {
    /// What each shows, and the positions
    Text,
    /// A line each
    Csv,
    Json,
    /// The games with a comment each
    Pgn,
    /// One page with boards
    Html,
}
