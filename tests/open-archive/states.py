"""Answers from states against answers from the whole, on the open archive.

The archive is scanned in small parts; each shipped question is counted in four shares, which are added
from their files in another order; that about a player, who is the one with most games, twice, and the grid of
claims three times. Prints a line for each question: bytes of JSON, whether they are the same, bytes of the states.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb

SHARES = 4


def busiest(data):
    """The name with most games."""
    players = f"{data}/players/**/*.parquet"
    query = f"select player_name from '{players}' order by white_games + black_games desc, player_name limit 1"
    return duckdb.sql(query).fetchall()[0][0]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--pgn", required=True)
    arguments = parser.parse_args()
    apart = asked = 0
    with tempfile.TemporaryDirectory(prefix="hobble-") as folder:
        data = Path(folder) / "data"

        def hobble(*words):
            return subprocess.run([arguments.hobble, *map(str, words)], stdout=subprocess.PIPE, check=True).stdout

        hobble("scan", arguments.pgn, "--out", data, "--part-blocks", "8", "--name-skipped", "0")

        def shares(*words):
            """What is counted of each share, in another order."""
            states = [Path(folder) / f"{share}.state" for share in range(SHARES)]
            for share, state in enumerate(states):
                hobble(*words, "--stripe", f"{share}/{SHARES}", "--state", state)
            return states[2:] + states[:2]

        def compare(name, whole, added, states):
            sizes = ", ".join(f"{state.stat().st_size:,}" for state in states)
            same = "same" if whole == added else "DIFFER"
            print(f"{name} from {SHARES} states | {len(whole):,} bytes of JSON | {same} | states of {sizes} bytes")
            return whole == added

        for line in hobble("questions").decode().splitlines():
            name, about, *_ = line.split()
            question = ["ask", name, "--data", data]
            if about == "player":
                question += ["--player", busiest(data)]
                first = Path(folder) / "first.state"
                hobble("ask", "--state", first, "--from", *shares(*question))
                states = shares(*question, "--first", first)
            else:
                states = shares(*question)
            whole = hobble(*question, "--format", "json")
            added = hobble("ask", "--format", "json", "--from", *states)
            asked += 1
            apart += not compare(name, whole, added, states)

        whole, added, first = (Path(folder) / name for name in ("whole", "added", "first.state"))
        grid = ["sift", "--data", data]
        hobble(*grid, "--ledger", Path(folder) / "whole.json", "--out", whole)
        hobble("sift", "--state", first, "--from", *shares(*grid))
        hobble("sift", "--state", first, "--from", *shares(*grid, "--first", first))
        opened = Path(folder) / "opened.state"
        hobble(*grid, "--first", first, "--open", opened, "--ledger", Path(folder) / "added.json")
        states = shares(*grid, "--first", opened)
        hobble("sift", "--out", added, "--from", *states)
        asked += 1
        apart += not compare("sift", *((out / "league.json").read_bytes() for out in (whole, added)), states)
    return 1 if apart or asked < 11 else 0


if __name__ == "__main__":
    sys.exit(main())
