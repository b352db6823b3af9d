//! What `hobble codebook` takes.

use clap::{Args, ValueEnum};

/// Print the codebook: one row a variable of the tables, of answers as CSV, and of other files
#[derive(Debug, Args)]
#[command(after_help = "Example:
  hobble codebook > codebook.csv")]
pub struct Codebook {
    /// How it is written
    #[arg(long, value_enum, default_value_t = CodebookFormat::Csv)]
    pub format: CodebookFormat,
}

/// How the codebook is written.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum CodebookFormat {
    Csv,
    Markdown,
}
