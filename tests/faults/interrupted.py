"""Killed in the middle: the same command goes on, and nothing is lost or counted twice."""

import os
import random
import shutil
import signal
import time

import duckdb

from kit import SEASON, expect, finish, hobble, manifest, scan, start

KILLS = 50
SEED = 20260101
MORE = ["--block-kib", "64", "--part-blocks", "4", "--threads", "2", "--repeats", "leave-out"]
TABLES = ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]


def content(data):
    """Rows of each table and the sum of their hashes: the same whatever their order."""
    found = {}
    for table in TABLES:
        rows = f"read_parquet('{data}/{table}/source=*/part-*.parquet')"
        found[table] = duckdb.sql(f"select count(*), sum(hash(t)::hugeint) from {rows} t").fetchall()[0]
    return found


def different(one, other):
    """Rows that stand in one of two folders only (or more often)."""
    count = 0
    for table in TABLES:
        a, b = (f"select * from read_parquet('{d}/{table}/source=*/part-*.parquet')" for d in (one, other))
        for first, second in ((a, b), (b, a)):
            count += duckdb.sql(f"select count(*) from ({first} except all {second})").fetchall()[0][0]
    return count


def kill(process, moment):
    """Kills a run at a moment; whether it was done before."""
    time.sleep(moment)
    os.kill(process.pid, signal.SIGKILL)  # `process.kill` would wait for it as well
    ran = finish(process)
    expect(ran.code in (0, -signal.SIGKILL), f"code {ran.code}: {ran.err}")
    return ran.code == 0


def killed(work):
    file, whole = work / "x.pgn", work / "whole"
    # The second half repeats the first: a scan that goes on must know what it has.
    file.write_bytes(SEASON.read_bytes() * 2)
    began = time.monotonic()
    scan(whole, file, more=MORE).well()
    lasted = time.monotonic() - began
    wanted, said = content(whole), manifest(whole)
    expect(len(said["sources"][0]["parts"]) > 5, "too few parts")
    expect(said["sources"][0]["repeats"] == said["sources"][0]["kept"], "repeats were counted")
    dice = random.Random(SEED)
    reached, sooner = set(), 0
    for n in range(KILLS):
        data = work / f"data-{n}"
        # A moment of each fiftieth of the time; an earlier one where this scan was quicker.
        moment = lasted * (n + dice.random()) / KILLS
        while kill(start("scan", file, "--out", data, *MORE), moment):
            shutil.rmtree(data)
            moment *= 0.8
            sooner += 1
            expect(sooner < 5 * KILLS, "the scan is never caught in the middle")
        known = manifest(data)["sources"] if (data / "manifest.json").exists() else []
        reached.add(len(known[0]["parts"]) if known else 0)
        if n % 5 == 0:
            # Killed a second time while it goes on.
            kill(start("scan", file, "--out", data, *MORE), lasted * dice.random())
        scan(data, file, more=MORE).well()
        expect(content(data) == wanted, f"other tables, killed after {moment:.3f} s")
        expect(manifest(data) == said, f"another manifest, killed after {moment:.3f} s")
        expect(not (data / ".unfinished").exists(), "unfinished files were left")
        if n % 10 == 0:
            expect(different(data, whole) == 0, "rows differ")
        if n < KILLS - 1:
            shutil.rmtree(data)
    expect(len(reached) > 3, f"caught after {sorted(reached)} parts only")
    check = hobble("check", "--data", data, "--archive", file)
    expect(check.code == 0, check.out[-300:])
    return 0, (
        f"{KILLS} scans of {lasted:.1f} s killed after {min(reached)} to {max(reached)} of "
        f"{len(said['sources'][0]['parts'])} parts; tables and manifest as without; 0 differences"
    )


CASES = [(f"kill -9 at {KILLS} random moments, then the same command (seed {SEED})", killed)]
