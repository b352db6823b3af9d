//! The date that is noted instead of the clock's, so that a folder can be made again byte for byte.

use anyhow::Context as _;
use chrono::{DateTime, SecondsFormat};
use hobble_tables::scan::now;

/// Names the variable: seconds since 1970 in UTC (specification "SOURCE_DATE_EPOCH", version 1.1,
/// reproducible-builds.org).
const VARIABLE: &str = "SOURCE_DATE_EPOCH";

/// The date and time in UTC that the environment asks for (ISO 8601); `None` where it asks for none.
pub fn fixed_date() -> anyhow::Result<Option<String>> {
    let Some(text) = std::env::var_os(VARIABLE) else {
        return Ok(None);
    };
    let date = text
        .to_str()
        .and_then(|text| DateTime::from_timestamp(text.parse().ok()?, 0))
        .with_context(|| format!("{VARIABLE}: {text:?} is not a number of seconds since 1970"))?;
    Ok(Some(date.to_rfc3339_opts(SecondsFormat::Secs, true)))
}

/// The date and time in UTC that the environment asks for, or else now (ISO 8601).
pub fn date() -> anyhow::Result<String> {
    Ok(fixed_date()?.unwrap_or_else(now))
}
