//! The tables of all parts together: the cube of the whole and the players, written side by side when a
//! scan has ended or scans were gathered.

use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::thread;

use hobble_terms::manifest::Manifest;

use crate::error::Error;
use crate::{gathered_players, one_cube};

/// Writes both tables and names them in the manifest; cubes of other folders in `more` are added and removed.
///
/// # Errors
///
/// Where tables cannot be read or written.
pub(crate) fn write(folder: &Path, manifest: &mut Manifest, more: &[PathBuf]) -> Result<(), Error> {
    let read: &Manifest = manifest;
    let (cube, players) = thread::scope(|scope| {
        let players = scope.spawn(|| gathered_players::write(folder, read));
        let cube = one_cube::write(folder, read, more);
        let players = players.join();
        (cube, players.unwrap_or_else(|panic| resume_unwind(panic)))
    });
    one_cube::name(folder, manifest, cube?, more)?;
    gathered_players::name(folder, manifest, players?)
}
