//! The scan that runs: a program of its own, watched.
//!
//! The scan is `hobble scan --watched`, started in the data folder, so that archives below it have the
//! same name wherever the folder is moved to. It prints how far it is, a line of JSON at a time, and stops
//! when its standard input is closed: when the desk asks it to, or is no longer there. What is
//! complete is kept then, and a scan of the same archives goes on from there.

use std::io::{BufRead as _, BufReader, Read};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context as _, bail};
use hobble_terms::manifest::{Manifest, Parameters};
use serde::{Deserialize, Serialize};

use crate::folder::Folder;

/// Lines kept of what a scan says; there is one for each reason a game was skipped for.
const MOST_LINES: usize = 100;
/// Longest line kept, in characters.
const LONGEST_LINE: usize = 400;
/// Time a scan has to end by itself when it is stopped.
const GRACE: Duration = Duration::from_secs(10);

/// How far a scan is; also a line of the scan's standard output.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Progress {
    /// Bytes of archives read.
    pub bytes: u64,
    /// Games gathered.
    pub games: u64,
}

/// How a scan ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ended {
    /// Every archive was read to its end.
    Whole,
    /// It ended, and not all is well: an archive broke off, say.
    InPart,
    /// It was stopped.
    Stopped,
    /// Nothing could be done.
    Failed,
}

/// A scan as it stands.
#[derive(Clone, Debug, Default, Serialize)]
pub struct State {
    /// Archives that are read, by name.
    pub archives: Vec<String>,
    /// Their size in bytes.
    pub total: u64,
    /// How far it is.
    pub progress: Progress,
    /// What it said, the last lines.
    pub lines: Vec<String>,
    /// How it ended; `None` while it runs.
    pub ended: Option<Ended>,
    /// Seconds since it began, or that it took.
    pub seconds: u64,
}

/// The scan that runs, or the last one.
#[derive(Default)]
pub struct Scans {
    current: Mutex<Option<Arc<Job>>>,
}

struct Job {
    began: Instant,
    state: Mutex<State>,
    /// Closed to stop it.
    input: Mutex<Option<ChildStdin>>,
    child: Mutex<Child>,
}

impl Scans {
    /// The scan that runs, or the last one, as it stands; `None` where there was none.
    pub fn state(&self) -> Option<State> {
        let job = locked(&self.current).clone()?;
        let mut state = locked(&job.state).clone();
        if state.ended.is_none() {
            state.seconds = job.began.elapsed().as_secs();
        }
        Some(state)
    }

    /// Whether one runs.
    pub fn runs(&self) -> bool {
        self.state().is_some_and(|state| state.ended.is_none())
    }

    /// Starts a scan of these archives.
    ///
    /// # Errors
    ///
    /// Where one runs already, the tables were made in a way that cannot be continued here, or the program
    /// does not start.
    pub fn start(
        &self,
        folder: &Folder,
        program: &std::path::Path,
        archives: &[(String, u64)],
        sample: u64,
    ) -> anyhow::Result<()> {
        let mut current = locked(&self.current);
        if (current.as_ref()).is_some_and(|job| locked(&job.state).ended.is_none()) {
            bail!("games are being read already");
        }
        let options = options(folder.manifest()?.as_ref(), sample)?;
        let mut child = Command::new(program)
            .arg("scan")
            .arg("--watched")
            .args(["--out", "."])
            .args(options)
            .arg("--")
            .args(archives.iter().map(|(name, _)| name))
            .current_dir(folder.data())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .with_context(|| format!("{} does not start", program.display()))?;
        let (output, errors) = (child.stdout.take(), child.stderr.take());
        let job = Arc::new(Job {
            began: Instant::now(),
            state: Mutex::new(State {
                archives: archives.iter().map(|(name, _)| name.clone()).collect(),
                total: archives.iter().map(|(_, bytes)| bytes).sum(),
                ..State::default()
            }),
            input: Mutex::new(child.stdin.take()),
            child: Mutex::new(child),
        });
        let watched = Arc::clone(&job);
        thread::spawn(move || {
            thread::scope(|scope| {
                scope.spawn(|| watched.hear(errors));
                watched.follow(output);
            });
            watched.finish();
        });
        *current = Some(job);
        Ok(())
    }

    /// Stops the scan that runs, if one does.
    pub fn stop(&self) {
        if let Some(job) = locked(&self.current).as_ref() {
            drop(locked(&job.input).take());
        }
    }

    /// Stops the scan that runs and waits for its end.
    pub fn end(&self) {
        self.stop();
        let Some(job) = locked(&self.current).clone() else {
            return;
        };
        let until = Instant::now() + GRACE;
        while self.runs() && Instant::now() < until {
            thread::sleep(Duration::from_millis(20));
        }
        if self.runs() {
            let _ = locked(&job.child).kill();
        }
    }
}

impl Job {
    /// Takes note of how far it is until it ends.
    fn follow(&self, output: Option<impl Read>) {
        let lines = output.map(|output| BufReader::new(output).lines());
        for line in lines.into_iter().flatten().map_while(Result::ok) {
            if let Ok(progress) = serde_json::from_str(&line) {
                locked(&self.state).progress = progress;
            }
        }
    }

    /// Takes note of what it says. Bytes that are no text are replaced.
    fn hear(&self, errors: Option<impl Read>) {
        let lines = errors.map(|errors| BufReader::new(errors).split(b'\n'));
        for line in lines.into_iter().flatten().map_while(Result::ok) {
            let line: String = String::from_utf8_lossy(&line)
                .chars()
                .take(LONGEST_LINE)
                .collect();
            let mut state = locked(&self.state);
            if state.lines.len() == MOST_LINES {
                state.lines.remove(0);
            }
            state.lines.push(line);
        }
    }

    /// Takes note of how it ended.
    fn finish(&self) {
        let stopped = locked(&self.input).is_none();
        let code = loop {
            match locked(&self.child).try_wait() {
                Ok(Some(status)) => break status.code(),
                Ok(None) => {}
                Err(_) => break None,
            }
            thread::sleep(Duration::from_millis(20));
        };
        let mut state = locked(&self.state);
        state.seconds = self.began.elapsed().as_secs();
        state.ended = Some(match code {
            Some(0) => Ended::Whole,
            Some(1) => Ended::InPart,
            _ if stopped => Ended::Stopped,
            _ => Ended::Failed,
        });
    }
}

/// The options with which the tables of a folder go on, or begin.
fn options(manifest: Option<&Manifest>, sample: u64) -> anyhow::Result<Vec<String>> {
    let Some(manifest) = manifest else {
        return Ok(vec!["--sample".to_owned(), sample.to_string()]);
    };
    let Parameters {
        tables,
        band_width: _,
        time_cuts,
        block_bytes,
        part_blocks,
        sample,
        repeats,
        repeats_list,
        repeats_pass: _,
        pseudonyms,
        stripe,
    } = &manifest.parameters;
    if pseudonyms.is_some() || stripe.is_some() || repeats_list.is_some() {
        bail!(
            "these tables were made with pseudonyms, in stripes or with a list of repeats; \
             use `hobble scan` to add games to them"
        );
    }
    let tables: Vec<&str> = tables.iter().map(|table| table.name()).collect();
    let cuts = time_cuts.map(|cut| cut.to_string());
    Ok([
        ("--tables", tables.join(",")),
        ("--time-cuts", cuts.join(",")),
        ("--block-kib", (block_bytes / 1024).to_string()),
        ("--part-blocks", part_blocks.to_string()),
        ("--sample", sample.to_string()),
        ("--repeats", repeats.name().to_owned()),
    ]
    .into_iter()
    .flat_map(|(name, value)| [name.to_owned(), value])
    .collect())
}

/// What a lock guards. Whoever panicked before has left a value that can be read.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}
