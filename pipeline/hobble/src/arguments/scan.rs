//! What `hobble scan` takes, and how an archive is cut up.

use std::num::{NonZeroU32, NonZeroUsize};
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use hobble_terms::manifest::{DEFAULT_SAMPLE, Stripe};

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
    /// Where the archives come from: a citation or an address, kept in the manifest. May be given
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
    /// Print how far the scan is as lines of JSON in place of the account, and stop where standard
    /// input ends: for `hobble desk`
    #[arg(long, hide = true)]
    pub watched: bool,
}

/// What to do with games that repeat another one.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Repeats {
    /// Leave them out; the first game stays
    LeaveOut,
    /// Count them as other games
    Keep,
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
