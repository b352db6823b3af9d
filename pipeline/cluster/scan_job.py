"""Scans archives on a Spark cluster into one folder of tables on shared storage.

Each task hands one archive, or one stripe of a large one, to the program `hobble` on an
executor, and publishes its part files and after them a marker: the manifest of the task.
A part file comes out the same whoever writes it, so a task that is run twice, because its
executor was lost or Spark guessed it was slow, does no harm. The driver joins the markers
under a single manifest, which makes the tables one whole; until then they are not seen.
Running the job again does only what has no marker.

Where games that repeat another one matter, a first pass finds them among all archives: each
task writes the keys of its games, Spark hands all keys of one share to one task, and each
scan is given the list of the repeats that it is to leave out or mark.
"""

import argparse
import json
import math
import shlex
import sys
from pathlib import Path
from urllib.parse import quote

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
from executor_tasks import digest, keys, publish_list, repeats, run_task  # noqa: E402
from spark import collected, path_or_address, run_job  # noqa: E402
from table_storage import MARKERS, Failed, call, listed, name_in_tables, storage  # noqa: E402

ENDINGS = (".pgn", ".pgn.zst", ".pgn.gz", ".pgn.bz2")
# Bytes of archives whose keys are looked through by one task: about 5 million games, 170 MB.
SHARE_BYTES = 1 << 30
# After a task that Spark gave up.
THEN = "; what is done stays, run again for the rest"


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
    """The archive as a task has read it before, by the same program with the same options, and the
    SHA-256 of the list of its repeats."""
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
    listed = manifest["parameters"].pop("repeats_list", None)
    manifest["parameters"].pop("repeats_pass", None)
    for key, value in want.items():
        if manifest[key] != value:
            raise Failed(f"{task['file']}: scanned before with other {key}; choose another folder")
    whole = source["complete"] and all(
        files.get(f"{table}/source={task['source']}/part-{part['part']:05}.parquet")
        == size["bytes"]
        for part in source["parts"]
        for table, size in part["tables"].items()
        if table not in task["added_up"]
    )
    return dict(source, listed=listed) if whole else None


def on_cluster(context, work, items):
    """Does work on each of the named items, each a task that Spark may give to another executor."""
    names, values = zip(*items)
    return collected(context.parallelize(values, len(values)).map(work), names, THEN)


def find_repeats(context, tasks, setting):
    """The first pass over all archives: publishes the list of each task's repeats. Returns the
    SHA-256 of the lists by the tasks' numbers."""
    keyed = context.parallelize(tasks, len(tasks)).flatMap(lambda task: keys(task, setting))
    dealt = keyed.partitionBy(setting["shares"], lambda share: share)
    found = dealt.mapPartitions(lambda files: repeats(files, setting)).groupByKey(len(tasks))
    lists = found.map(lambda one: (one[0], publish_list(tasks[one[0]], one[1], setting)))
    return dict(collected(lists, then=THEN))


def in_order(tasks, committed):
    """The tasks in the order in which archives stand in the dataset: those that are committed
    first, so that what is left out of them stays the same when others are added. The cubes of
    committed parts may have been added up to one, and their files gone."""
    places = {source["source"]: place for place, source in enumerate(committed)}
    ordered = sorted(tasks, key=lambda task: places.get(task["source"], len(places)))
    has_cubes = lambda source: any("exposure" in part["tables"] for part in source["parts"])  # noqa: E731
    added_up = {source["source"]: () if has_cubes(source) else ("exposure",) for source in committed}
    return [
        dict(task, number=number, added_up=added_up.get(task["source"], ())) for number, task in enumerate(ordered)
    ]


def looks_for_repeats(parameters):
    """Whether a scan of all archives would look for repeats: to leave them out, or to mark them."""
    return parameters.get("repeats") == "leave-out" or "sides" in parameters["tables"]


class Job:
    """The tasks, and which of them are done."""

    def __init__(self, arguments, temporary, session):
        self.target = storage(arguments.out, arguments.store)
        options = shlex.split(arguments.scan_options)
        want = expected(arguments.hobble, options, temporary)
        files = archives(arguments.archives, arguments.store)
        planned = plan(files, arguments.stripe_bytes, arguments.stripes)
        there = self.target.files()
        committed = self.target.committed(temporary)
        self.tasks = in_order(planned, committed)
        marked = [t for t in self.tasks if f"{MARKERS}/{t['name']}/manifest.json" in there]
        folders = self.target.markers([t["name"] for t in marked], temporary)
        self.done = {}
        for task, marker in zip(marked, folders):
            source = done_before(task, marker, there, want)
            if source:
                self.done[task["name"]] = source
        self.committed = {source["source"] for source in committed}
        self.repeats = looks_for_repeats(want["parameters"])
        self.session = session
        self.context = None
        cut = want["parameters"]
        self.setting = dict(
            hobble=arguments.hobble,
            store=arguments.store,
            out=arguments.out if "://" in arguments.out else str(self.target.path),
            options=options,
            cut=["--block-kib", str(cut["block_bytes"] // 1024), "--part-blocks", str(cut["part_blocks"])],
            shares=arguments.shares or max(1, math.ceil(sum(size for _, size, _ in files) / SHARE_BYTES)),
            threads=1,
        )

    def start(self):
        if not self.context:
            self.context = self.session().sparkContext
            self.setting["threads"] = int(self.context.getConf().get("spark.task.cpus", "1"))
        return self.context

    def missing(self):
        return [task for task in self.tasks if task["name"] not in self.done]

    def check_doubtful(self):
        """Hashes the archives that were written again since their scan, which need not mean changed."""
        doubtful = {}
        for task in self.tasks:
            source = self.done.get(task["name"])
            if source and source.get("modified") != task["modified"]:
                doubtful[task["file"]] = source["sha256"]
        if not doubtful:
            return
        again = [(archive, archive) for archive in sorted(doubtful)]
        setting = self.setting
        for archive, digested in on_cluster(self.start(), lambda one: digest(one, setting), again):
            if digested != doubtful[archive]:
                raise changed(archive)

    def find_repeats(self):
        """Whether the tasks have lists of repeats, which they do where these matter; what was scanned
        with another list is to be scanned again, unless the dataset has it."""
        is_new = any(task["source"] not in self.committed for task in self.tasks)
        if not self.repeats or not (self.missing() or is_new):
            return False
        others = self.committed - {task["source"] for task in self.tasks}
        if others:
            raise Failed(f"{sorted(others)[0]}: is in the folder too and may hold the first of a repeated game; name all archives of the folder, or choose another one")
        digests = find_repeats(self.start(), self.tasks, self.setting)
        for task in self.tasks:
            source = self.done.get(task["name"])
            if source and source["listed"] != digests[task["number"]]:
                if task["source"] in self.committed:
                    raise Failed(f"{task['file']}: other games of it are repeats than when it was scanned; choose another folder")
                del self.done[task["name"]]
        return True


def run(arguments, session, temporary):
    """Does what is missing. Returns 0, or 1 where not all is well though it is done."""
    job = Job(arguments, temporary, session)
    tasks = job.tasks
    job.check_doubtful()
    listed = job.find_repeats()
    missing = job.missing()
    print(f"tasks {len(tasks)}, done before {len(tasks) - len(missing)}, to run {len(missing)}", flush=True)
    failures = []
    if missing:
        # The largest first, so that none is left over at the end.
        work = sorted(missing, key=lambda task: -task["size"] / task["of"])
        setting = job.setting
        named = [(task["name"], task) for task in work]
        ran = on_cluster(job.start(), lambda task: run_task(task, listed, setting), named)
        failures = sorted((name, why) for name, why in ran if why)
    for name, why in failures:
        print(f"{name}: {why}", file=sys.stderr)
    if failures:
        raise Failed(f"{len(failures)} of {len(tasks)} tasks failed; nothing was committed")
    names = [task["name"] for task in tasks]
    markers = job.target.markers(names, temporary)
    said, beside, code = job.target.commit(arguments.hobble, markers, temporary)
    print(said, end="", flush=True)
    print(beside, end="", file=sys.stderr)
    return code


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("archives", nargs="+", type=path_or_address, help="archives or folders of them, seen by all machines; or s3:// addresses")
    parser.add_argument("--out", required=True, type=path_or_address, help="folder that all machines see, or s3://bucket/folder")
    parser.add_argument("--stripe-bytes", type=int, default=4 << 30, help="a larger archive is cut into stripes of this size (default 4 GiB)")
    parser.add_argument("--stripes", type=int, help="stripes of every archive, whatever its size")
    parser.add_argument("--shares", type=int, help="shares of the games in which repeats are found (default: one for each GiB)")
    parser.add_argument("--scan-options", default="", help="options of `hobble scan`, in one string")
    return run_job("scan", parser, run)


if __name__ == "__main__":
    sys.exit(main())
