//! The one script of a page and the hash by which the page's policy allows it.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;
use sha2::{Digest as _, Sha256};

/// The board that is drawn by script.
pub(crate) const BOARD: &str = include_str!("templates/board.js");

/// A script, in the names that `page.html` and the pages know.
#[derive(Serialize)]
pub(crate) struct Script {
    script: String,
    script_hash: String,
}

impl Script {
    /// These parts one after another.
    pub(crate) fn of(parts: &[&str]) -> Script {
        let script = parts.concat();
        Script {
            script_hash: format!("sha256-{}", STANDARD.encode(Sha256::digest(&script))),
            script,
        }
    }
}

/// JSON that may stand in an element of HTML.
pub(crate) fn data<T: Serialize>(value: &T) -> serde_json::Result<String> {
    Ok(serde_json::to_string(value)?.replace('<', "\\u003c"))
}
