//! The cubes of all parts added up to one, when a scan has ended.
//!
//! A part has a cube of its own so that a scan can be interrupted. Its cells depend on where
//! parts end; those of the whole do not. The new file gets its place first, then the manifest
//! names it instead of those of the parts, and these are removed last.

use std::fs;
use std::path::{Path, PathBuf};

use hobble_terms::manifest::{Manifest, OneFile};
use hobble_terms::table::ALL_SOURCES;
use hobble_terms::{Band, Phase, RatingDiff, Table, TimeClass, UNIT_NAMES};
use hobble_tracks::exposure::BoardKey;
use rustc_hash::FxHashMap;
use shakmaty::Role;

use crate::coded_pages::Encoder;
use crate::error::Error;
use crate::exposure::{Context, CubeColumns, EXPOSURE};
use crate::layouts::Layouts;
use crate::part::{PartWriter, entries, remove_unnamed};
use crate::rows::{Rows, read};

/// Most cells held at a time; the bands are gone through in several rounds where there are more.
const MOST_CELLS: usize = 1 << 21;

/// Rows of a row group.
const ROWS: usize = 1 << 16;

/// Counts of a cell: turns, and those of each outcome within each horizon.
type Counts = [i64; 21];

/// Keys of a cell: its context, and its key on the board by number.
type Keys = (Context, usize);

/// Cells added up. Their counts stand by themselves: a table of hashes that is half empty would take
/// twice their room.
#[derive(Default)]
struct Cells {
    places: FxHashMap<Keys, u32>,
    counts: Vec<Counts>,
}

impl Cells {
    fn of(&mut self, keys: Keys) -> &mut Counts {
        let next = self.counts.len();
        let place = *self.places.entry(keys).or_insert(next as u32) as usize;
        if place == next {
            self.counts.push([0; 21]);
        }
        &mut self.counts[place]
    }

    /// Keys and places of the counts, in the order of the keys.
    fn sorted(&mut self) -> Vec<(Keys, u32)> {
        let mut sorted: Vec<_> = std::mem::take(&mut self.places).into_iter().collect();
        sorted.sort_unstable();
        sorted
    }
}

/// Writes the sum of the cubes of the parts, of the whole and of other folders in `more` as a new file;
/// `None` where there is nothing to add.
///
/// # Errors
///
/// Where a cube cannot be read or written.
pub(crate) fn write(
    folder: &Path,
    manifest: &Manifest,
    more: &[PathBuf],
) -> Result<Option<OneFile>, Error> {
    if !manifest.sources.iter().any(has_cubes) && more.is_empty() {
        return Ok(None);
    }
    let number = manifest.part_count();
    let layouts = Layouts::new(&[Table::Exposure]).map_err(Error::Encode)?;
    let mut writer = PartWriter::create(folder, ALL_SOURCES, number, &layouts)?;
    let old = files(folder, manifest);
    let inputs: Vec<PathBuf> = old.iter().chain(more).cloned().collect();
    let mut sum = Sum {
        files: &inputs,
        layouts: &layouts,
        writer: &mut writer,
        rows: CubeColumns::default(),
        encoder: Encoder::default(),
    };
    let bands = sum.bands()?;
    sum.write(&bands)?;
    sum.end_group()?;
    let sizes = writer.finish()?;
    let size = sizes.get(&Table::Exposure);
    Ok(size.map(|&size| OneFile { part: number, size }))
}

/// Names a sum that was written instead of the cubes of parts, and removes these and those in `more`.
///
/// # Errors
///
/// Where the manifest cannot be written, or a file not removed.
pub(crate) fn name(
    folder: &Path,
    manifest: &mut Manifest,
    sum: Option<OneFile>,
    more: &[PathBuf],
) -> Result<(), Error> {
    if sum.is_some() {
        manifest.cube = sum;
        let sources = manifest.sources.iter_mut();
        for part in sources.flat_map(|source| &mut source.parts) {
            part.tables.remove(&Table::Exposure);
        }
        manifest.save(folder)?;
    }
    remove_others(folder, manifest)?;
    for file in more {
        fs::remove_file(file).map_err(Error::write(file))?;
    }
    Ok(())
}

fn has_cubes(source: &hobble_terms::manifest::Source) -> bool {
    let has = |part: &hobble_terms::manifest::Part| part.tables.contains_key(&Table::Exposure);
    source.parts.iter().any(has)
}

/// The files of the cube that the manifest names.
fn files(folder: &Path, manifest: &Manifest) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = manifest.cube_file(folder).into_iter().collect();
    for source in &manifest.sources {
        let parts = source.parts.iter();
        let with = parts.filter(|part| part.tables.contains_key(&Table::Exposure));
        files.extend(with.map(|part| Table::Exposure.part_file(folder, &source.source, part.part)));
    }
    files
}

/// Removes the files of the cube that the manifest does not name any more, and their folders.
fn remove_others(folder: &Path, manifest: &Manifest) -> Result<(), Error> {
    if manifest.cube.is_none() {
        return Ok(());
    }
    let named = files(folder, manifest);
    for source in entries(&Table::Exposure.folder(folder))? {
        remove_unnamed(&source, &named)?;
        // Fails where something is left in it.
        let _ = fs::remove_dir(&source);
    }
    Ok(())
}

/// The adding up of cubes.
struct Sum<'a> {
    files: &'a [PathBuf],
    layouts: &'a Layouts,
    writer: &'a mut PartWriter,
    rows: CubeColumns,
    encoder: Encoder,
}

impl Sum<'_> {
    /// The bands that occur, sorted.
    fn bands(&self) -> Result<Vec<Band>, Error> {
        let mut bands = Vec::new();
        for file in self.files {
            read(file, &[EXPOSURE.band.name()], |rows| {
                let names = rows.read(EXPOSURE.band)?;
                for name in names.iter().flatten() {
                    let band = band(rows, name)?;
                    if !bands.contains(&band) {
                        bands.push(band);
                    }
                }
                Ok(())
            })?;
        }
        bands.sort();
        Ok(bands)
    }

    /// Writes the cells of some bands, in the order of their keys.
    fn write(&mut self, bands: &[Band]) -> Result<(), Error> {
        let (Some(first), Some(last)) = (bands.first(), bands.last()) else {
            return Ok(());
        };
        let mut cells = Cells::default();
        let mut full = false;
        for file in self.files {
            read(file, &columns(), |rows| {
                full |= cells.counts.len() > MOST_CELLS && bands.len() > 1;
                if full {
                    return Ok(());
                }
                add(rows, (*first, *last), &mut cells)
            })?;
        }
        if full {
            drop(cells);
            let (low, high) = bands.split_at(bands.len() / 2);
            self.write(low)?;
            return self.write(high);
        }
        for ((context, key), place) in cells.sorted() {
            let key = BoardKey::from_index(key as u16);
            let (turns, within) = cells.counts[place as usize].split_at(1);
            self.rows.push_counts(&context, key, turns[0], within);
            if self.rows.row_count() == ROWS {
                self.end_group()?;
            }
        }
        Ok(())
    }

    fn end_group(&mut self) -> Result<(), Error> {
        let layout = self.layouts.of(Table::Exposure);
        let group = layout
            .encode(self.rows.columns(), &mut self.encoder)
            .map_err(Error::Encode)?;
        match group {
            Some(group) => self.writer.append(Table::Exposure, group),
            None => Ok(()),
        }
    }
}

fn columns() -> Vec<&'static str> {
    let mut columns = vec![
        EXPOSURE.kind.name(),
        EXPOSURE.safe.name(),
        EXPOSURE.developed.name(),
        EXPOSURE.attacked.name(),
        EXPOSURE.defended.name(),
        EXPOSURE.phase.name(),
        EXPOSURE.band.name(),
        EXPOSURE.time_class.name(),
        EXPOSURE.rating_diff.name(),
        EXPOSURE.fold.name(),
        EXPOSURE.turns.name(),
    ];
    columns.extend(EXPOSURE.within.iter().map(|column| column.name()));
    columns
}

fn band(rows: &Rows<'_>, name: &str) -> Result<Band, Error> {
    Band::from_name(name).ok_or_else(|| rows.invalid(EXPOSURE.band, name))
}

/// Adds rows to the cells, those of bands between two.
fn add(rows: &Rows<'_>, (first, last): (Band, Band), cells: &mut Cells) -> Result<(), Error> {
    let (kinds, phases) = (rows.read(EXPOSURE.kind)?, rows.read(EXPOSURE.phase)?);
    let (bands, times) = (rows.read(EXPOSURE.band)?, rows.read(EXPOSURE.time_class)?);
    let diffs = rows.read(EXPOSURE.rating_diff)?;
    let (safe, folds) = (rows.read(EXPOSURE.safe)?, rows.read(EXPOSURE.fold)?);
    let [developed, attacked, defended] =
        [EXPOSURE.developed, EXPOSURE.attacked, EXPOSURE.defended].map(|column| rows.read(column));
    let (developed, attacked, defended) = (developed?, attacked?, defended?);
    let turns = rows.read(EXPOSURE.turns)?;
    let within: Vec<_> = EXPOSURE
        .within
        .iter()
        .map(|&column| rows.read(column))
        .collect::<Result<_, _>>()?;
    for row in 0..rows.len() {
        let band = band(rows, bands.value(row))?;
        if !(first..=last).contains(&band) {
            continue;
        }
        let word = phases.value(row);
        let phase = Phase::from_name(word).ok_or_else(|| rows.invalid(EXPOSURE.phase, word))?;
        let word = times.value(row);
        let time_class =
            TimeClass::from_name(word).ok_or_else(|| rows.invalid(EXPOSURE.time_class, word))?;
        let word = diffs.value(row);
        let rating_diff =
            RatingDiff::from_name(word).ok_or_else(|| rows.invalid(EXPOSURE.rating_diff, word))?;
        let word = kinds.value(row);
        let kind = role(word).ok_or_else(|| rows.invalid(EXPOSURE.kind, word))?;
        let key = BoardKey::new(
            kind,
            safe.value(row) as u8,
            developed.value(row),
            attacked.value(row),
            defended.value(row),
            phase,
        );
        let context = Context {
            band,
            time_class,
            rating_diff,
            fold: folds.value(row) as u8,
        };
        let cell = cells.of((context, key.index()));
        cell[0] += turns.value(row);
        for (sum, column) in cell[1..].iter_mut().zip(&within) {
            *sum += column.value(row);
        }
    }
    Ok(())
}

/// The kind of a name.
fn role(name: &str) -> Option<Role> {
    let roles = [
        Role::Pawn,
        Role::Knight,
        Role::Bishop,
        Role::Rook,
        Role::Queen,
        Role::King,
    ];
    roles
        .into_iter()
        .find(|&role| UNIT_NAMES[usize::from(hobble_terms::unit_code(role))] == name)
}
