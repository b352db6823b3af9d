"""The tables of a scan, for DuckDB."""

import duckdb


def connect(data):
    """A connection with a view of games and one of moves."""
    con = duckdb.connect()
    for table in ["games", "moves"]:
        con.execute(f"create view {table} as from read_parquet('{data}/{table}/**/*.parquet')")
    return con
