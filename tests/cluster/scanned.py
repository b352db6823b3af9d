"""What a scan wrote, for the checks: its files, its account, its answers less what names archives."""

import hashlib
import json

import duckdb


def digests(data):
    """SHA-256 of every table file."""
    return {
        str(p.relative_to(data)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(data.glob("*/source=*/*.parquet"))
    }


def stamps(data):
    return {str(p): p.stat().st_mtime_ns for p in sorted(data.rglob("*")) if p.is_file()}


def account(data):
    """What was read, over all sources."""
    total = {}
    manifest = json.loads((data / "manifest.json").read_text())
    for source in manifest["sources"]:
        for key, value in source.items():
            # When a copy of the archive was written, and when it was scanned, is nothing that was read.
            if key in ("bytes", "modified", "scanned", "parts", "complete"):
                continue
            if isinstance(value, int):
                total[key] = max(total.get(key, 0), value) if key == "longest" else total.get(key, 0) + value
            elif isinstance(value, dict):
                sums = total.setdefault(key, {})
                for name, n in value.items():
                    sums[name] = sums.get(name, 0) + n
    return total


def files_sql(data, table):
    return f"read_parquet('{data}/{table}/*/*.parquet', hive_partitioning=true)"


SOURCES = ("sources", "source", "file", "game", "offset", "line", "data", "dataset", "methods_text", "citation")


def without(value, names=SOURCES):
    """An answer less what names its archives."""
    if isinstance(value, dict):
        return {k: without(v, names) for k, v in value.items() if k not in names}
    if isinstance(value, list):
        return [without(v, names) for v in value]
    return value


def busiest(data):
    """The most frequent name in the table of games."""
    games = f"{data}/games/**/*.parquet"
    names = f"select white as name from '{games}' union all select black from '{games}'"
    query = f"select name from ({names}) where name is not null group by name order by count(*) desc, name limit 1"
    return duckdb.sql(query).fetchall()[0][0]
