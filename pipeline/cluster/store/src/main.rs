//! `hobble-store`: puts tables into shared storage, a folder or an S3-compatible store.
//!
//! Keys and the address of the server come from the usual variables: `AWS_ACCESS_KEY_ID`,
//! `AWS_SECRET_ACCESS_KEY`, `AWS_REGION`, `AWS_ENDPOINT`, `AWS_ALLOW_HTTP`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use anyhow::{Context as _, bail};
use clap::{Parser, Subcommand};
use futures_util::TryStreamExt as _;
use object_store::buffered::BufWriter;
use object_store::path::Path as Key;
use object_store::{Error, ObjectMeta, ObjectStore, ObjectStoreExt as _, PutMode, UpdateVersion};
use tokio::io::AsyncWriteExt as _;
use url::Url;

/// What is put last into a folder, as the sign that the rest is there.
const MANIFEST: &str = "manifest.json";

/// Why a file is not committed.
const MEANWHILE: &str = "another writer has committed meanwhile; run again";

/// Puts tables into shared storage: a folder (file:///…) or an S3-compatible store (s3://…).
#[derive(Debug, Parser)]
#[command(name = "hobble-store", version, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Put a file or a folder; a folder's manifest.json last, names that begin with a dot not
    Put {
        /// File or folder
        from: PathBuf,
        /// Where to
        url: Url,
    },
    /// Get everything below an address, with the times at which it was put there
    Get {
        /// Where from
        url: Url,
        /// Folder
        to: PathBuf,
    },
    /// List bytes, time and name of everything below an address; a time is in nanoseconds
    /// since 1970
    List {
        /// Where
        url: Url,
    },
    /// Put a file unless another writer has changed it meanwhile; for stores, as folders know
    /// no such condition
    Commit {
        /// File
        from: PathBuf,
        /// Where to
        url: Url,
        /// Copy of what was read there, or no file where there was nothing: put only if that is still so
        #[arg(long, value_name = "FILE")]
        read: Option<PathBuf>,
    },
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build();
    let result = runtime
        .context("no runtime")
        .and_then(|runtime| runtime.block_on(run(arguments.command)));
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("hobble-store: {}", one_line(&error));
            ExitCode::from(2)
        }
    }
}

/// What went wrong. An error of the store repeats its causes and quotes the server's page.
fn one_line(error: &anyhow::Error) -> String {
    let said: Vec<_> = error.chain().take(2).map(ToString::to_string).collect();
    let words: Vec<_> = said
        .join(": ")
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    words.join(" ").chars().take(400).collect()
}

async fn run(command: Command) -> anyhow::Result<()> {
    match command {
        Command::Put { from, url } => {
            let (store, base) = open(&url)?;
            for (path, name) in files(&from)? {
                put(&store, &path, &below(&base, &name)?).await?;
            }
            Ok(())
        }
        Command::Get { url, to } => {
            let (store, base) = open(&url)?;
            for about in listed(&store, &base).await? {
                get(&store, &base, &about.location, &to).await?;
            }
            Ok(())
        }
        Command::List { url } => {
            let (store, base) = open(&url)?;
            for about in listed(&store, &base).await? {
                let name = name_below(&base, &about.location);
                println!("{}\t{}\t{name}", about.size, written(&about).as_nanos());
            }
            Ok(())
        }
        Command::Commit { from, url, read } => {
            let (store, key) = open(&url)?;
            println!("{}", commit(&store, &from, &key, read.as_deref()).await?);
            Ok(())
        }
    }
}

fn open(url: &Url) -> anyhow::Result<(Arc<dyn ObjectStore>, Key)> {
    let options = std::env::vars()
        .filter(|(name, _)| name.starts_with("AWS_"))
        .map(|(name, value)| (name.to_ascii_lowercase(), value));
    let (store, key) =
        object_store::parse_url_opts(url, options).with_context(|| url.to_string())?;
    Ok((Arc::from(store), key))
}

fn below(base: &Key, name: &str) -> anyhow::Result<Key> {
    let text = match (base.as_ref(), name) {
        (base, "") => base.to_owned(),
        ("", name) => name.to_owned(),
        (base, name) => format!("{base}/{name}"),
    };
    Key::parse(&text).with_context(|| text.clone())
}

fn name_below(base: &Key, key: &Key) -> String {
    match key.prefix_match(base) {
        Some(parts) => {
            let parts: Vec<_> = parts.map(|part| part.as_ref().to_owned()).collect();
            parts.join("/")
        }
        None => key.to_string(),
    }
}

/// Files of a folder with their names in it, the manifest last; a file alone has no name.
fn files(from: &Path) -> anyhow::Result<Vec<(PathBuf, String)>> {
    if !fs::metadata(from)
        .with_context(|| from.display().to_string())?
        .is_dir()
    {
        return Ok(vec![(from.to_owned(), String::new())]);
    }
    let mut found = Vec::new();
    walk(from, "", &mut found)?;
    found.sort_by_key(|(_, name)| (name == MANIFEST, name.clone()));
    Ok(found)
}

fn walk(folder: &Path, name: &str, found: &mut Vec<(PathBuf, String)>) -> anyhow::Result<()> {
    let entries = fs::read_dir(folder).with_context(|| folder.display().to_string())?;
    for entry in entries {
        let entry = entry.with_context(|| folder.display().to_string())?;
        let own = entry.file_name();
        let Some(own) = own.to_str() else {
            bail!("{}: a name that is not UTF-8", entry.path().display());
        };
        if own.starts_with('.') {
            continue;
        }
        let name = match name {
            "" => own.to_owned(),
            name => format!("{name}/{own}"),
        };
        if entry.path().is_dir() {
            walk(&entry.path(), &name, found)?;
        } else {
            found.push((entry.path(), name));
        }
    }
    Ok(())
}

/// Puts a file; readers see it whole or not at all.
async fn put(store: &Arc<dyn ObjectStore>, from: &Path, key: &Key) -> anyhow::Result<()> {
    let about = || format!("{} to {key}", from.display());
    let mut file = tokio::fs::File::open(from).await.with_context(about)?;
    let mut writer = BufWriter::new(store.clone(), key.clone());
    if let Err(error) = tokio::io::copy(&mut file, &mut writer).await {
        // What was sent so far must not stay as an unfinished upload.
        let _ = writer.abort().await;
        return Err(error).with_context(about);
    }
    writer.shutdown().await.with_context(about)
}

async fn get(store: &Arc<dyn ObjectStore>, base: &Key, key: &Key, to: &Path) -> anyhow::Result<()> {
    let name = name_below(base, key);
    // The address may be of one object itself.
    let name = if name.is_empty() {
        key.filename().unwrap_or("object").to_owned()
    } else {
        name
    };
    let unsafe_part = |part: &str| matches!(part, "" | "." | "..") || part.contains('\\');
    if name.split('/').any(unsafe_part) {
        bail!("{key}: a name that leads out of the folder");
    }
    let path = to.join(name);
    let about = || format!("{key} to {}", path.display());
    if let Some(parent) = path.parent() {
        fs::create_dir_all(parent).with_context(about)?;
    }
    let mut file = tokio::fs::File::create(&path).await.with_context(about)?;
    let object = store.get(key).await.with_context(about)?;
    let time = SystemTime::UNIX_EPOCH + written(&object.meta);
    let mut stream = object.into_stream();
    while let Some(bytes) = stream.try_next().await.with_context(about)? {
        file.write_all(&bytes).await.with_context(about)?;
    }
    file.flush().await.with_context(about)?;
    // All copies of an object bear one time, so that tables made of them agree.
    file.into_std().await.set_modified(time).with_context(about)
}

/// When an object was put there. In seconds: its listing may have more digits than its header.
fn written(about: &ObjectMeta) -> Duration {
    Duration::from_secs(u64::try_from(about.last_modified.timestamp()).unwrap_or(0))
}

async fn listed(store: &Arc<dyn ObjectStore>, base: &Key) -> anyhow::Result<Vec<ObjectMeta>> {
    let prefix = (!base.as_ref().is_empty()).then_some(base);
    let mut found: Vec<_> = store
        .list(prefix)
        .try_collect()
        .await
        .with_context(|| format!("listing {base}"))?;
    if found.is_empty() && prefix.is_some() {
        match store.head(base).await {
            Ok(about) => found.push(about),
            Err(Error::NotFound { .. }) => {}
            Err(error) => return Err(error).with_context(|| base.to_string()),
        }
    }
    found.sort_by(|a, b| a.location.cmp(&b.location));
    Ok(found)
}

/// Puts a file where nothing is, or in place of what was there when we looked; with a copy of what was read
/// before, where that was still there.
async fn commit(
    store: &Arc<dyn ObjectStore>,
    from: &Path,
    key: &Key,
    read: Option<&Path>,
) -> anyhow::Result<&'static str> {
    let bytes = fs::read(from).with_context(|| from.display().to_string())?;
    let (there, mode) = match store.get(key).await {
        Ok(there) => {
            let version = UpdateVersion {
                e_tag: there.meta.e_tag.clone(),
                version: there.meta.version.clone(),
            };
            let there = there.bytes().await.with_context(|| key.to_string())?;
            (Some(there), PutMode::Update(version))
        }
        Err(Error::NotFound { .. }) => (None, PutMode::Create),
        Err(error) => return Err(error).with_context(|| key.to_string()),
    };
    // Before anything else: another writer may have put the very same bytes.
    if let Some(read) = read
        && there.as_deref() != copy_of(read)?.as_deref()
    {
        bail!("{key}: {MEANWHILE}");
    }
    if there.is_some_and(|there| there == bytes) {
        return Ok("unchanged");
    }
    match store.put_opts(key, bytes.into(), mode.into()).await {
        Ok(_) => Ok("committed"),
        Err(Error::AlreadyExists { .. } | Error::Precondition { .. }) => {
            bail!("{key}: {MEANWHILE}")
        }
        Err(error) => Err(error).with_context(|| key.to_string()),
    }
}

/// What was read of an object; `None` where nothing was there.
fn copy_of(path: &Path) -> anyhow::Result<Option<Vec<u8>>> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error).with_context(|| path.display().to_string()),
    }
}

#[cfg(test)]
mod tests {
    use object_store::memory::InMemory;

    use super::*;

    fn now<T>(work: impl Future<Output = T>) -> T {
        tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .expect("a runtime")
            .block_on(work)
    }

    #[test]
    fn a_folder_goes_and_comes_back_with_its_manifest_last() {
        let folder = tempfile::tempdir().expect("a folder");
        let from = folder.path().join("from");
        fs::create_dir_all(from.join("games")).expect("a folder");
        let names = ["games/part #1, 50%.parquet", MANIFEST, ".lock", "z"];
        for name in names {
            fs::write(from.join(name), name).expect("written");
        }
        let order: Vec<_> = files(&from)
            .expect("files")
            .into_iter()
            .map(|(_, name)| name)
            .collect();
        assert_eq!(order, [names[0], "z", MANIFEST]);

        let url = |name: &str| Url::from_directory_path(folder.path().join(name)).expect("a path");
        let to = folder.path().join("to");
        fs::create_dir(folder.path().join("store")).expect("a folder");
        let put = Command::Put {
            from,
            url: url("store"),
        };
        now(run(put)).expect("put");
        let get = Command::Get {
            url: url("store"),
            to: to.clone(),
        };
        now(run(get)).expect("got");
        for name in order {
            assert_eq!(fs::read_to_string(to.join(&name)).expect("read"), name);
        }
        assert!(!to.join(".lock").exists());
    }

    #[test]
    fn a_copy_bears_the_time_of_its_object() {
        let folder = tempfile::tempdir().expect("a folder");
        let store: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
        let key = Key::from("in/games.pgn");
        now(async {
            store.put(&key, "games".into()).await.expect("put");
            let about = store.head(&key).await.expect("there");
            let base = Key::from("in");
            get(&store, &base, &key, folder.path()).await.expect("got");
            let copy = fs::metadata(folder.path().join("games.pgn")).expect("a copy");
            let time = copy.modified().expect("a time");
            assert_eq!(time, SystemTime::UNIX_EPOCH + written(&about));
        });
    }

    #[test]
    fn a_manifest_is_committed_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join(MANIFEST);
        let store: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
        let key = Key::from("out/manifest.json");
        for (text, said) in [
            ("first", "committed"),
            ("first", "unchanged"),
            ("second", "committed"),
        ] {
            fs::write(&file, text).expect("written");
            assert_eq!(now(commit(&store, &file, &key, None)).expect("done"), said);
            let there = now(async { store.get(&key).await.expect("there").bytes().await });
            assert_eq!(there.expect("read"), text);
        }
    }

    #[test]
    fn what_another_writer_put_meanwhile_stays() {
        let folder = tempfile::tempdir().expect("a folder");
        let [own, read] = ["own", "read"].map(|name| folder.path().join(name));
        let store: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
        let key = Key::from("out/list.json");
        fs::write(&own, "one").expect("written");
        let commit = || now(commit(&store, &own, &key, Some(&read)));
        assert_eq!(commit().expect("done"), "committed");
        // Nothing was read, and something is there: the same bytes, of another writer.
        let refused = commit().expect_err("refused").to_string();
        assert!(refused.contains("another writer"), "{refused}");
        fs::write(&read, "one").expect("written");
        assert_eq!(commit().expect("done"), "unchanged");
        fs::write(&own, "one, two").expect("written");
        assert_eq!(commit().expect("done"), "committed");
        fs::write(&own, "one, three").expect("written");
        assert!(commit().is_err());
        let there = now(async { store.get(&key).await.expect("there").bytes().await });
        assert_eq!(there.expect("read"), "one, two");
    }
}
