//! Tables that were scanned apart joined under one manifest.
//!
//! Stripes of one archive fit together because each part is written by one stripe and comes
//! out as an undivided scan would write it. Files are moved first, the manifest is written
//! last: until then the joined folder is what it was, and the same call goes on.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use hobble_terms::manifest::{Manifest, OneFile, Repeats, Size, Source, Stripe};
use hobble_terms::table::ALL_SOURCES;
use hobble_terms::{Band, Table};

use crate::error::Error;
use crate::of_all_parts;
use crate::part::{self, UNFINISHED};
use crate::scan::{known_games, lock};

/// An archive with the scans of its stripes.
struct Joined {
    source: Source,
    first: PathBuf,
    of: u64,
    stripes: BTreeSet<u64>,
}

/// A folder whose cubes were added up to one, with the sources in it.
struct FolderCube {
    file: PathBuf,
    sources: Vec<String>,
}

/// Joins the manifests of folders of tables, and checks that they fit: the same definitions,
/// columns and parameters, every archive read to its end, every stripe there once, no part
/// missing.
///
/// # Errors
///
/// Where they do not.
pub fn join(folders: &[PathBuf]) -> Result<Manifest, Error> {
    Ok(join_all(folders)?.manifest)
}

/// Scans joined.
struct All {
    /// The joined manifest, without the cubes of folders that have one for all their parts.
    manifest: Manifest,
    cubes: Vec<FolderCube>,
    /// Whether each scan was given a list of its repeats; the lists are of one pass.
    repeats_listed: bool,
}

fn join_all(folders: &[PathBuf]) -> Result<All, Error> {
    let mut cubes = Vec::new();
    let mut repeats_listed = true;
    let mut pass: Option<(&PathBuf, String)> = None;
    let mut whole: Option<(PathBuf, Manifest)> = None;
    let mut joined: Vec<Joined> = Vec::new();
    for folder in folders {
        let mut manifest = Manifest::load(folder)?.ok_or_else(|| Error::NoManifest {
            folder: folder.clone(),
        })?;
        let width = manifest.parameters.band_width;
        if width != Band::WIDTH {
            return Err(Error::BandWidth {
                folder: folder.clone(),
                width,
            });
        }
        let stripe = manifest.parameters.stripe.take();
        let list = manifest.parameters.repeats_list.take();
        match manifest.parameters.repeats_pass.take() {
            Some(own) if list.is_some() => {
                let (other, first) = pass.get_or_insert_with(|| (folder, own.clone()));
                if *first != own {
                    return Err(Error::OtherPass {
                        folder: folder.clone(),
                        other: other.clone(),
                    });
                }
            }
            // Lists of older programs do not name their pass.
            _ => repeats_listed = false,
        }
        let stripe = stripe.unwrap_or(Stripe { index: 0, of: 1 });
        let file = manifest.cube_file(folder);
        manifest.cube = None;
        manifest.players = None;
        let sources = std::mem::take(&mut manifest.sources);
        cubes.extend(file.map(|file| FolderCube {
            file,
            sources: sources.iter().map(|one| one.source.clone()).collect(),
        }));
        match &whole {
            Some((other, first)) => agree(folder, &manifest, other, first)?,
            None => whole = Some((folder.clone(), manifest)),
        }
        for source in sources {
            add(&mut joined, source, stripe, folder)?;
        }
    }
    let Some((_, mut manifest)) = whole else {
        return Err(Error::NoFolder);
    };
    for one in &mut joined {
        one.finish(manifest.parameters.part_blocks)?;
    }
    manifest.sources = joined.into_iter().map(|one| one.source).collect();
    manifest.complete = true;
    manifest.add_up();
    Ok(All {
        manifest,
        cubes,
        repeats_listed,
    })
}

fn agree(folder: &Path, ours: &Manifest, other: &Path, theirs: &Manifest) -> Result<(), Error> {
    let differ = |what| {
        Err(Error::Differ {
            folder: folder.to_owned(),
            what,
            other: other.to_owned(),
        })
    };
    if ours.hobble != theirs.hobble {
        return differ("version of the program");
    }
    if ours.schemas != theirs.schemas {
        return differ("version of the columns");
    }
    if ours.parameters != theirs.parameters {
        return differ(
            "parameters (tables, bands, time cuts, sample, pseudonyms, sizes of blocks and parts)",
        );
    }
    Ok(())
}

fn add(
    joined: &mut Vec<Joined>,
    source: Source,
    stripe: Stripe,
    folder: &Path,
) -> Result<(), Error> {
    if !source.complete {
        return Err(Error::Incomplete {
            folder: folder.to_owned(),
            file: source.file,
        });
    }
    let Some(known) = joined
        .iter_mut()
        .find(|one| one.source.source == source.source)
    else {
        joined.push(Joined {
            source,
            first: folder.to_owned(),
            of: stripe.of,
            stripes: BTreeSet::from([stripe.index]),
        });
        return Ok(());
    };
    let (a, b) = (&known.source, &source);
    if a.file != b.file || !a.contents.is_same(&b.contents) {
        return Err(Error::OtherBytes {
            folder: folder.to_owned(),
            file: source.file,
            other: known.first.clone(),
        });
    }
    if known.of != stripe.of || !known.stripes.insert(stripe.index) {
        let what = if known.of == stripe.of {
            format!("stripe {stripe} is given twice")
        } else {
            format!("cut into {} stripes and into {}", known.of, stripe.of)
        };
        let file = source.file;
        return Err(Error::Stripes { file, what });
    }
    known.source.agree_on_time(&source);
    known.source.join_provenance(&source);
    known.source.parts.extend(source.parts);
    Ok(())
}

impl Joined {
    fn finish(&mut self, part_blocks: u64) -> Result<(), Error> {
        let wrong = |what| {
            Err(Error::Stripes {
                file: self.source.file.clone(),
                what,
            })
        };
        if let Some(missing) = (0..self.of).find(|index| !self.stripes.contains(index)) {
            return wrong(format!("stripe {missing}/{} is missing", self.of));
        }
        let parts = &mut self.source.parts;
        parts.sort_by_key(|part| part.part);
        for (number, part) in (0..).zip(&*parts) {
            let last = number + 1 == parts.len() as u64;
            let end = (number + 1) * part_blocks;
            let fits = if last {
                // An archive without any game has one part without a block.
                part.end_block <= end && (part.end_block > number * part_blocks || number == 0)
            } else {
                part.end_block == end
            };
            if part.part != number || !fits {
                return wrong(format!("part {number} is missing or not whole"));
            }
        }
        self.source.add_up();
        Ok(())
    }
}

/// Moves the files of the tables to their places in the joined folder and writes the joined
/// manifest there. Archives that the joined folder has already stay in it.
///
/// # Errors
///
/// Where scans do not fit together, or files cannot be moved.
pub fn gather(folders: &[PathBuf], out: &Path) -> Result<Manifest, Error> {
    let All {
        mut manifest,
        mut cubes,
        mut repeats_listed,
    } = join_all(folders)?;
    fs::create_dir_all(out).map_err(Error::write(out))?;
    let _lock = lock(out)?;
    let mut repeats_kept = None;
    if let Some(mut old) = Manifest::load(out)? {
        manifest.cube = old.cube.take();
        let given = manifest.sources.len();
        let others = std::mem::take(&mut old.sources);
        let known = others.len();
        let is_there = |source: &String| others.iter().any(|one| one.source == *source);
        cubes.retain(|cube| !cube.sources.iter().all(is_there));
        agree(out, &old, &folders[0], &manifest)?;
        keep(&mut manifest, others, out, &folders[0])?;
        manifest.complete = manifest.sources.iter().all(|source| source.complete);
        // A pass over the archives given need not have seen others that are there.
        repeats_listed &= manifest.sources.len() == given;
        // Of the same archives the players are the same, and so are the repeats.
        if manifest.sources.len() == known {
            repeats_kept = old.repeats_kept;
            manifest.players = of_all_there(out, Table::Players, old.players)?;
        }
    }
    for source in &manifest.sources {
        for part in &source.parts {
            for (&table, &size) in &part.tables {
                let file = table.part_file(Path::new(""), &source.source, part.part);
                place(folders, out, &file, size)?;
            }
        }
    }
    if manifest.complete {
        let files: Vec<PathBuf> = cubes.into_iter().map(|cube| cube.file).collect();
        of_all_parts::write(out, &mut manifest, &files)?;
        // Players of some archives, which are not needed any more.
        for folder in folders.iter().filter(|folder| *folder != out) {
            let _ = fs::remove_dir_all(Table::Players.folder(folder));
        }
    }
    // Within an archive they are left out already.
    if manifest.parameters.repeats == Repeats::LeaveOut && manifest.sources.len() > 1 {
        manifest.repeats_kept = Some(match repeats_kept {
            Some(counted) => counted,
            None if repeats_listed => 0,
            None => known_games::repeats(out, &manifest)?,
        });
    }
    manifest.save(out)?;
    part::clear(out)?;
    Ok(manifest)
}

/// Puts the sources that are there already into the joined manifest, at their old places.
fn keep(
    manifest: &mut Manifest,
    there: Vec<Source>,
    out: &Path,
    given: &Path,
) -> Result<(), Error> {
    for (at, mut source) in there.into_iter().enumerate() {
        let sources = &mut manifest.sources;
        match sources.iter_mut().find(|new| new.source == source.source) {
            Some(new) if new.is_scan_of_same(&source) => {
                source.agree_on_time(new);
                source.join_provenance(new);
                *new = source;
            }
            Some(_) => {
                return Err(Error::OtherBytes {
                    folder: out.to_owned(),
                    file: source.file,
                    other: given.to_owned(),
                });
            }
            None => sources.insert(at.min(sources.len()), source),
        }
    }
    Ok(())
}

/// Writes only the joined manifest, for tables whose files are elsewhere.
///
/// # Errors
///
/// Where scans do not fit together, or the manifest cannot be written.
pub fn gather_manifest(folders: &[PathBuf], out: &Path) -> Result<Manifest, Error> {
    let All {
        mut manifest,
        cubes,
        repeats_listed,
    } = join_all(folders)?;
    if let Some(cube) = cubes.into_iter().next() {
        return Err(Error::CubeApart { path: cube.file });
    }
    let leaves_out = manifest.parameters.repeats == Repeats::LeaveOut;
    if leaves_out && manifest.sources.len() > 1 && repeats_listed {
        manifest.repeats_kept = Some(0);
    }
    fs::create_dir_all(out).map_err(Error::write(out))?;
    manifest.save(out)?;
    Ok(manifest)
}

/// The file of a table for all sources, if it is there as the manifest says.
fn of_all_there(
    folder: &Path,
    table: Table,
    file: Option<OneFile>,
) -> Result<Option<OneFile>, Error> {
    let Some(file) = file else {
        return Ok(None);
    };
    let found = length(&table.part_file(folder, ALL_SOURCES, file.part))?;
    Ok((found == Some(file.size.bytes)).then_some(file))
}

/// Puts a file in its place, unless a former call has; `file` is its path in a folder.
fn place(folders: &[PathBuf], out: &Path, file: &Path, size: Size) -> Result<(), Error> {
    let target = out.join(file);
    if length(&target)? == Some(size.bytes) {
        return Ok(());
    }
    for folder in folders {
        let from = folder.join(file);
        match length(&from)? {
            None => {}
            Some(bytes) if bytes == size.bytes => return move_file(&from, out, &target),
            Some(found) => {
                return Err(Error::Size {
                    path: from,
                    found,
                    expected: size.bytes,
                });
            }
        }
    }
    Err(Error::NotFound { path: target })
}

/// Length of a file; `None` where there is none.
fn length(path: &Path) -> Result<Option<u64>, Error> {
    match fs::metadata(path) {
        Ok(about) => Ok(Some(about.len())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Error::read(path)(error)),
    }
}

/// Moves a file into the joined folder, which may be on another file system.
fn move_file(from: &Path, out: &Path, target: &Path) -> Result<(), Error> {
    fs::create_dir_all(target.parent().unwrap_or(out)).map_err(Error::write(target))?;
    match fs::rename(from, target) {
        Err(error) if error.kind() == io::ErrorKind::CrossesDevices => {
            let unfinished = out.join(UNFINISHED);
            let copy = unfinished.join("moving.parquet");
            fs::create_dir_all(&unfinished)
                .and_then(|()| fs::copy(from, &copy))
                .and_then(|_| fs::File::open(&copy)?.sync_all())
                .and_then(|()| fs::rename(&copy, target))
                .and_then(|()| fs::remove_file(from))
                .map_err(Error::write(target))
        }
        moved => moved.map_err(Error::write(target)),
    }
}
