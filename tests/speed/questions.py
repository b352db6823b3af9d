"""Times the shipped questions against DuckDB counting the same from the same tables.

The SQL is made from the question file: the counts by rows, strata, fold and side that the
answer rests on. Statistics and example games, which the program adds, have no SQL; DuckDB is
spared them, and its own start and import as well.
"""

import json
import pathlib
import subprocess
import time
import tomllib

import duckdb

from inputs import ROOT

QUESTIONS = ROOT / "notebooks-free-reports"
# Defaults as in schemas/question.schema.json.
SCHEMA = json.loads((ROOT / "schemas" / "question.schema.json").read_text(encoding="utf-8"))
DEFAULTS = {
    name: field["default"] for name, field in SCHEMA["properties"].items() if "default" in field
}
COUNTED = {"kinds", "k", "within", "outcome", "developed", "attacked", "defended", "phase", "band",
           "time_class", "rating_diff", "strata", "group_by"}
BESIDE = {"$schema", "format", "title", "text", "minimum_turns", "minimum_folds",
          "minimum_outcome_folds", "examples"}


def shipped() -> list[pathlib.Path]:
    """The comparisons that come with the program."""
    return sorted(path for path in QUESTIONS.glob("*.toml")
                  if tomllib.loads(path.read_text()).get("about", "comparison") == "comparison")


def can_ask(hobble: str) -> bool:
    """Whether this program answers questions."""
    done = subprocess.run([hobble, "ask", "--help"], capture_output=True, check=False)
    return done.returncode == 0


def sql_of(question: dict) -> str | None:
    """The counts of a question, or None where it asks for something unknown here."""
    if set(question) - COUNTED - BESIDE:
        return None
    asked = DEFAULTS | question
    names = ["lost", "traded", "sold"] if asked["outcome"] == "captured" else [asked["outcome"]]
    within = asked["within"]
    outcome = " + ".join(f"{name}_{within}" for name in names)
    keys = list(dict.fromkeys(asked["group_by"] + asked["strata"]))
    where = [one_of("kind", asked["kinds"])]
    where += [one_of(key, asked[key]) for key in ("phase", "band", "time_class", "rating_diff")
              if asked[key]]
    where += [f"{key} = {str(asked[key] == 'yes').lower()}"
              for key in ("developed", "attacked", "defended") if asked[key] != "any"]
    columns = "".join(f"{key}, " for key in keys)
    return (
        f"select {columns}fold, safe <= {asked['k']} as held, sum(turns) as turns, "
        f"sum({outcome}) as outcomes, sum(over_{within}) as over "
        f"from exposure where {' and '.join(where)} group by all"
    )


def one_of(column: str, values: list[str]) -> str:
    """An SQL condition."""
    listed = ", ".join("'" + value.replace("'", "''") + "'" for value in values)
    return f"{column} in ({listed})"


def time_duckdb(sql: str, data: pathlib.Path) -> float:
    """Seconds of a fresh connection that reads the files."""
    files = f"{data}/table=exposure/**/*.parquet"
    start = time.perf_counter()
    with duckdb.connect() as connection:
        connection.execute(f"create view exposure as from read_parquet('{files}')")
        rows = connection.execute(sql).fetchall()
    seconds = time.perf_counter() - start
    if not rows:
        raise SystemExit(f"DuckDB counts nothing: {sql}")
    return seconds


def time_hobble(hobble: str, name: str, data: pathlib.Path) -> float:
    """Seconds of the program, from its start to its end."""
    start = time.perf_counter()
    subprocess.run([hobble, "ask", name, "--data", data, "--format", "json"],
                   stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def measure(hobble: str, data: pathlib.Path, rounds: int):
    """(name, seconds of the program, seconds of DuckDB or None) of each question and round."""
    for path in shipped():
        sql = sql_of(tomllib.loads(path.read_text(encoding="utf-8")))
        ours, theirs = [], []
        for _ in range(rounds):
            ours.append(time_hobble(hobble, path.stem, data))
            if sql is not None:
                theirs.append(time_duckdb(sql, data))
        yield path.stem, ours, theirs or None
