//! The keys of an archive's games, written for a pass over all archives.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::thread;

use crossbeam_channel::{Receiver, Sender};
use hobble_archive::error::ArchiveError;
use hobble_archive::listing::Input;
use hobble_terms::DEFINITIONS;
use hobble_terms::manifest::{Part, Stripe};

use super::options::Options;
use super::reading::{Channels, Job, Reading, Step, Text};
use super::watch::Watch;
use crate::error::Error;
use crate::gather::Gatherer;
use crate::layouts::Layouts;
use crate::repeats::GameKey;
use crate::repeats::key_files::{About, KeyWriter};

/// What was read for keys.
#[derive(Debug)]
pub struct KeysRead {
    /// Games with a key: those that a scan would keep or leave out as repeats.
    pub games: u64,
    /// What stopped the reading, or was left unread behind the end.
    pub error: Option<ArchiveError>,
}

/// Writes the keys of the games of an archive, or of the parts of a stripe, into files in a folder,
/// one for each share; they are dealt out by their hash. `source` is what the tables will call the
/// archive. The files come out the same for any number of threads.
///
/// # Errors
///
/// Where the archive cannot be opened, or files cannot be written.
pub fn write_keys(
    input: &Input,
    source: &str,
    folder: &Path,
    shares: u64,
    options: &Options,
    watch: &Watch,
) -> Result<KeysRead, Error> {
    fs::create_dir_all(folder).map_err(Error::write(folder))?;
    let parameters = &options.parameters;
    let about = |share| About {
        source: source.to_owned(),
        stripe: parameters.stripe.unwrap_or(Stripe { index: 0, of: 1 }),
        share,
        shares,
        definitions: DEFINITIONS,
    };
    let create = |share| {
        let about = about(share);
        KeyWriter::create(&folder.join(about.file_name()), &about)
    };
    let mut files: Vec<KeyWriter> = (0..shares).map(create).collect::<Result<_, _>>()?;
    let text = Text::file(input, watch)?;
    let layouts = Arc::new(Layouts::new(&[]).map_err(Error::Encode)?);
    let channels = Channels::new(options.threads.get());
    let reading = Reading::new(parameters, Part::default(), false, channels.reading);
    let mut read = KeysRead {
        games: 0,
        error: None,
    };
    thread::scope(|scope| {
        scope.spawn(move || reading.run(text));
        for (jobs, keys) in channels.workers {
            let layouts = layouts.clone();
            scope.spawn(move || {
                let gatherer = Gatherer::new(layouts, parameters.cuts());
                keys_of(gatherer, &jobs, &keys);
            });
        }
        for step in channels.steps {
            match step {
                Step::Block { worker, .. } => {
                    let Ok(keys) = channels.yields[worker].recv() else {
                        // The worker panicked, which the scope reports.
                        break;
                    };
                    watch.add_games(keys.len() as u64);
                    read.games += keys.len() as u64;
                    for key in &keys {
                        files[(key.hash() % shares) as usize].add(key)?;
                    }
                }
                Step::End(end) => read.error = end.error,
                // There are no parts and bundles here.
                _ => {}
            }
        }
        Ok::<_, Error>(())
    })?;
    files.into_iter().try_for_each(KeyWriter::finish)?;
    Ok(read)
}

fn keys_of(mut gatherer: Gatherer, jobs: &Receiver<Job>, keys: &Sender<Vec<GameKey>>) {
    for job in jobs {
        if keys.send(gatherer.keys(&job.block)).is_err() {
            return;
        }
    }
}
