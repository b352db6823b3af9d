//! Archives scanned into a folder of tables.
//!
//! One thread reads and cuts, several turn blocks into encoded rows, one writes. Block n
//! goes to worker n modulo their number and is fetched from there in the same order, so that
//! the files come out the same however many workers there are, and at any moment only a few
//! blocks are in memory.

mod clock;
mod folder;
mod keys;
pub(crate) mod known_games;
mod options;
mod plan;
mod reading;
mod replay;
mod source;
mod watch;

use std::collections::{HashMap, HashSet};
use std::fs;
use std::path::Path;
use std::sync::Arc;

use hobble_archive::error::with_causes;
use hobble_archive::listing::Input;
use hobble_archive::stream::hashed;
use hobble_terms::manifest::{Contents, Manifest, Source};

pub use clock::now;
pub(crate) use folder::lock;
pub use folder::source_name;
pub use keys::{KeysRead, write_keys};
pub use options::Options;
pub use watch::{Event, Watch};

pub use crate::oddity::Oddity;

use crate::error::Error;
use crate::layouts::Layouts;
use crate::of_all_parts;
use crate::part;
use crate::repeats::{Known, Register, Turnstile};
use plan::{Files, plan};
use source::SourceScan;

/// Scans archives into a folder of tables, or goes on where a former scan of the same
/// archives was interrupted. Reports what happens to `on_event`.
///
/// # Errors
///
/// Where archives cannot be read or tables cannot be written. What was complete before
/// stays, and the same call goes on from there.
pub fn scan(
    inputs: &[Input],
    folder: &Path,
    options: &Options,
    watch: &Watch,
    on_event: &mut dyn FnMut(Event<'_>),
) -> Result<Manifest, Error> {
    fs::create_dir_all(folder).map_err(Error::write(folder))?;
    let _lock = lock(folder)?;
    let mut manifest = folder::open(folder, &options.parameters)?;
    // The files of a stripe may have been gathered elsewhere.
    if manifest.parameters.stripe.is_none() {
        part::verify(folder, &manifest, true)?;
    }
    part::clear(folder)?;
    let layouts = Layouts::new(&options.parameters.tables).map_err(Error::Encode)?;
    let layouts = Arc::new(layouts);
    let mut games = None;
    let mut read = HashSet::new();
    // A second time for files that a bundle set apart.
    for _ in 0..2 {
        let planned = plan(inputs, &mut manifest);
        // Before the games that are there are noted: those of a part that is read again are not.
        for (at, _) in planned.iter().filter(|(at, _)| !read.contains(at)) {
            reopen(&mut manifest.sources[*at]);
        }
        for &(at, ref files) in &planned {
            manifest.sources[at].note_origin(&options.provenance);
            if !read.insert(at) || !is_unread(&manifest.sources[at], files, on_event)? {
                continue;
            }
            folder::of_these_schemas(folder, &manifest)?;
            manifest.complete = false;
            manifest.players = None;
            if options.parameters.looks_for_repeats() && games.is_none() {
                games = Some(match &options.repeats {
                    Some(list) => Known::Listed(list.clone()),
                    None => Known::Kept(Turnstile::new(known(
                        folder, &manifest, &planned, &layouts,
                    )?)),
                });
            }
            let job = SourceScan {
                folder,
                files,
                at,
                layouts: &layouts,
                games: games.as_ref(),
                options,
                watch,
            };
            match job.run(&mut manifest, on_event) {
                Ok(()) => warn_of_same_bytes(&manifest.sources, at, on_event),
                Err(Error::Archive(error)) if inputs.len() > 1 => {
                    on_event(Event::Unopened { error: &error });
                    manifest.sources[at].error = Some(with_causes(&error));
                    manifest.save(folder)?;
                }
                Err(error) => {
                    // Room for others, if the disk is full.
                    let _ = part::clear(folder);
                    return Err(error);
                }
            }
        }
    }
    manifest.complete = manifest.sources.iter().all(|source| source.complete);
    if manifest.complete && manifest.parameters.stripe.is_none() {
        of_all_parts::write(folder, &mut manifest, &[])?;
    }
    manifest.save(folder)?;
    part::clear(folder)?;
    Ok(manifest)
}

/// The games that are there already. Stripes of other archives are elsewhere, so that of a
/// stripe each archive is looked at by itself.
fn known(
    folder: &Path,
    manifest: &Manifest,
    planned: &[(usize, Files<'_>)],
    layouts: &Arc<Layouts>,
) -> Result<Register, Error> {
    let parameters = &manifest.parameters;
    if parameters.stripe.is_some() {
        Ok(Register::default())
    } else if parameters.pseudonyms.is_some() {
        replay::register(manifest, planned, layouts)
    } else {
        known_games::register(folder, manifest)
    }
}

/// Whether an archive has to be read, wholly or from where reading broke off.
fn is_unread(
    source: &Source,
    files: &Files<'_>,
    on_event: &mut dyn FnMut(Event<'_>),
) -> Result<bool, Error> {
    if source.complete {
        if let Some(file) = changed(source, files)? {
            return Err(Error::Changed { file });
        }
        on_event(Event::Done {
            file: &source.file,
            error: source.error.as_deref(),
        });
        return Ok(false);
    }
    Ok(true)
}

/// Drops the last part of a source whose reading failed: it ends there, and may go further now.
fn reopen(source: &mut Source) {
    if !source.complete && source.error.take().is_some() {
        source.parts.pop();
        source.add_up();
    }
}

/// The first file that is not the one that was read to its end by a former scan.
fn changed(source: &Source, files: &Files<'_>) -> Result<Option<String>, Error> {
    match files {
        Files::One(input) => Ok((!is_same(&source.contents, input)?).then(|| source.file.clone())),
        Files::Bundle(inputs) => {
            for &(place, input) in inputs {
                let file = &source.bundle[place];
                if !is_same(&file.contents, input)? {
                    return Ok(Some(file.file.clone()));
                }
            }
            Ok(None)
        }
    }
}

/// Whether a file still holds what the manifest says.
fn is_same(known: &Contents, input: &Input) -> Result<bool, Error> {
    if let Some(size) = input.size() {
        if known.bytes != Some(size) {
            return Ok(false);
        }
        let modified = input.modified();
        if modified.is_some() && modified == known.modified {
            return Ok(true);
        }
    }
    let (bytes, sha256) = hashed(input)?;
    Ok(known.bytes == Some(bytes) && known.sha256 == Some(sha256))
}

/// Reports other files with the bytes of one that was read.
fn warn_of_same_bytes(sources: &[Source], at: usize, on_event: &mut dyn FnMut(Event<'_>)) {
    let mut first: HashMap<&str, &str> = HashMap::new();
    for (n, source) in sources.iter().enumerate() {
        for file in source.files() {
            let Some(sha256) = file.sha256 else {
                continue;
            };
            match first.get(sha256) {
                Some(as_file) if n == at => on_event(Event::SameBytes {
                    file: file.file,
                    as_file,
                }),
                Some(_) => {}
                None => {
                    first.insert(sha256, file.file);
                }
            }
        }
    }
}
