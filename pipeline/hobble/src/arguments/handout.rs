//! What `hobble handout` takes.

use std::path::PathBuf;

use clap::Args;

use super::inquiry::{Bounds, Inquiry, Which};

/// Write a handout for printing: the idea, games, quiz and answers of a training claim, or positions
/// chosen on a page
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble handout knight-restrained-by-pawn --data data --out handout.html
  hobble handout --from handout.json --out handout.html

Positions are chosen on a page that `hobble find` writes, which saves them as handout.json.")]
pub struct Handout {
    /// A training claim that comes with the program (see `hobble questions`), or its file
    #[arg(required_unless_present = "from", requires = "data")]
    pub question: Option<String>,
    /// Folder of the tables
    #[arg(long, value_name = "DIR", requires = "question")]
    pub data: Option<PathBuf>,
    #[command(flatten)]
    pub bounds: Bounds,
    /// Only pieces that have moved (yes), that have not (no), or both (any)
    #[arg(long, value_name = "WHICH", requires = "question")]
    pub developed: Option<Which>,
    /// Width of rating bands in points, a multiple of 100 [default: as the question says]
    #[arg(long, value_name = "POINTS", requires = "question")]
    pub band_width: Option<u16>,
    /// Positions chosen on a page; several files make one handout
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["question", "Bounds"])]
    pub from: Vec<PathBuf>,
    /// Title of a handout of chosen positions [default: as the page gave it]
    #[arg(long, value_name = "TEXT", requires = "from")]
    pub title: Option<String>,
    /// File to write [default: the question's name with .html, or handout.html]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

impl Handout {
    /// The claim asked for; `None` where positions are printed.
    pub fn inquiry(&self) -> Option<Inquiry> {
        let (question, data) = self.question.clone().zip(self.data.clone())?;
        Some(Inquiry {
            question: Some(question),
            data: vec![data],
            from: Vec::new(),
            partial: false,
            bounds: self.bounds,
            developed: self.developed,
            band_width: self.band_width,
            player: None,
            alias: Vec::new(),
            peers: None,
        })
    }
}
