//! A desk: a locked folder, a port, a secret, and what runs.

use std::fs::{self, File};
use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context as _;
use axum::Router;
use hobble_dataset::Dataset;
use tokio::sync::{Notify, Semaphore};
use tokio::time::timeout;

use crate::failed::Failed;
use crate::folder::Folder;
use crate::guard::Guard;
use crate::scan::Scans;
use crate::secret::Secret;
use crate::settings::Settings;
use crate::{lock, routes, serving};

/// Threads that answers may block: reports, searches, files.
const BLOCKING: usize = 16;

/// A desk that listens and does not answer yet.
pub struct Desk {
    listener: TcpListener,
    shared: Arc<Shared>,
    address: String,
    /// Held for as long as the desk is there.
    _lock: File,
}

/// Look-ups done at a time.
const LIGHT: usize = 8;

/// What the screens of a desk share.
pub struct Shared {
    /// What it was told.
    pub settings: Settings,
    /// The data folder and what may be reached in it.
    pub folder: Folder,
    /// What every path begins with: a slash and the secret.
    pub base: String,
    /// Who may ask.
    pub guard: Guard,
    /// The scan that runs, and how the last one ended.
    pub scans: Scans,
    /// Uploads at a time: one.
    pub uploads: Semaphore,
    light: Arc<Semaphore>,
    heavy: Arc<Semaphore>,
    stop: Arc<Notify>,
}

/// Ends a desk from another thread.
#[derive(Clone)]
pub struct Stopper(Arc<Notify>);

impl Stopper {
    /// Ends the desk.
    pub fn stop(&self) {
        self.0.notify_one();
    }
}

impl Desk {
    /// Makes and locks the data folder, and listens on the loopback interface.
    ///
    /// # Errors
    ///
    /// Where the folder cannot be made or another desk has it, or the port is taken.
    pub fn open(settings: Settings) -> anyhow::Result<Desk> {
        let data = &settings.data;
        fs::create_dir_all(data).with_context(|| format!("{}: cannot be made", data.display()))?;
        let real = |path: &PathBuf| {
            let real = path.canonicalize();
            real.with_context(|| format!("{}: cannot be opened", path.display()))
        };
        let (data, archives) = (
            real(data)?,
            settings.archives.as_ref().map(real).transpose()?,
        );
        let lock = lock::lock(&data)?;
        let listener = TcpListener::bind(("127.0.0.1", settings.port))
            .with_context(|| format!("port {}: cannot be listened on", settings.port))?;
        listener.set_nonblocking(true)?;
        let port = listener.local_addr()?.port();
        let secret = Secret::fresh()?;
        let base = format!("/{}", secret.text());
        let folder = Folder::new(data, archives);
        folder.clear();
        let shared = Shared {
            folder,
            guard: Guard::new(port, secret),
            scans: Scans::default(),
            uploads: Semaphore::new(1),
            light: Arc::new(Semaphore::new(LIGHT)),
            heavy: Arc::new(Semaphore::new(settings.at_a_time)),
            stop: Arc::default(),
            base,
            settings,
        };
        Ok(Desk {
            address: format!("http://127.0.0.1:{port}{}/", shared.base),
            shared: Arc::new(shared),
            listener,
            _lock: lock,
        })
    }

    /// Where a browser finds it.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// What ends it.
    pub fn stopper(&self) -> Stopper {
        Stopper(Arc::clone(&self.shared.stop))
    }

    /// Its answers, without a port: for tests.
    pub fn router(&self) -> Router {
        routes::router(&self.shared)
    }

    /// Answers until it is stopped. A scan that runs is stopped then, and can go on later.
    ///
    /// # Errors
    ///
    /// Where the system gives no threads.
    pub fn serve(self) -> anyhow::Result<()> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(BLOCKING)
            .enable_all()
            .build()?;
        let router = self.router();
        let stop = Arc::clone(&self.shared.stop);
        runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            serving::serve(listener, router, stop.notified()).await;
            anyhow::Ok(())
        })?;
        self.shared.scans.end();
        // A report that is being worked out is not waited for.
        runtime.shutdown_background();
        Ok(())
    }
}

impl Shared {
    /// Looks something up, as soon as it is its turn.
    ///
    /// # Errors
    ///
    /// Where the work fails, or too much other work is to be done.
    pub async fn work<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&Shared) -> Result<T, Failed> + Send + 'static,
    ) -> Result<T, Failed> {
        self.in_turn(&self.light, work).await
    }

    /// Works out what takes time and memory, a report say, as soon as it is its turn.
    ///
    /// # Errors
    ///
    /// Where the work fails, or too much other work is to be done.
    pub async fn heavy<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&Shared) -> Result<T, Failed> + Send + 'static,
    ) -> Result<T, Failed> {
        self.in_turn(&self.heavy, work).await
    }

    async fn in_turn<T: Send + 'static>(
        self: &Arc<Self>,
        turns: &Arc<Semaphore>,
        work: impl FnOnce(&Shared) -> Result<T, Failed> + Send + 'static,
    ) -> Result<T, Failed> {
        let turn = Arc::clone(turns).acquire_owned();
        let Ok(Ok(turn)) = timeout(self.settings.patience, turn).await else {
            return Err(Failed::busy());
        };
        let shared = Arc::clone(self);
        let worked = tokio::task::spawn_blocking(move || {
            // The turn lasts as long as the work, also where nobody waits for it any more.
            let _turn = turn;
            work(&shared)
        });
        match worked.await {
            Ok(result) => result,
            Err(_) => Err(Failed::from(anyhow::anyhow!(
                "this could not be worked out: the program met a fault of its own"
            ))),
        }
    }

    /// The tables of the folder.
    ///
    /// # Errors
    ///
    /// Where there are none yet, or they cannot be read.
    pub fn dataset(&self) -> Result<Dataset, Failed> {
        if self.folder.manifest()?.is_none() {
            return Err(Failed::conflict(
                "No games have been read into this folder yet. Add some on the first page.",
            ));
        }
        Ok(Dataset::open(self.folder.data())?)
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn work_is_bounded_and_a_fault_is_told() {
        let data = tempfile::tempdir().unwrap();
        let desk = Desk::open(Settings {
            at_a_time: 1,
            patience: Duration::from_millis(50),
            ..Settings::of(data.path())
        });
        let shared = Arc::clone(&desk.unwrap().shared);
        let mut runtime = tokio::runtime::Builder::new_multi_thread();
        let runtime = runtime.worker_threads(1).enable_all().build().unwrap();
        runtime.block_on(async {
            let (hold, held) = std::sync::mpsc::channel::<()>();
            let first = Arc::clone(&shared);
            let first =
                tokio::spawn(async move { first.heavy(move |_| Ok(held.recv().is_err())).await });
            tokio::time::sleep(Duration::from_millis(20)).await;
            let busy = shared.heavy(|_| Ok(())).await.unwrap_err();
            assert_eq!(busy.status, axum::http::StatusCode::SERVICE_UNAVAILABLE);
            drop(hold);
            assert!(first.await.unwrap().unwrap());
            let fault = shared
                .heavy(|_| -> Result<(), Failed> { panic!("a fault") })
                .await;
            assert!(fault.unwrap_err().line.contains("a fault of its own"));
            shared.heavy(|_| Ok(())).await.unwrap();
        });
    }
}
