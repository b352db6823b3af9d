//! The command line.

use std::num::{NonZeroU32, NonZeroUsize};
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use hobble_conditions::terms::YesNo;
use hobble_conditions::{Opening, Overrides};
use hobble_questions::{SORTS, Sorted};
use hobble_terms::manifest::{DEFAULT_SAMPLE, Stripe};
use hobble_terms::{Phase, Table};

use crate::deposit_arguments::Deposit;
use crate::game_arguments::{Game, Lesson};
pub use crate::norms_arguments::Norms;
use crate::quiz_arguments::Quiz;
use crate::repeats_arguments::{FindRepeats, Keys};
use crate::values::{phase_of, rating_of};

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
    /// Join tables that were scanned apart
    Gather(Gather),
    /// Answer a question from the tables
    Ask(Ask),
    /// Answer a question as one HTML page with plot and boards
    #[command(after_help = "Examples:
  hobble page restrained-piece-lost --data data
  hobble page held-piece-lost --data data --k 1 --out page.html")]
    Page(Page),
    /// Write the handout of a training claim: idea, games, quiz and answers, for printing
    #[command(after_help = "Example:
  hobble handout knight-restrained-by-pawn --data data --out handout.html")]
    Handout(Page),
    /// Print games that show a training claim, and some in which the piece got away
    Examples(Examples),
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

/// Read archives of games and write tables
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble scan games.pgn.zst --out data
  hobble scan club/ --out data --tables games,spells,exposure
  zcat games.pgn.gz | hobble scan - --out data
  hobble scan games.pgn --out data --origin 'Club archive 2031' --licence CC0-1.0

A scan that was interrupted goes on where it was: give the same command again.
More archives can be added to a folder later.")]
pub struct Scan {
    /// Archives: .pgn, .pgn.zst, .pgn.gz, .pgn.bz2, folders of these, or - for standard input
    #[arg(required = true, value_name = "ARCHIVE")]
    pub archives: Vec<PathBuf>,
    /// Folder for the tables
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Tables to write
    #[arg(
        long,
        value_name = "LIST",
        value_delimiter = ',',
        default_value = "games,moves,spells,turns,decisions,sides,players,exposure,skipped"
    )]
    pub tables: Vec<String>,
    /// Threads that follow games [default: one for each core]
    #[arg(long, value_name = "N")]
    pub threads: Option<NonZeroUsize>,
    /// Width of a rating band in points
    #[arg(long, value_name = "POINTS", default_value_t = 200, value_parser = clap::value_parser!(u16).range(20..=4000))]
    pub band_width: u16,
    /// Estimated seconds below which a game is bullet, blitz, rapid
    #[arg(
        long,
        value_name = "B,B,R",
        value_delimiter = ',',
        num_args = 1,
        default_value = "180,480,1500"
    )]
    pub time_cuts: Vec<u32>,
    /// Keep one turn in M in the tables `turns` (beside the landmark turns) and `decisions`; 1 keeps
    /// all
    #[arg(long, value_name = "M", default_value_t = DEFAULT_SAMPLE)]
    pub sample: NonZeroU32,
    /// What to do with games that repeat another one: the same start, moves and result between
    /// the same two players
    #[arg(long, value_enum, default_value_t = Repeats::LeaveOut)]
    pub repeats: Repeats,
    /// Places to name on the terminal for each reason why games were skipped; all skipped games
    /// are in the table `skipped`
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub name_skipped: usize,
    /// A list of the repeats of the one archive, as `hobble repeats` writes it: the scan does not
    /// look for them itself
    #[arg(long, value_name = "FILE")]
    pub repeats_list: Option<PathBuf>,
    /// Where the archives come from: a citation or an address, kept in the manifest. May be told
    /// later by the same command
    #[arg(long, value_name = "TEXT")]
    pub origin: Option<String>,
    /// Licence of the archives, as CC0-1.0, kept in the manifest
    #[arg(long, value_name = "TEXT")]
    pub licence: Option<String>,
    /// Replace players' names by pseudonyms, made with the bytes of this file as key: 16 or more,
    /// as `head -c 32 /dev/urandom > KEYFILE` writes them
    #[arg(long, value_name = "KEYFILE")]
    pub pseudonyms: Option<PathBuf>,
    #[command(flatten)]
    pub cut: CutUp,
}

/// How an archive is cut up.
#[derive(Debug, Args)]
pub struct CutUp {
    /// Unpacked kibibytes of games handed to a thread at a time
    #[arg(long, value_name = "KIB", default_value_t = 2048, hide = true, value_parser = clap::value_parser!(u32).range(1..=65536))]
    pub block_kib: u32,
    /// Blocks in one set of files
    #[arg(long, value_name = "N", default_value_t = 32, hide = true, value_parser = clap::value_parser!(u64).range(1..))]
    pub part_blocks: u64,
    /// Read only every N-th part of each archive, from part I on, as 0/4; `hobble gather`
    /// joins the stripes
    #[arg(long, value_name = "I/N")]
    pub stripe: Option<Stripe>,
}

/// Join tables that were scanned apart, stripes of one archive or different archives
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble scan games.pgn.zst --out stripe-0 --stripe 0/2
  hobble scan games.pgn.zst --out stripe-1 --stripe 1/2
  hobble gather stripe-0 stripe-1 --out data

The files of the tables are moved, and the manifest is written last. A call that was
interrupted is finished by the same call.")]
pub struct Gather {
    /// Folders of tables that were scanned apart
    #[arg(required = true, value_name = "DIR")]
    pub folders: Vec<PathBuf>,
    /// Folder for the joined tables
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Write only the manifest: the tables lie elsewhere, in their places already
    #[arg(long)]
    pub manifest_only: bool,
}

/// Bounds of a question that may be set anew.
#[derive(Debug, Args)]
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
            developed: None,
        }
    }
}

/// A question, the tables it is put to, and what of it is changed.
#[derive(Debug, Args)]
pub struct Inquiry {
    /// A question that comes with the program (see `hobble questions`), or a question file
    pub question: String,
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    #[command(flatten)]
    pub bounds: Bounds,
    /// Only pieces that have moved (yes), that have not (no), or both (any)
    #[arg(long, value_name = "WHICH")]
    pub developed: Option<Which>,
    /// Player whose habits are asked for, as named in the archive
    #[arg(long, value_name = "NAME")]
    pub player: Option<String>,
    /// Another spelling of that player's name; may be given more than once
    #[arg(long, value_name = "NAME", requires = "player")]
    pub alias: Vec<String>,
    /// Folder of tables with the games of other players to compare with, or a file of norms that
    /// `hobble norms` wrote [default: those of --data]
    #[arg(long, value_name = "DIR|FILE", requires = "player")]
    pub peers: Option<PathBuf>,
}

/// Print the schema file of a table or of a sort of question file
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble schema spells > schemas/spells.json
  hobble schema claim > schemas/claim.schema.json")]
pub struct Schema {
    /// Table, sort of question, or sift for a grid of claims
    #[arg(value_name = "NAME", value_parser = schema_of)]
    pub of: SchemaOf,
}

/// What a schema is of.
#[derive(Clone, Copy, Debug)]
pub enum SchemaOf {
    /// A table.
    Table(Table),
    /// Files of a sort of question.
    Sort(&'static Sorted),
    /// Grids of claims.
    Grid,
}

/// Name of the schema of a grid of claims.
const GRID: &str = "sift";

/// What the name of a sort's schema ends in where a table has the sort's name.
const OF_SORT: &str = ".schema";

/// A table or a sort of question by its name. A table comes before a sort of the same name, which
/// is asked for as its file is named: `sides.schema`.
fn schema_of(name: &str) -> Result<SchemaOf, String> {
    let table = Table::from_name(name).map(SchemaOf::Table);
    let sort = Sorted::about(name.strip_suffix(OF_SORT).unwrap_or(name)).map(SchemaOf::Sort);
    let grid = (name == GRID).then_some(SchemaOf::Grid);
    table.or(sort).or(grid).ok_or_else(|| {
        let tables = Table::ALL.into_iter().map(Table::name);
        let sorts = SORTS.iter().map(|sort| match Table::from_name(sort.about) {
            Some(table) => format!("{table}{OF_SORT}"),
            None => sort.about.to_owned(),
        });
        let names = tables.map(str::to_owned).chain(sorts);
        let names = names.chain([GRID.to_owned()]);
        let names = names.collect::<Vec<_>>().join(", ");
        format!("unknown table or sort of question; there are {names}")
    })
}

/// How the codebook is written.
/// What to do with games that repeat another one.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Repeats {
    /// Leave them out; the first game stays
    LeaveOut,
    /// Count them as other games
    Keep,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum CodebookFormat {
    Csv,
    Markdown,
}

/// Print the codebook: one row a variable of the tables, of answers as CSV, and of other files
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble codebook > codebook.csv")]
pub struct Codebook {
    /// How it is written
    #[arg(long, value_enum, default_value_t = CodebookFormat::Csv)]
    pub format: CodebookFormat,
}

/// Try a grid of training claims on one half of the games, and ask the other half what passed
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble sift --data data --out sifted
  hobble sift my-grid.toml --data data --out sifted

Neither a player nor a game stands in both halves. In the folder are the league as page, text, CSV \
and JSON, and a file for each claim asked of the other half, which ask, page and handout take. How \
often that half was opened stands in a file beside the tables, and is said.")]
pub struct Sift {
    /// File of the grid [default: the one that comes with the program]
    #[arg(value_name = "GRID")]
    pub grid: Option<PathBuf>,
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Folder for the league and the claims
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// File in which openings of the locked half are written down
    /// [default: sift-openings.json beside the tables]
    #[arg(long, value_name = "FILE")]
    pub ledger: Option<PathBuf>,
}

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

/// Print completions for a shell
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble completions bash > ~/.local/share/bash-completion/completions/hobble
  hobble completions zsh > ~/.zfunc/_hobble
  hobble completions fish > ~/.config/fish/completions/hobble.fish")]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
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

/// How an answer is written.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Format {
    Text,
    Csv,
    Json,
    Markdown,
    Html,
    /// The long table of a report by rating band, with --out
    Parquet,
}

/// Answer a question from the tables
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble ask restrained-piece-lost --data data
  hobble ask held-piece-lost --data data --k 1 --within 5
  hobble ask my-question.toml --data data --format csv --out answer.csv
  hobble ask restraint-by-band --data data --format parquet --out cells.parquet")]
pub struct Ask {
    #[command(flatten)]
    pub inquiry: Inquiry,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// File to write to instead of the terminal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// A question whose answer is one HTML file.
#[derive(Debug, Args)]
pub struct Page {
    #[command(flatten)]
    pub inquiry: Inquiry,
    /// File to write [default: the question's name with .html]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Count the tables again and say what reconciles
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  hobble check --data data
  hobble check --data data --archive games.pgn.zst
  hobble check --data data --expect games=145716 --expect captures=2299689")]
pub struct Check {
    /// Folder of the tables
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Archive to hash and count again from its text
    #[arg(long, value_name = "ARCHIVE")]
    pub archive: Vec<PathBuf>,
    /// A count published elsewhere, as games=145716
    #[arg(long, value_name = "NAME=COUNT")]
    pub expect: Vec<String>,
}

/// Print reach and safe squares of every unit in positions given as FEN on standard input
#[derive(Debug, Args)]
pub struct Position {
    /// Castling by the rules of Chess960
    #[arg(long)]
    pub chess960: bool,
}
