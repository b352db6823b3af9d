"""The league of `hobble sift` once more: which half each game stands in, and what the locked half says.

The halves from the words of schemas/definitions.md, sections 11 and 12: XXH3-64 of the surname, by
the package xxhash. Each claim asked of the locked half: association in SQL and numpy (evidence.py),
over the games of that half alone; p-values by scipy's t distribution, adjusted by statsmodels'
multipletests (Benjamini and Hochberg 1995). Its twins by statsmodels'
ConditionalLogit, clustered by games and owners (evidence.py). Prints a line for each check.
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats
from statsmodels.stats.multitest import multipletests
from xxhash import xxh3_64_intdigest

import evidence
import tables
from player_names import words
from report import Check, argument_parser

ROOT = Path(__file__).resolve().parents[2]


def surname(name):
    """Before a comma, or else the last word that is not an initial; of several words the longest."""
    before = words(name.split(",")[0]) if "," in name else []
    if before:
        longest = max(len(word) for word in before)
        return [word for word in before if len(word) == longest][-1]
    whole = words(name)
    return next((word for word in reversed(whole) if len(word) > 1), whole[-1])


def half(name):
    if name is None or not words(name):
        return None
    return xxh3_64_intdigest(surname(name).encode()) & 1


def split(con, given, counts):
    """Compares how the games were parted; the games of the locked half."""
    games = con.execute("select source, part, game, moves_id, white, black from games").df()
    halves = {name: half(name) for name in set(games.white.dropna()) | set(games.black.dropna())}
    white, black = (games[side].map(lambda name: halves.get(name)) for side in ("white", "black"))
    named = white.notna() & black.notna()
    placed = games[named & (white == black)].assign(half=white)
    both = placed.groupby("moves_id")["half"].nunique()
    apart = placed.moves_id.isin(both[both > 1].index)
    kept = placed[~apart]
    theirs = {
        "games": len(games),
        "search": int((kept.half == 0).sum()),
        "locked": int((kept.half == 1).sum()),
        "players_apart": int((named & (white != black)).sum()),
        "unnamed": int((~named).sum()),
        "moves_in_both": int(apart.sum()),
    }
    for what, number in theirs.items():
        counts.equal(what, given[what], number)
    sides = [kept[kept.half == side] for side in (0, 1)]
    names = [{surname(name) for name in pd.concat([side.white, side.black])} for side in sides]
    counts.equal("players in both halves", 0, len(names[0] & names[1]))
    counts.equal("moves in both halves", 0, len(set(sides[0].moves_id) & set(sides[1].moves_id)))
    return sides[1][["source", "part", "game"]]


def check_claim(con, entry, claim, sample, counts, figures, fitted):
    """Compares what the locked half says to a claim; the p-value."""
    found = evidence.Evidence(con, claim, sample)
    row = {"k": claim["k"], "turns": claim["turns"], "within": claim["within"], "varied": "within"}
    cells = found.of({**row, "outcome": claim["outcome"]})
    total = cells.sum(axis=2)
    evidence.check_twins(entry["name"], found, entry["twins"], counts, fitted)
    given = entry["locked"]
    counts.equal(f"{entry['name']} rows", given["rows"], int(total[4].sum()))
    counts.equal(f"{entry['name']} turns", given["turns"], int(total[0].sum()))
    counts.equal(f"{entry['name']} outcomes", given["outcomes"], int(total[1].sum()))
    ratio = float(evidence.standardised(total)[2])
    figures.close(f"{entry['name']} ratio", given["ratio"]["value"], ratio)
    interval = given["ratio"]["jackknife"]
    if interval is None:
        return None
    logs = np.log(list(evidence.without_one(cells).values()))
    low, high = evidence.interval(ratio, np.exp(logs), evidence.folds(cells))
    figures.close(f"{entry['name']} low", interval["low"], low)
    figures.close(f"{entry['name']} high", interval["high"], high)
    se = np.sqrt((len(logs) - 1) / len(logs) * np.sum((logs - logs.mean()) ** 2))
    p = 2 * stats.t.sf(abs(np.log(ratio)) / se, evidence.folds(cells) - 1)
    if given["p"] is not None:
        figures.close(f"{entry['name']} p", given["p"], float(p), scale=1e-3)
    return given["p"]


# Games and sides that a grid looks at, as its file says it and in SQL over `sides`.
GAMES = {
    "": None,
    '\n[games]\nrating_diff = ["-49..49", "50..199", "unknown"]\nrepeats = "no"\n': "rating_diff in ('-49..49', '50..199', 'unknown') and not is_repeat",
}


def cut_down(con, condition):
    """Leaves the turns of the chosen sides and the games that have one."""
    con.execute(f"create table chosen as select distinct source, game, color from sides where {condition}")
    for table, by in (("turns", "source, game, color"), ("games", "source, game")):
        con.execute(f"create table cut as select t.* from {table} t semi join chosen using ({by})")
        con.execute(f"drop view {table}")
        con.execute(f"alter table cut rename to {table}")


def main():
    parser = argument_parser(__doc__)
    arguments = parser.parse_args()
    for games, condition in GAMES.items():
        check_grid(arguments, games, condition)
    sys.exit(Check.total_differences > 0)


def check_grid(arguments, games, condition):
    """The league of the shipped grid over some games."""
    label = f"{arguments.label}, some games and sides" if games else arguments.label
    counts = Check(f"sift: halves and counts, {label}", "xxhash, DuckDB")
    figures = Check(f"sift: ratios, intervals, p-values, {label}", "DuckDB, numpy, scipy, statsmodels", 1e-8)
    fitted = Check(f"sift: twins, {label}", "statsmodels ConditionalLogit", 1e-6)
    con = tables.connect(arguments.data)
    if condition:
        cut_down(con, condition)
    sample = json.loads((Path(arguments.data) / "manifest.json").read_text())["parameters"]["sample"]
    with tempfile.TemporaryDirectory() as folder:
        grid = (ROOT / "pipeline/sift/src/grid.toml").read_text(encoding="utf-8")
        few = Path(folder) / "grid.toml"
        few.write_text(grid.replace("open_at_most = 24", "open_at_most = 6") + games, encoding="utf-8")
        subprocess.run(
            [arguments.hobble, "sift", few, "--data", arguments.data, "--out", folder, "--ledger", f"{folder}/ledger.json"],
            stdout=subprocess.DEVNULL,
            check=True,
        )
        league = json.loads((Path(folder) / "league.json").read_text())
        locked = split(con, league["games"], counts)
        con.register("locked", locked)
        con.execute("create table half as select t.* from turns t join locked using (source, part, game)")
        con.execute(f"drop {'table' if condition else 'view'} turns")
        con.execute("alter table half rename to turns")
        p = []
        for entry in league["claims"]:
            file = tomllib.loads((Path(folder) / f"claims/{entry['name']}.toml").read_text())
            if "confirmation" in file:
                counts.equal(f"{entry['name']} hash", file["confirmation"]["hash"], entry["hash"])
            p.append(check_claim(con, entry, file, sample, counts, figures, fitted))
    known = [at for at, value in enumerate(p) if value is not None]
    if known:
        adjusted = multipletests([p[at] for at in known], method="fdr_bh")[1]
        for at, value in zip(known, adjusted, strict=True):
            entry = league["claims"][at]
            figures.close(f"{entry['name']} adjusted p", entry["locked"]["adjusted_p"], float(value), scale=1e-3)
    # Small archives ask nothing of the locked half.
    checks = [counts] + [check for check in (figures, fitted) if check.pairs]
    for check in checks:
        check.report()


if __name__ == "__main__":
    main()
