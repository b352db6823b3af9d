//! `hobble check`

use crate::arguments::Check;

/// Recounts.
pub fn run(_arguments: &Check) -> anyhow::Result<bool> {
    anyhow::bail!("not yet")
}
