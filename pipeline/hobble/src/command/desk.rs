//! `hobble desk`

use std::io::{Write as _, stdout};
use std::thread;

use anyhow::Context as _;
use hobble_desk::{Desk, Settings};
use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use crate::arguments;
use crate::words::say;

/// Opens a desk, says where, and answers until it is stopped.
pub fn run(arguments: &arguments::Desk) -> anyhow::Result<bool> {
    let program = std::env::current_exe().context("the program's own file is not known")?;
    let desk = Desk::open(Settings {
        archives: arguments.archives.clone(),
        port: arguments.port,
        upload_bytes: u64::from(arguments.upload_mib) << 20,
        program,
        ..Settings::of(&arguments.data)
    })?;
    let stopper = desk.stopper();
    let mut signals = Signals::new([SIGINT, SIGTERM])?;
    thread::spawn(move || {
        if signals.forever().next().is_some() {
            stopper.stop();
        }
    });
    let mut out = stdout();
    writeln!(out, "The desk is open at\n  {}", desk.address())
        .and_then(|()| out.flush())
        .context("standard output: cannot be written")?;
    say("Open that address in a browser on this computer. Ctrl-C closes the desk.");
    desk.serve()?;
    say("hobble: the desk is closed");
    Ok(true)
}
