//! Archives scanned into a folder of tables.
//!
//! One thread reads and cuts, several turn blocks into encoded rows, one writes. Block n
//! goes to worker n modulo their number and is fetched from there in the same order, so that
//! the files come out the same however many workers there are, and at any moment only a few
//! blocks are in memory.

use std::fs::{self, File, TryLockError};
use std::io;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};
use hobble_archive::ArchiveError;
use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_archive::listing::Input;
use hobble_archive::stream::{Progress, Stream, hashed};
use hobble_terms::Table;
use parquet::errors::ParquetError;
use xxhash_rust::xxh3::Xxh3;

use crate::coded::Encoder;
use crate::exposure::{Cube, MOST_CELLS};
use crate::gather::{Gathered, Gatherer, Layouts};
use crate::part::{self, PartError, PartWriter};
use crate::skipped::SkippedGame;
use hobble_terms::account::Account;
use hobble_terms::manifest::{Manifest, ManifestError, Parameters, Part, Source, Stripe};

/// Longest text of one game that is read, in bytes.
const GAME_BYTES: usize = 16 << 20;

/// What can stop a scan.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    /// An archive cannot be opened or read.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The manifest cannot be used.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// A file of a former scan is not what the manifest says.
    #[error(transparent)]
    Part(#[from] PartError),
    /// A file cannot be written.
    #[error("{path}: cannot be written: {error}", path = path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// Rows cannot be written.
    #[error("table {table}: cannot be written: {error}", table = table.name())]
    Table {
        /// The table.
        table: Table,
        /// What the writer said.
        error: ParquetError,
    },
    /// Another scan is writing into the folder.
    #[error("{folder}: another scan is writing into this folder", folder = folder.display())]
    Locked {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder holds tables whose origin is not known.
    #[error("{folder}: holds tables but no manifest.json; choose an empty folder", folder = folder.display())]
    NoManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder's tables were made with other parameters.
    #[error("{folder}: its tables were made with {what} {theirs}, not {ours}; choose another folder", folder = folder.display())]
    Parameters {
        /// The folder.
        folder: PathBuf,
        /// Which parameter.
        what: &'static str,
        /// Its value in the folder.
        theirs: String,
        /// Its value now.
        ours: String,
    },
    /// An archive is not the one a former scan began with.
    #[error("{file}: has changed since its scan; scan it into another folder")]
    Changed {
        /// The archive.
        file: String,
    },
}

impl ScanError {
    pub(crate) fn write(path: &Path, error: io::Error) -> ScanError {
        ScanError::Write {
            path: path.to_owned(),
            error,
        }
    }

    pub(crate) fn table(table: Table, error: ParquetError) -> ScanError {
        ScanError::Table { table, error }
    }
}

/// How a scan is to run.
#[derive(Clone, Debug)]
pub struct Options {
    /// What goes into the manifest.
    pub parameters: Parameters,
    /// Threads that turn blocks into rows.
    pub threads: NonZeroUsize,
}

/// Something to tell the user.
#[derive(Debug)]
pub enum Event<'a> {
    /// A file is being read from here on.
    Begin {
        /// The file.
        file: &'a str,
        /// Blocks taken over from an interrupted scan.
        resumed: u64,
    },
    /// A file was read to its end by a former scan.
    Done {
        /// The file.
        file: &'a str,
        /// What was left unread behind its end, if anything was.
        error: Option<&'a str>,
    },
    /// A file cannot be opened; the others are read.
    Unopened {
        /// What happened.
        error: &'a ArchiveError,
    },
    /// A game was left out.
    Skipped {
        /// The file.
        file: &'a str,
        /// The game.
        game: &'a SkippedGame,
    },
    /// Reading stopped before the end of the file; what came before is kept.
    Broken {
        /// What happened.
        error: &'a ArchiveError,
    },
    /// A file has the bytes of another one.
    SameBytes {
        /// The file.
        file: &'a str,
        /// The other one.
        as_file: &'a str,
    },
}

/// How far a scan has come, for a progress bar on another thread.
#[derive(Default)]
pub struct Watch {
    games: AtomicU64,
    before: AtomicU64,
    current: Mutex<Progress>,
    done: AtomicBool,
}

impl Watch {
    /// Games gathered.
    pub fn games(&self) -> u64 {
        self.games.load(Ordering::Relaxed)
    }

    /// Bytes of archive files read.
    pub fn bytes(&self) -> u64 {
        let current = self.current.lock().map_or(0, |progress| progress.bytes());
        self.before.load(Ordering::Relaxed) + current
    }

    /// Whether the scan is over.
    pub fn is_done(&self) -> bool {
        self.done.load(Ordering::Relaxed)
    }

    fn follow(&self, progress: Progress) {
        if let Ok(mut current) = self.current.lock() {
            self.before.fetch_add(current.bytes(), Ordering::Relaxed);
            *current = progress;
        }
    }

    /// Marks the scan as over.
    pub fn finish(&self) {
        self.done.store(true, Ordering::Relaxed);
    }
}

/// Scans archives into a folder of tables, or goes on where a former scan of the same
/// archives was interrupted. Tells what happens through `tell`.
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
    tell: &mut dyn FnMut(Event<'_>),
) -> Result<Manifest, ScanError> {
    fs::create_dir_all(folder).map_err(|error| ScanError::write(folder, error))?;
    let _lock = lock(folder)?;
    let mut manifest = match Manifest::load(folder)? {
        Some(manifest) => {
            agree(&manifest, options, folder)?;
            manifest
        }
        None => {
            let tables = Table::ALL.map(|table| table.folder(folder));
            if tables.iter().any(|path| path.exists()) {
                return Err(ScanError::NoManifest {
                    folder: folder.to_owned(),
                });
            }
            let mut manifest = Manifest::new(options.parameters.clone(), crate::schema::versions());
            // Before the first table: a scan killed right after it is known as one.
            manifest.save(folder)?;
            manifest
        }
    };
    // The files of a stripe may have been gathered elsewhere.
    if manifest.parameters.stripe.is_none() {
        part::verify(folder, &manifest, true)?;
    }
    part::clear(folder)?;
    let layouts = Layouts::new(&options.parameters.tables, &options.parameters.cuts())
        .map_err(|error| ScanError::table(Table::Games, error))?;
    let layouts = Arc::new(layouts);
    for input in inputs {
        let file = input.name();
        let at = match manifest
            .sources
            .iter()
            .position(|source| source.file == file)
        {
            Some(at) => at,
            None => {
                let source = folder_name(&file, &manifest.sources);
                manifest.sources.push(Source {
                    source,
                    file: file.clone(),
                    ..Source::default()
                });
                manifest.sources.len() - 1
            }
        };
        let source = &mut manifest.sources[at];
        if source.complete {
            if !same(source, input)? {
                return Err(ScanError::Changed { file });
            }
            tell(Event::Done {
                file: &file,
                error: source.error.as_deref(),
            });
            continue;
        }
        if source.error.take().is_some() {
            // The last part ends where reading failed; it may go further now.
            source.parts.pop();
            source.add_up();
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
        match job.run(&mut manifest, tell) {
            Ok(()) => {}
            Err(ScanError::Archive(error)) if inputs.len() > 1 => {
                tell(Event::Unopened { error: &error });
                manifest.sources[at].error = Some(error.to_string());
                manifest.save(folder)?;
                continue;
            }
            Err(error) => {
                // Room for others, where the disk is full.
                let _ = part::clear(folder);
                return Err(error);
            }
        }
        let (source, others) = (&manifest.sources[at], &manifest.sources);
        let twin = others.iter().find(|other| {
            other.source != source.source && other.sha256.is_some() && other.sha256 == source.sha256
        });
        if let Some(twin) = twin {
            tell(Event::SameBytes {
                file: &file,
                as_file: &twin.file,
            });
        }
    }
    manifest.complete = manifest.sources.iter().all(|source| source.complete);
    manifest.save(folder)?;
    part::clear(folder)?;
    Ok(manifest)
}

/// Whether a file is the one that was read to its end by a former scan.
fn same(source: &Source, input: &Input) -> Result<bool, ScanError> {
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

pub(crate) fn lock(folder: &Path) -> Result<File, ScanError> {
    let path = folder.join(".lock");
    let file = File::create(&path).map_err(|error| ScanError::write(&path, error))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(ScanError::Locked {
            folder: folder.to_owned(),
        }),
        Err(TryLockError::Error(error)) => Err(ScanError::write(&path, error)),
    }
}

fn agree(manifest: &Manifest, options: &Options, folder: &Path) -> Result<(), ScanError> {
    let (theirs, ours) = (&manifest.parameters, &options.parameters);
    let differ = |what, theirs: String, ours: String| {
        Err(ScanError::Parameters {
            folder: folder.to_owned(),
            what,
            theirs,
            ours,
        })
    };
    let names = |tables: &[Table]| {
        let names: Vec<_> = tables.iter().map(|table| table.name()).collect();
        names.join(",")
    };
    if theirs.tables != ours.tables {
        return differ("tables", names(&theirs.tables), names(&ours.tables));
    }
    if theirs.band_width != ours.band_width {
        let (theirs, ours) = (theirs.band_width, ours.band_width);
        return differ("rating band width", theirs.to_string(), ours.to_string());
    }
    if theirs.time_cuts != ours.time_cuts {
        let (theirs, ours) = (theirs.time_cuts, ours.time_cuts);
        return differ("time cuts", format!("{theirs:?}"), format!("{ours:?}"));
    }
    if (theirs.block_bytes, theirs.part_blocks) != (ours.block_bytes, ours.part_blocks) {
        let shown = |p: &Parameters| format!("{} × {}", p.part_blocks, p.block_bytes);
        return differ("parts of", shown(theirs), shown(ours));
    }
    if theirs.stripe != ours.stripe {
        let shown = |stripe: Option<Stripe>| match stripe {
            Some(stripe) => stripe.to_string(),
            None => "0/1 (all parts)".to_owned(),
        };
        return differ("stripe", shown(theirs.stripe), shown(ours.stripe));
    }
    Ok(())
}

/// A name for the folder of a source: of the file's name what is safe in any path, made
/// distinct from the other sources'.
fn folder_name(file: &str, others: &[Source]) -> String {
    let base = if file == "-" {
        "stdin"
    } else {
        file.rsplit(['/', '\\']).next().unwrap_or(file)
    };
    let safe: String = base
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || "._-".contains(c) {
                c
            } else {
                '_'
            }
        })
        .take(80)
        .collect();
    let safe = match safe.trim_start_matches('.') {
        "" => "archive",
        name => name,
    };
    (1_u32..)
        .map(|n| {
            if n == 1 {
                safe.to_owned()
            } else {
                format!("{safe}-{n}")
            }
        })
        .find(|name| others.iter().all(|other| other.source != *name))
        .unwrap_or_else(|| safe.to_owned())
}

/// What a worker hands over for each block, in the order it got them.
type Yield = Result<Gathered, ParquetError>;

/// What the writer is to fetch next.
enum Step {
    Block {
        worker: usize,
        number: u64,
        hash: u64,
    },
    EndOfPart,
    End(End),
    /// What former parts were made of is not what the file begins with.
    Changed,
}

struct End {
    bytes: u64,
    sha256: String,
    modified: Option<u64>,
    /// Blocks up to the end of the last one that is ours.
    own_end: u64,
    error: Option<ArchiveError>,
}

/// Where a former scan has come to.
struct Mark {
    blocks: u64,
    offset: u64,
    hash: String,
}

fn hexadecimal(hash: u64) -> String {
    format!("{hash:016x}")
}

struct SourceScan<'a> {
    folder: &'a Path,
    input: &'a Input,
    at: usize,
    layouts: &'a Arc<Layouts>,
    options: &'a Options,
    watch: &'a Watch,
}

impl SourceScan<'_> {
    fn run(
        &self,
        manifest: &mut Manifest,
        tell: &mut dyn FnMut(Event<'_>),
    ) -> Result<(), ScanError> {
        let source = &manifest.sources[self.at];
        let file = source.file.clone();
        let done = source.parts.last().map_or_else(
            || Mark {
                blocks: 0,
                offset: 0,
                hash: String::new(),
            },
            |part| Mark {
                blocks: part.end_block,
                offset: part.end_offset,
                hash: part.end_hash.clone(),
            },
        );
        tell(Event::Begin {
            file: &file,
            resumed: done.blocks,
        });
        let before = (self.input.size(), self.input.modified());
        let stream = Stream::open(self.input)?;
        self.watch.follow(stream.progress());
        let workers = self.options.threads.get();
        let (step_in, steps) = unbounded();
        let (job_ins, job_outs): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(1)).unzip();
        let (yield_ins, yields): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(2)).unzip();
        thread::scope(|scope| {
            scope.spawn(move || self.read(stream, before, &done, &job_ins, &step_in));
            for (jobs, yields) in job_outs.into_iter().zip(yield_ins) {
                let file = &file;
                scope.spawn(move || self.gather(file, &jobs, &yields));
            }
            // Dropping the receivers on an error makes the other threads stop.
            self.write(manifest, tell, &file, &steps, yields)
        })
    }

    /// Cuts the stream and deals the blocks out; those of finished parts are passed over.
    fn read(
        &self,
        stream: Stream,
        before: (Option<u64>, Option<u64>),
        done: &Mark,
        workers: &[Sender<Block>],
        steps: &Sender<Step>,
    ) {
        let parameters = &self.options.parameters;
        let progress = stream.progress();
        let mut blocks = Blocks::new(
            stream,
            Sizes {
                block: parameters.block_bytes,
                game: GAME_BYTES,
            },
        );
        let mut count = 0;
        let mut own_end = 0;
        let mut hash = Xxh3::new();
        let mut open = false;
        let end_part = |steps: &Sender<Step>| steps.send(Step::EndOfPart).is_ok();
        let error = loop {
            match blocks.next_block() {
                Ok(Some(block)) => {
                    count += 1;
                    hash.update(&block.text);
                    let number = block.number;
                    if !parameters.has_part(number / parameters.part_blocks) {
                        continue;
                    }
                    own_end = count;
                    if count <= done.blocks {
                        let other = count == done.blocks
                            && (block.end_offset != done.offset
                                || (!done.hash.is_empty()
                                    && hexadecimal(hash.digest()) != done.hash));
                        if other {
                            let _ = steps.send(Step::Changed);
                            return;
                        }
                        continue;
                    }
                    let worker = (number % workers.len() as u64) as usize;
                    let hash = hash.digest();
                    let step = Step::Block {
                        worker,
                        number,
                        hash,
                    };
                    let sent = workers[worker].send(block).is_ok() && steps.send(step).is_ok();
                    if !sent {
                        return;
                    }
                    open = true;
                    if count.is_multiple_of(parameters.part_blocks) {
                        open = false;
                        if !end_part(steps) {
                            return;
                        }
                    }
                }
                Ok(None) => break None,
                Err(error) => {
                    break Some(ArchiveError::Read {
                        path: self.input.path().to_owned(),
                        offset: blocks.offset(),
                        error,
                    });
                }
            }
        };
        // A source without a single block still gets a part, so that its tables are there.
        let empty = count == 0 && done.blocks == 0 && parameters.has_part(0);
        if (open || empty) && !end_part(steps) {
            return;
        }
        let bytes = progress.bytes();
        let after = (self.input.size(), self.input.modified());
        let grown = after != before || after.0.is_some_and(|size| size != bytes);
        let error = match blocks.reader().rubbish() {
            _ if error.is_some() => error,
            _ if grown => Some(ArchiveError::Growing {
                path: self.input.path().to_owned(),
            }),
            0 => None,
            bytes => Some(ArchiveError::Rubbish {
                path: self.input.path().to_owned(),
                bytes,
            }),
        };
        let _ = steps.send(Step::End(End {
            bytes,
            sha256: blocks.reader().sha256(),
            modified: after.1,
            own_end,
            error,
        }));
    }

    fn gather(&self, file: &str, blocks: &Receiver<Block>, yields: &Sender<Yield>) {
        let cuts = self.options.parameters.cuts();
        let mut gatherer = Gatherer::new(self.layouts.clone(), cuts);
        for block in blocks {
            let gathered = gatherer.block(file, &block);
            if let Ok(gathered) = &gathered {
                self.watch
                    .games
                    .fetch_add(gathered.account.read, Ordering::Relaxed);
            }
            if yields.send(gathered).is_err() {
                return;
            }
        }
    }

    fn write(
        &self,
        manifest: &mut Manifest,
        tell: &mut dyn FnMut(Event<'_>),
        file: &str,
        steps: &Receiver<Step>,
        yields: Vec<Receiver<Yield>>,
    ) -> Result<(), ScanError> {
        let mut open: Option<(PartWriter, Part)> = None;
        let mut cube = Cube::default();
        for step in steps {
            match step {
                Step::Changed => {
                    return Err(ScanError::Changed {
                        file: file.to_owned(),
                    });
                }
                Step::Block {
                    worker,
                    number,
                    hash,
                } => {
                    let Ok(gathered) = yields[worker].recv() else {
                        break;
                    };
                    let gathered =
                        gathered.map_err(|error| ScanError::table(Table::Moves, error))?;
                    let (writer, part) = match &mut open {
                        Some(open) => open,
                        None => {
                            let part = number / self.options.parameters.part_blocks;
                            open.insert(self.begin_part(&manifest.sources[self.at], part)?)
                        }
                    };
                    for game in &gathered.skipped {
                        tell(Event::Skipped { file, game });
                    }
                    for (table, group) in gathered.groups {
                        writer.append(table, group)?;
                    }
                    cube.add(&gathered.counts);
                    if cube.len() >= MOST_CELLS {
                        self.write_cube(&std::mem::take(&mut cube), writer)?;
                    }
                    part.account.add(&gathered.account);
                    part.end_block = number + 1;
                    part.end_offset = gathered.end_offset;
                    part.end_hash = hexadecimal(hash);
                }
                Step::EndOfPart => {
                    let (mut writer, mut part) = match open.take() {
                        Some(open) => open,
                        None => self.begin_part(&manifest.sources[self.at], 0)?,
                    };
                    self.write_cube(&std::mem::take(&mut cube), &mut writer)?;
                    part.tables = writer.finish()?;
                    let source = &mut manifest.sources[self.at];
                    source.parts.push(part);
                    source.add_up();
                    manifest.save(self.folder)?;
                }
                Step::End(end) => {
                    let source = &mut manifest.sources[self.at];
                    let last = source.parts.last().map_or(0, |part| part.end_block);
                    if end.error.is_none() && end.own_end != last {
                        return Err(ScanError::Changed {
                            file: file.to_owned(),
                        });
                    }
                    let whole = matches!(end.error, None | Some(ArchiveError::Rubbish { .. }));
                    if let Some(error) = end.error {
                        tell(Event::Broken { error: &error });
                        source.error = Some(error.to_string());
                    }
                    if whole {
                        source.complete = true;
                        source.bytes = Some(end.bytes);
                        source.sha256 = Some(end.sha256);
                        source.modified = end.modified;
                    }
                    manifest.save(self.folder)?;
                }
            }
        }
        Ok(())
    }

    /// Writes what was counted as rows of a part.
    fn write_cube(&self, cube: &Cube, writer: &mut PartWriter) -> Result<(), ScanError> {
        if !self.layouts.wants(Table::Exposure) {
            return Ok(());
        }
        let layout = self.layouts.of(Table::Exposure);
        let mut encoder = Encoder::default();
        cube.rows(self.options.parameters.band_width, |rows| {
            let group = layout
                .encode(rows.columns(), &mut encoder)
                .map_err(|error| ScanError::table(Table::Exposure, error))?;
            match group {
                Some(group) => writer.append(Table::Exposure, group),
                None => Ok(()),
            }
        })
    }

    fn begin_part(&self, source: &Source, number: u64) -> Result<(PartWriter, Part), ScanError> {
        let writer = PartWriter::create(self.folder, &source.source, number, self.layouts)?;
        let part = Part {
            part: number,
            account: Account::default(),
            ..Part::default()
        };
        Ok((writer, part))
    }
}
