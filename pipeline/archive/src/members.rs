//! The packed pieces of a file, one after the other, and the bytes behind the last.
//!
//! A packed file may be several put together (members of gzip, frames of zstd, streams of
//! bzip2). Bytes behind a whole piece that start no other one are trailing bytes: they are
//! read, so that count and hash are of the whole file, but not unpacked.

use std::io::{self, BufRead, Read};

use bzip2::bufread::BzDecoder;
use flate2::bufread::GzDecoder;

use crate::format::Format;

/// Size of the reads from the file.
const READ_BYTES: usize = 256 * 1024;

/// A buffered reader whose next bytes can be looked at.
pub struct Source<R> {
    inner: R,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
}

impl<R: Read> Source<R> {
    /// Reads from where the inner reader is.
    pub fn new(inner: R) -> Source<R> {
        Source {
            inner,
            buffer: vec![0; READ_BYTES],
            start: 0,
            end: 0,
        }
    }

    /// The next bytes, at most [`Format::HEAD`]; fewer only before the end.
    fn head(&mut self) -> io::Result<&[u8]> {
        while self.end - self.start < Format::HEAD {
            self.buffer.copy_within(self.start..self.end, 0);
            self.end -= self.start;
            self.start = 0;
            match self.inner.read(&mut self.buffer[self.end..]) {
                Ok(0) => break,
                Ok(length) => self.end += length,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        let end = self.end.min(self.start + Format::HEAD);
        Ok(&self.buffer[self.start..end])
    }
}

impl<R: Read> Read for Source<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let own = self.fill_buf()?;
        let length = own.len().min(buffer.len());
        buffer[..length].copy_from_slice(&own[..length]);
        self.consume(length);
        Ok(length)
    }
}

impl<R: Read> BufRead for Source<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.start == self.end {
            self.start = 0;
            self.end = 0;
            self.end = self.inner.read(&mut self.buffer)?;
        }
        Ok(&self.buffer[self.start..self.end])
    }

    fn consume(&mut self, length: usize) {
        self.start = self.end.min(self.start + length);
    }
}

enum Member<R: Read> {
    Plain(Source<R>),
    Zstd(zstd::stream::read::Decoder<'static, Source<R>>),
    Gzip(Box<GzDecoder<Source<R>>>),
    Bzip2(BzDecoder<Source<R>>),
}

impl<R: Read> Member<R> {
    fn open(format: Format, source: Source<R>) -> io::Result<Member<R>> {
        Ok(match format {
            Format::Plain => Member::Plain(source),
            Format::Zstd => {
                Member::Zstd(zstd::stream::read::Decoder::with_buffer(source)?.single_frame())
            }
            Format::Gzip => Member::Gzip(Box::new(GzDecoder::new(source))),
            Format::Bzip2 => Member::Bzip2(BzDecoder::new(source)),
        })
    }

    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self {
            Member::Plain(source) => source.read(buffer),
            Member::Zstd(decoder) => decoder.read(buffer),
            Member::Gzip(decoder) => decoder.read(buffer),
            Member::Bzip2(decoder) => decoder.read(buffer),
        }
    }

    fn into_source(self) -> Source<R> {
        match self {
            Member::Plain(source) => source,
            Member::Zstd(decoder) => decoder.finish(),
            Member::Gzip(decoder) => decoder.into_inner(),
            Member::Bzip2(decoder) => decoder.into_inner(),
        }
    }
}

/// The text of all members.
pub struct Members<R: Read> {
    format: Format,
    member: Option<Member<R>>,
    trailing_bytes: u64,
}

impl<R: Read> Members<R> {
    /// Opens a source by its first bytes.
    ///
    /// # Errors
    ///
    /// Where they cannot be read.
    pub fn open(mut source: Source<R>) -> io::Result<Members<R>> {
        let format = Format::of(source.head()?);
        Ok(Members {
            format,
            member: Some(Member::open(format, source)?),
            trailing_bytes: 0,
        })
    }

    /// How the file is packed.
    pub fn format(&self) -> Format {
        self.format
    }

    /// Bytes behind the last member; known at the end.
    pub fn trailing_bytes(&self) -> u64 {
        self.trailing_bytes
    }
}

impl<R: Read> Read for Members<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if buffer.is_empty() {
            return Ok(0);
        }
        loop {
            let Some(member) = &mut self.member else {
                return Ok(0);
            };
            let length = member.read(buffer)?;
            if length > 0 {
                return Ok(length);
            }
            let Some(mut source) = self.member.take().map(Member::into_source) else {
                return Ok(0);
            };
            let head = source.head()?;
            if head.is_empty() {
                return Ok(0);
            }
            if Format::of(head) == self.format {
                self.member = Some(Member::open(self.format, source)?);
            } else {
                self.trailing_bytes = io::copy(&mut source, &mut io::sink())?;
            }
        }
    }
}
