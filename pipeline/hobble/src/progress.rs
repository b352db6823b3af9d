//! A progress bar on a terminal; nothing where the output is piped.

use std::io::{IsTerminal as _, Write as _, stderr, stdout};
use std::thread;
use std::time::Duration;

use hobble_tables::scan::Watch;
use indicatif::{ProgressBar, ProgressStyle};

/// A bar for a scan of a number of bytes; hidden where there is no terminal.
pub fn bar(total: Option<u64>) -> ProgressBar {
    if !stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let (bar, template) = match total {
        Some(total) => (
            ProgressBar::new(total),
            "{bar:30} {bytes} of {total_bytes}  {msg}  {eta} left",
        ),
        None => (ProgressBar::new_spinner(), "{spinner} {bytes} read  {msg}"),
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

/// Draws the bar until the scan is over.
pub fn draw(bar: &ProgressBar, watch: &Watch) {
    while !watch.is_done() {
        bar.set_position(watch.bytes());
        let seconds = bar.elapsed().as_secs_f64();
        if seconds > 0.5 {
            let games = watch.games();
            let speed = games as f64 / seconds;
            bar.set_message(format!("{games} games, {speed:.0} games/s"));
        }
        thread::sleep(Duration::from_millis(120));
    }
    bar.finish_and_clear();
}

/// Prints how far the scan is, a line of JSON whenever that changes, until it is over.
pub fn print(watch: &Watch) {
    let mut printed = None;
    loop {
        let is_done = watch.is_done();
        let now = (watch.bytes(), watch.games());
        if printed != Some(now) {
            let (bytes, games) = now;
            let line = format!("{{\"bytes\":{bytes},\"games\":{games}}}\n");
            let mut out = stdout();
            // Where nobody listens any more the scan is stopped by its input.
            let _ = out.write_all(line.as_bytes()).and_then(|()| out.flush());
            printed = Some(now);
        }
        if is_done {
            return;
        }
        thread::sleep(Duration::from_millis(200));
    }
}
