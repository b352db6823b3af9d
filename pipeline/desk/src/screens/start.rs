//! The first screen: what is in the folder, and adding games to it.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

use axum::extract::multipart::{Field, MultipartError};
use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use hobble_report::number::{count, counted};
use hobble_report::plain_short;
use hobble_terms::manifest::Manifest;
use serde::Serialize;
use tokio::fs::File;
use tokio::io::AsyncWriteExt as _;
use tokio::time::timeout;

use crate::failed::Failed;
use crate::folder::{Archive, ENDINGS, HALF, archive_name, free_path};
use crate::page::Answer;
use crate::screens::Desk;
use crate::shared::Shared;

/// Time within which some bytes of an upload must come.
const STALLED: Duration = Duration::from_secs(60);

#[derive(Serialize)]
struct View {
    /// Whether any games were read.
    games: Option<GamesView>,
    archives: Vec<ArchiveView>,
    unread: usize,
    /// Whether the tables can be read at all, else why not.
    fault: Option<String>,
    reads: bool,
    endings: String,
    most: String,
}

#[derive(Serialize)]
struct GamesView {
    kept: String,
    sources: String,
    complete: bool,
    skipped: u64,
    sample: u32,
}

#[derive(Serialize)]
struct ArchiveView {
    name: String,
    /// Its name as it is sent back.
    value: String,
    size: String,
    state: &'static str,
    whole: bool,
}

/// The first screen.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let view = view(desk)?;
        desk.screen("start.html", &view)
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn view(desk: &Shared) -> Result<View, Failed> {
    let (manifest, fault) = match desk.folder.manifest() {
        Ok(manifest) => (manifest, None),
        Err(error) => (None, Some(format!("{:#}", anyhow::Error::from(error)))),
    };
    let known = manifest.as_ref().map(known).unwrap_or_default();
    let archives: Vec<ArchiveView> = desk
        .folder
        .archives()?
        .iter()
        .map(|archive| archive_view(archive, known.get(&archive.name).copied()))
        .collect();
    Ok(View {
        games: manifest.as_ref().map(|manifest| {
            let account = manifest.account();
            GamesView {
                kept: counted(account.kept, "game"),
                sources: counted(known.len() as u64, "file"),
                complete: manifest.complete,
                skipped: account.skipped_total(),
                sample: manifest.parameters.sample.get(),
            }
        }),
        unread: archives.iter().filter(|archive| !archive.whole).count(),
        archives,
        fault,
        reads: desk.scans.runs(),
        endings: ENDINGS.join(", "),
        most: size(desk.settings.upload_bytes),
    })
}

/// The files that the manifest names, and whether each was read to its end.
fn known(manifest: &Manifest) -> BTreeMap<String, bool> {
    let sources = manifest.sources.iter();
    sources
        .flat_map(|source| {
            let files = source.files().into_iter();
            files.map(|file| (file.file.to_owned(), source.complete))
        })
        .collect()
}

fn archive_view(archive: &Archive, whole: Option<bool>) -> ArchiveView {
    let name = archive.name.strip_prefix("archives/");
    ArchiveView {
        name: plain_short(name.unwrap_or(&archive.name)),
        value: archive.name.clone(),
        size: size(archive.bytes),
        state: match whole {
            Some(true) => "read",
            Some(false) => "read in part",
            None => "not read yet",
        },
        whole: whole == Some(true),
    }
}

/// A size for a reader.
pub fn size(bytes: u64) -> String {
    const STEPS: [(u64, &str); 3] = [(1 << 30, "GiB"), (1 << 20, "MiB"), (1 << 10, "KiB")];
    let step = STEPS.iter().find(|(step, _)| bytes >= *step);
    match step {
        Some((step, unit)) if bytes >= 100 * step => format!("{} {unit}", count(bytes / step)),
        Some((step, unit)) => format!("{:.1} {unit}", bytes as f64 / *step as f64),
        None => counted(bytes, "byte"),
    }
}

/// Takes archives, file by file, into the data folder.
pub async fn upload(State(desk): Desk, body: Multipart) -> Answer {
    match take(&desk, body).await {
        Ok(()) => Ok(desk.go("/#add")),
        Err(failed) => Err(desk.failure(failed)),
    }
}

async fn take(desk: &Shared, mut body: Multipart) -> Result<(), Failed> {
    let _turn = desk.uploads.try_acquire().map_err(|_| Failed::busy())?;
    let folder = desk.folder.archive_folder()?;
    let mut left = desk.settings.upload_bytes;
    let mut taken = 0;
    loop {
        let next = timeout(STALLED, body.next_field()).await;
        let Some(mut field) = next.map_err(|_| stalled())?.map_err(broken)? else {
            break;
        };
        let given = field.file_name().unwrap_or_default().to_owned();
        if given.is_empty() {
            continue;
        }
        let Some(name) = archive_name(&given) else {
            return Err(Failed::bad(format!(
                "{}: not an archive by its name; one ends in {}",
                plain_short(&given),
                ENDINGS.join(", ")
            )));
        };
        let half = HalfFile::new(&folder)?;
        write(&mut field, half.path(), &mut left, desk).await?;
        half.finish(&free_path(&folder, &name))?;
        taken += 1;
    }
    if taken == 0 {
        return Err(Failed::bad("No file was chosen."));
    }
    Ok(())
}

/// Writes what comes of a file as it comes.
async fn write(
    field: &mut Field<'_>,
    path: &Path,
    left: &mut u64,
    desk: &Shared,
) -> Result<(), Failed> {
    let mut file = File::create(path).await?;
    loop {
        let chunk = timeout(STALLED, field.chunk()).await;
        let Some(chunk) = chunk.map_err(|_| stalled())?.map_err(broken)? else {
            break;
        };
        *left = left.checked_sub(chunk.len() as u64).ok_or_else(|| Failed {
            status: StatusCode::PAYLOAD_TOO_LARGE,
            line: format!(
                "That is more than {}, the most this desk takes at a time. Start it with \
                 --upload-mib for more, or with --archives to read files where they are.",
                size(desk.settings.upload_bytes)
            ),
        })?;
        file.write_all(&chunk).await?;
    }
    Ok(file.flush().await?)
}

fn stalled() -> Failed {
    Failed::bad("The file stopped coming, so it was not kept.")
}

fn broken(_: MultipartError) -> Failed {
    Failed::bad("The file did not come whole, so it was not kept.")
}

/// A file that is removed unless it is finished.
struct HalfFile(tempfile::TempPath);

impl HalfFile {
    fn new(folder: &Path) -> std::io::Result<HalfFile> {
        let file = tempfile::Builder::new().prefix(HALF).tempfile_in(folder)?;
        Ok(HalfFile(file.into_temp_path()))
    }

    fn path(&self) -> &Path {
        &self.0
    }

    fn finish(self, path: &Path) -> Result<(), Failed> {
        Ok(self.0.persist_noclobber(path)?)
    }
}
