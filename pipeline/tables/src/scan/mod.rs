//! Archives scanned into a folder of tables.
//!
//! One thread reads and cuts, several turn blocks into encoded rows, one writes. Block n
//! goes to worker n modulo their number and is fetched from there in the same order, so that
//! the files come out the same however many workers there are, and at any moment only a few
//! blocks are in memory.

mod folder;
mod options;
mod reading;
mod source;
mod watch;

use std::fs;
use std::path::Path;
use std::sync::Arc;

use hobble_archive::error::with_causes;
use hobble_archive::listing::Input;
use hobble_archive::stream::hashed;
use hobble_terms::manifest::{Manifest, Source};

pub(crate) use folder::lock;
pub use options::Options;
pub use watch::{Event, Watch};

use crate::error::Error;
use crate::layouts::Layouts;
use crate::part;
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
    for input in inputs {
        let at = place(input, &mut manifest);
        if !is_unread(&mut manifest.sources[at], input, on_event)? {
            continue;
        }
        manifest.complete = false;
        let job = SourceScan {
            folder,
            input,
            at,
            layouts: &layouts,
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
    manifest.complete = manifest.sources.iter().all(|source| source.complete);
    manifest.save(folder)?;
    part::clear(folder)?;
    Ok(manifest)
}

/// Place of an archive among the sources of the manifest, where it is added if it is new.
fn place(input: &Input, manifest: &mut Manifest) -> usize {
    let file = input.name();
    let known = |source: &Source| source.file == file;
    manifest.sources.iter().position(known).unwrap_or_else(|| {
        let source = folder::source_name(&file, &manifest.sources);
        manifest.sources.push(Source {
            source,
            file,
            ..Source::default()
        });
        manifest.sources.len() - 1
    })
}

/// Whether an archive has to be read, wholly or from where reading broke off.
fn is_unread(
    source: &mut Source,
    input: &Input,
    on_event: &mut dyn FnMut(Event<'_>),
) -> Result<bool, Error> {
    if source.complete {
        if !is_same(source, input)? {
            return Err(Error::Changed {
                file: source.file.clone(),
            });
        }
        on_event(Event::Done {
            file: &source.file,
            error: source.error.as_deref(),
        });
        return Ok(false);
    }
    if source.error.take().is_some() {
        // The last part ends where reading failed; it may go further now.
        source.parts.pop();
        source.add_up();
    }
    Ok(true)
}

/// Whether a file is the one that was read to its end by a former scan.
fn is_same(source: &Source, input: &Input) -> Result<bool, Error> {
    if let Some(size) = input.size() {
        if source.bytes != Some(size) {
            return Ok(false);
        }
        let modified = input.modified();
        if modified.is_some() && modified == source.modified {
            return Ok(true);
        }
    }
    let (bytes, sha256) = hashed(input)?;
    Ok(source.bytes == Some(bytes) && source.sha256.as_ref() == Some(&sha256))
}

/// Reports another source with the bytes of the one that was read.
fn warn_of_same_bytes(sources: &[Source], at: usize, on_event: &mut dyn FnMut(Event<'_>)) {
    let source = &sources[at];
    let twin = sources.iter().find(|other| {
        other.source != source.source && other.sha256.is_some() && other.sha256 == source.sha256
    });
    if let Some(twin) = twin {
        on_event(Event::SameBytes {
            file: &source.file,
            as_file: &twin.file,
        });
    }
}
