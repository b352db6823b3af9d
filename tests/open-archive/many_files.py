"""Many small files against one file with the same text.

Cuts the open archive into files, scans them and the one file in turn, and compares time, sizes,
tables and answers. The games are those of the whole archive in its order, so that all rows must be
the same apart from the number, the file and the place of a game.

Prints a line for each check: what, source, pairs compared, differences.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import duckdb

PLACES = ("game", "file", "byte_offset", "line", "source")
TABLES = ("games", "moves", "spells", "exposure")


def cut(archive, folder, number):
    """Cuts an archive into about so many files of whole games; returns how many there are."""
    text = archive.read_bytes()
    starts, at = [], 0
    while (at := text.find(b"[Event ", at)) >= 0:
        if at == 0 or text[at - 1 : at] == b"\n":
            starts.append(at)
        at += 1
    games = -(-len(starts) // number)
    borders = [0, *starts[games::games], len(text)]
    for n, (start, end) in enumerate(zip(borders, borders[1:])):
        (folder / f"{n:06}.pgn").write_bytes(text[start:end])
    return len(borders) - 1


def scan(hobble, archive, data):
    """Scans; returns the seconds it took and its CPU seconds."""
    before, began = os.times(), time.monotonic()
    subprocess.run([hobble, "scan", archive, "--out", data, "--name-skipped", "0"],
                   stdout=subprocess.DEVNULL, check=True)
    after = os.times()
    cpu = after.children_user + after.children_system - before.children_user - before.children_system
    return time.monotonic() - began, cpu


def differing_rows(one, many):
    """Rows of each table that stand in one of two scans only, and rows in all."""
    rows = apart = 0
    for table in TABLES:
        a, b = (f"read_parquet('{data}/{table}/**/*.parquet')" for data in (one, many))
        names = [name for name, *_ in duckdb.sql(f"describe select * from {a}").fetchall()]
        own = ", ".join(f'"{name}"' for name in names if name not in PLACES)
        sums = [duckdb.sql(f"select count(*), sum(hash({own})::hugeint) from {c}").fetchall()[0] for c in (a, b)]
        rows += sums[0][0]
        apart += sums[0] != sums[1]
    return rows, apart


def answers(hobble, data):
    """Answers as JSON, without what names archives and games' places."""
    found = []
    for question in ("held-piece-lost", "knight-restrained-by-pawn", "restraint-by-band"):
        command = [hobble, "ask", question, "--data", data, "--format", "json"]
        answer = json.loads(subprocess.run(command, stdout=subprocess.PIPE, check=True).stdout)
        found.append(without_places(answer))
    return found


def without_places(value):
    if isinstance(value, dict):
        gone = ("dataset", "data", "sources", "source", "file", "game", "offset", "line",
                "methods_text", "citation")
        return {name: without_places(part) for name, part in value.items() if name not in gone}
    if isinstance(value, list):
        return [without_places(part) for part in value]
    return value


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--pgn", required=True, type=Path)
    parser.add_argument("--files", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=2)
    parser.add_argument("--most", type=float, default=1.25, help="times the CPU seconds of one file")
    arguments = parser.parse_args()
    failed = False

    def report(what, source, pairs, differences):
        nonlocal failed
        print(f"{what} | {source} | {pairs} | {differences} differences")
        failed |= bool(differences) or not pairs

    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        (folder / "files").mkdir()
        files = cut(arguments.pgn, folder / "files", arguments.files)
        named = f"one file with the same text as {files} files"
        ratios = []
        for n in range(arguments.rounds):
            one = scan(arguments.hobble, arguments.pgn, folder / f"one-{n}")
            many = scan(arguments.hobble, folder / "files", folder / f"many-{n}")
            ratios.append(many[1] / one[1])
            print(f"  one file {one[0]:.1f} s ({one[1]:.1f} CPU s), {files} files {many[0]:.1f} s "
                  f"({many[1]:.1f} CPU s): {ratios[-1]:.2f} times the CPU time")
        one, many = folder / "one-0", folder / "many-0"
        report(f"CPU time at most {arguments.most} times", named, len(ratios), int(min(ratios) > arguments.most))
        sizes = [sum(path.stat().st_size for path in data.glob("*/**/*.parquet")) for data in (one, many)]
        print(f"  tables: one file {sizes[0]:,} bytes, {files} files {sizes[1]:,}: {sizes[1] / sizes[0]:.4f} times")
        report("bytes of the tables within 1 %", named, 1, int(abs(sizes[1] / sizes[0] - 1) > 0.01))
        rows, apart = differing_rows(one, many)
        report("rows of games, moves, spells, exposure", f"DuckDB, {named}", rows, apart)
        (cells,) = duckdb.sql(
            f"select count(*) from read_parquet('{many}/exposure/**/*.parquet')").fetchall()[0]
        print(f"  exposure: {cells:,} rows")
        first, second = answers(arguments.hobble, one), answers(arguments.hobble, many)
        report("answers", named, len(first), sum(a != b for a, b in zip(first, second)))
        check = subprocess.run([arguments.hobble, "check", "--data", many], stdout=subprocess.PIPE)
        report("hobble check", "its recount of the files", 1, int(check.returncode != 0))
    sys.exit(failed)


if __name__ == "__main__":
    main()
