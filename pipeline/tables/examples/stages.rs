//! Measures what each stage of a scan costs, all on the same file in one run: reading and
//! cutting, parsing, replaying, following with tracks, encoding rows, and the whole scan by
//! the program itself. The stages take turns, so that a change in the machine's mood meets
//! all of them.
//!
//! One line of JSON for each measurement on standard output; `tests/speed/run` makes medians
//! and ratios of them.

use std::error::Error;
use std::hint::black_box;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::Instant;

use clap::{Parser, ValueEnum};
use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_archive::listing::Input;
use hobble_archive::stream::Stream;
use hobble_game::reader::GameReader;
use hobble_game::start::start;
use hobble_tables::gather::{Gatherer, keep_all};
use hobble_tables::layouts::Layouts;
use hobble_terms::Table;
use hobble_terms::manifest::Cuts;
use hobble_tracks::lanes::InstructionSet;
use hobble_tracks::track::Track;
use nix::sys::resource::{UsageWho, getrusage};
use pgn_reader::{RawTag, Reader, SanPlus, Visitor};
use serde_json::json;
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess, Position};

type Failure = Box<dyn Error + Send + Sync>;

#[derive(Parser)]
#[command(about = "Measures what each stage of a scan costs")]
struct Arguments {
    /// Archive
    archive: PathBuf,
    /// The program, for the full scans
    #[arg(long, value_name = "PROGRAM")]
    hobble: Option<PathBuf>,
    /// Threads of every stage that has more than one
    #[arg(long, default_value = "1")]
    threads: NonZeroUsize,
    /// Instruction set of the tracks, by its name: the fastest of this machine unless given
    #[arg(long, value_name = "NAME")]
    instructions: Option<String>,
    /// Rounds over all stages
    #[arg(long, default_value_t = 5)]
    rounds: usize,
    /// Stages, in the order of their first round
    #[arg(long, value_delimiter = ',', value_enum, default_values_t = Stage::value_variants().to_vec())]
    stages: Vec<Stage>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Stage {
    /// Read, unpack, hash and cut into games
    Split,
    /// Parse with pgn-reader, over the text in memory
    Parse,
    /// Parse and replay with shakmaty, over the text in memory
    Replay,
    /// Read and follow games with tracks, over the text in memory
    Tracks,
    /// Tracks, rows and their Parquet encoding, over the text in memory
    Rows,
    /// The full scan with all tables, by the program
    Scan,
    /// The full scan without the table of moves, by the program
    ScanWithoutMoves,
}

impl Stage {
    fn is_scan(self) -> bool {
        matches!(self, Stage::Scan | Stage::ScanWithoutMoves)
    }
}

/// What a stage went over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Done {
    games: u64,
    plies: u64,
}

impl Done {
    fn add(&mut self, other: Done) {
        self.games += other.games;
        self.plies += other.plies;
    }
}

fn main() -> Result<(), Failure> {
    let arguments = Arguments::parse();
    let mut stages = arguments.stages.clone();
    if arguments.hobble.is_none() && stages.iter().any(|stage| stage.is_scan()) {
        return Err("the full scans need --hobble".into());
    }
    let mut blocks = Vec::new();
    split(&arguments.archive, |block| blocks.push(block))?;
    for round in 0..arguments.rounds {
        for &stage in &stages {
            let who = if stage.is_scan() {
                UsageWho::RUSAGE_CHILDREN
            } else {
                UsageWho::RUSAGE_SELF
            };
            let before = cpu_seconds(who)?;
            let clock = Instant::now();
            let done = run(stage, &arguments, &blocks)?;
            let wall = clock.elapsed().as_secs_f64();
            let cpu = cpu_seconds(who)? - before;
            let name = stage.to_possible_value();
            println!(
                "{}",
                json!({
                    "stage": name.as_ref().map(|name| name.get_name()),
                    "round": round,
                    "threads": arguments.threads,
                    "cpu": cpu,
                    "wall": wall,
                    "games": done.games,
                    "plies": done.plies,
                })
            );
        }
        // No reading always comes right after the same one.
        stages.rotate_left(1);
        if round % 2 == 1 {
            stages.reverse();
        }
    }
    Ok(())
}

/// Seconds of user and system time.
fn cpu_seconds(who: UsageWho) -> Result<f64, Failure> {
    let usage = getrusage(who)?;
    let seconds =
        |time: nix::sys::time::TimeVal| time.tv_sec() as f64 + time.tv_usec() as f64 / 1e6;
    Ok(seconds(usage.user_time()) + seconds(usage.system_time()))
}

fn run(stage: Stage, arguments: &Arguments, blocks: &[Block]) -> Result<Done, Failure> {
    let threads = arguments.threads.get();
    match stage {
        Stage::Split => {
            let mut done = Done::default();
            split(&arguments.archive, |block| {
                done.games += block.games.len() as u64
            })?;
            Ok(done)
        }
        Stage::Parse => share(blocks, threads, || {
            Ok(|block: &Block| visit(block, &mut Count))
        }),
        Stage::Replay => share(blocks, threads, || {
            Ok(|block: &Block| visit(block, &mut Replay))
        }),
        Stage::Tracks => {
            let instructions = instructions(arguments.instructions.as_deref())?;
            share(blocks, threads, || follower(instructions))
        }
        Stage::Rows => share(blocks, threads, gatherer),
        Stage::Scan => scan(arguments, &Table::ALL),
        Stage::ScanWithoutMoves => {
            let tables = Table::ALL
                .into_iter()
                .filter(|&table| table != Table::Moves);
            scan(arguments, &tables.collect::<Vec<_>>())
        }
    }
}

fn split(archive: &Path, mut take: impl FnMut(Block)) -> Result<(), Failure> {
    let stream = Stream::open(&Input::File(archive.to_owned()))?;
    let mut blocks = Blocks::new(stream, Sizes::default());
    while let Some(block) = blocks.next_block()? {
        take(block);
    }
    Ok(())
}

/// Lets threads, each with a worker of its own, take blocks from the pile until it is empty.
fn share<W>(
    blocks: &[Block],
    threads: usize,
    worker: impl Fn() -> Result<W, Failure> + Sync,
) -> Result<Done, Failure>
where
    W: FnMut(&Block) -> Result<Done, Failure>,
{
    let next = AtomicUsize::new(0);
    let work = || -> Result<Done, Failure> {
        let mut worker = worker()?;
        let mut done = Done::default();
        while let Some(block) = blocks.get(next.fetch_add(1, Ordering::Relaxed)) {
            done.add(worker(block)?);
        }
        Ok(done)
    };
    let mut done = Done::default();
    thread::scope(|scope| {
        let others: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        for other in others {
            done.add(other.join().map_err(|_| "a thread broke off")??);
        }
        Ok(done)
    })
}

fn visit(block: &Block, visitor: &mut impl Visitor<Output = u64>) -> Result<Done, Failure> {
    let mut reader = Reader::new(block.text.as_slice());
    let mut done = Done::default();
    while let Some(plies) = reader.read_game(visitor)? {
        done.games += 1;
        done.plies += plies;
    }
    Ok(done)
}

/// Counts moves.
struct Count;

impl Visitor for Count {
    type Tags = ();
    type Movetext = u64;
    type Output = u64;

    fn begin_tags(&mut self) -> ControlFlow<u64, ()> {
        ControlFlow::Continue(())
    }

    fn begin_movetext(&mut self, (): ()) -> ControlFlow<u64, u64> {
        ControlFlow::Continue(0)
    }

    fn san(&mut self, plies: &mut u64, san: SanPlus) -> ControlFlow<u64> {
        *plies += 1;
        black_box(san);
        ControlFlow::Continue(())
    }

    fn end_game(&mut self, plies: u64) -> u64 {
        plies
    }
}

/// Plays the moves and counts them.
struct Replay;

impl Visitor for Replay {
    type Tags = Chess;
    type Movetext = (Chess, u64);
    type Output = u64;

    fn begin_tags(&mut self) -> ControlFlow<u64, Chess> {
        ControlFlow::Continue(Chess::default())
    }

    fn tag(&mut self, start: &mut Chess, name: &[u8], value: RawTag<'_>) -> ControlFlow<u64> {
        if name == b"FEN" {
            let position = Fen::from_ascii(&value.decode()).ok().and_then(|fen| {
                let mode = CastlingMode::detect(fen.as_setup());
                fen.into_position(mode).ok()
            });
            match position {
                Some(position) => *start = position,
                None => return ControlFlow::Break(0),
            }
        }
        ControlFlow::Continue(())
    }

    fn begin_movetext(&mut self, start: Chess) -> ControlFlow<u64, (Chess, u64)> {
        ControlFlow::Continue((start, 0))
    }

    fn san(&mut self, (position, plies): &mut (Chess, u64), san: SanPlus) -> ControlFlow<u64> {
        match san.san.to_move(position) {
            Ok(m) => {
                position.play_unchecked(m);
                *plies += 1;
                ControlFlow::Continue(())
            }
            // A broken game: what came before counts.
            Err(_) => ControlFlow::Break(*plies),
        }
    }

    fn end_game(&mut self, (position, plies): (Chess, u64)) -> u64 {
        black_box(position);
        plies
    }
}

/// The instruction set of a name; the fastest where none is asked for.
fn instructions(name: Option<&str>) -> Result<InstructionSet, Failure> {
    let Some(name) = name else {
        return Ok(InstructionSet::fastest());
    };
    let sets = InstructionSet::available();
    let names: Vec<_> = sets.iter().map(|set| set.name()).collect();
    let found = names.iter().position(|&other| other == name);
    found
        .map(|nth| sets[nth])
        .ok_or_else(|| format!("no instruction set {name:?} here; there are {names:?}").into())
}

/// A worker that follows games with tracks and keeps nothing.
fn follower(
    instructions: InstructionSet,
) -> Result<impl FnMut(&Block) -> Result<Done, Failure>, Failure> {
    let mut reader = GameReader::new();
    let mut track = Track::with(instructions);
    Ok(move |block: &Block| {
        let mut done = Done::default();
        for place in &block.games {
            let text = &block.text[place.span.start..place.span.end];
            let Ok(game) = reader.read(text) else {
                continue;
            };
            let Ok(start) = start(&game.tags, text) else {
                continue;
            };
            track.begin(&start.position);
            let played = game.moves.iter().all(|&san| {
                let m = track.resolve(san);
                m.map(|m| track.play(m)).is_ok()
            });
            if played {
                track.finish();
                black_box((track.plies(), track.spells()));
                track.observations().for_each(|seen| {
                    black_box(seen);
                });
                done.games += 1;
                done.plies += track.plies().len() as u64;
            }
        }
        Ok(done)
    })
}

/// A worker that gathers and encodes the rows of all tables, and writes none.
fn gatherer() -> Result<impl FnMut(&Block) -> Result<Done, Failure>, Failure> {
    let layouts = Arc::new(Layouts::new(&Table::ALL)?);
    let mut gatherer = Gatherer::new(layouts, Cuts::default());
    Ok(move |block: &Block| {
        let Some(gathered) = gatherer.block("-", block, keep_all)? else {
            return Ok(Done::default());
        };
        let done = Done {
            games: gathered.account.kept,
            plies: gathered.account.plies,
        };
        black_box(gathered);
        Ok(done)
    })
}

/// The full scan, into a folder that is removed again.
fn scan(arguments: &Arguments, tables: &[Table]) -> Result<Done, Failure> {
    let program = arguments.hobble.as_ref().ok_or("no --hobble")?;
    let folder = tempfile::tempdir()?;
    let names: Vec<_> = tables.iter().map(|table| table.name()).collect();
    let status = Command::new(program)
        .arg("scan")
        // The stages before it know no repeats.
        .args(["--repeats", "keep"])
        .arg(&arguments.archive)
        .args(["--threads", &arguments.threads.to_string()])
        .args(["--tables", &names.join(",")])
        .arg("--out")
        .arg(folder.path())
        .stdout(Stdio::null())
        .status()?;
    if !status.success() {
        return Err(format!("{} scan: {status}", program.display()).into());
    }
    let manifest = std::fs::read(folder.path().join("manifest.json"))?;
    let manifest: serde_json::Value = serde_json::from_slice(&manifest)?;
    let sum = |name: &str| {
        let sources = manifest["sources"].as_array().into_iter().flatten();
        sources.filter_map(|source| source[name].as_u64()).sum()
    };
    Ok(Done {
        games: sum("kept"),
        plies: sum("plies"),
    })
}
