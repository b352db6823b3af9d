//! Writes pages of hand-made answers into a folder, for the browser tests in `tests/pages`.

use std::path::Path;

use anyhow::{Context as _, Result};

#[path = "../tests/common/mod.rs"]
mod common;

fn main() -> Result<()> {
    let folder = std::env::args().nth(1).context("usage: hand-made FOLDER")?;
    std::fs::create_dir_all(&folder).with_context(|| format!("{folder} cannot be made"))?;
    for (name, answer) in [
        ("plain", common::answer()),
        ("hostile", common::hostile()),
        ("empty", common::empty()),
        ("many", common::many()),
    ] {
        let file = Path::new(&folder).join(format!("{name}.html"));
        std::fs::write(&file, hobble_pages::render(&answer)?)
            .with_context(|| format!("{} cannot be written", file.display()))?;
        println!("{}", file.display());
    }
    Ok(())
}
