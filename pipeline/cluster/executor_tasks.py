"""What an executor does: hash an archive, write keys, find repeats, scan a stripe, count a share of the tables."""

import hashlib
import json
import os
import re
import subprocess
import tempfile
from pathlib import Path

from table_storage import MARKERS, REPEATS, Failed, call, complaint, name_in_tables, storage

# A folder's lists are of one pass whenever they were written: `scan_job.py` goes on only where those of its
# archives come out as they were. So the line that names the pass is the same for all.
LIST_HEADING = ("# pass cluster", "game,key,original_source,original_game")


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


def keys(task, setting):
    """The keys of a stripe's games, as (share, (number of the task, Parquet file)) pairs."""
    with scratch() as temporary:
        temporary = Path(temporary)
        archive = fetch(task["file"], temporary, setting)
        command = [setting["hobble"], "keys", archive, "--out", str(temporary / "keys")]
        command += ["--source", task["source"], "--stripe", f"{task['index']}/{task['of']}"]
        command += ["--shares", str(setting["shares"]), "--threads", str(setting["threads"]), *setting["cut"]]
        done = subprocess.run(command, capture_output=True, text=True, cwd=temporary)
        # A broken archive has keys up to where it breaks; its scan says so.
        if done.returncode not in (0, 1):
            raise Failed(complaint(done, command))
        found = {share_of(path): path.read_bytes() for path in (temporary / "keys").iterdir()}
        return [(share, (task["number"], file)) for share, file in sorted(found.items())]


def share_of(path):
    found = re.search(r"\.share-(\d+)\.keys\.parquet$", path.name)
    return int(found[1]) if found else 0


def repeats(files, setting):
    """The lists of the repeats in one share of the keys, as (number of the task, lines) pairs."""
    with scratch() as temporary:
        temporary = Path(temporary)
        count = 0
        for _, (number, file) in files:
            (temporary / f"{number:09}").write_bytes(file)
            count += 1
        if not count:
            return
        # In the order of the archives: the first of several same games stays.
        names = sorted(path.name for path in temporary.iterdir())
        command = [setting["hobble"], "repeats", "--out", "lists", *names]
        done = subprocess.run(command, capture_output=True, text=True, cwd=temporary)
        if done.returncode != 0:
            raise Failed(complaint(done, command))
        said = done.stdout.splitlines()
        for name, line in zip(names, said, strict=True):
            path = temporary / line.split("  ")[-1]
            yield int(name), path.read_text().splitlines()[len(LIST_HEADING) :]


def whole_list(lines):
    """One list from those of the shares, in the order of the archive."""
    rows = sorted((line for some in lines for line in some), key=lambda line: int(line.split(",", 1)[0]))
    return "".join(f"{row}\n" for row in (*LIST_HEADING, *rows))


def publish_list(task, lines, setting):
    """Publishes the list of a task's repeats. Returns its SHA-256."""
    text = whole_list(lines)
    with scratch() as temporary:
        file = Path(temporary) / REPEATS
        file.write_text(text)
        storage(setting["out"], setting["store"]).publish([(file, f"{MARKERS}/{task['name']}/{REPEATS}")])
    return hashlib.sha256(text.encode()).hexdigest()


def run_task(task, listed, setting):
    """Scans one stripe and publishes it. Returns the task's name and why it failed, if so."""
    with scratch() as temporary:
        temporary = Path(temporary)
        archive = fetch(task["file"], temporary, setting)
        command = [setting["hobble"], "scan", archive, "--out", str(temporary / "tables")]
        command += [*setting["options"], "--threads", str(setting["threads"])]
        command += ["--name-skipped", "0"]
        if listed:
            own = storage(setting["out"], setting["store"]).list_of_repeats(task["name"], temporary)
            command += ["--repeats-list", str(own)]
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
            for table in set(part["tables"]).difference(task["added_up"]):
                end = f"part-{part['part']:05}.parquet"
                made = tables / table / f"source={source['source']}" / end
                files.append((made, f"{table}/source={task['source']}/{end}"))
        source["source"] = task["source"]
        marker = temporary / "manifest.json"
        marker.write_text(json.dumps(manifest, indent=2) + "\n")
        # The marker last: where it stands, the rest does.
        files.append((marker, f"{MARKERS}/{task['name']}/manifest.json"))
        storage(setting["out"], setting["store"]).publish(files)
        return task["name"], None


def asking(setting, temporary):
    """The command that counts: of a question by its name, of a question or grid whose file is written anew, or of the
    program's own grid."""
    asked = setting["asked"]
    if setting["text"] is not None:
        asked = temporary / Path(asked).name
        asked.write_text(setting["text"])
    return [setting["hobble"], setting["command"], *([str(asked)] if asked else []), *setting["options"]]


def count(share, setting):
    """Counts one of so many shares of the tables. Returns its state, the bytes of a file."""
    with scratch() as temporary:
        temporary = Path(temporary)
        data = setting["data"]
        ask = [*asking(setting, temporary), "--stripe", f"{share}/{setting['shares']}"]
        if setting["first"]:
            first = temporary / "first.state"
            first.write_bytes(setting["first"])
            ask += ["--first", str(first)]
        if "://" in data:
            address, data = data, str(temporary / "data")
            call([setting["store"], "get", f"{address}/manifest.json", data])
            for name in call([*ask, "--data", data, "--list-files"]).splitlines():
                call([setting["store"], "get", f"{address}/{name}", str((Path(data) / name).parent)])
        state = temporary / "state"
        call([*ask, "--data", data, "--state", str(state)])
        return state.read_bytes()


def add(states, setting):
    """Adds states up. Returns their sum, if there are any."""
    with scratch() as temporary:
        files = []
        for number, state in enumerate(states):
            files.append(Path(temporary) / f"{number:06}")
            files[-1].write_bytes(state)
        if len(files) > 1:
            state = Path(temporary) / "sum"
            call([setting["hobble"], setting["command"], "--state", str(state), "--from", *map(str, files)])
            files = [state]
        return [file.read_bytes() for file in files]
