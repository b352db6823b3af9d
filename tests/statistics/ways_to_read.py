"""The lines of notebooks-free-reports/researcher.md that read the tables with polars, pandas and DuckDB, run as they
stand there: all must give the same count, and the count the report by rating band is made
from.

Prints a line for the check.
"""

import argparse
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]


def lines():
    """The lines of that page's Python block, by the package they begin with."""
    block = re.search(r"```python\n(.*?)```", (ROOT / "notebooks-free-reports" / "researcher.md").read_text(), re.S).group(1)
    return {re.match(r"import (\w+)", line).group(1): line for line in block.splitlines()}


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--hobble", required=True)
    arguments.add_argument("--data", required=True)
    given = arguments.parse_args()
    ask = [given.hobble, "ask", "restraint-by-band", "--data", given.data, "--k", "2", "--developed", "any"]
    answer = json.loads(subprocess.check_output([*ask, "--format", "json"], text=True))
    cell = next(c for c in answer["cells"] if (c["measure"], c["split"]) == ("spells_per_game", "all"))
    spells = round(cell["estimate"] * cell["n"])
    check = Check("lines of researcher.md that read the tables", "polars, pandas, DuckDB")
    check.equal("packages", sorted(lines()), ["duckdb", "pandas", "polars"])
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(pathlib.Path(given.data).resolve(), f"{folder}/data")
        for package, line in lines().items():
            done = subprocess.run([sys.executable, "-c", line], cwd=folder, capture_output=True, text=True)
            check.equal(f"{package}: {done.stderr[-200:]}", spells, int(done.stdout.strip() or -1))
    return check.report()


if __name__ == "__main__":
    sys.exit(main() > 0)
