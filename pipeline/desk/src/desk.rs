//! A desk: a locked folder, a port, a secret, and what runs.

use std::fs::{self, File};
use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context as _;
use axum::Router;
use tokio::sync::Notify;

use crate::folder::Folder;
use crate::guard::Guard;
use crate::secret::Secret;
use crate::settings::Settings;
use crate::shared::Shared;
use crate::{lock, routes, serving};

/// Threads that answers may block: reports, searches, files.
const BLOCKING: usize = 16;

/// A desk that listens and does not answer yet.
pub struct Desk {
    listener: TcpListener,
    shared: Arc<Shared>,
    stop: Arc<Notify>,
    address: String,
    /// Held for as long as the desk is there.
    _lock: File,
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
        let shared = Shared::new(settings, folder, Guard::new(port, secret), base);
        Ok(Desk {
            address: format!("http://127.0.0.1:{port}{}/", shared.base),
            shared: Arc::new(shared),
            stop: Arc::default(),
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
        Stopper(Arc::clone(&self.stop))
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
        let stop = Arc::clone(&self.stop);
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

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::failed::Failed;

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
