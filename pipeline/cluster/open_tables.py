"""Opens the tables of a scan in Spark SQL, in place, with the views of views.sql.

    open_tables(spark, "/shared/data")
    spark.sql("SELECT * FROM losses_by_kind WHERE k = 2").show()

Only files that the manifest names are read: what an unfinished job has put there is not
part of the tables. Columns that follow from others and are not in the files are there as well: schemas/views.sql says
what they are.
"""

import json
import re
from pathlib import Path

SCHEMAS = Path(__file__).resolve().parents[2] / "schemas"


def statements(text):
    """The statements of a file of SQL; no text in it holds a semicolon."""
    bare = re.sub(r"--.*", "", text)
    return [one.strip() for one in bare.split(";") if one.strip()]


def table_files(data, table):
    """The files of a table that the manifest names."""
    manifest = json.loads((Path(data) / "manifest.json").read_text())
    files = [
        (source["source"], part["part"])
        for source in manifest["sources"]
        for part in source["parts"]
        if table in part["tables"]
    ]
    # The cubes of all parts may stand in one file, the players of all do.
    of_all = {"exposure": "cube", "players": "players"}.get(table)
    if of_all in manifest:
        files.append(("all", manifest[of_all]["part"]))
    return [f"{data}/{table}/source={source}/part-{part:05}.parquet" for source, part in files]


def view_with_derived(table, columns):
    """A view of a table with the columns that follow from others, in Spark's words. None where it has no such columns,
    or where they are among its own, as in an older scan."""
    derived = {column["name"] for column in json.loads((SCHEMAS / f"{table}.json").read_text()).get("derived", [])}
    if derived <= set(columns):
        return None
    start = f"CREATE OR REPLACE VIEW {table} AS"
    (view,) = (one for one in statements((SCHEMAS / "views.sql").read_text()) if one.startswith(start))
    view = view.replace("REPLACE VIEW", "REPLACE TEMPORARY VIEW", 1)
    view = re.sub(r"read_parquet\('(\w+)/.*?\)", r"\1", view)
    # A view cannot be made of the view of the same name.
    return view.replace(f"FROM {table} AS", f"FROM stored_{table} AS", 1)


def open_tables(spark, data):
    """Makes views of the tables, and those of views.sql over them."""
    for table in ("games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure"):
        files = table_files(data, table)
        if table == "players" and not files:
            # Joined by the manifest alone, or an older scan.
            continue
        base = f"{data}/{table}"
        frame = spark.read.option("basePath", base).parquet(*files)
        view = view_with_derived(table, frame.columns)
        frame.createOrReplaceTempView(f"stored_{table}" if view else table)
        if view:
            spark.sql(view)
    for statement in statements(Path(__file__).with_name("views.sql").read_text()):
        spark.sql(statement)
