"""The lines of notebooks-free-reports/researcher.md that read the tables with polars, pandas and DuckDB, run as they
stand there over tables of several sources: all must give the same number of spells, which the report by rating
band is made from, the same sum of a difference, and the same mean over a join. Columns must arrive as the page says:
`source` and those of the schema, words as categories, and no name that SQL reserves.

Prints a line for each check.
"""

import argparse
import ast
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import duckdb
import pandas
import polars
from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]


def blocks():
    """The Python blocks of that page that begin with a package of readers, by the package."""
    page = (ROOT / "notebooks-free-reports" / "researcher.md").read_text()
    found = re.findall(r"```python\n(import (polars|pandas|duckdb)\b.*?)```", page, re.S)
    return {package: block for block, package in found if "read" in block.split("\n")[1]}


def columns(data, check):
    """Each table as the three readers see it."""
    reserved = {
        word for word, category in duckdb.sql("select keyword_name, keyword_category from duckdb_keywords()").fetchall()
        if category != "unreserved"
    }
    for path in sorted(data.iterdir()):
        if not path.is_dir():
            continue
        described = json.loads((ROOT / "schemas" / f"{path.name}.json").read_text())["columns"]
        names = [column["name"] for column in described]
        words = [column["name"] for column in described if column["type"] == "dictionary"]
        check.equal(f"{path.name}: reserved", [name for name in names if name in reserved], [])
        polars_schema = polars.scan_parquet(path, hive_partitioning=True).collect_schema()
        check.equal(f"{path.name}: polars", list(polars_schema.names()), [*names, "source"])
        categories = [name for name in names if polars_schema[name] == polars.Categorical]
        check.equal(f"{path.name}: polars categories", categories, words)
        unsigned = [name for name in names if str(polars_schema[name]).startswith("U") and not name.endswith("_id")]
        check.equal(f"{path.name}: unsigned", unsigned, [])
        frame = pandas.read_parquet(path)
        check.equal(f"{path.name}: pandas", list(frame.columns), [*names, "source"])
        categories = [name for name in names if isinstance(frame[name].dtype, pandas.CategoricalDtype)]
        check.equal(f"{path.name}: pandas categories", categories, words)
        relation = duckdb.sql(f"from read_parquet('{path}/*/*.parquet', hive_partitioning = true)")
        check.equal(f"{path.name}: DuckDB", relation.columns, [*names, "source"])


def views(data, check):
    """The views for clusters (pipeline/cluster/views.sql) name columns that are there; restrictions and releases are as many
    as in the table."""
    con = duckdb.connect()
    for table in ("games", "moves", "spells", "exposure"):
        con.execute(f"create view {table} as from read_parquet('{data}/{table}/**/*.parquet', hive_partitioning = true)")
    text = (ROOT / "pipeline" / "cluster" / "views.sql").read_text()
    names = re.findall(r"VIEW (\w+) AS", text)
    con.execute(text)
    for name in names:
        check.equal(f"view {name}: rows", con.execute(f"select count(*) > 0 from {name}").fetchone()[0], True)
    of_view = con.execute("select sum(spells)::int, sum(freed)::int from causes where k = 2").fetchone()
    of_table = "select count(*)::int, count(*) filter (ended = 'freed')::int from spells where k_low <= 2 and 2 <= k_high"
    check.equal("view causes: spells and releases", of_view, con.execute(of_table).fetchone())


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
    check.equal("packages", sorted(blocks()), ["duckdb", "pandas", "polars"])
    data = pathlib.Path(given.data).resolve()
    columns(data, check)
    views(data, check)
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(data, f"{folder}/data")
        found = []
        for package, block in blocks().items():
            done = subprocess.run([sys.executable, "-c", block], cwd=folder, capture_output=True, text=True)
            check.equal(f"{package}: {done.stderr[-200:]}", done.returncode, 0)
            count, mean, net = ast.literal_eval(done.stdout.strip() or "(-1, 0.0, 0)")
            check.equal(f"{package}: spells", spells, count)
            found.append((mean, net))
        for mean, net in found:
            check.close("mean", mean, found[0][0])
            check.equal("net", net, found[0][1])
    return check.report()


if __name__ == "__main__":
    sys.exit(main() > 0)
