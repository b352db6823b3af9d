//! A question, the tables it is put to, and what of it is changed.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use hobble_conditions::Overrides;
use hobble_conditions::terms::YesNo;

/// A question, the tables it is put to, and what of it is changed.
#[derive(Debug, Args)]
pub struct Inquiry {
    /// A question that comes with the program (see `hobble questions`), or a question file
    #[arg(required_unless_present = "from", conflicts_with = "from")]
    pub question: Option<String>,
    /// Folder of the tables; given more than once, the answer is to all of them together
    #[arg(
        long,
        value_name = "DIR",
        required_unless_present = "from",
        conflicts_with = "from"
    )]
    pub data: Vec<PathBuf>,
    /// Files that `hobble ask --state` wrote, added up in the place of question and tables
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub from: Vec<PathBuf>,
    /// With --from: answer also where parts of the tables are missing, for those that are counted
    #[arg(long, requires = "from")]
    pub partial: bool,
    #[command(flatten)]
    pub bounds: Bounds,
    /// Only pieces that have moved (yes), that have not (no), or both (any)
    #[arg(long, value_name = "WHICH", conflicts_with = "from")]
    pub developed: Option<Which>,
    /// Width of rating bands in points, a multiple of 100 [default: as the question says]
    #[arg(long, value_name = "POINTS", conflicts_with = "from")]
    pub band_width: Option<u16>,
    /// Player whose habits are asked for, as named in the archive
    #[arg(long, value_name = "NAME", conflicts_with = "from")]
    pub player: Option<String>,
    /// Another spelling of that player's name; may be given more than once
    #[arg(long, value_name = "NAME", requires = "player")]
    pub alias: Vec<String>,
    /// Folder of tables with the games of other players to compare with, or a file of norms that
    /// `hobble norms` wrote [default: those of --data]
    #[arg(long, value_name = "DIR|FILE", requires = "player")]
    pub peers: Option<PathBuf>,
}

/// Bounds of a question that may be set anew.
#[derive(Clone, Copy, Debug, Args)]
pub struct Bounds {
    /// Safe squares at most for a piece to be held [default: as the question says]
    #[arg(long, value_name = "SQUARES")]
    pub k: Option<u8>,
    /// Moves within which the piece is lost: 3, 5, 10, 15 or 20 [default: as the question says]
    #[arg(long, value_name = "MOVES")]
    pub within: Option<u32>,
}

impl Bounds {
    /// What goes before what the question says.
    pub fn overrides(&self) -> Overrides {
        Overrides {
            k: self.k,
            within: self.within,
            ..Overrides::default()
        }
    }
}

/// A choice of pieces.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Which {
    Any,
    Yes,
    No,
}

impl From<Which> for YesNo {
    fn from(which: Which) -> YesNo {
        match which {
            Which::Any => YesNo::Any,
            Which::Yes => YesNo::Yes,
            Which::No => YesNo::No,
        }
    }
}

impl Inquiry {
    /// The question as named, where it is not in files of states.
    pub fn question(&self) -> &str {
        self.question.as_deref().unwrap_or_default()
    }
}
