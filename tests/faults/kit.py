"""What the cases share: running the program, measuring it, and judging what it said."""

import json
import os
import pathlib
import subprocess
import tempfile
import threading
import time
from dataclasses import dataclass

HOBBLE = os.environ["HOBBLE"]
# One date of scanning, so that manifests can be compared.
os.environ["SOURCE_DATE_EPOCH"] = "1935565200"
ROOT = pathlib.Path(__file__).resolve().parents[2]
SEASON = ROOT / "small-sample" / "season.pgn"
# Small pieces, so that a fault meets many of them.
SMALL = ["--block-kib", "64", "--part-blocks", "3", "--threads", "2"]
# A question that reads the table, for the tables that every question reads.
READ_BY = {"exposure": "restraint-by-band", "spells": "knight-shut-out", "turns": "held-piece-lost"}


class Fault(AssertionError):
    """The program did not survive."""


class Skipped(Exception):
    """The case cannot be tried on this machine."""


def expect(held, what):
    if not held:
        raise Fault(what)


@dataclass
class Ran:
    """One run of the program."""

    code: int
    out: str
    err: str
    peak: int  # KiB
    seconds: float

    @property
    def lines(self):
        return self.err.splitlines()

    def line(self, words):
        """The one line beside the output that holds these words."""
        found = [line for line in self.lines if words in line]
        expect(len(found) == 1, f"{len(found)} lines with `{words}`, code {self.code}: {self.err[-300:]!r}")
        return found[0]

    def failed(self, words):
        """Nothing was done: code 2 and one line."""
        expect(self.code == 2, f"code {self.code}, not 2: {self.err[-300:]!r}")
        expect(len(self.lines) == 1, f"{len(self.lines)} lines: {self.err[-300:]!r}")
        return self.code, self.line(words)

    def not_all_well(self, words):
        """Something was done: code 1 and one line about the fault."""
        expect(self.code == 1, f"code {self.code}, not 1: {self.err[-300:]!r}")
        return self.code, self.line(words)

    def well(self, words=None):
        expect(self.code == 0, f"code {self.code}, not 0: {self.err[-300:]!r} {self.out[-200:]!r}")
        return self.code, self.line(words) if words else "(nothing to say)"


def start(*args, stdin=subprocess.DEVNULL, **more):
    # Many cases repeat the season's games to have enough of them.
    if args[0] == "scan" and "--repeats" not in args:
        args = (*args, "--repeats", "keep")
    out, err = tempfile.TemporaryFile(), tempfile.TemporaryFile()
    more.setdefault("stdout", out)
    more.setdefault("stderr", err)
    process = subprocess.Popen([HOBBLE, *map(os.fspath, args)], stdin=stdin, **more)
    process.kept = (out, err, time.monotonic())
    return process


def finish(process, limit=120):
    """Waits, and returns what the program printed and used."""
    timer = threading.Timer(limit, process.kill)
    timer.start()
    _, status, used = os.wait4(process.pid, 0)
    timer.cancel()
    process.returncode = os.waitstatus_to_exitcode(status)
    out, err, began = process.kept
    texts = []
    for file in (out, err):
        file.seek(0)
        texts.append(file.read().decode(errors="replace"))
        file.close()
    seconds = time.monotonic() - began
    expect(seconds < limit, f"not done after {limit} seconds")
    expect("panicked" not in texts[1], texts[1][-300:])
    return Ran(process.returncode, *texts, used.ru_maxrss, seconds)


def hobble(*args, **more):
    return finish(start(*args, **more))


def fed(chunks, *args):
    """Runs the program with chunks of bytes on its standard input."""
    process = start(*args, stdin=subprocess.PIPE)

    def feed():
        try:
            for chunk in chunks:
                process.stdin.write(chunk)
            process.stdin.close()
        except BrokenPipeError:
            pass

    thread = threading.Thread(target=feed)
    thread.start()
    ran = finish(process)
    thread.join()
    return ran


def scan(data, *archives, more=(), **how):
    return hobble("scan", *archives, "--out", data, "--name-skipped", "0", *more, **how)


def manifest(data):
    return json.loads((data / "manifest.json").read_text())


def totals(data):
    """Games read, kept and skipped by reason."""
    sources = manifest(data)["sources"]
    skipped = {}
    for source in sources:
        for reason, count in source["skipped"].items():
            skipped[reason] = skipped.get(reason, 0) + count
    return sum(s["read"] for s in sources), sum(s["kept"] for s in sources), skipped


def counts(data, read, kept, **skipped):
    """The totals are these, and the tables reconcile with them."""
    named = {reason.replace("_", " "): count for reason, count in skipped.items()}
    expect(totals(data) == (read, kept, named), f"totals {totals(data)}, not {(read, kept, named)}")
    reconciles(data)


def reconciles(data):
    """Every count of `hobble check` agrees; faults of the archive it may name."""
    ran = hobble("check", "--data", data)
    expect(ran.code in (0, 1), f"check: code {ran.code}: {ran.err[-300:]}")
    wrong = [line for line in ran.out.splitlines() if "≠" in line]
    expect(not wrong, f"check: {wrong[:2]}")
    return ran


def games(number, name="x"):
    """Small games."""
    return "".join(
        f'[Event "{name} {i}"]\n[White "A"]\n[Black "B"]\n[Result "1-0"]\n\n'
        "1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6 5. O-O Be7 1-0\n\n"
        for i in range(number)
    )
