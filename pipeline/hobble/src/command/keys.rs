//! `hobble keys`

use std::thread;

use anyhow::bail;
use hobble_archive::error::with_causes;
use hobble_archive::listing::list;
use hobble_tables::scan::{Options, Watch, source_name, write_keys};
use hobble_terms::manifest::{Parameters, Provenance};

use super::scan::threads;
use crate::arguments::Keys;
use crate::progress;
use crate::words::{grouped, say};

/// Writes the keys of an archive's games.
pub fn run(arguments: &Keys) -> anyhow::Result<bool> {
    let inputs = list(std::slice::from_ref(&arguments.archive))?;
    let [input] = inputs.as_slice() else {
        bail!("{}: name one archive", arguments.archive.display());
    };
    let options = Options {
        // Of these only how the archive is cut matters for keys.
        parameters: Parameters {
            block_bytes: arguments.cut.block_kib as usize * 1024,
            part_blocks: arguments.cut.part_blocks,
            stripe: arguments.cut.stripe,
            ..Parameters::default()
        },
        threads: threads(arguments.threads),
        repeats: None,
        provenance: Provenance::default(),
        pseudonyms: None,
    };
    let source = arguments.source.clone();
    let source = source.unwrap_or_else(|| source_name(&input.name(), &[]));
    let bar = progress::bar(input.size());
    let watch = Watch::default();
    let read = thread::scope(|scope| {
        scope.spawn(|| progress::draw(&bar, &watch));
        let shares = arguments.shares.get();
        let read = write_keys(input, &source, &arguments.out, shares, &options, &watch);
        watch.finish();
        read
    })?;
    println!("games with a key {:>12}", grouped(read.games));
    if let Some(error) = &read.error {
        say(&format!(
            "{}; what came before has keys",
            with_causes(error)
        ));
    }
    Ok(read.error.is_none())
}
