//! What the screens of a desk share: its folder, who may ask, the scan that runs, and turns at work.

use std::sync::Arc;

use hobble_dataset::Dataset;
use tokio::sync::Semaphore;
use tokio::time::timeout;

use crate::failed::Failed;
use crate::folder::Folder;
use crate::guard::Guard;
use crate::scan::Scans;
use crate::settings::Settings;

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
}

impl Shared {
    /// What the screens of a desk share on these settings; nothing runs yet.
    pub fn new(settings: Settings, folder: Folder, guard: Guard, base: String) -> Shared {
        Shared {
            folder,
            guard,
            scans: Scans::default(),
            uploads: Semaphore::new(1),
            light: Arc::new(Semaphore::new(LIGHT)),
            heavy: Arc::new(Semaphore::new(settings.at_a_time)),
            base,
            settings,
        }
    }

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
