"""Answers of `ask_job.py` and leagues of `sift_job.py` against those of one machine: from a folder, with executors
killed, and from a store."""

import os
import shlex
import shutil
import signal
import sys
import time
from pathlib import Path

from processes import begin, descendants, must, run
from scanned import busiest

HOBBLE = os.environ["HOBBLE"]
STORE = os.environ["HOBBLE_STORE"]
ROOT = Path(__file__).resolve().parent.parent.parent
LEDGER = "sift-openings.json"
ASKED = ("rook-restrained", "scope-of-a-side", "restraint-by-band", "held-piece-lost")


def job_command(job, data, out, folder, *more, master="local-cluster[2,1,1024]"):
    return [
        sys.executable, ROOT / "pipeline" / "cluster" / job, "--data", data, "--out", out, "--master", master, "--hobble", HOBBLE, "--store", STORE, "--conf", "spark.ui.showConsoleProgress=false",
        "--conf", "spark.ui.enabled=false", "--conf", f"spark.local.dir={folder}/temporary", *more,
    ]  # fmt: skip


def command(question, data, out, folder, *more, **master):
    return job_command("ask_job.py", data, out, folder, question, "--format", "json", *more, **master)


def executor_counting(job):
    """An executor of a job below which a share is counted."""
    counting = tuple(f"{HOBBLE} {word} " for word in ("ask", "sift"))
    for pid, words in descendants(job.pid):
        if "CoarseGrainedExecutorBackend" in words and "java" in words.split()[0]:
            if any(below.startswith(counting) and " --stripe " in below for _, below in descendants(pid)):
                return pid
    return None


def with_a_killed_executor(job_command, log, when=lambda: True):
    """Runs a job and kills the first executor seen counting from a moment on. Returns the exit code, and whether Spark lost
    one that was killed."""
    job, killed = begin(job_command, log), None
    while job.poll() is None:
        killed = killed or (when() and executor_counting(job))
        if killed and job.returncode is None:
            try:
                os.kill(killed, signal.SIGKILL)
            except ProcessLookupError:
                pass
            break
        time.sleep(0.01)
    code, said = job.wait(), log.read_text()
    return code, killed and ("ExecutorLostFailure" in said or "Lost executor" in said)


def refused_in_one_line(check, job, what, command, words):
    refused = run(command)
    said = [line for line in refused.stderr.splitlines() if line.startswith(f"{job}: ")]
    check(f"{job}: {what} is refused in one line", refused.returncode == 1 and len(said) == 1 and words in said[0] and "Traceback" not in refused.stderr, "; ".join(said)[-100:] or refused.stderr[-200:])


def one_machine(question, data, *more):
    return must([HOBBLE, "ask", question, "--data", data, "--format", "json", *more])


def of_a_folder(check, data, folder):
    """Questions by their names and in files, from tables in a folder."""
    for question in ASKED[1:]:
        out = folder / f"{question}.json"
        done = run(command(question, data, out, folder, "--shares", "5"))
        same = done.returncode == 0 and out.read_text() == one_machine(question, data)
        check(f"ask_job: {question} as on one machine, to the last digit", same, done.stderr.strip()[-300:] if done.returncode else f"{out.stat().st_size:,} bytes of JSON")
    question, out, state = ASKED[0], folder / "killed.json", folder / "sum.state"
    log = folder / "killed.log"
    code, lost = with_a_killed_executor(command(question, data, out, folder, "--shares", "9", "--state", state), log)
    want = one_machine(question, data)
    check(f"ask_job: {question}, an executor killed while it counts: as on one machine", code == 0 and lost and out.read_text() == want, "" if code == 0 else log.read_text()[-300:])
    added = must([HOBBLE, "ask", "--format", "json", "--from", state])
    check("ask_job: the state that it writes answers alone", added == want, f"{state.stat().st_size:,} bytes")
    own = folder / "own.toml"
    text = (ROOT / "notebooks-free-reports" / "rook-restrained.toml").read_text()
    own.write_text(f"{text}\nsince = \"1990\"\n")
    done = run(command(own, data, out, folder, "--ask-options", "--k 1", master="local[2]"))
    one = must([HOBBLE, "ask", own, "--data", data, "--k", "1", "--format", "json"])
    check("ask_job: a question file, with an option: as on one machine", done.returncode == 0 and out.read_text() == one != want, done.stderr.strip()[-300:] if done.returncode else "")
    about = ["--player", busiest(data)]
    done = run(command("own-habits", data, out, folder, "--shares", "5", "--ask-options", shlex.join(about)))
    same = done.returncode == 0 and out.read_text() == one_machine("own-habits", data, *about)
    check("ask_job: own-habits, counted twice: as on one machine", same, done.stderr.strip()[-300:] if done.returncode else "")
    for what, arguments, words in [
        ("a question that is not there", ("no-such-question", data), "no question"),
        ("a folder without tables", (question, folder), "no tables"),
        ("a question about nobody", ("own-habits", data), "name one with --player"),
    ]:
        refused_in_one_line(check, "ask_job", what, command(*arguments, out, folder, master="local[2]"), words)
    grids_of_a_folder(check, data, folder)


def of_a_store(check, address, got, folder):
    """The same from a store, beside the tables that were got from it."""
    for question in ASKED:
        out = folder / f"store-{question}.json"
        done = run(command(question, address, out, folder, "--shares", "3", master="local[2]"))
        same = done.returncode == 0 and out.read_text() == one_machine(question, got)
        check(f"ask_job on S3: {question} as on one machine", same, done.stderr.strip()[-300:] if done.returncode else "")
    about, out = ["--player", busiest(got)], folder / "store-player.json"
    done = run(command("own-habits", address, out, folder, "--shares", "3", "--ask-options", shlex.join(about), master="local[2]"))
    same = done.returncode == 0 and out.read_text() == one_machine("own-habits", got, *about)
    check("ask_job on S3: own-habits, counted twice: as on one machine", same, done.stderr.strip()[-300:] if done.returncode else "")


def sift_command(data, out, folder, *more, **master):
    return job_command("sift_job.py", data, out, folder, *more, **master)


def league(out):
    """The league and the claims' files, by their names."""
    return {str(path.relative_to(out)): path.read_bytes() for path in out.rglob("*") if path.is_file()}


def own_grid(folder):
    """The grid of the program with less in it."""
    text = (ROOT / "pipeline/sift/src/grid.toml").read_text()
    grid = folder / "own-grid.toml"
    grid.write_text(text.replace("most_conditions = 2", "most_conditions = 1").replace("within = 10 ", "within = 5 "))
    return grid


def league_of_one_machine(data, out, ledger, *grid):
    must([HOBBLE, "sift", *grid, "--data", data, "--ledger", ledger, "--out", out])
    return league(out)


def grids_of_a_folder(check, data, folder):
    """The grid of the program, an executor killed while the locked half is counted; a grid in a file."""
    one, out, ledger, log = folder / "one-league", folder / "league", folder / "one-ledger.json", folder / "sift-killed.log"
    want = league_of_one_machine(data, one, ledger)
    opened = data / LEDGER
    opened.unlink(missing_ok=True)
    code, lost = with_a_killed_executor(sift_command(data, out, folder, "--shares", "9"), log, opened.exists)
    claims = sum(name.startswith("claims/") for name in want)
    check("sift_job: an executor killed while the locked half is counted: league and claims as on one machine, byte for byte", code == 0 and lost and claims > 1 and league(out) == want, f"{claims} claims" if code == 0 else log.read_text()[-300:])
    check("sift_job: the half was opened once, which is written down as on one machine", opened.read_bytes() == ledger.read_bytes())
    opened.unlink()
    grid, one, out, named = own_grid(folder), folder / "one-own-league", folder / "own-league", folder / "named.json"
    shutil.copy(ledger, named)
    done = run(sift_command(data, out, folder, grid, "--shares", "3", "--ledger", named, master="local[2]"))
    other = league_of_one_machine(data, one, ledger, grid)
    same = done.returncode == 0 and league(out) == other != want and named.read_bytes() == ledger.read_bytes() and not opened.exists()
    check("sift_job: a grid in a file, a ledger that is named: as on one machine, the second opening", same, done.stderr.strip()[-300:] if done.returncode else "")
    named.write_text(named.read_text()[:-20])
    for what, arguments, words in [
        ("a grid that is not there", (data, out, folder, folder / "no-grid.toml"), "no-grid.toml: cannot be read"),
        ("a damaged ledger", (data, out, folder, grid, "--ledger", named), "named.json"),
        ("a folder without tables", (folder, out, folder), "no tables"),
    ]:
        refused_in_one_line(check, "sift_job", what, sift_command(*arguments, master="local[2]"), words)


def grids_of_a_store(check, address, data, folder):
    """A grid from a store, twice: openings are written down beside the tables there."""
    part = folder / "to-sift"
    for table in ("games", "turns"):
        shutil.copytree(data / table, part / table)
    shutil.copy(data / "manifest.json", part)
    must([STORE, "put", part, address])
    grid, ledger, got = own_grid(folder), folder / "store-ledger.json", folder / "got-ledger"
    for time_of in ("first", "second"):
        want = league_of_one_machine(part, folder / f"one-{time_of}-league", ledger, grid)
        out = folder / f"store-{time_of}-league"
        done = run(sift_command(address, out, folder, grid, "--shares", "5", master="local[2]"))
        claims = sum(name.startswith("claims/") for name in want)
        same = done.returncode == 0 and claims > 1 and league(out) == want
        check(f"sift_job on S3, the {time_of} time: league and claims as on one machine, byte for byte", same, done.stderr.strip()[-300:] if done.returncode else f"{claims} claims")
        must([STORE, "get", f"{address}/{LEDGER}", got])
        check(f"sift_job on S3, the {time_of} time: the opening is written down in the store", (got / LEDGER).read_bytes() == ledger.read_bytes())
