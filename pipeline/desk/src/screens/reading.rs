//! Reading games: how far it is, what was left out and why, stopping it.

use std::collections::BTreeSet;

use axum::extract::State;
use axum::response::Response;
use axum_form::Fields;
use hobble_report::number::{count, counted};
use hobble_report::plain_short;
use hobble_terms::account::Account;
use serde::Serialize;

use crate::failed::Failed;
use crate::page::{Answer, json};
use crate::scan::{Ended, State as Scan};
use crate::screens::start::size;
use crate::screens::{Desk, axum_form};
use crate::shared::Shared;

#[derive(Serialize)]
struct View {
    scan: Option<ScanView>,
    account: Option<AccountView>,
}

/// A scan as it stands, in words. The script on the page shows it anew.
#[derive(Serialize)]
struct ScanView {
    runs: bool,
    ended: Option<Ended>,
    heading: String,
    said: String,
    /// From 0 to 1000.
    share: u64,
    archives: Vec<String>,
    lines: Vec<String>,
}

#[derive(Serialize)]
struct AccountView {
    read: String,
    kept: String,
    repeats: String,
    skipped: String,
    reasons: Vec<(String, String)>,
    reconciles: bool,
    left: Vec<String>,
}

/// The screen.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let manifest = desk.folder.manifest()?;
        let scan = desk.scans.state();
        let runs = scan.as_ref().is_some_and(|scan| scan.ended.is_none());
        let left = manifest.iter().flat_map(|manifest| &manifest.sources);
        let left: Vec<String> = left
            .filter(|source| !source.complete)
            .map(|source| plain_short(&source.file))
            .collect();
        let account = manifest.as_ref().filter(|_| !runs);
        let account = account.map(|manifest| account_view(&manifest.account(), left));
        let scan = scan.map(scan_view);
        desk.screen("reading.html", &View { scan, account })
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

/// The scan as it stands, for the script.
pub async fn state(State(desk): Desk) -> Answer {
    let state = desk.scans.state().map(scan_view);
    json(&state).map_err(|failed| desk.failure(failed))
}

/// Starts reading the archives that were chosen.
pub async fn begin(State(desk): Desk, Fields(form): Fields) -> Answer {
    let asked = form.clone();
    let begun = desk
        .work(move |desk| {
            let wanted: BTreeSet<&str> = asked.all("archive").collect();
            let archives = desk.folder.archives()?;
            let chosen: Vec<(String, u64)> = archives
                .into_iter()
                .filter(|archive| wanted.contains(archive.name.as_str()))
                .map(|archive| (archive.name, archive.bytes))
                .collect();
            if chosen.is_empty() {
                return Err(Failed::bad("No file was chosen to read."));
            }
            let sample = asked.number("sample").unwrap_or(16).clamp(1, 1 << 16);
            desk.scans
                .start(&desk.folder, &desk.settings.program, &chosen, sample)
                .map_err(|error| Failed::conflict(format!("{error:#}")))
        })
        .await;
    begun
        .map(|()| desk.go("/reading"))
        .map_err(|failed| desk.failure(failed))
}

/// Stops reading.
pub async fn stop(State(desk): Desk) -> Response {
    desk.scans.stop();
    desk.go("/reading")
}

fn scan_view(scan: Scan) -> ScanView {
    let Scan {
        archives,
        total,
        progress,
        lines,
        ended,
        seconds,
    } = scan;
    let heading = match ended {
        None if total > 0 && progress.bytes >= total => "Putting the tables together",
        None => "Reading games",
        Some(Ended::Whole) => "The games were read",
        Some(Ended::InPart) => "The games were read, but not all is well",
        Some(Ended::Stopped) => "Reading was stopped",
        Some(Ended::Failed) => "Reading failed",
    };
    let so_far = format!(
        "{} in {}, {} of {} read.",
        counted(progress.games, "game"),
        counted(seconds, "second"),
        size(progress.bytes.min(total)),
        size(total)
    );
    ScanView {
        runs: ended.is_none(),
        ended,
        heading: heading.to_owned(),
        said: so_far,
        share: (progress.bytes.min(total) * 1000)
            .checked_div(total)
            .unwrap_or(0),
        archives: archives.iter().map(|name| plain_short(name)).collect(),
        lines: lines.iter().map(|line| plain_short(line)).collect(),
    }
}

fn account_view(account: &Account, left: Vec<String>) -> AccountView {
    let reasons = account.skipped.iter();
    AccountView {
        read: count(account.read),
        kept: count(account.kept),
        repeats: count(account.repeats),
        skipped: count(account.skipped_total()),
        reasons: reasons
            .map(|(reason, number)| (reason.clone(), count(*number)))
            .collect(),
        reconciles: account.reconciles(),
        left,
    }
}

/// Whether the tables can be asked while a scan goes on: the desk says so where they are in part.
pub fn caution(desk: &Shared, complete: bool) -> Option<&'static str> {
    match (desk.scans.runs(), complete) {
        (true, _) => Some("Games are being read at the moment: this is of those read so far."),
        (false, false) => Some("Not all files were read to their end: this is of what was read."),
        (false, true) => None,
    }
}
