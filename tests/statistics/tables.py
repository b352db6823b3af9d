"""The tables of a scan as DuckDB views."""

import duckdb

from band_widths import WIDTH, of_files

TABLES = ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]


def connect(data, width=WIDTH):
    """A connection with a view for each table; `source` is the folder's, `part` the file's. Rating bands have a width
    of a question."""
    con = duckdb.connect()
    for table in TABLES:
        columns = of_files(f"read_parquet('{data}/{table}/**/*.parquet', hive_partitioning = true)", width)
        con.execute(
            f"""create view {table} as
                select {columns}, cast(regexp_extract(filename, 'part-(\\d+)', 1) as int) as part
                from read_parquet('{data}/{table}/**/*.parquet',
                                  hive_partitioning = true, filename = true)"""
        )
    return con
