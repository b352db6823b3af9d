//! Makes the invented club season of the small sample: the same seed gives the same bytes
//! on every machine. See `small-sample/README.md`.

mod annotations;
mod calendar;
mod chance;
mod clock;
mod endings;
mod engine;
mod files;
mod game;
mod lessons;
mod openings;
mod people;
mod pgn;
mod ratings;
mod season;
mod shuffled;

#[cfg(test)]
mod tests;

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::Parser;

/// The seed of the committed season.
const SEED: u64 = 31;
/// Its number of games.
const GAMES: usize = 400;

/// Make the invented club season of the small sample, or check that the files still hold it.
#[derive(Parser)]
struct Arguments {
    /// The season's seed: the same seed gives the same bytes
    #[arg(long, default_value_t = SEED)]
    seed: u64,
    /// Number of games
    #[arg(long, default_value_t = GAMES)]
    games: usize,
    /// The PGN file to write; its compressed parts go to a folder beside it
    #[arg(long, default_value = "small-sample/season.pgn")]
    out: PathBuf,
    /// Write nothing; exit with 1 if the files differ from the season of this seed
    #[arg(long)]
    check: bool,
}

fn main() -> Result<ExitCode> {
    let arguments = Arguments::parse();
    let games: Vec<String> = season::games(arguments.seed, arguments.games).collect();
    if arguments.check {
        let differences = files::differences(&games, &arguments.out);
        for line in &differences {
            eprintln!("{line}");
        }
        if !differences.is_empty() {
            return Ok(ExitCode::from(1));
        }
        println!(
            "{} and its parts hold the {} games of seed {}",
            arguments.out.display(),
            games.len(),
            arguments.seed
        );
        return Ok(ExitCode::SUCCESS);
    }
    for path in files::write(&games, &arguments.out)? {
        println!("written: {}", path.display());
    }
    Ok(ExitCode::SUCCESS)
}
