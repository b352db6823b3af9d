//! The terms of a claim to turn on its page, packed.

use std::io::Write as _;

use anyhow::Result;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::DeflateEncoder;
use hobble_claim::Terms;
use serde::Serialize;

use crate::script;

/// What `terms.html` shows and `terms.js` reads.
#[derive(Serialize)]
pub(crate) struct TermsView {
    /// [`Terms`] as JSON that may stand in HTML.
    said: String,
    /// Its counts, deflated, in base64.
    counts: String,
    happened: &'static str,
    /// Name and title of each rung.
    rungs: Vec<(&'static str, &'static str)>,
}

impl TermsView {
    /// # Errors
    ///
    /// Where the terms cannot be written as JSON.
    pub(crate) fn new(terms: &Terms) -> Result<TermsView> {
        let mut packed = DeflateEncoder::new(Vec::new(), Compression::best());
        packed.write_all(&terms.counts)?;
        Ok(TermsView {
            said: script::data(terms)?,
            counts: STANDARD.encode(packed.finish()?),
            happened: terms.happened,
            rungs: terms.titles.clone(),
        })
    }
}
