"""Where following and writing games spend their time, by samples of the running program.

Needs Linux's `perf` (Debian: linux-perf). What the compiler has put into its caller counts
there; the places that are told apart here are kept apart in the sources.
"""

import re
import shutil
import subprocess
from collections import defaultdict

# The first that fits counts. Names as the compiler writes them, paths of generics and all.
GROUPS = [
    ("packing (zstd)", r"ZSTD|zstd|HUF_|FSE_|HIST_"),
    ("columns' pages: codes, bits, runs, footers", r"hobble_tables::(coded|encode|part)|parquet::|arrow"),
    ("rows into columns", r"hobble_tables::(moves|spells|games|column|skipped)"),
    ("the cube of observations", r"hobble_tables::exposure"),
    ("reading text (pgn-reader and the account of words)", r"pgn_reader|hobble_game|san::Reader|San(Plus)?::from|memchr|hobble_archive"),
    ("SAN into moves, and playing them", r"hobble_tracks::(san|roster)|shakmaty"),
    ("eight positions at once: attacks, reach, safe squares, sums", r"hobble_tracks::lanes|pulp|Track::measure"),
    ("exchanges played out", r"hobble_tracks::exchange"),
    ("single positions: chances to restrain", r"hobble_tracks::(sight|side|pawns|mobility|chances|step|trials)"),
    ("turns: observations, spells, causes, ends", r"Track>?::(turn|restrict|free|close|open|origin|state|glance|finish)|hobble_tracks::(spell|exposure|surroundings)"),
    ("plies: sums, what each took and gave", r"hobble_tracks::track"),
    ("games: ids, tags, totals, and what was put into it", r"hobble_tables::gather|xxh"),
    ("memory: allocating, copying", r"mem(move|cpy|set|cmp)|malloc|free|realloc|calloc|alloc::|_int_|mi_"),
    ("the system", r"^\[k\]"),
]


def available():
    """Why no samples can be taken; empty where they can."""
    if shutil.which("perf") is None:
        return "there is no perf (Debian: linux-perf)"
    done = subprocess.run(["perf", "stat", "true"], capture_output=True, check=False)
    return "" if done.returncode == 0 else "perf may not watch programs here"


def samples(stages, archive, scratch):
    """Share of the samples in each group, largest first, over tracks and rows of an archive."""
    data = scratch / "perf.data"
    subprocess.run(
        ["perf", "record", "--freq", "997", "--output", data, "--",
         stages, archive, "--stages", "rows", "--rounds", "1"],
        capture_output=True, check=True,
    )
    report = subprocess.run(
        ["perf", "report", "--input", data, "--no-children", "--sort", "symbol", "--stdio",
         "--percent-limit", "0", "--fields", "sample,symbol", "--field-separator", "\t"],
        capture_output=True, text=True, check=True,
    )
    counts = defaultdict(int)
    for line in report.stdout.splitlines():
        count, _, rest = line.partition("\t")
        if count.strip().isdigit():
            symbol = rest.split("\t")[0]
            counts[group(symbol.strip())] += int(count)
    whole = sum(counts.values())
    order = sorted(counts.items(), key=lambda one: -one[1])
    return whole, [(name, 100 * n / whole) for name, n in order]


def group(symbol):
    """The group of a symbol such as `[.] hobble_tracks::track::Track::turn`."""
    name = symbol.removeprefix("[.] ")
    for title, pattern in GROUPS:
        if re.search(pattern, name):
            return title
    return "the rest"
