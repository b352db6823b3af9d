//! The games of former scans, from the archives' text, where the tables hold pseudonyms: repeats
//! are found by the players' own names.

use std::sync::Arc;

use hobble_archive::block::{Block, Blocks};
use hobble_archive::bundle::{Bundle, Piece};
use hobble_archive::stream::Stream;
use hobble_terms::manifest::{Manifest, Part, Source};
use xxhash_rust::xxh3::Xxh3;

use super::plan::Files;
use super::reading::{ends_as, next_block, sizes};
use crate::error::Error;
use crate::gather::Gatherer;
use crate::layouts::Layouts;
use crate::repeats::Register;

/// A register of the games up to the end of the last part of each source, in the order of the
/// manifest; `planned` are the files of this scan.
///
/// # Errors
///
/// Where an archive that has parts is not among the files, or is not what it was.
pub(super) fn register(
    manifest: &Manifest,
    planned: &[(usize, Files<'_>)],
    layouts: &Arc<Layouts>,
) -> Result<Register, Error> {
    let mut gatherer = Gatherer::new(layouts.clone(), manifest.parameters.cuts());
    let mut register = Register::default();
    for (at, source) in manifest.sources.iter().enumerate() {
        register.begin_source(&source.source);
        let Some(done) = source.parts.last().filter(|part| part.end_block > 0) else {
            continue;
        };
        let files = planned.iter().find(|(place, _)| *place == at);
        let (_, files) = files.ok_or_else(|| Error::NamesElsewhere {
            file: source.file.clone(),
        })?;
        let mut replay = Replay {
            source,
            done,
            hash: Xxh3::new(),
            blocks: 0,
        };
        replay.each(files, manifest, |block| {
            for game in gatherer.keys(block) {
                register.ask(&game);
            }
        })?;
    }
    Ok(register)
}

/// One source read up to the end of its last part.
struct Replay<'a> {
    source: &'a Source,
    done: &'a Part,
    /// Of the text read.
    hash: Xxh3,
    blocks: u64,
}

impl Replay<'_> {
    fn each(
        &mut self,
        files: &Files<'_>,
        manifest: &Manifest,
        mut take: impl FnMut(&Block),
    ) -> Result<(), Error> {
        let sizes = sizes(&manifest.parameters);
        match files {
            Files::One(input) => {
                let mut blocks = Blocks::new(Stream::open(input)?, sizes);
                while !self.is_done() {
                    let Some(block) = next_block(&mut blocks, input)? else {
                        break;
                    };
                    self.block(&block)?;
                    take(&block);
                }
            }
            Files::Bundle(inputs) => {
                let mut pieces = Bundle::new(inputs.iter().copied(), sizes, |_| ());
                while !self.is_done() {
                    match pieces.next() {
                        Some(Piece::Block(block)) => {
                            self.block(&block)?;
                            take(&block);
                        }
                        Some(_) => {}
                        None => break,
                    }
                }
            }
        }
        if self.is_done() {
            Ok(())
        } else {
            Err(self.changed())
        }
    }

    fn is_done(&self) -> bool {
        self.blocks == self.done.end_block
    }

    /// Compares the text with that of the former scan where its last part ends.
    fn block(&mut self, block: &Block) -> Result<(), Error> {
        self.blocks += 1;
        self.hash.update(&block.text);
        if self.is_done() && !ends_as(self.done, block, &self.hash) {
            return Err(self.changed());
        }
        Ok(())
    }

    fn changed(&self) -> Error {
        Error::Changed {
            file: self.source.file.clone(),
        }
    }
}
