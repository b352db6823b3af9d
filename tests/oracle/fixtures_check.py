"""Holds hobble's output on the hand-made fixtures against fixtures.json.

    hobble scan tests/oracle/fixtures --out DIR
    python fixtures_check.py --data DIR

Prints one line, `check | source | pairs compared | differences`. Exit code 1 if there are any.
"""

import argparse
import sys
from pathlib import Path

from fixtures import differences, load
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
    compared, bad = 0, []
    for fixture in load():
        if fixture["file"] not in found_in:
            bad.append(f"{fixture['file']}: not in the tables")
            continue
        source, game = found_in[fixture["file"]]
        pairs, found = differences(fixture, read_rows(options.data, "spells", source, {game}))
        compared += pairs
        bad += found
    print(f"hand-made fixtures | tests/oracle/fixtures/fixtures.json | {compared} | {len(bad)}")
    for words in bad:
        print(f"    {words}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
