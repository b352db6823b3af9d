"""Tries a grid of claims on a Spark cluster, over tables in a folder or on an S3-compatible store.

The tables are counted three times, each time in shares: which moves both halves have, what the half says in
which claims are looked for, and what the locked half says. The league and the claims' files are those of one machine,
byte for byte. Before the locked half is counted the driver writes down, once, that it is opened: beside the tables, on a
store as well, or in a file that is named. Executors write nothing down, so that a share whose executor is lost is
counted again without another opening.
"""

import argparse
import sys
from contextlib import nullcontext
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
import shares  # noqa: E402
from spark import run_job  # noqa: E402
from table_storage import call, storage  # noqa: E402


def run(arguments, session, temporary):
    """Counts three times, opens the locked half between, and writes the league."""
    tables = shares.Shares(arguments, "sift", arguments.grid, [], session, temporary)
    kept = storage(arguments.data, arguments.store)
    # A ledger that cannot be read stops before any count.
    call([*tables.asking, "--list-files", "--ledger", str(arguments.ledger or kept.read_ledger(temporary))])
    moves = tables.sum(tables.count(), temporary / "moves.state")
    found = tables.sum(tables.count(moves), temporary / "found.state")
    opened = str(temporary / "opened.state")
    ledger = nullcontext(arguments.ledger) if arguments.ledger else kept.ledger(temporary)
    with ledger as file:
        call([*tables.asking, "--first", found, "--open", opened, "--ledger", str(file)])
    print(call([*tables.command, "--out", arguments.out, "--from", *tables.count(opened)]), end="", flush=True)
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("grid", nargs="?", help="file of the grid (default: the one that comes with the program)")
    parser.add_argument("--out", required=True, help="folder for the league and the claims")
    parser.add_argument("--ledger", help="file in which openings of the locked half are written down (default: sift-openings.json beside the tables)")
    shares.add_arguments(parser)
    return run_job("sift", parser, run)


if __name__ == "__main__":
    sys.exit(main())
