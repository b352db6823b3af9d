"""Uses the module of the wheel as a reader would, where nothing but the wheel is installed (`plain`)
or with the libraries that read tables (`tables`). Prints a line a check for the second: what, against
what, pairs compared, differences.

    python wheel.py SEASON.pgn plain|tables
"""

import csv
import subprocess
import sys
import tempfile
from pathlib import Path

import hobble


def refused(call, error, word):
    """Whether a call raises an error that says a word."""
    try:
        call()
    except error as raised:
        return word in str(raised)
    return False


def plain(archive, work):
    data = hobble.scan(archive, out=work / "data", sample=4, threads=2)
    assert "games" in data.account, data.account
    assert data.manifest["parameters"]["sample"] == 4, data.manifest["parameters"]
    assert {"games", "moves", "spells", "sides"} <= set(data.tables), data.tables
    answer = data.ask("restrained-piece-lost", k=1)
    assert answer.dict["parameters"]["k"] == 1, answer.dict["parameters"]
    title = answer.dict["question"]["title"]
    assert title in answer.text, answer.text
    rows = answer.table()
    printed = subprocess.run(
        [hobble.program(), "ask", "restrained-piece-lost", "--k", "1", "--data", data.folder, "--format", "csv"],
        check=True, capture_output=True, text=True,
    ).stdout
    assert rows == list(csv.DictReader(printed.splitlines())) and len(rows) > 3
    assert "</html>" in answer.page(work / "lost.html").read_text(encoding="utf-8")
    claim = data.ask("knight-restrained-by-pawn")
    assert claim.dict["verdict"].split(":")[0] in claim.text, claim.dict["verdict"]
    habits = hobble.ask("own-habits", data.folder, player="Windlass, Orla", alias=["Windlass, O."])
    assert habits.dict["player"]["games"] > 3, habits.dict["player"]
    again = hobble.open(data.folder)
    assert again.tables == data.tables and again.account is None
    assert refused(lambda: hobble.open(work), FileNotFoundError, "manifest.json")
    assert refused(lambda: data.ask("no-such-question"), hobble.HobbleError, "no-such-question")
    assert refused(lambda: hobble.scan(work / "none.pgn", out=work / "x"), hobble.HobbleError, "none.pgn")
    assert hobble.__version__ in subprocess.run(
        [hobble.program(), "--version"], check=True, capture_output=True, text=True
    ).stdout


def tables(archive, work):
    import polars

    data = hobble.scan(archive, out=work / "data")
    connection = data.duckdb()
    failed = False
    for table in data.tables:
        counts = {
            "DuckDB": connection.execute(f"select count(*) from {table}").fetchone()[0],
            "pyarrow": data.arrow(table).num_rows,
            "polars": data.polars(table).collect().height,
            "pandas": len(data.pandas(table)),
        }
        different = len(set(counts.values())) - 1
        failed |= different > 0
        print(f"wheel, rows of {table} | {', '.join(counts)} | {len(counts)} | {different} differences")
        if different:
            print(f"  {counts}")
    sums = [
        connection.execute("select sum(taken - given) from moves").fetchone()[0],
        data.polars("moves").select((polars.col("taken") - polars.col("given")).sum()).collect().item(),
        int((data.pandas("moves", ["taken", "given"]).eval("taken - given")).sum()),
    ]
    different = len(set(map(int, sums))) - 1
    failed |= different > 0
    print(f"wheel, squares taken less given | DuckDB, polars, pandas | {len(sums)} | {different} differences")
    # Columns that follow from others, by each reader; `sides` has the results in its files.
    wins = "(owner_result = 'win')::int * plies_left"
    row = data.pandas("spells", ["owner_result", "plies_left"])
    of_games = connection.execute(
        "select sum(plies - start_ply) from spells s join games g using (source, game) "
        "join sides using (source, game) where sides.color = s.color and sides.owner_result = 'win'"
    )
    sums = [
        of_games.fetchone()[0],
        connection.execute(f"select sum({wins}) from spells").fetchone()[0],
        data.polars("spells").filter(polars.col("owner_result") == "win").select(
            polars.col("plies_left").cast(polars.Int64).sum()
        ).collect().item(),
        int(row["plies_left"][row["owner_result"] == "win"].astype(int).sum()),
    ]
    different = len(set(map(int, sums))) - 1
    failed |= different > 0
    print(f"wheel, plies left in games won | games, DuckDB, polars, pandas | {len(sums)} | {different} differences")
    frame = data.ask("restraint-by-band").pandas()
    rows = data.ask("restraint-by-band").table()
    failed |= len(frame) != len(rows) or list(frame.columns) != list(rows[0])
    print(f"wheel, figures as a frame | csv | {len(rows)} | {int(len(frame) != len(rows))} differences")
    assert data.manifest["sources"], data.manifest
    sys.exit(failed)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        {"plain": plain, "tables": tables}[sys.argv[2]](Path(sys.argv[1]), Path(folder))
