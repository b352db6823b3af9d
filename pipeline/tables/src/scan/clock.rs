//! The clock whose time is noted in manifests and deposits.

use chrono::{SecondsFormat, Utc};

/// Date and time in UTC to the second (ISO 8601).
pub fn now() -> String {
    Utc::now().to_rfc3339_opts(SecondsFormat::Secs, true)
}
