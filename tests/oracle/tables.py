"""Reads the tables that hobble writes: DIR/NAME/source=SOURCE/part-*.parquet."""

import json
from pathlib import Path

import duckdb
import pyarrow.compute as pc
import pyarrow.parquet as pq

from views import rows_of

SCHEMAS = Path(__file__).resolve().parents[2] / "schemas"


def schema_columns(table: str) -> list[dict]:
    """Columns of a table as its schema file lists them, those that follow from others among them."""
    schema = json.loads((SCHEMAS / f"{table}.json").read_text(encoding="utf-8"))
    return schema["columns"] + schema.get("derived", [])


def sampled_in(data: Path) -> int:
    """Of how many turns one is in the sample of the table `turns`."""
    return json.loads((data / "manifest.json").read_text())["parameters"]["sample"]


def sources(data: Path) -> list[str]:
    """Names of the sources in a data folder."""
    return sorted(p.name.removeprefix("source=") for p in (data / "games").glob("source=*"))


def has_derived(table: str) -> bool:
    """Whether a table has columns that follow from others."""
    return "derived" in json.loads((SCHEMAS / f"{table}.json").read_text(encoding="utf-8"))


def read_rows(data: Path, table: str, source: str, games: set[int] | None = None) -> list[dict]:
    """Rows of a table as dicts, the columns of its schema only; `games` picks by number."""
    names = [column["name"] for column in schema_columns(table)]
    rows = []
    if has_derived(table):
        picked = "" if games is None else f"and game in ({', '.join(map(str, [-1, *games]))})"
        held = duckdb.sql(
            f"select {', '.join(names)} from {rows_of(data, table)} where source = ? {picked}", params=[source]
        )
        return held.to_arrow_table().to_pylist()
    for part in sorted((data / table / f"source={source}").glob("part-*.parquet")):
        held = pq.ParquetFile(part).read(columns=names)
        missing = [name for name in names if name not in held.column_names]
        if missing:
            raise SystemExit(f"{part}: columns missing: {', '.join(missing)}")
        if games is not None:
            if not games:
                continue
            number = held.column("game")
            near = pc.and_(pc.greater_equal(number, min(games)), pc.less_equal(number, max(games)))
            held = held.filter(near)
        for row in held.to_pylist():
            if games is None or row["game"] in games:
                rows.append(row)
    return rows
