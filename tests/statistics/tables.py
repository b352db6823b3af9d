"""The tables of a scan as DuckDB views."""

import duckdb

TABLES = ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]


def connect(data):
    """A connection with a view for each table; `source` is the folder's, `part` the file's."""
    con = duckdb.connect()
    for table in TABLES:
        con.execute(
            f"""create view {table} as
                select *, cast(regexp_extract(filename, 'part-(\\d+)', 1) as int) as part
                from read_parquet('{data}/{table}/**/*.parquet',
                                  hive_partitioning = true, filename = true)"""
        )
    return con
