"""Measures the program; started by tests/speed/run, which says more.

Machines are noisy and shared, so ratios count: what is compared is run in turns, CPU time
(user and system) is taken where threads do not matter, and medians are taken of the rounds.
"""

import argparse
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from dataclasses import dataclass

import duckdb

import inputs
import inside
import questions
from report import Report, median, spread

HERE = pathlib.Path(__file__).resolve().parent
LEAN = "games,spells,exposure"
MIB_LIMIT = 300
# Bytes a game.
SIZES = {"spells": 450, "moves": 400}
PARTS = {}


def part(function):
    """Makes a function one of the parts, by its name."""
    PARTS[function.__name__] = function
    return function


@dataclass
class Bench:
    """What the parts share."""

    hobble: str
    stages: str
    archive: pathlib.Path
    games: int
    scratch: pathlib.Path
    options: argparse.Namespace
    report: Report
    full_cpu: float | None = None  # seconds of CPU a full scan takes
    plies: int | None = None
    data: pathlib.Path | None = None  # all tables of the archive

    def run(self, command, *, before=()):
        """What a program used; see process.py."""
        done = subprocess.run(
            [sys.executable, "-S", HERE / "process.py", *before, "--", *command],
            stdout=subprocess.PIPE, text=True, check=False,
        )
        if done.returncode != 0:
            raise SystemExit(f"{' '.join(map(str, command))}: broke off")
        return json.loads(done.stdout)

    def scan(self, archive, *, threads=2, tables=None, before=(), keep=None):
        """What a scan used; its tables are removed unless `keep` names their folder."""
        out = keep or pathlib.Path(tempfile.mkdtemp(dir=self.scratch))
        command = [self.hobble, "scan", archive, "--out", out, "--threads", str(threads)]
        command += ["--repeats", "keep"]  # some archives are one, repeated
        if tables:
            command += ["--tables", tables]
        try:
            return self.run(command, before=[b.replace("OUT", str(out)) for b in before])
        finally:
            if keep is None:
                shutil.rmtree(out)

    def scan_fed(self, times, tables):
        """What a scan of the archive, repeated on standard input, used."""
        feeding = ["--feed", str(self.archive), "--times", str(times), "--reap", "OUT"]
        return self.scan("-", tables=tables, before=feeding)

    def all_tables(self):
        """The folder of all tables of the archive, scanned once."""
        if self.data is None:
            self.data = self.scratch / "data"
            self.scan(self.archive, keep=self.data)
        return self.data

    def manifest(self):
        """The manifest of all tables."""
        return json.loads((self.all_tables() / "manifest.json").read_text(encoding="utf-8"))


STAGES = {
    "split": "(a) read, unpack, hash, cut into games",
    "parse": "(b) parse with pgn-reader, in memory",
    "replay": "(c) parse and replay with shakmaty, in memory",
    "tracks": "(d) read and follow with tracks, no rows, in memory",
    "rows": "(d′) the same with rows, encoded but not written",
    "scan": "(e) full scan, all tables",
    "scan-without-moves": "(e′) full scan without `moves`",
}


@part
def stages(bench):
    """What each stage of a scan costs."""
    threads = bench.options.threads
    done = subprocess.run(
        [bench.stages, bench.archive, "--hobble", bench.hobble, "--threads", str(threads),
         "--rounds", str(bench.options.rounds)],
        stdout=subprocess.PIPE, text=True, check=True, env=os.environ | {"TMPDIR": str(bench.scratch)},
    )
    rounds = defaultdict(list)
    for line in done.stdout.splitlines():
        one = json.loads(line)
        rounds[one["stage"]].append(one)
    plies = {stage: {one["plies"] for one in rounds[stage]} for stage in STAGES if stage != "split"}
    if len(set.union(*plies.values())) != 1:
        raise SystemExit(f"the stages went over different plies: {plies}")
    bench.plies = plies["scan"].pop()

    def ratios(stage, to="replay"):
        return [a["cpu"] / b["cpu"] for a, b in zip(rounds[stage], rounds[to])]

    rows = []
    for stage, text in STAGES.items():
        cpu = median([one["cpu"] for one in rounds[stage]])
        wall = median([one["wall"] for one in rounds[stage]])
        rows.append([text, f"{cpu:.3f}", f"{wall:.3f}", f"{bench.plies / cpu / 1e6:.2f}",
                     f"{1e6 * cpu / bench.games:.1f}", f"{median(ratios(stage)):.2f}"])
    bench.full_cpu = median([one["cpu"] for one in rounds["scan"]])
    bench.report.table(
        [f"stage, {threads} thread{'s' * (threads > 1)}", "CPU s", "wall s", "million plies / CPU s",
         "CPU µs / game", "CPU × (c)"], rows,
    )
    shares(bench, {stage: median([one["cpu"] for one in rounds[stage]]) for stage in STAGES})
    for target, stage, most in [("full scan (e)", "scan", 5), ("tracks (d)", "tracks", 3.5)]:
        times = ratios(stage)
        bench.report.target(
            f"{target} ≤ {most} × replay (c), CPU time",
            f"{median(times):.2f} × ({spread(times)} in {len(times)} rounds)", median(times) <= most,
        )


def shares(bench, cpu):
    """Where the CPU time of a full scan goes: each stage less the one it contains."""
    steps = [
        ("reading, hashing and cutting", cpu["split"]),
        ("parsing", cpu["parse"]),
        ("replaying", cpu["replay"] - cpu["parse"]),
        ("mobility, exchanges and spells", cpu["tracks"] - cpu["replay"]),
        ("columns, their encoding and packing", cpu["rows"] - cpu["tracks"]),
        ("threads, files and the rest", cpu["scan"] - cpu["rows"] - cpu["split"]),
    ]
    bench.report.table(
        ["where a full scan spends its time", "CPU s", "share, %"],
        [[name, f"{of:.2f}", f"{100 * of / cpu['scan']:.0f}"] for name, of in steps],
    )
    wanted = 5 * cpu["replay"]
    bench.report.note(
        f"5 × replay are {wanted:.2f} s of CPU; following with tracks alone, nothing written, "
        f"takes {cpu['tracks']:.2f} s, and `moves` {cpu['scan'] - cpu['scan-without-moves']:.2f} s"
    )


@part
def instructions(bench):
    """Following games by each instruction set of this machine."""
    rows = []
    for name in ["AVX-512", "AVX2", "portable"]:
        done = subprocess.run(
            [bench.stages, bench.archive, "--stages", "replay,tracks", "--instructions", name,
             "--rounds", str(bench.options.rounds)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, check=False,
        )
        if done.returncode != 0:
            bench.report.skip(f"tracks by {name} ≤ 3.5 × replay", done.stderr.strip())
            continue
        rounds = defaultdict(list)
        for line in done.stdout.splitlines():
            one = json.loads(line)
            rounds[one["stage"]].append(one["cpu"])
            plies = one["plies"]
        times = [a / b for a, b in zip(rounds["tracks"], rounds["replay"])]
        rows.append([name, *(f"{1e9 * median(rounds[stage]) / plies:.0f}" for stage in ("replay", "tracks")),
                     f"{median(times):.2f}"])
        if name != "portable":
            bench.report.target(
                f"tracks by {name} ≤ 3.5 × replay, CPU time",
                f"{median(times):.2f} × ({spread(times)})", median(times) <= 3.5,
            )
    bench.report.table(["instructions", "replay, ns / ply", "tracks, ns / ply", "CPU × replay"], rows)


@part
def profile(bench):
    """Where following and writing games spend their time."""
    reason = inside.available()
    if reason:
        bench.report.note(f"where following and writing spend their time | {reason} | skipped")
        return
    whole, shares_of = inside.samples(bench.stages, bench.archive, bench.scratch)
    bench.report.table(
        [f"where following games and making their rows spends CPU time, {whole:,} samples", "%"],
        [[name, f"{share:.1f}"] for name, share in shares_of],
    )


@part
def slow(bench):
    """The full scan against python-chess and plain Python."""
    done = subprocess.run(
        [sys.executable, HERE / "slow.py", bench.archive, "--games", str(bench.options.slow_games)],
        stdout=subprocess.PIPE, text=True, check=True,
    )
    slow = json.loads(done.stdout)
    if bench.full_cpu is None or bench.plies is None:
        bench.full_cpu = bench.scan(bench.archive, threads=bench.options.threads)["cpu"]
        bench.plies = bench.manifest()["sources"][0]["plies"]
    scale = bench.plies / slow["plies"]
    rows = [["(e) full scan", f"{bench.full_cpu:,.2f}", f"{bench.plies / bench.full_cpu:,.0f}", "1"]]
    for name, cpu in [("(f) the same figures in python-chess and plain Python", slow["cpu"]),
                      ("python-chess's own reading alone, no figures", slow["read_cpu"])]:
        rows.append([name, f"{cpu * scale:,.0f}", f"{slow['plies'] / cpu:,.0f}",
                     f"{cpu * scale / bench.full_cpu:,.0f}"])
    bench.report.table(
        [f"whole archive, Python scaled from {slow['plies']:,} plies of {slow['games']} games",
         "CPU s", "plies / CPU s", "× (e)"], rows,
    )
    times = slow["cpu"] * scale / bench.full_cpu
    bench.report.target("full scan (e) ≥ 300 × (f), per core", f"{times:,.0f} ×", times >= 300)


@part
def threads(bench):
    """Two threads against one, and two cores against one."""
    target = "2 threads ≥ 1.9 × one, wall time"
    if not hasattr(os, "sched_getaffinity") or len(os.sched_getaffinity(0)) < 2:
        bench.report.skip(target, "one core here")
        return
    first, second = sorted(os.sched_getaffinity(0))[:2]
    one_core, two_cores = ["--cores", str(first)], ["--cores", f"{first},{second}"]
    ways = {
        "1 thread": dict(threads=1, before=two_cores),
        "2 threads": dict(threads=2, before=two_cores),
        "2 threads on one core": dict(threads=2, before=one_core),
    }
    walls, others = defaultdict(list), []
    for _ in range(bench.options.rounds):
        for way, how in ways.items():
            used = bench.scan(bench.archive, **how)
            walls[way].append(used["wall"])
            others.append(used["others"] or 0.0)
    two = walls["2 threads"]
    gain = [a / b for a, b in zip(walls["1 thread"], two)]
    cores = [a / b for a, b in zip(walls["2 threads on one core"], two)]
    bench.report.target(
        target, f"{median(gain):.2f} × ({spread(gain)}); other programs took "
        f"{100 * median(others):.0f} % of the machine", median(gain) >= 1.9,
    )
    # One thread has a reader and a writer beside it, which a second core helps too.
    bench.report.note(f"2 threads on two cores: {median(cores):.2f} × the same on one core ({spread(cores)})")
    bench.report.table(
        ["full scan", "wall s", "games / s"],
        [[way, f"{median(w):.2f}", f"{bench.games / median(w):,.0f}"] for way, w in walls.items()],
    )


@part
def packing(bench):
    """A packed archive against a plain one."""
    packed = inputs.packed(bench.archive, 3)
    plain_cpu, packed_cpu = [], []
    for _ in range(bench.options.rounds):
        plain_cpu.append(bench.scan(bench.archive)["cpu"])
        packed_cpu.append(bench.scan(packed)["cpu"])
    more = [100 * (b / a - 1) for a, b in zip(plain_cpu, packed_cpu)]
    bench.report.target(
        ".zst input costs ≤ 5 % more than plain, CPU time",
        f"{median(more):+.1f} % ({spread(more)})", median(more) <= 5,
    )


@part
def memory(bench):
    """Peak of memory and time per game as the archive grows, through standard input."""
    once, *more = bench.options.times
    used = defaultdict(list)
    for times in [once, *(t for m in more for t in (m, once))]:
        used[times].append(bench.scan_fed(times, LEAN))
    whole = {times: bench.scan_fed(times, None) for times in bench.options.times[:2]}

    rows = []
    for times in bench.options.times:
        peak = max(one["peak_mib"] for one in used[times])
        cpu = median([one["cpu"] for one in used[times]]) / times / bench.games
        wall = median([one["wall"] for one in used[times]]) / times / bench.games
        rows.append([f"{times} ×, {LEAN}", f"{times * bench.games:,}", f"{peak:.0f}",
                     f"{1e6 * cpu:.1f}", f"{1e6 * wall:.1f}"])
    for times, one in whole.items():
        games = times * bench.games
        rows.append([f"{times} ×, all tables", f"{games:,}", f"{one['peak_mib']:.0f}",
                     f"{1e6 * one['cpu'] / games:.1f}", f"{1e6 * one['wall'] / games:.1f}"])
    bench.report.table(
        ["archive repeated, 2 threads", "games", "peak MiB", "CPU µs / game", "wall µs / game"], rows,
    )
    peaks = {times: max(one["peak_mib"] for one in used[times]) for times in bench.options.times}
    highest = max([*peaks.values(), *(one["peak_mib"] for one in whole.values())])
    bench.report.target(
        f"memory ≤ {MIB_LIMIT} MiB at 2 threads", f"{highest:.0f} MiB", highest <= MIB_LIMIT
    )
    last, before = bench.options.times[-1], bench.options.times[-2]
    growth = peaks[last] - peaks[before]
    # A leak of one byte a game would show as 3 MiB between 10 and 30 times this archive.
    allowed = max(0.05 * peaks[before], 8)
    bench.report.target(
        f"memory flat from {before} × to {last} ×",
        f"{' → '.join(f'{peaks[t]:.0f}' for t in bench.options.times)} MiB, {growth:+.1f} MiB",
        growth <= allowed,
    )
    per_game = {t: median([one["cpu"] for one in used[t]]) / t for t in (once, last)}
    off = 100 * (per_game[last] / per_game[once] - 1)
    bench.report.target(
        f"time per game at {last} × within 5 % of {once} ×, CPU time", f"{off:+.1f} %", abs(off) <= 5
    )


@part
def size(bench):
    """Bytes per game of each table and of the packed archive."""
    manifest = bench.manifest()
    tables = {name: table["bytes"] / bench.games for name, table in manifest["tables"].items()}
    packed = {level: inputs.packed(bench.archive, level).stat().st_size / bench.games
              for level in bench.options.levels}
    rows = [[f"table `{name}`", f"{of:,.1f}"] for name, of in tables.items()]
    rows.append(["all tables", f"{sum(tables.values()):,.1f}"])
    rows.append(["without `moves`", f"{sum(tables.values()) - tables['moves']:,.1f}"])
    rows.append(["the archive, plain", f"{bench.archive.stat().st_size / bench.games:,.1f}"])
    rows += [[f"the archive, zstd level {level}", f"{of:,.1f}"] for level, of in packed.items()]
    bench.report.table(["size", "bytes / game"], rows)
    bench.plies = bench.plies or manifest["sources"][0]["plies"]
    counted_by_moves(bench)
    for name, most in SIZES.items():
        bench.report.target(
            f"`{name}` ≤ {most} bytes / game", f"{tables[name]:.0f}", tables[name] <= most
        )


# What a row of `moves` holds, and what the columns of it begin with; the first that fits.
HOLDS = {
    "squares taken and given, and what the captured unit had": ("taken", "given", "own_", "captured_"),
    "the move itself": ("mover", "from_square", "to_square", "captured", "promotion", "gives_check", "castling", "en_passant"),
    "legal destinations": ("legal",),
    "safe squares of each kind, both sides": ("white_", "black_"),
    "clocks and evaluations": ("clock", "eval", "mate"),
    "game and ply": ("game", "ply"),
}


def counted_by_moves(bench):
    """Where the bytes of `moves` lie."""
    files = f"{bench.all_tables()}/moves/**/*.parquet"
    columns = duckdb.sql(
        f"select path_in_schema, sum(total_compressed_size) from parquet_metadata('{files}') group by 1"
    ).fetchall()
    sizes = defaultdict(list)
    for name, size in columns:
        sizes[next(what for what, begins in HOLDS.items() if name.startswith(begins))].append(int(size))
    rows = [[what, str(len(of)), f"{sum(of) / bench.games:,.1f}", f"{8 * sum(of) / bench.plies:.2f}"]
            for what, of in sizes.items()]
    bench.report.table(["`moves`", "columns", "bytes / game", "bits / ply"], rows)


@part
def asking(bench):
    """The shipped questions, and DuckDB on the same tables."""
    if not questions.can_ask(bench.hobble):
        bench.report.skip("shipped questions", "this program has no `ask`")
        return
    data = bench.all_tables()
    questions.judge(bench.report, questions.measure(bench.hobble, data, bench.options.rounds))


def arguments():
    """The command line."""
    parser = argparse.ArgumentParser(prog="tests/speed/run", description=__doc__.splitlines()[0])
    names = lambda text: text.split(",")
    numbers = lambda text: [int(number) for number in text.split(",")]
    about = "; ".join(f"{name}: {function.__doc__[0].lower()}{function.__doc__[1:-1]}"
                      for name, function in PARTS.items())
    parser.add_argument("--only", type=names, default=list(PARTS), metavar="PARTS", help=about)
    parser.add_argument("--quick", action="store_true", help="a slice of 3,000 games, without verdicts")
    parser.add_argument("--archive", type=pathlib.Path, help="another archive than the open one")
    parser.add_argument("--rounds", type=int, help="rounds of what is compared [5; quick 2]")
    parser.add_argument("--threads", type=int, default=1, help="threads of the stages [1]")
    parser.add_argument("--slow-games", type=int, help="games for the slow reading [300; quick 10]")
    parser.add_argument("--times", type=numbers, default=[1, 10, 30], metavar="1,10,30",
                        help="repetitions of the archive, for memory")
    parser.add_argument("--levels", type=numbers, default=[3, 19], metavar="3,19",
                        help="zstd levels of the archive, beside the tables")
    parser.add_argument("--markdown", type=pathlib.Path, metavar="FILE", help="also write the tables there")
    options = parser.parse_args()
    unknown = [name for name in options.only if name not in PARTS]
    if unknown:
        parser.error(f"--only: no part {', '.join(unknown)}; there are {', '.join(PARTS)}")
    if len(options.times) < 2 or options.times != sorted(set(options.times)):
        parser.error("--times: at least two numbers that go up")
    options.rounds = options.rounds or (2 if options.quick else 5)
    options.slow_games = options.slow_games or (10 if options.quick else 300)
    return options


def main():
    options = arguments()
    archive, reason = (options.archive, "") if options.archive else inputs.open_archive()
    if archive is None:
        print(f"skipped | speed on the open archive | {reason}")
        return
    if options.quick:
        archive = inputs.first_games(archive, 3000)
    inputs.CACHE.mkdir(parents=True, exist_ok=True)
    report = Report(binding=not options.quick)
    with tempfile.TemporaryDirectory(dir=inputs.CACHE) as scratch:
        bench = Bench(
            hobble=os.environ["HOBBLE"], stages=os.environ["STAGES"], archive=archive,
            games=inputs.games_in(archive.read_bytes()), scratch=pathlib.Path(scratch),
            options=options, report=report,
        )
        for name, function in PARTS.items():
            if name in options.only:
                function(bench)
    text = report.markdown()
    print(f"\n{text}", end="")
    if options.markdown:
        options.markdown.write_text(text, encoding="utf-8")
    sys.exit(report.failed)


if __name__ == "__main__":
    main()
