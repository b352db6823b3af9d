"""Intervals of the report by rating band by games and players, from the table `sides`; and the table as a model takes it.

The formula is that of restraint_by_rating.py, written from the words the report carries under `methods`. Its plain form
(Cameron, Gelbach, Miller 2011) is held against statsmodels: a generalised linear model with one mean, the errors clustered
by the same two groups.
"""

import csv
import io
import json
import subprocess
import sys
import warnings
from contextlib import redirect_stdout

import duckdb
import numpy as np
import statsmodels.api as sm

import restraint_by_rating
from report import Check, argument_parser

SPLITS = {
    "all": "'all'",
    "band": "band",
    "time_class": "time_class",
    "color": "color",
    "eco": "case when upper(eco[1]) in ('A', 'B', 'C', 'D', 'E') then upper(eco[1]) else 'none' end",
}
SHARES = {"restraints_lost", "held_share", "loss_risk", "release_rate", "spells_lost", "chances_taken", "chances_at_random"}


def measures(k, within, developed, sample):
    """Events and trials of each measure that `sides` gives, as SQL."""
    add = lambda name, words: " + ".join(name.format(word) for word in words)  # noqa: E731
    held = add("held_{}_%d" % k, restraint_by_rating.KINDS)
    moved = add("developed_turns_{}", restraint_by_rating.KINDS)
    spells = add("end_{}_%d" % k, restraint_by_rating.ENDS)
    given = {
        "squares_taken_per_move": ("taken", "turns"),
        "chances_per_game": (f"chances * {sample}", "1"),
        "chances_taken": ("chances_taken", "chances"),
        "chances_at_random": ("chances_at_random", "chances * 1000"),
    }
    if developed == "yes":
        given |= {
            "spells_per_game": (spells, "1"),
            "restraints_per_game": (f"restraints_{k}", "1"),
            "held_share": (held, moved),
            "held_turns_per_turn": (f"spell_turns_{k}", "turns"),
            "release_rate": (f"end_freed_{k}", f"spell_turns_{k}"),
            "spells_lost": (f"end_lost_{k}", spells),
        }
        if within == 10:
            given["restraints_lost"] = (f"restraints_lost_{k}", f"restraints_{k}")
            given["loss_risk"] = (f"held_lost_{k}", held)
    return given


class ByPlayer:
    """Standard errors two ways of all cells that `sides` gives."""

    def __init__(self, data, k, within, developed, sample):
        self.cells, self.totals = {}, {}
        for measure, (events, trials) in measures(k, within, developed, sample).items():
            sql = restraint_by_rating.ROWS.format(events, trials, data, trials)
            for split, level in SPLITS.items():
                of = duckdb.sql(sql.replace("select band,", f"select {level} as band,")).fetchnumpy()
                for name in set(of["band"]):
                    e, t, game, player = (of[column][of["band"] == name] for column in ("e", "t", "game", "player"))
                    with np.errstate(all="ignore"):
                        place = measure, split, name
                        self.cells[place] = restraint_by_rating.two_way(e, t, game, player, measure in SHARES)
                    self.totals[place] = e.sum(), t.sum()

    def of(self, measure, split, level, kind):
        """Standard error (None where there is none), degrees of freedom, players, largest share; or None."""
        found = self.cells.get((measure, split, level)) if kind == "all" else None
        if found is None:
            return None
        se, df, players, largest = found
        return (float(se) if se > 0 else None), int(df), int(players), float(largest)


def ask(hobble, data):
    command = [hobble, "ask", "restraint-by-band", "--data", data, "--format", "json"]
    return json.loads(subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout)


def check_script(answer, data, label):
    """The script of sixty lines against the report."""
    check = Check(f"sides: restraint by rating with players, {label}", "restraint_by_rating.py, numpy, DuckDB", tolerance=1e-9)
    with redirect_stdout(io.StringIO()) as out:
        restraint_by_rating.main(data)
    ours = {(c["measure"], c["level"]): c for c in answer["cells"] if c["split"] == "band" and c["kind"] == "all"}
    for row in csv.DictReader(io.StringIO(out.getvalue())):
        our = ours[row["measure"], row["band"]]
        where = f"{row['measure']} {row['band']}"
        check.equal(f"{where} n", our["n"], int(row["n"]))
        for name in ("estimate", "low", "high", "largest_share"):
            if our[name] is not None:
                check.close(f"{where} {name}", our[name], float(row[name]))
    return check


def check_totals(answer, by_player, label):
    """What the report adds up, from `sides`."""
    check = Check(f"sides: totals of the report by band, {label}", "DuckDB", tolerance=1e-12)
    parts = {"chances_at_random": 1000}
    for cell in answer["cells"]:
        found = by_player.totals.get((cell["measure"], cell["split"], cell["level"])) if cell["kind"] == "all" else None
        if found is not None:
            where = f"{cell['measure']} {cell['split']} {cell['level']}"
            check.equal(f"{where} n", cell["n"], int(found[1]) // parts.get(cell["measure"], 1))
            if cell["estimate"] is not None:
                check.close(f"{where} estimate", cell["estimate"], float(found[0] / found[1]))
    return check


def check_model(data, label):
    """The plain two-way variance against a generalised linear model."""
    check = Check(f"sides: two-way clusters, {label}", "statsmodels GLM, cluster by two groups", tolerance=1e-7)
    given = measures(2, 10, "yes", 16)
    for measure in ("restraints_per_game", "squares_taken_per_move", "restraints_lost", "chances_taken"):
        events, trials = given[measure]
        of = duckdb.sql(restraint_by_rating.ROWS.format(events, trials, data, trials)).fetchnumpy()
        e, t, game, player = (of[column] for column in ("e", "t", "game", "player"))
        share = measure in SHARES
        groups = np.column_stack([np.unique(by, return_inverse=True)[1] for by in (game, player)])
        one = np.ones(len(e))
        if share:
            model = sm.GLM(np.column_stack([e, t - e]), one, family=sm.families.Binomial())
        else:
            model = sm.GLM(e, one, family=sm.families.Poisson(), offset=np.log(t))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fit = model.fit(cov_type="cluster", cov_kwds={"groups": groups}, tol=1e-14, maxiter=100)
        ours = restraint_by_rating.two_way(e, t, game, player, share, jackknife=False)[0]
        check.close(measure, float(ours), float(fit.bse[0]))
        wider = restraint_by_rating.two_way(e, t, game, player, share)[0]
        check.equal(f"{measure}: the jackknife of the players is wider", bool(wider >= ours * 0.99), True)
    return check


def main():
    given = argument_parser(__doc__).parse_args()
    answer = ask(given.hobble, given.data)
    by_player = ByPlayer(given.data, 2, 10, "yes", json.load(open(f"{given.data}/manifest.json"))["parameters"]["sample"])
    for check in (
        check_script(answer, given.data, given.label),
        check_totals(answer, by_player, given.label),
        check_model(given.data, given.label),
    ):
        check.report()
    return Check.total_differences > 0


if __name__ == "__main__":
    sys.exit(main())
