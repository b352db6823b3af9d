"""Where tables and markers go: a folder that all machines see, or an S3-compatible store."""

import json
import os
import shutil
import subprocess
import uuid
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote

MARKERS = ".tasks"
REPEATS = "repeats.csv"
# Openings of the locked half, beside the tables.
LEDGER = "sift-openings.json"


class Failed(Exception):
    """Something to report in one line."""


class Folder:
    """A folder that all machines see."""

    def __init__(self, path):
        self.path = Path(path).resolve()

    def files(self):
        """Bytes of everything that lies there, by name."""
        tables = self.path.glob("*/source=*/*.parquet")
        markers = self.path.glob(f"{MARKERS}/*/manifest.json")
        return {str(p.relative_to(self.path)): p.stat().st_size for p in (*tables, *markers)}

    def markers(self, names, _into):
        """Folders of the markers of these tasks."""
        return [self.path / MARKERS / name for name in names]

    def list_of_repeats(self, name, _into):
        """The file of a task's list of repeats."""
        return self.path / MARKERS / name / REPEATS

    def committed(self, _into):
        """The archives of the manifest, in its order."""
        manifest = self.path / "manifest.json"
        return json.loads(manifest.read_text())["sources"] if manifest.is_file() else []

    def read_ledger(self, _temporary):
        """The file in which openings of the locked half are written down."""
        return self.path / LEDGER

    @contextmanager
    def ledger(self, temporary):
        """The same, to be written."""
        yield self.read_ledger(temporary)

    def publish(self, files):
        """Puts (file, name) pairs in their places, in this order, each whole or not at all."""
        incoming = self.path / ".incoming"
        incoming.mkdir(parents=True, exist_ok=True)
        for file, name in files:
            copy = incoming / uuid.uuid4().hex
            try:
                shutil.copyfile(file, copy)
                with open(copy, "rb+") as written:
                    os.fsync(written.fileno())
                target = self.path / name
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(copy, target)
            finally:
                copy.unlink(missing_ok=True)

    def commit(self, hobble, markers, _temporary):
        """Writes the single manifest. Returns what `join` does."""
        printed = join([hobble, "gather", *map(str, markers), "--out", str(self.path)])
        shutil.rmtree(self.path / ".incoming", ignore_errors=True)
        return printed


class Store:
    """An S3-compatible store, through the program `hobble-store`."""

    def __init__(self, url, program):
        self.url = url.rstrip("/")
        self.program = program

    def files(self):
        return {name: size for size, _, name in listed(self.program, self.url)}

    def markers(self, names, into):
        if names:
            call([self.program, "get", f"{self.url}/{MARKERS}", str(into / MARKERS)])
        return [into / MARKERS / name for name in names]

    def list_of_repeats(self, name, into):
        call([self.program, "get", f"{self.url}/{MARKERS}/{name}/{REPEATS}", str(into / "list")])
        return into / "list" / REPEATS

    def committed(self, into):
        names = {name for _, _, name in listed(self.program, self.url)}
        if "manifest.json" not in names:
            return []
        call([self.program, "get", f"{self.url}/manifest.json", str(into / "committed")])
        return json.loads((into / "committed" / "manifest.json").read_text())["sources"]

    def read_ledger(self, temporary):
        """A copy of the file in which openings are written down, where there is one."""
        read = temporary / "read" / LEDGER
        call([self.program, "get", f"{self.url}/{LEDGER}", str(read.parent)])
        return read

    @contextmanager
    def ledger(self, temporary):
        """A copy to be written. It is put back, unless another opening was written down meanwhile."""
        address, read, own = f"{self.url}/{LEDGER}", self.read_ledger(temporary), temporary / LEDGER
        if read.is_file():
            shutil.copyfile(read, own)
        yield own
        # Where no claim is asked the half stays locked, and there may be no such file.
        if own.is_file():
            call([self.program, "commit", str(own), address, "--read", str(read)])

    def publish(self, files):
        for file, name in files:
            call([self.program, "put", str(file), f"{self.url}/{name}"])

    def commit(self, hobble, markers, temporary):
        joined = temporary / "joined"
        printed = join(
            [hobble, "gather", *map(str, markers), "--manifest-only", "--out", str(joined)]
        )
        call([self.program, "commit", str(joined / "manifest.json"), f"{self.url}/manifest.json"])
        return printed


def storage(out, store):
    return Store(out, store) if "://" in out else Folder(out)


def start(command):
    try:
        return subprocess.run(command, capture_output=True, text=True)
    except OSError as error:
        raise Failed(f"{command[0]}: {error.strerror}") from None


def complaint(done, command):
    """Why a program failed: its last line, but for the help that it points to."""
    lines = [line for line in done.stderr.splitlines() if line.strip()]
    errors = [line for line in lines if line.startswith("error: ")]
    return (errors or lines or [f"{command[0]} ended with {done.returncode}"])[-1]


def call(command):
    """Runs a program and returns what it prints."""
    done = start(command)
    if done.returncode != 0:
        raise Failed(complaint(done, command))
    return done.stdout


def join(command):
    """Joins markers. Returns what there is to report, what is to be seen beside it, and 1 where not all
    is well though it is done, else 0."""
    done = start(command)
    if done.returncode not in (0, 1):
        raise Failed(complaint(done, command))
    return done.stdout, done.stderr, done.returncode


def name_in_tables(archive):
    """What the tables call an archive, wherever a machine keeps its copy of it."""
    return unquote(archive.split("://", 1)[1]).lstrip("/") if "://" in archive else archive


def listed(program, url):
    """(bytes, time of writing, name) of everything below an address."""
    rows = (line.split("\t", 2) for line in call([program, "list", url]).splitlines())
    return [(int(size), int(time), name) for size, time, name in rows]
