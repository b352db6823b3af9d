//! The thread that reads archives, cuts them into blocks and deals them out to the workers.

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};
use hobble_archive::ArchiveError;
use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_archive::bundle::{Bundle, Piece, Whole};
use hobble_archive::listing::Input;
use hobble_archive::stream::Stream;
use hobble_terms::manifest::{Contents, Parameters, Part};
use xxhash_rust::xxh3::Xxh3;

use super::watch::Watch;

/// Longest text of one game that is read, in bytes.
const GAME_BYTES: usize = 16 << 20;

/// What the writer does next.
pub(super) enum Step {
    /// Write the block of a worker.
    Block {
        worker: usize,
        number: u64,
        /// Of the text up to the end of the block.
        hash: u64,
    },
    /// Complete the part.
    EndOfPart,
    /// Write down that a file of the bundle was read.
    Read { file: usize, about: Whole },
    /// Write down that a file of the bundle is to be read by itself.
    Apart { file: usize },
    /// Write down how reading ended.
    End(End),
    /// Refuse the file: it does not begin with the text that former parts were made of.
    Changed,
}

/// How reading ended.
pub(super) struct End {
    /// Bytes, SHA-256 and time of a file; those of a bundle are its files'.
    pub file: Option<Contents>,
    /// Blocks up to the end of the last one of this stripe.
    pub own_end: u64,
    pub error: Option<ArchiveError>,
}

/// What a worker does with a block.
pub(super) struct Job {
    pub block: Block,
    /// Whether its rows are written; otherwise its games are only noted, for repeats of them.
    pub written: bool,
}

/// A hash as the manifest spells it.
pub(super) fn hexadecimal(hash: u64) -> String {
    format!("{hash:016x}")
}

/// The receivers have gone, since writing failed: reading stops.
struct Stopped;

/// Sizes by which archives are cut.
pub(super) fn sizes(parameters: &Parameters) -> Sizes {
    Sizes {
        block: parameters.block_bytes,
        game: GAME_BYTES,
    }
}

/// The text of a source.
pub(super) enum Text<'a> {
    /// A file with its size and time before it was opened.
    File(&'a Input, (Option<u64>, Option<u64>), Box<Stream>),
    /// The files of a bundle.
    Bundle(Bundle<'a>),
}

impl<'a> Text<'a> {
    /// Opens a file.
    pub fn file(input: &'a Input, watch: &Watch) -> Result<Text<'a>, ArchiveError> {
        let before = (input.size(), input.modified());
        let stream = Stream::open(input)?;
        watch.follow(stream.progress());
        Ok(Text::File(input, before, Box::new(stream)))
    }
}

/// Channels between the threads of a scan: a worker gets jobs and yields something for each.
pub(super) struct Channels<Y> {
    /// For [`Reading`]: the steps of the writer, and the jobs of each worker.
    pub reading: (Sender<Step>, Vec<Sender<Job>>),
    /// For each worker: its jobs, and what it yields.
    pub workers: Vec<(Receiver<Job>, Sender<Y>)>,
    /// For the writer: the steps, and what each worker yields.
    pub steps: Receiver<Step>,
    pub yields: Vec<Receiver<Y>>,
}

impl<Y> Channels<Y> {
    /// For so many workers.
    pub fn new(workers: usize) -> Channels<Y> {
        let (to_writer, steps) = unbounded();
        let (to_workers, jobs): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(1)).unzip();
        let (yield_ins, yields): (Vec<_>, Vec<_>) = (0..workers).map(|_| bounded(2)).unzip();
        Channels {
            reading: (to_writer, to_workers),
            workers: jobs.into_iter().zip(yield_ins).collect(),
            steps,
            yields,
        }
    }
}

/// The next block of a file.
pub(super) fn next_block(
    blocks: &mut Blocks<Stream>,
    input: &Input,
) -> Result<Option<Block>, ArchiveError> {
    blocks.next_block().map_err(|source| ArchiveError::Read {
        path: input.path().to_owned(),
        offset: blocks.offset(),
        source,
    })
}

/// Whether a block ends where a part of a former scan does; `hash` is that of the text up to there.
pub(super) fn ends_as(part: &Part, block: &Block, hash: &Xxh3) -> bool {
    let same_text = || part.end_hash.is_empty() || hexadecimal(hash.digest()) == part.end_hash;
    block.end_offset == part.end_offset && same_text()
}

/// The reading of a source.
pub(super) struct Reading<'a> {
    parameters: &'a Parameters,
    /// The last part of a former scan.
    done: Part,
    workers: Vec<Sender<Job>>,
    /// Whether games of blocks that are not written must be known.
    note_all: bool,
    steps: Sender<Step>,
    /// Blocks read.
    count: u64,
    /// Blocks up to the end of the last one of this stripe.
    own_end: u64,
    /// Of the text read.
    hash: Xxh3,
    /// Whether blocks were dealt out since the last end of a part.
    open: bool,
}

impl<'a> Reading<'a> {
    /// Reading that passes over the blocks up to the end of `done`.
    pub fn new(
        parameters: &'a Parameters,
        done: Part,
        note_all: bool,
        (steps, workers): (Sender<Step>, Vec<Sender<Job>>),
    ) -> Reading<'a> {
        Reading {
            parameters,
            done,
            workers,
            note_all,
            steps,
            count: 0,
            own_end: 0,
            hash: Xxh3::new(),
            open: false,
        }
    }

    /// Reads a text to its end, or until the writer has gone.
    pub fn run(mut self, text: Text<'_>) {
        // An error means that the writer has stopped; it reports its own error.
        let _ = match text {
            Text::File(input, before, stream) => self.file(input, before, *stream),
            Text::Bundle(bundle) => self.bundle(bundle),
        };
    }

    fn file(
        &mut self,
        input: &Input,
        before: (Option<u64>, Option<u64>),
        stream: Stream,
    ) -> Result<(), Stopped> {
        let progress = stream.progress();
        let mut blocks = Blocks::new(stream, sizes(self.parameters));
        let error = loop {
            match next_block(&mut blocks, input) {
                Ok(Some(block)) => self.block(block)?,
                Ok(None) => break None,
                Err(error) => break Some(error),
            }
        };
        self.end_part()?;
        let bytes = progress.bytes();
        let after = (input.size(), input.modified());
        let trailing_bytes = blocks.reader().trailing_bytes();
        let error = error.or_else(|| fault(input, before, after, bytes, trailing_bytes));
        self.send(Step::End(End {
            file: Some(Contents {
                bytes: Some(bytes),
                sha256: Some(blocks.reader().sha256()),
                modified: after.1,
            }),
            own_end: self.own_end,
            error,
        }))
    }

    fn bundle(&mut self, bundle: Bundle<'_>) -> Result<(), Stopped> {
        for piece in bundle {
            match piece {
                Piece::Block(block) => self.block(block)?,
                Piece::Read { file, about } => self.send(Step::Read { file, about })?,
                Piece::Apart { file } => self.send(Step::Apart { file })?,
            }
        }
        self.end_part()?;
        self.send(Step::End(End {
            file: None,
            own_end: self.own_end,
            error: None,
        }))
    }

    /// Completes the last part. A source without a single block still gets one, so that its
    /// tables are there.
    fn end_part(&mut self) -> Result<(), Stopped> {
        let empty = self.count == 0 && self.done.end_block == 0 && self.parameters.has_part(0);
        if self.open || empty {
            self.send(Step::EndOfPart)?;
        }
        Ok(())
    }

    fn send(&self, step: Step) -> Result<(), Stopped> {
        self.steps.send(step).map_err(|_| Stopped)
    }

    /// Deals a block out, unless it belongs to another stripe or a former scan.
    fn block(&mut self, block: Block) -> Result<(), Stopped> {
        self.count += 1;
        self.hash.update(&block.text);
        let number = block.number;
        let part_blocks = self.parameters.part_blocks;
        let worker = (number % self.workers.len() as u64) as usize;
        let deal = |block, written| {
            let job = Job { block, written };
            self.workers[worker].send(job).map_err(|_| Stopped)
        };
        let own = self.parameters.has_part(number / part_blocks);
        if own {
            self.own_end = self.count;
        }
        let done = self.count <= self.done.end_block;
        if own && done {
            self.compare(&block)?;
        }
        if !own || done {
            return if self.note_all {
                deal(block, false)
            } else {
                Ok(())
            };
        }
        deal(block, true)?;
        let hash = self.hash.digest();
        self.send(Step::Block {
            worker,
            number,
            hash,
        })?;
        self.open = !self.count.is_multiple_of(part_blocks);
        if self.open {
            Ok(())
        } else {
            self.send(Step::EndOfPart)
        }
    }

    /// Compares the text with that of the former scan where its last part ends.
    fn compare(&self, block: &Block) -> Result<(), Stopped> {
        let done = &self.done;
        if self.count < done.end_block || ends_as(done, block, &self.hash) {
            return Ok(());
        }
        self.send(Step::Changed)?;
        Err(Stopped)
    }
}

/// What is wrong with a file that was read to its end; `before` and `after` are its size and time.
fn fault(
    input: &Input,
    before: (Option<u64>, Option<u64>),
    after: (Option<u64>, Option<u64>),
    bytes: u64,
    trailing_bytes: u64,
) -> Option<ArchiveError> {
    if after != before || after.0.is_some_and(|size| size != bytes) {
        return Some(ArchiveError::ChangedWhileRead {
            path: input.path().to_owned(),
        });
    }
    (trailing_bytes > 0).then(|| ArchiveError::TrailingBytes {
        path: input.path().to_owned(),
        bytes: trailing_bytes,
    })
}
