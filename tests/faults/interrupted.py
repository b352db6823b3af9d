"""Killed in the middle: the same command goes on, and nothing is lost or counted twice."""

import os
import random
import signal
import time

import duckdb

from kit import SEASON, expect, finish, hobble, manifest, scan, start

KILLS = 50
SEED = 20260101
MORE = ["--block-kib", "64", "--part-blocks", "4", "--threads", "2"]
TABLES = ["games", "moves", "spells", "exposure", "skipped"]


def content(data):
    """Rows of each table and the sum of their hashes: the same whatever their order."""
    found = {}
    for table in TABLES:
        rows = f"read_parquet('{data}/table={table}/source=*/part-*.parquet')"
        found[table] = duckdb.sql(f"select count(*), sum(hash(t)::hugeint) from {rows} t").fetchall()[0]
    return found


def different(one, other):
    """Rows that stand in one of two folders only (or more often)."""
    count = 0
    for table in TABLES:
        a, b = (f"select * from read_parquet('{d}/table={table}/source=*/part-*.parquet')" for d in (one, other))
        for first, second in ((a, b), (b, a)):
            count += duckdb.sql(f"select count(*) from ({first} except all {second})").fetchall()[0][0]
    return count


def killed(work):
    file, whole = work / "x.pgn", work / "whole"
    file.write_bytes(SEASON.read_bytes() * 2)
    began = time.monotonic()
    scan(whole, file, more=MORE).well()
    lasted = time.monotonic() - began
    wanted, said = content(whole), manifest(whole)
    expect(len(said["sources"][0]["parts"]) > 5, "too few parts")
    dice = random.Random(SEED)
    caught, more, reached, untouched = 0, 0, set(), 0
    for n in range(KILLS):
        data = work / f"data-{n}"
        # A moment of each fiftieth of the time.
        moment = lasted * (n + dice.random()) / KILLS
        tries = 0
        while True:
            process = start("scan", file, "--out", data, "--name-skipped", "0", *MORE)
            time.sleep(moment)
            os.kill(process.pid, signal.SIGKILL)  # `process.kill` would wait for it as well
            ran = finish(process)
            if ran.code == 0:
                break
            expect(ran.code == -9, f"code {ran.code}: {ran.err}")
            tries += 1
            if tries == 1:
                sources = manifest(data)["sources"] if (data / "manifest.json").exists() else []
                reached.add(len(sources[0]["parts"]) if sources else 0)
                caught += 1
                # Every fifth is killed a second time while it goes on.
                if n % 5:
                    moment = 100
                    scan(data, file, more=MORE).well()
                    break
            else:
                more += 1
                scan(data, file, more=MORE).well()
                break
        untouched += tries == 0
        expect(content(data) == wanted, f"other tables, killed after {moment:.3f} s")
        expect(manifest(data) == said, f"another manifest, killed after {moment:.3f} s")
        expect(not (data / ".unfinished").exists(), "unfinished files were left")
        if n % 10 == 0:
            expect(different(data, whole) == 0, "rows differ")
    expect(caught >= KILLS * 0.7, f"caught in the middle only {caught} times of {KILLS}")
    expect(len(reached) > 4, f"caught after {sorted(reached)} parts only")
    check = hobble("check", "--data", data, "--archive", file)
    expect(check.code == 0, check.out[-300:])
    return 0, (
        f"{KILLS} scans of {lasted:.1f} s: {caught} killed in the middle, {more} of them twice, {untouched} done before; "
        f"after {min(reached)} to {max(reached)} of {len(said['sources'][0]['parts'])} parts; 0 differences"
    )


CASES = [(f"kill -9 at {KILLS} random moments, then the same command (seed {SEED})", killed)]
