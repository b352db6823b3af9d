//! Repeats found among files of keys.

use std::borrow::Cow;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};
use std::fs::{self, File};
use std::io::{self, BufWriter, Write as _};
use std::path::{Path, PathBuf};

use xxhash_rust::xxh3::xxh3_64;

use super::game_key::GameKey;
use super::key_files::{About, KeyFile};
use super::list::{COLUMNS, Line, PASS};
use super::register::{Original, Register};
use crate::error::Error;

/// What was found in a file of keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The list that was written.
    pub list: PathBuf,
    /// Games in the file.
    pub games: u64,
    /// Games of it that repeat another one.
    pub repeats: u64,
}

/// Goes through files of keys in the order of the archives, and writes a list of the repeats of
/// each into a folder: `NAME.csv`, where NAME is that of the source and its stripe. A list is called
/// `NAME.csv.unfinished` until it is whole; its first line names the pass. Files of one archive's stripes must
/// follow one another.
///
/// Memory: 34 bytes for each game that repeats none.
///
/// # Errors
///
/// Where files cannot be read or do not belong together, or lists cannot be written.
pub fn find(files: &[PathBuf], folder: &Path) -> Result<Vec<Found>, Error> {
    let about = |path: &PathBuf| Ok((path.clone(), KeyFile::open(path)?.about().clone()));
    let files: Vec<(PathBuf, About)> = files.iter().map(about).collect::<Result<_, Error>>()?;
    agree(&files)?;
    fs::create_dir_all(folder).map_err(Error::write(folder))?;
    let pass = pass(&files);
    let mut register = Register::default();
    let mut found = Vec::with_capacity(files.len());
    for stripes in files.chunk_by(|(_, a), (_, b)| a.source == b.source) {
        register.begin_source(&stripes[0].1.source);
        found.extend(archive(stripes, folder, &pass, &mut register)?);
    }
    Ok(found)
}

/// Name of a pass: a hash of the archives and stripes gone through, in their order. The shares of one pass
/// have it in common.
fn pass(files: &[(PathBuf, About)]) -> String {
    let names = files.iter().map(|(_, about)| about.name() + "\n");
    format!("{:016x}", xxh3_64(names.collect::<String>().as_bytes()))
}

/// Whether each file is there once, all hold the same share, and the stripes of an archive are
/// together.
fn agree(files: &[(PathBuf, About)]) -> Result<(), Error> {
    let mut seen = HashSet::new();
    let mut sources = HashSet::new();
    let mut before: Option<&About> = None;
    for (path, about) in files {
        let wrong = |what| {
            Err(Error::Keys {
                path: path.clone(),
                what,
            })
        };
        if before.is_some_and(|one| (one.share, one.shares) != (about.share, about.shares)) {
            return wrong("holds another share of the keys than the file before");
        }
        if !seen.insert(about.name()) {
            return wrong("holds the keys of a source that is there already");
        }
        let follows = before.is_some_and(|one| one.source == about.source);
        if !follows && !sources.insert(&about.source) {
            return wrong("does not stand beside the other stripes of its archive");
        }
        if before.is_some_and(|one| one.source == about.source && one.stripe.of != about.stripe.of)
        {
            return wrong("is cut into another number of stripes than the file before");
        }
        before = Some(about);
    }
    Ok(())
}

/// Looks through the stripes of one archive.
fn archive(
    stripes: &[(PathBuf, About)],
    folder: &Path,
    pass: &str,
    register: &mut Register,
) -> Result<Vec<Found>, Error> {
    let open = |(path, _): &(PathBuf, About)| Open::new(KeyFile::open(path)?, folder, pass);
    let mut stripes: Vec<Open> = stripes.iter().map(open).collect::<Result<_, _>>()?;
    // The next game of each stripe, by its number.
    let mut next = BinaryHeap::new();
    for (at, stripe) in stripes.iter_mut().enumerate() {
        next.extend(stripe.advance()?.map(|number| Reverse((number, at))));
    }
    while let Some(Reverse((_, at))) = next.pop() {
        let stripe = &mut stripes[at];
        if let Some(key) = stripe.key
            && let Some(original) = register.ask(&key)
        {
            stripe.write(&key, &original)?;
        }
        next.extend(stripe.advance()?.map(|number| Reverse((number, at))));
    }
    stripes.into_iter().map(Open::finish).collect()
}

/// A stripe with its list.
struct Open {
    file: KeyFile,
    /// The key that is looked at.
    key: Option<GameKey>,
    list: csv::Writer<BufWriter<File>>,
    /// Where the list is written until it is whole.
    unfinished: PathBuf,
    found: Found,
}

impl Open {
    fn new(file: KeyFile, folder: &Path, pass: &str) -> Result<Open, Error> {
        let path = folder.join(format!("{}.csv", file.about().name()));
        let unfinished = path.with_added_extension("unfinished");
        let list = File::create(&unfinished).map_err(Error::write(&unfinished))?;
        let mut list = BufWriter::new(list);
        writeln!(list, "{PASS}{pass}").map_err(Error::write(&unfinished))?;
        let mut list = csv::WriterBuilder::new()
            .has_headers(false)
            .from_writer(list);
        list.write_record(COLUMNS)
            .map_err(Error::csv(&unfinished))?;
        Ok(Open {
            file,
            key: None,
            list,
            unfinished,
            found: Found {
                list: path,
                games: 0,
                repeats: 0,
            },
        })
    }

    /// Goes on to the next game; returns its number.
    fn advance(&mut self) -> Result<Option<u32>, Error> {
        let last = self.key.map(|key| key.number());
        self.key = self.file.next_key()?;
        let number = self.key.map(|key| key.number());
        self.found.games += u64::from(number.is_some());
        if number.is_some() && number <= last {
            return Err(Error::Keys {
                path: self.file.path().to_owned(),
                what: "holds games that are not in the order of the archive",
            });
        }
        Ok(number)
    }

    fn write(&mut self, key: &GameKey, original: &Original) -> Result<(), Error> {
        self.found.repeats += 1;
        let line = Line {
            game: key.number(),
            key: Cow::Owned(format!("{:016x}", key.hash())),
            original_source: &original.source,
            original_game: original.number,
        };
        self.list
            .serialize(line)
            .map_err(Error::csv(&self.unfinished))
    }

    /// Gives the list its name, now that it is whole.
    fn finish(self) -> Result<Found, Error> {
        let file = self.list.into_inner().map_err(|error| error.into_error());
        file.and_then(|file| file.into_inner().map_err(io::IntoInnerError::into_error))
            .and_then(|file| file.sync_all())
            .map_err(Error::write(&self.unfinished))?;
        let list = &self.found.list;
        fs::rename(&self.unfinished, list).map_err(Error::write(list))?;
        Ok(self.found)
    }
}
