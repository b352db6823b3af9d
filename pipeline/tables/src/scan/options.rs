//! How to run a scan.

use std::num::NonZeroUsize;

use hobble_terms::manifest::{Parameters, Provenance};

use crate::pseudonyms::PseudonymKey;
use crate::repeats::RepeatsList;

/// How to run a scan.
#[derive(Clone, Debug)]
pub struct Options {
    /// What goes into the manifest.
    pub parameters: Parameters,
    /// Threads that turn blocks into rows.
    pub threads: NonZeroUsize,
    /// What the manifest says of the archives and the program beside that.
    pub provenance: Provenance,
    /// The repeats of the archive, as a pass over all archives found them; where there is none, the
    /// scan finds them itself.
    pub repeats: Option<RepeatsList>,
    /// Key of the pseudonyms that the parameters speak of.
    pub pseudonyms: Option<PseudonymKey>,
}
