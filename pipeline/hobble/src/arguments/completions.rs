//! What `hobble completions` takes.

use clap::Args;

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
