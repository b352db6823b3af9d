//! A file as a stream of unpacked bytes, counted and hashed on the way.

use std::fs::File;
use std::io::{self, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sha2::{Digest, Sha256};

use crate::ArchiveError;
use crate::format::Format;
use crate::listing::Input;
use crate::members::{Members, Source};

/// How much of a file, as it is stored, has been read.
#[derive(Clone, Default)]
pub struct Progress {
    bytes: Arc<AtomicU64>,
}

impl Progress {
    /// Bytes of the file read so far.
    pub fn bytes(&self) -> u64 {
        self.bytes.load(Ordering::Relaxed)
    }
}

/// Counts and hashes the bytes read through it.
struct Tap<R> {
    inner: R,
    progress: Progress,
    hash: Arc<std::sync::Mutex<Sha256>>,
}

impl<R: Read> Read for Tap<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let length = self.inner.read(buffer)?;
        self.progress
            .bytes
            .fetch_add(length as u64, Ordering::Relaxed);
        if let Ok(mut hash) = self.hash.lock() {
            hash.update(&buffer[..length]);
        }
        Ok(length)
    }
}

/// An opened archive.
pub struct Stream {
    members: Members<Tap<Box<dyn Read + Send>>>,
    progress: Progress,
    hash: Arc<std::sync::Mutex<Sha256>>,
}

impl Stream {
    /// Opens a file or standard input.
    ///
    /// # Errors
    ///
    /// Where it cannot be opened or its first bytes cannot be read.
    pub fn open(input: &Input) -> Result<Stream, ArchiveError> {
        let error = |source| ArchiveError::Open {
            path: input.path().to_owned(),
            source,
        };
        let raw: Box<dyn Read + Send> = match input {
            Input::File(path) => Box::new(File::open(path).map_err(error)?),
            Input::Stdin => Box::new(io::stdin()),
        };
        Stream::unpack(raw).map_err(error)
    }

    /// Unpacks what a reader gives, by its first bytes.
    ///
    /// # Errors
    ///
    /// Where the first bytes cannot be read.
    pub fn unpack(raw: Box<dyn Read + Send>) -> io::Result<Stream> {
        let progress = Progress::default();
        let hash = Arc::new(std::sync::Mutex::new(Sha256::new()));
        let tap = Tap {
            inner: raw,
            progress: progress.clone(),
            hash: hash.clone(),
        };
        Ok(Stream {
            members: Members::open(Source::new(tap))?,
            progress,
            hash,
        })
    }

    /// How the file is packed.
    pub fn format(&self) -> Format {
        self.members.format()
    }

    /// Bytes behind the packed text that are not packed text; known at the end.
    pub fn trailing_bytes(&self) -> u64 {
        self.members.trailing_bytes()
    }

    /// A handle that shows how much of the file has been read.
    pub fn progress(&self) -> Progress {
        self.progress.clone()
    }

    /// SHA-256 of the bytes of the file read so far, in hexadecimal.
    pub fn sha256(&self) -> String {
        let digest = match self.hash.lock() {
            Ok(hash) => hash.clone().finalize(),
            Err(poisoned) => poisoned.into_inner().clone().finalize(),
        };
        hexadecimal(&digest)
    }
}

impl Read for Stream {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.members.read(buffer)
    }
}

/// SHA-256 of bytes, in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

fn hexadecimal(digest: &[u8]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Bytes and SHA-256 of a file as it is stored, or of standard input.
///
/// # Errors
///
/// Where it cannot be opened or read.
pub fn hashed(input: &Input) -> Result<(u64, String), ArchiveError> {
    let error = |source| ArchiveError::Open {
        path: input.path().to_owned(),
        source,
    };
    let mut raw: Box<dyn Read> = match input {
        Input::File(path) => Box::new(File::open(path).map_err(error)?),
        Input::Stdin => Box::new(io::stdin()),
    };
    let mut hash = Sha256::new();
    let bytes = io::copy(&mut raw, &mut hash).map_err(error)?;
    Ok((bytes, hexadecimal(&hash.finalize())))
}
