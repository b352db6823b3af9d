//! Which files an argument of the command line means.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::ArchiveError;

/// One thing to read.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Input {
    /// A file.
    File(PathBuf),
    /// Standard input.
    Stdin,
}

impl Input {
    /// Name in tables and messages. Bytes that are not UTF-8 are written as `\\xff`, so that
    /// no two files have one name.
    pub fn name(&self) -> String {
        match self {
            Input::File(path) => {
                let mut name = String::new();
                for chunk in path.as_os_str().as_encoded_bytes().utf8_chunks() {
                    name.push_str(chunk.valid());
                    for byte in chunk.invalid() {
                        name.push_str(&format!("\\x{byte:02x}"));
                    }
                }
                name
            }
            Input::Stdin => "-".to_owned(),
        }
    }

    /// The path to name in an error.
    pub fn path(&self) -> &Path {
        match self {
            Input::File(path) => path,
            Input::Stdin => Path::new("standard input"),
        }
    }

    /// Size of a file in bytes; `None` for other inputs.
    pub fn size(&self) -> Option<u64> {
        match self {
            Input::File(path) => fs::metadata(path)
                .ok()
                .filter(|m| m.is_file())
                .map(|m| m.len()),
            Input::Stdin => None,
        }
    }

    /// Time of the last write to a file, in nanoseconds since 1970; `None` for other inputs.
    pub fn modified(&self) -> Option<u64> {
        match self {
            Input::File(path) => {
                let about = fs::metadata(path).ok().filter(|m| m.is_file())?;
                let time = about.modified().ok()?;
                let since = time.duration_since(std::time::UNIX_EPOCH).ok()?;
                u64::try_from(since.as_nanos()).ok()
            }
            Input::Stdin => None,
        }
    }
}

const ENDINGS: [&str; 4] = [".pgn", ".pgn.zst", ".pgn.gz", ".pgn.bz2"];

/// Files meant by the arguments, in their order: `-` is standard input, a folder all
/// archives in it and below, by name.
///
/// # Errors
///
/// Where a file cannot be found, a folder holds none, or one file is meant twice.
pub fn list(arguments: &[PathBuf]) -> Result<Vec<Input>, ArchiveError> {
    let mut inputs = Vec::new();
    for argument in arguments {
        if argument.as_os_str() == "-" {
            inputs.push(Input::Stdin);
            continue;
        }
        let about = fs::metadata(argument).map_err(|error| open_error(argument, error))?;
        if about.is_dir() {
            let before = inputs.len();
            walk(argument, &mut inputs)?;
            if inputs.len() == before {
                return Err(ArchiveError::EmptyFolder {
                    path: argument.clone(),
                });
            }
        } else {
            inputs.push(Input::File(argument.clone()));
        }
    }
    let mut seen = HashSet::new();
    for input in &inputs {
        if !seen.insert(identity(input)) {
            return Err(ArchiveError::NamedTwice {
                path: input.path().to_owned(),
            });
        }
    }
    Ok(inputs)
}

/// Identity of an input: a file's number in the file system, so that a hard link is the same
/// file too.
#[cfg(unix)]
fn identity(input: &Input) -> (PathBuf, u64, u64) {
    use std::os::unix::fs::MetadataExt as _;
    match input {
        Input::File(path) => match fs::metadata(path) {
            Ok(about) if about.is_file() => (PathBuf::new(), about.dev(), about.ino()),
            _ => (path.clone(), 0, 0),
        },
        Input::Stdin => (PathBuf::from("-"), 0, 0),
    }
}

/// Identity of an input.
#[cfg(not(unix))]
fn identity(input: &Input) -> PathBuf {
    match input {
        Input::File(path) => path.canonicalize().unwrap_or_else(|_| path.clone()),
        Input::Stdin => PathBuf::from("-"),
    }
}

fn walk(folder: &Path, inputs: &mut Vec<Input>) -> Result<(), ArchiveError> {
    let entries = fs::read_dir(folder).map_err(|error| open_error(folder, error))?;
    let mut paths = entries
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| open_error(folder, error))?;
    paths.sort();
    for path in paths {
        // A link to a folder is not followed: it may lead back up.
        let about = fs::symlink_metadata(&path).map_err(|error| open_error(&path, error))?;
        if about.is_dir() {
            walk(&path, inputs)?;
        } else {
            let name = path.to_string_lossy().to_lowercase();
            if ENDINGS.iter().any(|ending| name.ends_with(ending)) {
                inputs.push(Input::File(path));
            }
        }
    }
    Ok(())
}

fn open_error(path: &Path, source: std::io::Error) -> ArchiveError {
    ArchiveError::Open {
        path: path.to_owned(),
        source,
    }
}
