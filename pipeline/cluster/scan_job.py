"""Scans archives on a Spark cluster into one folder of tables on shared storage.

Each task hands one archive, or one stripe of a large one, to the program `hobble` on an
executor, and publishes its part files and after them a marker: the manifest of the task.
A part file comes out the same whoever writes it, so a task that is run twice, because its
executor was lost or Spark guessed it was slow, does no harm. The driver joins the markers
under a single manifest, which makes the tables one whole; until then nobody sees them.
Running the job again does only what has no marker.
"""

import argparse
import hashlib
import json
import math
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import uuid
from pathlib import Path
from urllib.parse import quote, unquote

ENDINGS = (".pgn", ".pgn.zst", ".pgn.gz", ".pgn.bz2")
MARKERS = ".tasks"


class Failed(Exception):
    """Something to tell in one line."""


# Where tables and markers go. Both classes have the same methods.


class Folder:
    """A folder that all machines see."""

    def __init__(self, path):
        self.path = Path(path).resolve()

    def files(self):
        """Bytes of everything that lies there, by name."""
        tables = self.path.glob("table=*/source=*/*.parquet")
        markers = self.path.glob(f"{MARKERS}/*/manifest.json")
        return {str(p.relative_to(self.path)): p.stat().st_size for p in (*tables, *markers)}

    def markers(self, names, _into):
        """Folders of the markers of these tasks."""
        return [self.path / MARKERS / name for name in names]

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
        """Writes the single manifest. Returns what there is to tell, and what is not well."""
        told = join([hobble, "gather", *map(str, markers), "--out", str(self.path)])
        shutil.rmtree(self.path / ".incoming", ignore_errors=True)
        return told


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

    def publish(self, files):
        for file, name in files:
            call([self.program, "put", str(file), f"{self.url}/{name}"])

    def commit(self, hobble, markers, temporary):
        joined = temporary / "joined"
        told = join(
            [hobble, "gather", *map(str, markers), "--manifest-only", "--out", str(joined)]
        )
        call([self.program, "commit", str(joined / "manifest.json"), f"{self.url}/manifest.json"])
        return told


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
    """Joins markers. Returns what there is to tell, and what is not well though it is done."""
    done = start(command)
    if done.returncode not in (0, 1):
        raise Failed(complaint(done, command))
    return done.stdout, done.stderr


def name_in_tables(archive):
    """What the tables call an archive, wherever a machine keeps its copy of it."""
    return unquote(archive.split("://", 1)[1]).lstrip("/") if "://" in archive else archive


def listed(program, url):
    """(bytes, time of writing, name) of everything below an address."""
    rows = (line.split("\t", 2) for line in call([program, "list", url]).splitlines())
    return [(int(size), int(time), name) for size, time, name in rows]


# On an executor


def scratch():
    """A temporary folder on the disk that Spark is to use."""
    local = os.environ.get("SPARK_LOCAL_DIRS", "").split(",")[0] or None
    return tempfile.TemporaryDirectory(prefix="hobble-", dir=local, ignore_cleanup_errors=True)


def fetch(archive, temporary, setting):
    """Gets an archive from its store, if it lies in one. Returns its path from `temporary`."""
    name = name_in_tables(archive)
    if "://" in archive:
        call([setting["store"], "get", archive, str(temporary / Path(name).parent)])
    return name


def digest(archive, setting):
    """An archive and its SHA-256."""
    with scratch() as temporary:
        temporary = Path(temporary)
        with open(temporary / fetch(archive, temporary, setting), "rb") as file:
            return archive, hashlib.file_digest(file, "sha256").hexdigest()


def run_task(task, setting):
    """Scans one stripe and publishes it. Returns the task's name and why it failed, if so."""
    with scratch() as temporary:
        temporary = Path(temporary)
        archive = fetch(task["file"], temporary, setting)
        command = [setting["hobble"], "scan", archive, "--out", str(temporary / "tables")]
        command += [*setting["options"], "--threads", str(setting["threads"])]
        command += ["--name-skipped", "0"]
        # A stripe keeps the cubes of its parts apart, as the files of all tasks are joined.
        command += ["--stripe", f"{task['index']}/{task['of']}"]
        done = subprocess.run(command, capture_output=True, text=True, cwd=temporary)
        if done.returncode not in (0, 1):
            raise Failed(complaint(done, command))
        tables = temporary / "tables"
        manifest = json.loads((tables / "manifest.json").read_text())
        (source,) = manifest["sources"]
        if done.returncode == 1:
            # The archive itself is broken: another machine could do no better.
            return task["name"], source.get("error") or complaint(done, command)
        files = []
        for part in source["parts"]:
            for table in part["tables"]:
                end = f"part-{part['part']:05}.parquet"
                made = tables / f"table={table}" / f"source={source['source']}" / end
                files.append((made, f"table={table}/source={task['source']}/{end}"))
        source["source"] = task["source"]
        marker = temporary / "manifest.json"
        marker.write_text(json.dumps(manifest, indent=2) + "\n")
        # The marker last: where it stands, the rest does.
        files.append((marker, f"{MARKERS}/{task['name']}/manifest.json"))
        storage(setting["out"], setting["store"]).publish(files)
        return task["name"], None


# On the driver


def archives(arguments, store):
    """(name, bytes, time of writing) of the archives meant, by name."""
    found = {}

    def file(path):
        about = path.stat()
        found[str(path)] = about.st_size, about.st_mtime_ns

    for argument in arguments:
        if "://" in argument:
            base = argument.rstrip("/")
            for size, time, name in listed(store, base):
                if not name:
                    found[base] = size, time
                elif name.lower().endswith(ENDINGS):
                    found[f"{base}/{quote(name)}"] = size, time
            continue
        path = Path(argument).resolve()
        if path.is_dir():
            for inside in path.rglob("*"):
                if inside.name.lower().endswith(ENDINGS):
                    file(inside)
        elif path.is_file():
            file(path)
        else:
            raise Failed(f"{argument}: no such file or folder")
    if not found:
        raise Failed("no archives there")
    return sorted((name, *about) for name, about in found.items())


def plan(files, stripe_bytes, stripes):
    """The tasks: stripes of archives, each archive with a folder name of its own."""
    names, tasks = set(), []
    for file, size, modified in files:
        letters = (c if c.isascii() and (c.isalnum() or c in "._-") else "_" for c in Path(name_in_tables(file)).name)
        base = "".join(letters)[:80].lstrip(".") or "archive"
        source = base
        number = 1
        while source in names:
            number += 1
            source = f"{base}-{number}"
        names.add(source)
        of = stripes or max(1, math.ceil(size / stripe_bytes))
        for index in range(of):
            name = f"{source}.{index}-of-{of}"
            tasks.append(
                dict(name=name, file=file, size=size, modified=modified, source=source, index=index, of=of)
            )
    return tasks


def expected(hobble, options, temporary):
    """What a marker must say, from a scan of nothing with the same options."""
    nothing = temporary / "nothing.pgn"
    nothing.touch()
    out = temporary / "nothing"
    call([hobble, "scan", str(nothing), "--out", str(out), *options])
    manifest = json.loads((out / "manifest.json").read_text())
    return {key: manifest[key] for key in ("hobble", "definitions", "schemas", "parameters")}


def changed(archive):
    return Failed(f"{archive}: has changed since its scan; choose another folder")


def done_before(task, marker, files, want):
    """The archive as a task has read it before, by the same program with the same options."""
    try:
        manifest = json.loads((marker / "manifest.json").read_text())
        (source,) = manifest["sources"]
    except (OSError, ValueError, KeyError):
        return None
    if source["file"] != name_in_tables(task["file"]):
        raise Failed(f"{task['file']}: another archive, {source['file']}, stands under its name there; choose another folder")
    if source.get("bytes") != task["size"]:
        raise changed(task["file"])
    manifest["parameters"].pop("stripe", None)
    for key, value in want.items():
        if manifest[key] != value:
            raise Failed(f"{task['file']}: scanned before with other {key}; choose another folder")
    whole = source["complete"] and all(
        files.get(f"table={table}/source={task['source']}/part-{part['part']:05}.parquet")
        == size["bytes"]
        for part in source["parts"]
        for table, size in part["tables"].items()
    )
    return source if whole else None


def spark_said(message, names):
    """Of Spark's pages about a stage that failed: which task was given up, and why."""
    lines = [line for line in message.splitlines() if line.strip()] or ["Spark gave up"]
    found = re.search(r"Task (\d+) in stage", lines[0])
    task = f"{names[int(found[1])]}: " if found and int(found[1]) < len(names) else ""
    ours = [line for line in lines if re.match(r"[\w.]*(Failed|Error|Exception): ", line)]
    why = ours[-1] if ours else lines[0].split("most recent failure: ")[-1]
    return task + why.removeprefix("__main__.Failed: ")


def on_cluster(context, work, items):
    """Does work on each of the named items, each a task that Spark may give to another executor."""
    from py4j.protocol import Py4JJavaError

    names, values = zip(*items)
    try:
        return context.parallelize(values, len(values)).map(work).collect()
    except Py4JJavaError as error:
        said = spark_said(str(error.java_exception.getMessage()), names)
        raise Failed(f"{said}; what is done stays, run again for the rest") from None


def run(arguments, session):
    """Does what is missing. Returns what is not well though it is done."""
    target = storage(arguments.out, arguments.store)
    options = shlex.split(arguments.scan_options)
    with tempfile.TemporaryDirectory(prefix="hobble-") as temporary:
        temporary = Path(temporary)
        want = expected(arguments.hobble, options, temporary)
        tasks = plan(archives(arguments.archives, arguments.store), arguments.stripe_bytes, arguments.stripes)
        files = target.files()
        marked = [t for t in tasks if f"{MARKERS}/{t['name']}/manifest.json" in files]
        folders = target.markers([t["name"] for t in marked], temporary)
        missing = {task["name"]: task for task in tasks}
        doubtful = {}
        for task, marker in zip(marked, folders):
            source = done_before(task, marker, files, want)
            if source:
                del missing[task["name"]]
                if source.get("modified") != task["modified"]:
                    doubtful[task["file"]] = source["sha256"]
        print(f"tasks {len(tasks)}, done before {len(tasks) - len(missing)}, to run {len(missing)}", flush=True)
        context = session().sparkContext if missing or doubtful else None
        setting = dict(
            hobble=arguments.hobble,
            store=arguments.store,
            out=arguments.out if "://" in arguments.out else str(target.path),
            options=options,
            threads=int(context.getConf().get("spark.task.cpus", "1")) if context else 1,
        )
        if doubtful:
            # Written again since, which need not mean changed.
            again = [(archive, archive) for archive in sorted(doubtful)]
            for archive, sha256 in on_cluster(context, lambda one: digest(one, setting), again):
                if sha256 != doubtful[archive]:
                    raise changed(archive)
        failures = []
        if missing:
            # The largest first, so that none is left over at the end.
            work = sorted(missing.values(), key=lambda task: -task["size"] / task["of"])
            named = [(task["name"], task) for task in work]
            ran = on_cluster(context, lambda task: run_task(task, setting), named)
            failures = sorted((name, why) for name, why in ran if why)
        for name, why in failures:
            print(f"{name}: {why}", file=sys.stderr)
        if failures:
            raise Failed(f"{len(failures)} of {len(tasks)} tasks failed; nothing was committed")
        names = [task["name"] for task in tasks]
        said, complaints = target.commit(arguments.hobble, target.markers(names, temporary), temporary)
        print(said, end="", flush=True)
        return complaints


def path_or_address(text):
    """A file's address is its path: the store's program is for what is no folder."""
    return unquote(text.removeprefix("file://")) if text.startswith("file://") else text


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("archives", nargs="+", type=path_or_address, help="archives or folders of them, seen by all machines; or s3:// addresses")
    parser.add_argument("--out", required=True, type=path_or_address, help="folder that all machines see, or s3://bucket/folder")
    parser.add_argument("--master", help="Spark master, where spark-submit does not give it")
    parser.add_argument("--hobble", default="hobble", help="the program, on every machine")
    parser.add_argument("--store", default="hobble-store", help="the program for S3, on every machine")
    parser.add_argument("--stripe-bytes", type=int, default=4 << 30, help="a larger archive is cut into stripes of this size (default 4 GiB)")
    parser.add_argument("--stripes", type=int, help="stripes of every archive, whatever its size")
    parser.add_argument("--scan-options", default="", help="options of `hobble scan`, in one string")
    parser.add_argument("--conf", action="append", default=[], metavar="KEY=VALUE", help="Spark setting")
    arguments = parser.parse_args()
    sessions = []

    def session():
        from pyspark.sql import SparkSession

        builder = SparkSession.builder.appName("hobble scan")
        if arguments.master:
            builder = builder.master(arguments.master)
        for pair in arguments.conf:
            builder = builder.config(*pair.split("=", 1))
        sessions.append(builder.getOrCreate())
        return sessions[-1]

    try:
        complaints = run(arguments, session)
        print(complaints, end="", file=sys.stderr)
        return 1 if complaints else 0
    except Failed as error:
        print(f"scan_job: {error}", file=sys.stderr)
        return 1
    finally:
        for one in sessions:
            one.stop()


if __name__ == "__main__":
    sys.exit(main())
