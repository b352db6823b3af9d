//! The thread that reads an archive, cuts it into blocks and deals them out to the workers.

use crossbeam_channel::Sender;
use hobble_archive::ArchiveError;
use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_archive::listing::Input;
use hobble_archive::stream::Stream;
use hobble_terms::manifest::{Parameters, Part};
use xxhash_rust::xxh3::Xxh3;

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
    /// Write down how reading ended.
    End(End),
    /// Refuse the file: it does not begin with the text that former parts were made of.
    Changed,
}

/// How reading ended.
pub(super) struct End {
    pub bytes: u64,
    pub sha256: String,
    pub modified: Option<u64>,
    /// Blocks up to the end of the last one of this stripe.
    pub own_end: u64,
    pub error: Option<ArchiveError>,
}

/// A hash as the manifest spells it.
pub(super) fn hexadecimal(hash: u64) -> String {
    format!("{hash:016x}")
}

/// The receivers have gone, since writing failed: reading stops.
struct Stopped;

/// The reading of one archive.
pub(super) struct Reading<'a> {
    input: &'a Input,
    /// Size and time of the file before it was opened.
    before: (Option<u64>, Option<u64>),
    parameters: &'a Parameters,
    /// The last part of a former scan.
    done: Part,
    workers: Vec<Sender<Block>>,
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
        input: &'a Input,
        before: (Option<u64>, Option<u64>),
        parameters: &'a Parameters,
        done: Part,
        workers: Vec<Sender<Block>>,
        steps: Sender<Step>,
    ) -> Reading<'a> {
        Reading {
            input,
            before,
            parameters,
            done,
            workers,
            steps,
            count: 0,
            own_end: 0,
            hash: Xxh3::new(),
            open: false,
        }
    }

    /// Reads to the end, or until the writer has gone.
    pub fn run(mut self, stream: Stream) {
        // An error means that the writer has stopped; it reports its own error.
        let _ = self.read(stream);
    }

    fn read(&mut self, stream: Stream) -> Result<(), Stopped> {
        let progress = stream.progress();
        let sizes = Sizes {
            block: self.parameters.block_bytes,
            game: GAME_BYTES,
        };
        let mut blocks = Blocks::new(stream, sizes);
        let error = loop {
            match blocks.next_block() {
                Ok(Some(block)) => self.block(block)?,
                Ok(None) => break None,
                Err(error) => {
                    break Some(ArchiveError::Read {
                        path: self.input.path().to_owned(),
                        offset: blocks.offset(),
                        source: error,
                    });
                }
            }
        };
        // A source without a single block still gets a part, so that its tables are there.
        let empty = self.count == 0 && self.done.end_block == 0 && self.parameters.has_part(0);
        if self.open || empty {
            self.send(Step::EndOfPart)?;
        }
        let bytes = progress.bytes();
        let after = (self.input.size(), self.input.modified());
        let error = error.or_else(|| self.fault(after, bytes, blocks.reader().trailing_bytes()));
        self.send(Step::End(End {
            bytes,
            sha256: blocks.reader().sha256(),
            modified: after.1,
            own_end: self.own_end,
            error,
        }))
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
        if !self.parameters.has_part(number / part_blocks) {
            return Ok(());
        }
        self.own_end = self.count;
        if self.count <= self.done.end_block {
            return self.compare(&block);
        }
        let worker = (number % self.workers.len() as u64) as usize;
        self.workers[worker].send(block).map_err(|_| Stopped)?;
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
        let same_text =
            || done.end_hash.is_empty() || hexadecimal(self.hash.digest()) == done.end_hash;
        if self.count < done.end_block || block.end_offset == done.end_offset && same_text() {
            return Ok(());
        }
        self.send(Step::Changed)?;
        Err(Stopped)
    }

    /// What is wrong with a file that was read to its end; `after` are its size and time then.
    fn fault(
        &self,
        after: (Option<u64>, Option<u64>),
        bytes: u64,
        trailing_bytes: u64,
    ) -> Option<ArchiveError> {
        if after != self.before || after.0.is_some_and(|size| size != bytes) {
            return Some(ArchiveError::ChangedWhileRead {
                path: self.input.path().to_owned(),
            });
        }
        (trailing_bytes > 0).then(|| ArchiveError::TrailingBytes {
            path: self.input.path().to_owned(),
            bytes: trailing_bytes,
        })
    }
}
