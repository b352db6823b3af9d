"""Holds hobble's output on the hand-made fixtures against fixtures.json and captures.json.

    hobble scan tests/oracle/fixtures tests/oracle/capture-runs --out DIR
    python fixtures_check.py --data DIR

Prints a line for each file, `check | source | pairs compared | differences`. Exit code 1 if there are any.
"""

import argparse
import sys
from pathlib import Path

from fixtures import capture_differences, differences, load, load_runs
from tables import read_rows, sources


def main() -> int:
    """Run the check."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--data", type=Path, required=True)
    options = arguments.parse_args()
    found_in = {}
    for source in sources(options.data):
        for game in read_rows(options.data, "games", source):
            found_in[Path(game["file"]).name] = (source, game["game"])
    failed = False
    for name, fixtures, table, compare in (
        ("fixtures/fixtures.json", load(), "spells", differences),
        ("capture-runs/captures.json", load_runs(), "moves", capture_differences),
    ):
        compared, bad = 0, []
        for fixture in fixtures:
            if fixture["file"] not in found_in:
                bad.append(f"{fixture['file']}: not in the tables")
                continue
            source, game = found_in[fixture["file"]]
            pairs, found = compare(fixture, read_rows(options.data, table, source, {game}))
            compared += pairs
            bad += found
        print(f"hand-made fixtures | tests/oracle/{name} | {compared} | {len(bad)}")
        for words in bad:
            print(f"    {words}")
        failed |= bool(bad)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
