//! What `hobble page` takes.

use std::path::PathBuf;

use clap::Args;

use super::inquiry::Inquiry;

/// A question whose answer is one HTML file.
#[derive(Debug, Args)]
pub struct Page {
    #[command(flatten)]
    pub inquiry: Inquiry,
    /// File to write [default: the question's name with .html]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}
