"""Compares hobble's tables with the slow reading, row for row and value for value.

    python compare.py --pgn GAMES.pgn [MORE.pgn …] --data DIR [--limit N] [--source NAME]

DIR is what `hobble scan` wrote from these files; N takes the first N games of each file. The
exposure cube is compared only where the games compared are all there are in the source.
Prints one line a check, `check | source | pairs compared | differences`, a pair being two
values, and the first few differences. Exit code 1 if there are any.
"""

import argparse
import multiprocessing
import sys
from collections import Counter
from pathlib import Path

import chess
import numpy

from archive import Skipped, cut, read_bytes
from exposure import KEYS, MEASURES
from position import Measurer
from restraint import rows_of
from tables import read_rows, sampled_in, schema_columns, sources

SHOWN = 5
ROW_KEY = {
    "games": ("game",),
    "moves": ("game", "ply"),
    "spells": ("game", "piece", "k_low", "start_ply"),
    "turns": ("game", "ply", "piece"),
    "decisions": ("game", "ply", "piece"),
    "sides": ("game", "color"),
}

measurer: Measurer | None = None
sample = 16


def start_worker(one_in: int) -> None:
    """Each process remembers its own positions, and the share of turns in the sample."""
    global measurer, sample
    measurer = Measurer()
    sample = one_in


def read_one(task):
    """(number in the file, line, rows or None, reason or None) of one game."""
    raw, file = task
    try:
        rows = rows_of(raw, file, measurer, sample=sample)
    except Skipped as reason:
        return raw.number, raw.line, None, str(reason)
    rows.boards = [b.fen() for b in rows.boards]
    return raw.number, raw.line, rows, None


class Check:
    """One check: pairs compared and differences found."""

    def __init__(self, name: str, source: str):
        self.name, self.source = name, source
        self.pairs = 0
        self.differences: list[str] = []

    def compare(self, expected, got, where) -> None:
        """Compare two values; `where()` says what they are."""
        self.pairs += 1
        if expected != got or type(expected) is bool and type(got) is not bool:
            self.differences.append(f"{where()}: expected {expected!r}, got {got!r}")

    def report(self) -> None:
        """The line of the check, and the first differences."""
        print(f"{self.name} | {self.source} | {self.pairs} | {len(self.differences)}")
        for difference in self.differences[:SHOWN]:
            print(f"    {difference}")
        if len(self.differences) > SHOWN:
            print(f"    … and {len(self.differences) - SHOWN} more")


def float_columns(table: str) -> set[str]:
    """Columns held in 32-bit floats."""
    return {c["name"] for c in schema_columns(table) if c["type"] == "float32"}


def compare_rows(check: Check, table: str, expected: list[dict], got: list[dict],
                 fens: dict[int, list[str]]) -> None:
    """Match rows by key and compare every column of the schema."""
    key_names = ROW_KEY[table]
    # Whether a game repeats another one depends on all games before it: checked elsewhere.
    columns = [column["name"] for column in schema_columns(table) if column["name"] != "is_repeat"]
    floats = float_columns(table)

    def index(rows: list[dict], whose: str) -> dict[tuple, dict]:
        by_key = {}
        for row in rows:
            key = tuple(row[name] for name in key_names)
            if key in by_key:
                check.differences.append(f"{place(row)}: row twice in {whose}")
            by_key[key] = row
        return by_key

    def place(row: dict) -> str:
        positions = fens.get(row["game"], [])
        position = {"games": 0, "moves": row.get("ply", 1) - 1, "spells": row.get("start_ply"),
                    "turns": row.get("ply"), "decisions": row.get("ply"), "sides": 0}[table]
        fen = positions[position] if 0 <= position < len(positions) else "?"
        key = ", ".join(f"{name} {row[name]}" for name in key_names)
        return f"{key} [{fen}]"

    ours, theirs = index(expected, "the slow reading"), index(got, "hobble's table")
    for key in sorted(ours.keys() | theirs.keys()):
        if key not in theirs:
            check.differences.append(f"{place(ours[key])}: row expected, none there: {ours[key]}")
            continue
        if key not in ours:
            check.differences.append(f"{place(theirs[key])}: row not expected: {theirs[key]}")
            continue
        mine, its = ours[key], theirs[key]
        if mine.keys() != set(columns):
            raise SystemExit(f"{table}: the slow reading has other columns than the schema: "
                             f"{sorted(mine.keys() ^ set(columns))}")
        for name in columns:
            value = mine[name]
            if name in floats and value is not None:
                value = float(numpy.float32(value))
            check.compare(value, its[name], lambda: f"{place(mine)}: {name}")


def compare_exposure(check: Check, source: str, cube: dict[tuple, Counter], got: list[dict]) -> None:
    """Compare two cubes, each added up by its keys."""
    theirs: dict[tuple, Counter] = {}
    for row in got:
        measures = theirs.setdefault(tuple(row[name] for name in KEYS), Counter())
        for name in MEASURES:
            measures[name] += row[name]
    for key in sorted(cube.keys() | theirs.keys(), key=str):
        for name in MEASURES:
            expected = cube.get(key, Counter())[name]
            found = theirs.get(key, Counter())[name]
            check.compare(expected, found, lambda: f"{source}, {dict(zip(KEYS, key))}: {name}")


def compare_file(pgn: Path, data: Path, source: str, kept: list[dict], limit: int | None,
                 pool, checks: dict[str, Check], cube: dict) -> set[int]:
    """Compare the games of one file; gives the numbers of the games compared."""
    ours = {table: [] for table in ROW_KEY}
    fens: dict[int, list[str]] = {}
    lines_kept = {row["line"]: row for row in kept}
    raws = list(cut(read_bytes(pgn), limit))
    shift = None
    last_line = raws[-1].line if raws and limit is not None and len(raws) == limit else None
    tasks = ((raw, pgn.name) for raw in raws)
    for number, line, rows, reason in pool.imap(read_one, tasks, chunksize=8):
        theirs = lines_kept.get(line)
        checks["kept"].compare(
            "kept" if rows else "left out", "kept" if theirs else "left out",
            lambda: f"{pgn.name}, game {number}, line {line}" + (f" ({reason})" if reason else ""),
        )
        if rows is None or theirs is None:
            continue
        if shift is None:
            # In a source of several files the games of the later ones count on.
            shift = theirs["game"] - number
        for table, found in (("games", [rows.game]), ("moves", rows.moves),
                             ("spells", rows.spells), ("turns", rows.turns),
                             ("decisions", rows.decisions), ("sides", rows.sides)):
            for row in found:
                row["game"] = number + shift
            ours[table] += found
        fens[number + shift] = rows.boards
        for key, measures in rows.exposure.items():
            cube.setdefault(key, Counter()).update(measures)
    read_lines = {raw.line for raw in raws}
    for line, row in lines_kept.items():
        if line not in read_lines and (last_line is None or line < last_line):
            checks["kept"].compare("no game", "kept", lambda: f"{pgn.name}, line {line}")

    numbers = {row["game"] for row in ours["games"]}
    for table in ROW_KEY:
        got = read_rows(data, table, source, numbers)
        if table == "games":
            for row in got:
                row["file"] = Path(row["file"]).name
        compare_rows(checks[table], table, ours[table], got, fens)
    return numbers


def main() -> int:
    """Run the comparison."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--pgn", type=Path, nargs="+", required=True)
    arguments.add_argument("--data", type=Path, required=True)
    arguments.add_argument("--limit", type=int, help="first N games of each file")
    arguments.add_argument("--source", help="the one source to look into")
    arguments.add_argument("--processes", type=int, default=2)
    options = arguments.parse_args()

    games = {}
    for source in [options.source] if options.source else sources(options.data):
        for row in read_rows(options.data, "games", source):
            games.setdefault((source, Path(row["file"]).name), []).append(row)
    held_in = {source for source, _ in games}

    span = f"first {options.limit} games" if options.limit else "all games"
    named = options.pgn[0].name if len(options.pgn) == 1 else f"{len(options.pgn)} files"
    reference = f"slow reading over python-chess {chess.__version__} (PyPI), {named}, {span}"
    checks = {
        "kept": Check("games kept", reference),
        "games": Check("table games", reference),
        "moves": Check("table moves", reference),
        "spells": Check("table spells", reference),
        "turns": Check("table turns", reference),
        "decisions": Check("table decisions", reference),
        "sides": Check("table sides", reference),
    }
    cubes: dict[str, dict] = {}
    compared: dict[str, set[int]] = {}
    with multiprocessing.Pool(options.processes, start_worker, (sampled_in(options.data),)) as pool:
        for pgn in options.pgn:
            homes = [s for s, file in games if file == pgn.name]
            if not homes:
                # A file of which nothing was kept stands in no table.
                homes = sorted(held_in)[:1] or [""]
            if len(homes) > 1:
                raise SystemExit(f"{pgn.name} is in several sources ({', '.join(homes)}): --source")
            source = homes[0]
            numbers = compare_file(pgn, options.data, source, games.get((source, pgn.name), []),
                                   options.limit, pool, checks, cubes.setdefault(source, {}))
            compared.setdefault(source, set()).update(numbers)

    cube_check = Check("exposure", reference)
    left_aside = []
    # One cube of all sources.
    done = sum(len(numbers) for numbers in compared.values())
    there = sum(len(rows) for rows in games.values())
    if done == there and not options.source:
        total: dict = {}
        for cube in cubes.values():
            for key, measures in cube.items():
                total.setdefault(key, Counter()).update(measures)
        compare_exposure(cube_check, "all", total, read_rows(options.data, "exposure", "all"))
    else:
        left_aside.append(f"{done} of {there} games compared")
    if cube_check.pairs:
        checks["exposure"] = cube_check
    for check in checks.values():
        check.report()
    for words in left_aside:
        print(f"exposure not compared, the cube holds other games too: {words}")
    bad = any(check.differences for check in checks.values())
    if not checks["games"].pairs:
        print("nothing was compared", file=sys.stderr)
        bad = True
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
