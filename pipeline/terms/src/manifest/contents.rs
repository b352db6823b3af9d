//! By what an archive file is known again.

use serde::{Deserialize, Serialize};

/// What a file held when it was read to its end; empty until then.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contents {
    /// Bytes of the file as it lies there.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub bytes: Option<u64>,
    /// SHA-256 of these bytes.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sha256: Option<String>,
    /// When the file was last written, in nanoseconds of the system's clock; where it is
    /// another than in a later scan, the file is hashed again. Empty where machines that read
    /// the file do not agree: copies of an archive have times of their own.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub modified: Option<u64>,
}

impl Contents {
    /// Whether both are the same bytes, whenever they were written.
    pub fn is_same(&self, other: &Contents) -> bool {
        (self.bytes, &self.sha256) == (other.bytes, &other.sha256)
    }

    /// Keeps the time of writing only where another scan of the same bytes saw it too.
    pub(super) fn agree_on_time(&mut self, other: &Contents) {
        self.modified = self.modified.filter(|_| self.modified == other.modified);
    }
}
