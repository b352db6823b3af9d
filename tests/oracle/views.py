"""The tables with the columns that follow from others, as `schemas/views.sql` has them."""

import re
from pathlib import Path

VIEWS = (Path(__file__).resolve().parents[2] / "schemas" / "views.sql").read_text(encoding="utf-8")


def rows_of(data, table, options=""):
    """SQL: the rows of a table in a folder, a view's where the table has one; `options` are more of read_parquet."""
    view = re.search(rf"VIEW {table} AS\n(.*?);", VIEWS, re.S)
    rows = f"(from read_parquet('{table}/*/*.parquet', hive_partitioning = true))" if view is None else f"({view[1]})"
    rows = rows.replace("read_parquet('", f"read_parquet('{data}/")
    return rows.replace("hive_partitioning = true", f"hive_partitioning = true{options}")
