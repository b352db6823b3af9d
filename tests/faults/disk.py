"""Disks that are full or may not be written to, and files of tables that are not whole."""

import os
import resource
import signal
import subprocess
from contextlib import contextmanager

from kit import READ_BY, SEASON, SMALL, Skipped, expect, games, hobble, manifest, reconciles, scan, totals

TABLES = ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]


@contextmanager
def mounted(folder, options):
    """A file system in memory, of its own size and rights."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", folder]
    if os.geteuid() != 0 or subprocess.run(command, stderr=subprocess.DEVNULL).returncode:
        raise Skipped("mounting is not allowed here")
    try:
        yield
    finally:
        subprocess.run(["umount", folder], check=True)


def whole_afterwards(data):
    """Goes on, with room now, to the totals of a scan without a fault."""
    scan(data, SEASON, more=SMALL).well()
    expect(totals(data) == (400, 400, {}), f"totals {totals(data)}")
    check = hobble("check", "--data", data, "--archive", SEASON)
    expect(check.code == 0, check.out[-300:])


def full_disk(work):
    with mounted(work / "disk", "size=2m"):
        data = work / "disk" / "data"
        result = scan(data, SEASON, more=SMALL).failed("No space left on device")
        parts = len(manifest(data)["sources"][0]["parts"]) if manifest(data)["sources"] else 0
        expect(parts > 0, "the disk was full before the first part")
        left = [name for _, _, files in os.walk(data / ".unfinished") for name in files]
        expect(not left, f"left lying about: {left}")
        reconciles(data)
        subprocess.run(["mount", "-o", "remount,size=64m", work / "disk"], check=True)
        whole_afterwards(data)
    return result


def full_from_the_start(work):
    with mounted(work / "disk", "size=16k"):
        (work / "disk" / "other").write_bytes(bytes(16 * 1024))
        return scan(work / "disk" / "data", SEASON).failed("No space left on device")


def no_room_for_a_page(work):
    scan(work / "data", SEASON).well()
    with mounted(work / "disk", "size=16k"):
        page = work / "disk" / "page.html"
        page.write_text("before")
        ran = hobble("page", "held-piece-lost", "--data", work / "data", "--out", page)
        expect(page.read_text() == "before", "the old page is gone")
        expect(os.listdir(work / "disk") == ["page.html"], "half a page was left")
        return ran.failed("cannot be written: No space left on device")


def limited(action):
    """Runs with files of 100 kB at most."""

    def before():
        signal.signal(signal.SIGXFSZ, action)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))

    return {"preexec_fn": before, "restore_signals": False}


# One part holds the whole season, so that its files pass the limit.
LARGE = ["--block-kib", "64", "--part-blocks", "1000"]


def file_too_large(work):
    data = work / "data"
    ran = scan(data, SEASON, more=LARGE, **limited(signal.SIG_IGN))
    result = ran.failed("File too large")
    scan(data, SEASON, more=LARGE).well()
    expect(totals(data) == (400, 400, {}), f"totals {totals(data)}")
    reconciles(data)
    return result


def killed_for_a_large_file(work):
    data = work / "data"
    ran = scan(data, SEASON, more=LARGE, **limited(signal.SIG_DFL))
    expect(ran.code == -signal.SIGXFSZ, f"code {ran.code}")
    scan(data, SEASON, more=LARGE).well()
    expect(totals(data) == (400, 400, {}), f"totals {totals(data)}")
    reconciles(data)
    return f"signal {signal.SIGXFSZ.value}", "(killed by the system; went on afterwards)"


def read_only(work):
    with mounted(work / "disk", "size=8m"):
        (work / "disk" / "empty").mkdir()
        scan(work / "disk" / "data", SEASON, more=SMALL).well()
        subprocess.run(["mount", "-o", "remount,ro", work / "disk"], check=True)
        result = scan(work / "disk" / "empty", SEASON).failed("Read-only file system")
        scan(work / "disk" / "data", SEASON).failed("Read-only file system")
        reconciles(work / "disk" / "data")
        hobble("ask", "held-piece-lost", "--data", work / "disk" / "data").well()
    return result


def manifest_is(text):
    def case(work):
        data = work / "data"
        scan(data, SEASON).well()
        path = data / "manifest.json"
        path.write_text(text(path.read_text()))
        hobble("check", "--data", data).failed("manifest.json")
        hobble("ask", "held-piece-lost", "--data", data).failed("manifest.json")
        return scan(data, SEASON).failed("manifest.json: not a manifest this program can read")

    return case


def part_is(damage, words):
    """A file of each table is damaged in turn; who needs it says so."""

    def case(work):
        data = work / "data"
        scan(data, SEASON, more=SMALL).well()
        said = None
        for table in TABLES:
            part = sorted((data / table).glob("source=*/part-*.parquet"))[-1]
            before = part.read_bytes()
            damage(part)
            hobble("check", "--data", data).failed(part.name)
            scan(data, SEASON, more=SMALL).failed(part.name)
            ran = hobble("page", READ_BY.get(table, "held-piece-lost"), "--data", data, "--out", work / "page.html")
            if table in READ_BY:
                said = ran.failed(part.name)
                expect(words in said[1], said[1])
            else:
                expect(ran.code == 0 or len(ran.lines) == 1, f"code {ran.code}: {ran.err}")
            part.write_bytes(before)
        hobble("check", "--data", data).well()
        return said

    return case


def half(part):
    part.write_bytes(part.read_bytes()[: part.stat().st_size // 2])


def rubbish(part):
    part.write_bytes(b"\xa5" * part.stat().st_size)


def added_part(work):
    """A file that the manifest does not name is not counted."""
    data = work / "data"
    scan(data, SEASON).well()
    args = ["ask", "held-piece-lost", "--data", data, "--format", "csv"]
    before = hobble(*args).out
    for part in list(data.glob("*/source=*/part-*.parquet")):
        (part.parent / "part-00009.parquet").write_bytes(part.read_bytes())
    expect(hobble(*args).out == before, "the answer has changed")
    ran = hobble("check", "--data", data)
    expect(ran.code == 1, f"code {ran.code}")
    found = [line for line in ran.out.splitlines() if "not in the manifest" in line]
    expect(len(found) == len(TABLES), found)
    return ran.code, found[0]


CASES = [
    ("disk full in the middle (tmpfs of 2 MiB)", full_disk),
    ("disk full from the start (tmpfs)", full_from_the_start),
    ("no room for a page (tmpfs)", no_room_for_a_page),
    ("files of 100 kB at most (RLIMIT_FSIZE)", file_too_large),
    ("killed by SIGXFSZ at 100 kB", killed_for_a_large_file),
    ("read-only folder (tmpfs)", read_only),
    ("manifest: rubbish", manifest_is(lambda text: "\0rubbish")),
    ("manifest: half written", manifest_is(lambda text: text[: len(text) // 2])),
    ("manifest: empty", manifest_is(lambda text: "")),
    ("a file of the tables missing", part_is(os.remove, "named by the manifest, but not there")),
    ("a file of the tables half written", part_is(half, "cannot be read")),
    ("a file of the tables overwritten", part_is(rubbish, "cannot be read")),
    ("files of tables added by hand", added_part),
]
