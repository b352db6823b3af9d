//! Tables that were scanned apart joined under one manifest.
//!
//! Stripes of one archive fit together because each part is written by one stripe and comes
//! out as an undivided scan would write it. Files are moved first, the manifest is written
//! last: until then the joined folder is what it was, and the same call goes on.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::part::{self, UNFINISHED};
use crate::scan::{ScanError, lock};
use hobble_terms::manifest::{Manifest, ManifestError, Size, Source, Stripe};

/// What can stop a join.
#[derive(Debug, thiserror::Error)]
pub enum JoinError {
    /// A manifest cannot be used.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// The joined folder cannot be written.
    #[error(transparent)]
    Write(#[from] ScanError),
    /// A folder has no manifest.
    #[error("{folder}: holds no manifest.json: no scan, or one that has not begun", folder = folder.display())]
    NoManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// A scan has not come to its end.
    #[error("{folder}: {file} was not read to its end; scan it again", folder = folder.display())]
    Incomplete {
        /// The folder.
        folder: PathBuf,
        /// The archive.
        file: String,
    },
    /// Two scans differ in what must be the same.
    #[error("{folder}: made with other {what} than {other}", folder = folder.display(), other = other.display())]
    Differ {
        /// The folder.
        folder: PathBuf,
        /// What differs.
        what: &'static str,
        /// The folder it differs from.
        other: PathBuf,
    },
    /// Stripes of one archive were read from different bytes.
    #[error("{folder}: {file} is not the archive of that name in {other}", folder = folder.display(), other = other.display())]
    OtherBytes {
        /// The folder.
        folder: PathBuf,
        /// The archive.
        file: String,
        /// The folder it differs from.
        other: PathBuf,
    },
    /// Not all stripes of an archive are there, or not once each.
    #[error("{file}: {what}")]
    Stripes {
        /// The archive.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// A file of a table is missing or has another size than its manifest says.
    #[error("{path}: {what}", path = path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
}

/// An archive with the scans of its stripes.
struct Joined {
    source: Source,
    first: PathBuf,
    of: u64,
    stripes: BTreeSet<u64>,
}

/// Joins the manifests of folders of tables, and checks that they fit: the same definitions,
/// columns and parameters, every archive read to its end, every stripe there once, no part
/// missing.
///
/// # Errors
///
/// Where they do not.
pub fn join(folders: &[PathBuf]) -> Result<Manifest, JoinError> {
    let mut whole: Option<(PathBuf, Manifest)> = None;
    let mut joined: Vec<Joined> = Vec::new();
    for folder in folders {
        let mut manifest = Manifest::load(folder)?.ok_or_else(|| JoinError::NoManifest {
            folder: folder.clone(),
        })?;
        let stripe = manifest.parameters.stripe.take();
        let stripe = stripe.unwrap_or(Stripe { index: 0, of: 1 });
        let sources = std::mem::take(&mut manifest.sources);
        match &whole {
            Some((other, first)) => agree(folder, &manifest, other, first)?,
            None => whole = Some((folder.clone(), manifest)),
        }
        for source in sources {
            add(&mut joined, source, stripe, folder)?;
        }
    }
    let Some((_, mut manifest)) = whole else {
        return Err(JoinError::NoManifest {
            folder: PathBuf::new(),
        });
    };
    for one in &mut joined {
        one.finish(manifest.parameters.part_blocks)?;
    }
    manifest.sources = joined.into_iter().map(|one| one.source).collect();
    manifest.complete = true;
    manifest.add_up();
    Ok(manifest)
}

fn agree(folder: &Path, ours: &Manifest, other: &Path, theirs: &Manifest) -> Result<(), JoinError> {
    let differ = |what| {
        Err(JoinError::Differ {
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
        return differ("parameters (tables, bands, time cuts, sizes of blocks and parts)");
    }
    Ok(())
}

fn add(
    joined: &mut Vec<Joined>,
    source: Source,
    stripe: Stripe,
    folder: &Path,
) -> Result<(), JoinError> {
    if !source.complete {
        return Err(JoinError::Incomplete {
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
    if (&a.file, &a.bytes, &a.sha256) != (&b.file, &b.bytes, &b.sha256) {
        return Err(JoinError::OtherBytes {
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
        return Err(JoinError::Stripes { file, what });
    }
    known.source.agree_on_time(source.modified);
    known.source.parts.extend(source.parts);
    Ok(())
}

impl Joined {
    fn finish(&mut self, part_blocks: u64) -> Result<(), JoinError> {
        let wrong = |what| {
            Err(JoinError::Stripes {
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
pub fn gather(folders: &[PathBuf], out: &Path) -> Result<Manifest, JoinError> {
    let mut manifest = join(folders)?;
    fs::create_dir_all(out).map_err(|error| ScanError::write(out, error))?;
    let _lock = lock(out)?;
    if let Some(mut old) = Manifest::load(out)? {
        let others = std::mem::take(&mut old.sources);
        agree(out, &old, &folders[0], &manifest)?;
        for (at, source) in others.into_iter().enumerate() {
            match manifest
                .sources
                .iter_mut()
                .find(|new| new.source == source.source)
            {
                Some(new) if new.is_scan_of_same(&source) => {
                    new.agree_on_time(source.modified);
                }
                Some(_) => {
                    return Err(JoinError::OtherBytes {
                        folder: out.to_owned(),
                        file: source.file,
                        other: folders[0].clone(),
                    });
                }
                None => manifest
                    .sources
                    .insert(at.min(manifest.sources.len()), source),
            }
        }
        manifest.complete = manifest.sources.iter().all(|source| source.complete);
    }
    for source in &manifest.sources {
        for part in &source.parts {
            for (&table, &size) in &part.tables {
                place(
                    folders,
                    out,
                    &table.part_file(Path::new(""), &source.source, part.part),
                    size,
                )?;
            }
        }
    }
    manifest.save(out)?;
    part::clear(out)?;
    Ok(manifest)
}

/// Writes only the joined manifest, for tables that lie in their places elsewhere.
///
/// # Errors
///
/// Where scans do not fit together, or the manifest cannot be written.
pub fn gather_manifest(folders: &[PathBuf], out: &Path) -> Result<Manifest, JoinError> {
    let mut manifest = join(folders)?;
    fs::create_dir_all(out).map_err(|error| ScanError::write(out, error))?;
    manifest.save(out)?;
    Ok(manifest)
}

/// Puts a file in its place, unless a former call has.
fn place(folders: &[PathBuf], out: &Path, path: &Path, size: Size) -> Result<(), JoinError> {
    let target = out.join(path);
    let wrong = |path: &Path, what: String| JoinError::File {
        path: path.to_owned(),
        what,
    };
    let length = |path: &Path| match fs::metadata(path) {
        Ok(about) => Ok(Some(about.len())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(wrong(path, error.to_string())),
    };
    if length(&target)? == Some(size.bytes) {
        return Ok(());
    }
    for folder in folders {
        let from = folder.join(path);
        match length(&from)? {
            None => {}
            Some(bytes) if bytes == size.bytes => return move_file(&from, out, &target),
            Some(bytes) => {
                let what = format!("has {bytes} bytes, its manifest says {}", size.bytes);
                return Err(wrong(&from, what));
            }
        }
    }
    Err(wrong(
        &target,
        "neither here nor in the folders given; scan again".to_owned(),
    ))
}

fn move_file(from: &Path, out: &Path, target: &Path) -> Result<(), JoinError> {
    let failed = |error| ScanError::write(target, error);
    fs::create_dir_all(target.parent().unwrap_or(out)).map_err(failed)?;
    match fs::rename(from, target) {
        Err(error) if error.kind() == io::ErrorKind::CrossesDevices => {
            let unfinished = out.join(UNFINISHED);
            fs::create_dir_all(&unfinished).map_err(failed)?;
            let copy = unfinished.join("moving.parquet");
            fs::copy(from, &copy)
                .and_then(|_| fs::File::open(&copy)?.sync_all())
                .and_then(|()| fs::rename(&copy, target))
                .and_then(|()| fs::remove_file(from))
                .map_err(failed)?;
        }
        moved => moved.map_err(failed)?,
    }
    Ok(())
}
