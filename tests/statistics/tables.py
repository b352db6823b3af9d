"""The tables of a scan as DuckDB views."""

import sys
from pathlib import Path

import duckdb

from band_widths import WIDTH, of_files

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "oracle"))
from views import rows_of  # noqa: E402

TABLES = ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]


def connect(data, width=WIDTH):
    """A connection with a view for each table; `source` is the folder's, `part` the file's. Rating bands have a width
    of a question."""
    con = duckdb.connect()
    for table in TABLES:
        rows = rows_of(data, table, ", filename = true")
        con.execute(
            f"""create view {table} as
                select {of_files(rows, width)}, cast(regexp_extract(filename, 'part-(\\d+)', 1) as int) as part
                from {rows}"""
        )
    return con
