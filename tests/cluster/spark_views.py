"""The tables as `open_tables.py` opens them in Spark SQL, against DuckDB."""

import json
import math
from pathlib import Path

import duckdb
from open_tables import open_tables, statements, view_with_derived
from scanned import files_sql

ROOT = Path(__file__).resolve().parent.parent.parent


def plain(value):
    if isinstance(value, float) and value == math.floor(value):
        return int(value)
    return int(value) if type(value).__name__ == "Decimal" else value


def agree(check, data):
    """Views of both give the same rows, those with columns that follow from others too."""
    from pyspark.sql import SparkSession

    spark = SparkSession.builder.master("local[2]").config("spark.ui.enabled", "false")
    spark = spark.config("spark.ui.showConsoleProgress", "false").getOrCreate()
    spark.sparkContext.setLogLevel("ERROR")
    open_tables(spark, str(data))
    db = duckdb.connect()
    for table in ("games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure"):
        db.execute(f"CREATE VIEW {table} AS SELECT * FROM {files_sql(data, table)}")
    # As a user of DuckDB makes it, in the folder of the tables.
    db.execute(f"SET file_search_path = '{data}'")
    db.execute((ROOT / "schemas" / "views.sql").read_text())
    for statement in statements((ROOT / "pipeline" / "cluster" / "views.sql").read_text()):
        db.execute(statement)
    views = {
        name: f"SELECT * FROM {name}" for name in ("losses_by_kind", "causes", "squares_taken", "held")
    }
    derived = json.loads((ROOT / "schemas" / "spells.json").read_text())["derived"]
    numbers = [one["name"] for one in derived if one["type"].startswith("int")]
    others = [one["name"] for one in derived if one["name"] not in numbers]
    sums = ", ".join(f"sum({name}), count({name})" for name in numbers)
    views["spells"] = f"SELECT {', '.join(others)}, {sums}, count(*) FROM spells GROUP BY {', '.join(others)}"
    views["spells_at"] = "SELECT k, source, count(*), sum(start_ply), sum(piece) FROM spells_at GROUP BY k, source"
    for name, query in views.items():
        order = lambda rows: sorted((tuple(map(plain, r)) for r in rows), key=repr)  # noqa: E731
        one = order(db.execute(query).fetchall())
        two = order(spark.sql(query).collect())
        check(f"view {name}: Spark SQL and DuckDB agree", one == two and one, f"{len(one):,} rows")
    stored = spark.table("stored_spells").columns
    own = not {one["name"] for one in derived} & set(stored)
    older = view_with_derived("spells", [*stored, *(one["name"] for one in derived)])
    check("spells: no file has columns that follow; where files of an older scan have them, they stay", own and older is None, f"{len(derived)} follow")
    spark.stop()
