"""Answers from states against answers from the whole, on the open archive.

The archive is scanned in small parts; each shipped question is counted in four shares, which are added
from their files in another order; that about a player, who is the one with most games, twice. Prints a line for each question: bytes of JSON, whether they are the
same, bytes of the states.
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
        for line in hobble("questions").decode().splitlines():
            name, about, *_ = line.split()
            states = [Path(folder) / f"{share}.state" for share in range(SHARES)]
            question = ["ask", name, "--data", data]

            def count(*more):
                for share, state in enumerate(states):
                    hobble(*question, *more, "--stripe", f"{share}/{SHARES}", "--state", state)

            if about == "player":
                question += ["--player", busiest(data)]
                count()
                first = Path(folder) / "first.state"
                hobble("ask", "--state", first, "--from", *states)
                count("--first", first)
            else:
                count()
            whole = hobble(*question, "--format", "json")
            added = hobble("ask", "--format", "json", "--from", *states[2:], *states[:2])
            asked += 1
            apart += whole != added
            sizes = ", ".join(f"{state.stat().st_size:,}" for state in states)
            same = "same" if whole == added else "DIFFER"
            print(f"{name} from {SHARES} states | {len(whole):,} bytes of JSON | {same} | states of {sizes} bytes")
    return 1 if apart or asked < 10 else 0


if __name__ == "__main__":
    sys.exit(main())
