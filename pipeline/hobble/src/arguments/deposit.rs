//! What `hobble deposit` takes.

use std::path::PathBuf;

use clap::Args;

/// Write a folder to publish: the tables, a description of every file and column, how to cite them
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble deposit --data data --out deposit --title 'Restraint in club games' --creator 'Windlass, Orla' --licence CC-BY-4.0

The tables are linked where both folders are on one file system, else copied. Names of archives
stand in the deposit without their folders.")]
pub struct Deposit {
    /// Folder of the tables, whose scan has ended
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Folder for the deposit, empty or not there
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Title of the deposit [default: from the names of the archives]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// Who made it: a person as `Family, Given`, or a group; may be given more than once
    #[arg(long, value_name = "NAME")]
    pub creator: Vec<String>,
    /// Who publishes it
    #[arg(long, value_name = "NAME")]
    pub publisher: Option<String>,
    /// Licence of the deposit itself, as CC-BY-4.0
    #[arg(long, value_name = "TEXT")]
    pub licence: Option<String>,
}
