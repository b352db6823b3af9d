"""Scans archives on a Spark cluster into one folder of tables on shared storage.

Each task hands one archive, or one stripe of a large one, to the program `hobble` on an
executor, and publishes its part files and after them a marker: the manifest of the task.
A part file comes out the same whoever writes it, so a task that is run twice, because its
executor was lost or Spark guessed it was slow, does no harm. The driver joins the markers
under a single manifest, which makes the tables one whole; until then nobody sees them.
Running the job again does only what has no marker.
"""

import argparse
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import uuid
from pathlib import Path

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
        """Writes the single manifest."""
        said = call([hobble, "gather", *map(str, markers), "--out", str(self.path)])
        shutil.rmtree(self.path / ".incoming", ignore_errors=True)
        return said


class Store:
    """An S3-compatible store, through the program `hobble-store`."""

    def __init__(self, url, program):
        self.url = url.rstrip("/")
        self.program = program

    def files(self):
        lines = call([self.program, "list", self.url]).splitlines()
        pairs = (line.split("\t", 1) for line in lines)
        return {name: int(size) for size, name in pairs}

    def markers(self, names, into):
        if names:
            call([self.program, "get", f"{self.url}/{MARKERS}", str(into / MARKERS)])
        return [into / MARKERS / name for name in names]

    def publish(self, files):
        for file, name in files:
            call([self.program, "put", str(file), f"{self.url}/{name}"])

    def commit(self, hobble, markers, temporary):
        joined = temporary / "joined"
        said = call(
            [hobble, "gather", *map(str, markers), "--manifest-only", "--out", str(joined)]
        )
        call([self.program, "commit", str(joined / "manifest.json"), f"{self.url}/manifest.json"])
        return said


def storage(out, store):
    return Store(out, store) if "://" in out else Folder(out)


def call(command):
    """Runs a program and returns what it prints; its last line of complaint if it fails."""
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0:
        lines = done.stderr.strip().splitlines() or [f"{command[0]} ended with {done.returncode}"]
        raise Failed(lines[-1])
    return done.stdout


# On an executor


def run_task(task, setting):
    """Scans one stripe and publishes it. Returns the task's name and why it failed, if so."""
    local = os.environ.get("SPARK_LOCAL_DIRS", "").split(",")[0] or None
    temporary = Path(tempfile.mkdtemp(prefix="hobble-", dir=local))
    try:
        archive = task["file"]
        if "://" in archive:
            # The name in the tables must not depend on where this machine keeps its copy.
            name = archive.split("://", 1)[1]
            call([setting["store"], "get", archive, str(temporary / Path(name).parent)])
            archive = name
        command = [setting["hobble"], "scan", archive, "--out", str(temporary / "tables")]
        command += [*setting["options"], "--threads", str(setting["threads"])]
        command += ["--name-skipped", "0"]
        if task["of"] > 1:
            command += ["--stripe", f"{task['index']}/{task['of']}"]
        done = subprocess.run(command, capture_output=True, text=True, cwd=temporary)
        said = done.stderr.strip().splitlines() or [f"hobble ended with {done.returncode}"]
        if done.returncode == 1:
            # The archive itself is broken: another machine could do no better.
            return task["name"], said[-1]
        if done.returncode != 0:
            raise Failed(said[-1])
        tables = temporary / "tables"
        manifest = json.loads((tables / "manifest.json").read_text())
        (source,) = manifest["sources"]
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
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


# On the driver


def archives(arguments, store):
    """(name, bytes) of the archives meant, by name."""
    found = {}
    for argument in arguments:
        if "://" in argument:
            base = argument.rstrip("/")
            for line in call([store, "list", base]).splitlines():
                size, name = line.split("\t", 1)
                if not name:
                    found[base] = int(size)
                elif name.lower().endswith(ENDINGS):
                    found[f"{base}/{name}"] = int(size)
            continue
        path = Path(argument).resolve()
        if path.is_dir():
            inside = (p for p in path.rglob("*") if p.name.lower().endswith(ENDINGS))
            found.update((str(p), p.stat().st_size) for p in inside)
        elif path.is_file():
            found[str(path)] = path.stat().st_size
        else:
            raise Failed(f"{argument}: no such file or folder")
    if not found:
        raise Failed("no archives there")
    return sorted(found.items())


def plan(files, stripe_bytes, stripes):
    """The tasks: stripes of archives, each archive with a folder name of its own."""
    names, tasks = set(), []
    for file, size in files:
        letters = (c if c.isascii() and (c.isalnum() or c in "._-") else "_" for c in Path(file).name)
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
                dict(name=name, file=file, size=size, source=source, index=index, of=of)
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


def is_done(task, marker, files, want):
    """Whether a task was done before by the same program with the same options."""
    try:
        manifest = json.loads((marker / "manifest.json").read_text())
        (source,) = manifest["sources"]
    except (OSError, ValueError, KeyError):
        return False
    if source["file"] != task["file"].split("://", 1)[-1]:
        raise Failed(f"{task['file']}: another archive, {source['file']}, stands under its name there; choose another folder")
    if source.get("bytes") != task["size"]:
        raise Failed(f"{task['file']}: has changed since its scan; choose another folder")
    manifest["parameters"].pop("stripe", None)
    for key, value in want.items():
        if manifest[key] != value:
            raise Failed(f"{task['file']}: scanned before with other {key}; choose another folder")
    return source["complete"] and all(
        files.get(f"table={table}/source={task['source']}/part-{part['part']:05}.parquet")
        == size["bytes"]
        for part in source["parts"]
        for table, size in part["tables"].items()
    )


def run(arguments, session):
    target = storage(arguments.out, arguments.store)
    options = arguments.scan_options.split()
    with tempfile.TemporaryDirectory(prefix="hobble-") as temporary:
        temporary = Path(temporary)
        want = expected(arguments.hobble, options, temporary)
        tasks = plan(archives(arguments.archives, arguments.store), arguments.stripe_bytes, arguments.stripes)
        files = target.files()
        marked = [t for t in tasks if f"{MARKERS}/{t['name']}/manifest.json" in files]
        folders = target.markers([t["name"] for t in marked], temporary)
        done = {t["name"] for t, m in zip(marked, folders) if is_done(t, m, files, want)}
        missing = [task for task in tasks if task["name"] not in done]
        print(f"tasks {len(tasks)}, done before {len(done)}, to run {len(missing)}", flush=True)
        failures = []
        if missing:
            context = session().sparkContext
            setting = dict(
                hobble=arguments.hobble,
                store=arguments.store,
                out=arguments.out if "://" in arguments.out else str(target.path),
                options=options,
                threads=int(context.getConf().get("spark.task.cpus", "1")),
            )
            # The largest first, so that none is left over at the end.
            missing.sort(key=lambda task: -task["size"] / task["of"])
            work = context.parallelize(missing, len(missing))
            ran = work.map(lambda task: run_task(task, setting)).collect()
            failures = sorted((name, why) for name, why in ran if why)
        for name, why in failures:
            print(f"{name}: {why}", file=sys.stderr)
        if failures:
            raise Failed(f"{len(failures)} of {len(tasks)} tasks failed; nothing was committed")
        names = [task["name"] for task in tasks]
        print(target.commit(arguments.hobble, target.markers(names, temporary), temporary), end="")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("archives", nargs="+", help="archives or folders of them, seen by all machines; or s3:// addresses")
    parser.add_argument("--out", required=True, help="folder that all machines see, or s3://bucket/folder")
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
        run(arguments, session)
        return 0
    except Failed as error:
        print(f"scan_job: {error}", file=sys.stderr)
        return 1
    finally:
        for one in sessions:
            one.stop()


if __name__ == "__main__":
    sys.exit(main())
