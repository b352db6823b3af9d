//! Arguments of `hobble quiz`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use hobble_conditions::Opening;
use hobble_conditions::terms::Place;
use hobble_quiz::difficulty::Level;
use hobble_terms::{Kind, Phase, TimeClass, Word};

use crate::values::{phase_of, rating_of};

/// How a quiz is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum QuizFormat {
    /// One HTML page to click through
    Page,
    /// A sheet to print, the answers apart
    Sheet,
    /// The positions with question and answer as comments
    Pgn,
    Json,
    Text,
}

/// Whose turn it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ToMove {
    White,
    Black,
}

/// Write a quiz: positions in which exactly one quiet move restrains a piece
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble quiz --data data
  hobble quiz --data data --count 24 --kind knight --phase middlegame --rating 1400-1799
  hobble quiz --data data --format sheet --difficulty easy,medium --out sheet.html
  hobble quiz --data data --skip 24 --out more.pgn

Each position comes from a game in the tables; no two are alike. The answer is the one quiet move \
that restrains the piece and gives nothing away; beside it stand near misses, the line played and \
what became of the piece. The same call gives the same positions.")]
pub struct Quiz {
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Positions, at most
    #[arg(long, value_name = "N", default_value_t = 24, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=2000))]
    pub count: usize,
    /// Positions passed over before: with --skip 24 the next 24
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(0..=100_000))]
    pub skip: usize,
    /// Only pieces of these kinds: knight, bishop, rook, queen
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = word::<Kind>)]
    pub kind: Vec<Kind>,
    /// Only positions of these phases: opening, middlegame, endgame
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = phase_of)]
    pub phase: Vec<Phase>,
    /// Only positions of these difficulties: easy, medium, hard
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = word::<Level>)]
    pub difficulty: Vec<Level>,
    /// Only pieces that stand there, seen from their owner: rim, own half, opponent's half
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = word::<Place>)]
    pub stands: Vec<Place>,
    /// Only positions in which this side is to move
    #[arg(long, value_enum)]
    pub to_move: Option<ToMove>,
    /// Only games in which the player on move is rated so, as 1400-1799
    #[arg(long, value_name = "LOW-HIGH", value_parser = rating_of)]
    pub rating: Option<(u16, u16)>,
    /// Only games in which the name of the player on move contains this, in capitals or not
    #[arg(long, value_name = "NAME")]
    pub player: Option<String>,
    /// Only games of these openings: ECO codes, beginnings of these, as B9, or names, as sicilian
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub opening: Vec<Opening>,
    /// Only games of these time classes, as blitz,rapid
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = word::<TimeClass>)]
    pub time_class: Vec<TimeClass>,
    /// How it is written [default: by the ending of --out, else a page]
    #[arg(long, value_enum)]
    pub format: Option<QuizFormat>,
    /// File to write [default: quiz.html for a page, quiz-sheet.html for a sheet, else the
    /// terminal]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// A word by its spelling.
fn word<T: Word + Copy>(name: &str) -> Result<T, String> {
    let known = T::WORDS.iter().copied();
    known
        .clone()
        .find(|word| word.word() == name)
        .ok_or_else(|| {
            let words: Vec<&str> = known.map(Word::word).collect();
            format!("unknown word; there are {}", words.join(", "))
        })
}
