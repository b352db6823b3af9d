"""Answers of `ask_job.py` against those of one machine: from a folder, with executors killed, and from a store."""

import os
import shlex
import signal
import sys
import time
from pathlib import Path

from processes import begin, descendants, must, run
from scanned import busiest

HOBBLE = os.environ["HOBBLE"]
STORE = os.environ["HOBBLE_STORE"]
JOB = Path(__file__).resolve().parent.parent.parent / "pipeline" / "cluster" / "ask_job.py"
ASKED = ("rook-restrained", "scope-of-a-side", "restraint-by-band", "held-piece-lost")


def command(question, data, out, folder, *more, master="local-cluster[2,1,1024]"):
    return [
        sys.executable, JOB, question, "--data", data, "--format", "json", "--out", out, "--master", master,
        "--hobble", HOBBLE, "--store", STORE, "--conf", "spark.ui.showConsoleProgress=false",
        "--conf", "spark.ui.enabled=false", "--conf", f"spark.local.dir={folder}/temporary", *more,
    ]  # fmt: skip


def executor_counting(job):
    """An executor of a job below which a share is counted."""
    for pid, words in descendants(job.pid):
        if "CoarseGrainedExecutorBackend" in words and "java" in words.split()[0]:
            if any(f"{HOBBLE} ask" in below for _, below in descendants(pid)):
                return pid
    return None


def with_a_killed_executor(job_command, log):
    """Runs a job and kills the first executor seen counting. Returns the exit code and who was killed."""
    job, killed = begin(job_command, log), None
    while job.poll() is None:
        killed = killed or executor_counting(job)
        if killed and job.returncode is None:
            try:
                os.kill(killed, signal.SIGKILL)
            except ProcessLookupError:
                pass
            break
        time.sleep(0.01)
    return job.wait(), killed


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
    code, killed = with_a_killed_executor(command(question, data, out, folder, "--shares", "9", "--state", state), log)
    lost = "ExecutorLostFailure" in log.read_text() or "Lost executor" in log.read_text()
    want = one_machine(question, data)
    check(f"ask_job: {question}, an executor killed while it counts: as on one machine", code == 0 and killed and lost and out.read_text() == want, "" if code == 0 else log.read_text()[-300:])
    added = must([HOBBLE, "ask", "--format", "json", "--from", state])
    check("ask_job: the state that it writes answers alone", added == want, f"{state.stat().st_size:,} bytes")
    own = folder / "own.toml"
    text = (JOB.parent.parent.parent / "notebooks-free-reports" / "rook-restrained.toml").read_text()
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
        refused = run(command(*arguments, out, folder, master="local[2]"))
        said = [line for line in refused.stderr.splitlines() if line.startswith("ask_job: ")]
        check(f"ask_job: {what} is refused in one line", refused.returncode == 1 and len(said) == 1 and words in said[0] and "Traceback" not in refused.stderr, "; ".join(said)[-100:] or refused.stderr[-200:])


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
