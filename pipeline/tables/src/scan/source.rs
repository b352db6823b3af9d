//! One source scanned: a thread reads, workers gather, this thread writes.

use std::path::Path;
use std::sync::Arc;
use std::thread;

use crossbeam_channel::{Receiver, Sender};
use hobble_archive::bundle::{Bundle, Whole};
use hobble_archive::error::{ArchiveError, with_causes};
use hobble_archive::stream::sha256;
use hobble_terms::Table;
use hobble_terms::manifest::{
    BundledFile, Contents, Manifest, Part, Provenance, Repeats, Scanned, Source,
};
use parquet::errors::ParquetError;

use super::clock::now;
use super::options::Options;
use super::plan::Files;
use super::reading::{Channels, End, Job, Reading, Step, Text, hexadecimal, sizes};
use super::watch::{Event, Watch};
use crate::coded_pages::Encoder;
use crate::cube::{Cube, MOST_CELLS};
use crate::error::Error;
use crate::gather::{Gathered, Gatherer, keep_all};
use crate::layouts::Layouts;
use crate::part::PartWriter;
use crate::repeats::{GameKey, Known};

/// What a worker hands over for each block, in the order it got them.
type Yield = Result<Gathered, ParquetError>;

/// The scan of one source.
pub(super) struct SourceScan<'a> {
    pub folder: &'a Path,
    pub files: &'a Files<'a>,
    /// Place of the source in the manifest.
    pub at: usize,
    pub layouts: &'a Arc<Layouts>,
    /// What is known of repeats, where they are looked for.
    pub games: Option<&'a Known>,
    pub options: &'a Options,
    pub watch: &'a Watch,
}

impl SourceScan<'_> {
    /// Reads the source from where its last part ends, and writes its parts.
    pub fn run(
        &self,
        manifest: &mut Manifest,
        on_event: &mut dyn FnMut(Event<'_>),
    ) -> Result<(), Error> {
        let source = &manifest.sources[self.at];
        let file = source.file.clone();
        let done = source.parts.last().cloned().unwrap_or_default();
        on_event(Event::Begin {
            file: &file,
            resumed: done.end_block,
        });
        let text = self.open()?;
        let channels = Channels::new(self.options.threads.get());
        let parameters = &self.options.parameters;
        // The tables of a stripe do not have the games of the others.
        let finds = matches!(self.games, Some(Known::Kept(_)));
        let note_all = finds && parameters.stripe.is_some();
        if let Some(games) = self.games {
            if let (Known::Kept(kept), true) = (games, note_all) {
                kept.clear();
            }
            let first = if note_all { 0 } else { done.end_block };
            games.begin_source(&manifest.sources[self.at].source, first);
        }
        let reading = Reading::new(parameters, done, note_all, channels.reading);
        thread::scope(|scope| {
            scope.spawn(move || reading.run(text));
            for (jobs, yields) in channels.workers {
                let file = &file;
                scope.spawn(move || self.gather(file, &jobs, &yields));
            }
            // Dropping the receivers on an error makes the other threads stop.
            let mut writing = Writing {
                scan: self,
                file: &file,
                manifest,
                open: None,
                cube: Cube::default(),
            };
            writing.run(on_event, &channels.steps, channels.yields)
        })
    }

    /// Opens the file, or the files of a bundle one after another when their turn comes.
    fn open(&self) -> Result<Text<'_>, Error> {
        Ok(match self.files {
            Files::One(input) => Text::file(input, self.watch)?,
            Files::Bundle(inputs) => {
                let sizes = sizes(&self.options.parameters);
                let files = inputs.iter().copied();
                let on_open = |progress| self.watch.follow(progress);
                Text::Bundle(Bundle::new(files, sizes, on_open))
            }
        })
    }

    fn gather(&self, file: &str, jobs: &Receiver<Job>, yields: &Sender<Yield>) {
        let mut waiting = StopOthers(self.games);
        let cuts = self.options.parameters.cuts();
        let mut gatherer = Gatherer::new(self.layouts.clone(), cuts)
            .with_pseudonyms(self.options.pseudonyms.clone());
        for Job { block, written } in jobs {
            let ask = |games: &[GameKey]| match self.games {
                Some(known) => known.ask(block.number, games),
                None => keep_all(games),
            };
            if !written {
                let games = gatherer.keys(&block);
                if ask(&games).is_none() {
                    return;
                }
                continue;
            }
            let gathered = match gatherer.block(file, &block, ask) {
                Ok(Some(gathered)) => Ok(gathered),
                Ok(None) => return,
                Err(error) => Err(error),
            };
            if let Ok(gathered) = &gathered {
                self.watch.add_games(gathered.account.read);
            }
            if yields.send(gathered).is_err() {
                return;
            }
        }
        waiting.0 = None;
    }
}

/// Stops the workers that wait for a block of one that gave up or panicked.
struct StopOthers<'a>(Option<&'a Known>);

impl Drop for StopOthers<'_> {
    fn drop(&mut self) {
        if let Some(games) = self.0 {
            games.stop();
        }
    }
}

/// The writing of an archive's parts.
struct Writing<'a> {
    scan: &'a SourceScan<'a>,
    file: &'a str,
    manifest: &'a mut Manifest,
    /// The part being written.
    open: Option<(PartWriter, Part)>,
    /// Its observations.
    cube: Cube,
}

impl Writing<'_> {
    fn run(
        &mut self,
        on_event: &mut dyn FnMut(Event<'_>),
        steps: &Receiver<Step>,
        yields: Vec<Receiver<Yield>>,
    ) -> Result<(), Error> {
        for step in steps {
            match step {
                Step::Changed => return Err(self.changed()),
                Step::Block {
                    worker,
                    number,
                    hash,
                } => {
                    let Ok(gathered) = yields[worker].recv() else {
                        // The worker panicked, which the scope reports.
                        break;
                    };
                    let gathered = gathered.map_err(Error::Encode)?;
                    let named = |file: u32| {
                        let file = gathered.files.get(file as usize);
                        file.map_or(self.file, String::as_str)
                    };
                    for game in &gathered.skipped {
                        let file = named(game.file);
                        on_event(Event::Skipped { file, game });
                    }
                    for (file, oddity) in &gathered.oddities {
                        let file = named(*file);
                        on_event(Event::PassedOver { file, oddity });
                    }
                    self.block(gathered, number, hash)?;
                }
                Step::EndOfPart => self.end_of_part()?,
                Step::Read { file, about } => self.read(file, about),
                Step::Apart { file } => self.source().bundle[file].apart = true,
                Step::End(end) => self.end(end, on_event)?,
            }
        }
        Ok(())
    }

    fn changed(&self) -> Error {
        Error::Changed {
            file: self.file.to_owned(),
        }
    }

    fn source(&mut self) -> &mut Source {
        &mut self.manifest.sources[self.scan.at]
    }

    /// Writes the rows of a block; `hash` is that of the text up to its end.
    fn block(&mut self, gathered: Gathered, number: u64, hash: u64) -> Result<(), Error> {
        let (mut writer, mut part) = match self.open.take() {
            Some(open) => open,
            None => self.begin_part(number / self.scan.options.parameters.part_blocks)?,
        };
        for (table, group) in gathered.groups {
            writer.append(table, group)?;
        }
        self.cube.add(&gathered.counts);
        if self.cube.len() >= MOST_CELLS {
            self.write_cube(&mut writer)?;
        }
        part.account.add(&gathered.account);
        part.end_block = number + 1;
        part.end_offset = gathered.end_offset;
        part.end_hash = hexadecimal(hash);
        self.open = Some((writer, part));
        Ok(())
    }

    fn begin_part(&mut self, number: u64) -> Result<(PartWriter, Part), Error> {
        let (folder, layouts) = (self.scan.folder, self.scan.layouts);
        let writer = PartWriter::create(folder, &self.source().source, number, layouts)?;
        let part = Part {
            part: number,
            ..Part::default()
        };
        Ok((writer, part))
    }

    /// Completes the part, and names it in the manifest.
    fn end_of_part(&mut self) -> Result<(), Error> {
        let (mut writer, mut part) = match self.open.take() {
            Some(open) => open,
            None => self.begin_part(0)?,
        };
        self.write_cube(&mut writer)?;
        part.tables = writer.finish()?;
        let source = self.source();
        source.parts.push(part);
        source.add_up();
        self.manifest.save(self.scan.folder)?;
        Ok(())
    }

    /// Writes down that a file of the bundle was read; saved with the part.
    fn read(&mut self, file: usize, about: Whole) {
        let file = &mut self.source().bundle[file];
        file.contents = Contents {
            bytes: Some(about.bytes),
            sha256: Some(about.sha256),
            modified: about.modified,
        };
        file.games = Some(about.games);
    }

    /// Writes down how the archive ended.
    fn end(&mut self, end: End, on_event: &mut dyn FnMut(Event<'_>)) -> Result<(), Error> {
        let source = &mut self.manifest.sources[self.scan.at];
        let last = source.parts.last().map_or(0, |part| part.end_block);
        if end.error.is_none() && end.own_end != last {
            return Err(self.changed());
        }
        let whole = matches!(end.error, None | Some(ArchiveError::TrailingBytes { .. }));
        if let Some(Known::Listed(list)) = self.scan.games
            && self.scan.options.parameters.repeats == Repeats::LeaveOut
            && whole
            && source.account.repeats != list.len() as u64
        {
            return Err(Error::Listed {
                file: source.file.clone(),
                listed: list.len() as u64,
                found: source.account.repeats,
            });
        }
        if let Some(error) = end.error {
            on_event(Event::Broken { error: &error });
            source.error = Some(with_causes(&error));
        }
        if whole {
            source.complete = true;
            source.contents = end.file.unwrap_or_else(|| sums(&source.bundle));
            let Provenance { date, commit, .. } = self.scan.options.provenance.clone();
            let date = date.unwrap_or_else(now);
            source.scanned = Some(Scanned::by_this_program(date, commit));
        }
        self.manifest.save(self.scan.folder)?;
        Ok(())
    }

    /// Writes the observations counted so far as rows of the part.
    fn write_cube(&mut self, writer: &mut PartWriter) -> Result<(), Error> {
        let cube = std::mem::take(&mut self.cube);
        let layouts = self.scan.layouts;
        if !layouts.has(Table::Exposure) {
            return Ok(());
        }
        let layout = layouts.of(Table::Exposure);
        let mut encoder = Encoder::default();
        cube.rows(|rows| {
            let group = layout
                .encode(rows.columns(), &mut encoder)
                .map_err(Error::Encode)?;
            match group {
                Some(group) => writer.append(Table::Exposure, group),
                None => Ok(()),
            }
        })
    }
}

/// Bytes and SHA-256 of a bundle, from those of its files. It has no time of its own.
fn sums(bundle: &[BundledFile]) -> Contents {
    let files = bundle.iter().filter(|file| !file.apart);
    let bytes = files.clone().filter_map(|file| file.contents.bytes).sum();
    let hashes = files.filter_map(|file| file.contents.sha256.as_deref());
    let text: String = hashes.map(|hash| format!("{hash}\n")).collect();
    Contents {
        bytes: Some(bytes),
        sha256: Some(sha256(text.as_bytes())),
        modified: None,
    }
}
