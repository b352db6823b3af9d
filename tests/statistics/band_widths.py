"""Rating bands of the tables taken together to those of a question, in SQL (definitions, section 9)."""

import duckdb

# Width of rating bands in points, of a question that does not say.
WIDTH = 200


def widened(band, width=WIDTH):
    """SQL: the name of the band `width` points wide that a band of the tables is in."""
    low = f"try_cast(split_part({band}, '-', 1) as int) // {width} * {width}"
    return f"coalesce({low} || '-' || ({low} + {width - 1}), {band})"


def of_files(files, width=WIDTH):
    """SQL: the columns of Parquet files with rating bands of a width."""
    columns = [row[0] for row in duckdb.sql(f"describe select * from {files}").fetchall()]
    bands = [name for name in columns if name == "band" or name.endswith("_band")]
    replaced = ", ".join(f"{widened(name, width)} as {name}" for name in bands)
    return f"* replace ({replaced})" if bands else "*"
