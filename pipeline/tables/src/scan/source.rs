//! One archive scanned: a thread reads, workers gather, this thread writes.

use std::path::Path;
use std::sync::Arc;
use std::thread;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};
use hobble_archive::block::Block;
use hobble_archive::error::{ArchiveError, with_causes};
use hobble_archive::listing::Input;
use hobble_archive::stream::Stream;
use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Part, Source};
use parquet::errors::ParquetError;

use super::options::Options;
use super::reading::{End, Reading, Step, hexadecimal};
use super::watch::{Event, Watch};
use crate::coded_pages::Encoder;
use crate::cube::{Cube, MOST_CELLS};
use crate::error::Error;
use crate::gather::{Gathered, Gatherer};
use crate::layouts::Layouts;
use crate::part::PartWriter;

/// What a worker hands over for each block, in the order it got them.
type Yield = Result<Gathered, ParquetError>;

/// The scan of one archive.
pub(super) struct SourceScan<'a> {
    pub folder: &'a Path,
    pub input: &'a Input,
    /// Place of the source in the manifest.
    pub at: usize,
    pub layouts: &'a Arc<Layouts>,
    pub options: &'a Options,
    pub watch: &'a Watch,
}

impl SourceScan<'_> {
    /// Reads the archive from where the last part ends, and writes its parts.
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
        let before = (self.input.size(), self.input.modified());
        let stream = Stream::open(self.input)?;
        self.watch.follow(stream.progress());
        let workers = self.options.threads.get();
        let (step_in, steps) = unbounded();
        let (job_ins, job_outs): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(1)).unzip();
        let (yield_ins, yields): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(2)).unzip();
        let parameters = &self.options.parameters;
        let reading = Reading::new(self.input, before, parameters, done, job_ins, step_in);
        thread::scope(|scope| {
            scope.spawn(move || reading.run(stream));
            for (jobs, yields) in job_outs.into_iter().zip(yield_ins) {
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
            writing.run(on_event, &steps, yields)
        })
    }

    fn gather(&self, file: &str, blocks: &Receiver<Block>, yields: &Sender<Yield>) {
        let cuts = self.options.parameters.cuts();
        let mut gatherer = Gatherer::new(self.layouts.clone(), cuts);
        for block in blocks {
            let gathered = gatherer.block(file, &block);
            if let Ok(gathered) = &gathered {
                self.watch.add_games(gathered.account.read);
            }
            if yields.send(gathered).is_err() {
                return;
            }
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
                    let file = self.file;
                    for game in &gathered.skipped {
                        on_event(Event::Skipped { file, game });
                    }
                    self.block(gathered, number, hash)?;
                }
                Step::EndOfPart => self.end_of_part()?,
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

    /// Writes down how the archive ended.
    fn end(&mut self, end: End, on_event: &mut dyn FnMut(Event<'_>)) -> Result<(), Error> {
        let source = &mut self.manifest.sources[self.scan.at];
        let last = source.parts.last().map_or(0, |part| part.end_block);
        if end.error.is_none() && end.own_end != last {
            return Err(self.changed());
        }
        let whole = matches!(end.error, None | Some(ArchiveError::TrailingBytes { .. }));
        if let Some(error) = end.error {
            on_event(Event::Broken { error: &error });
            source.error = Some(with_causes(&error));
        }
        if whole {
            source.complete = true;
            source.bytes = Some(end.bytes);
            source.sha256 = Some(end.sha256);
            source.modified = end.modified;
        }
        self.manifest.save(self.scan.folder)?;
        Ok(())
    }

    /// Writes the observations counted so far as rows of the part.
    fn write_cube(&mut self, writer: &mut PartWriter) -> Result<(), Error> {
        let cube = std::mem::take(&mut self.cube);
        let layouts = self.scan.layouts;
        if !layouts.wants(Table::Exposure) {
            return Ok(());
        }
        let layout = layouts.of(Table::Exposure);
        let mut encoder = Encoder::default();
        cube.rows(self.scan.options.parameters.band_width, |rows| {
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
