"""Intervals of the report by rating band by games and players, from counts by side; and `sides` as a model takes it.

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
from scipy import stats
from statsmodels.stats.multitest import multipletests

import per_side
import restraint_by_rating
import tables
from report import Check, argument_parser

SPLITS = {
    "all": "'all'",
    "band": restraint_by_rating.BAND.format(200),
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
            "held_turns_per_turn": (held, "turns"),
            "release_rate": (f"end_freed_{k}", f"spell_turns_{k}"),
            "spells_lost": (f"end_lost_{k}", spells),
        }
        if within == 10:
            given["restraints_lost"] = (f"restraints_lost_{k}", f"restraints_{k}")
            given["loss_risk"] = (f"held_lost_{k}", held)
    return given


# Measures that are counted from the other tables: the table, events and trials; None for a trial a side.
COUNTED = {
    "spells_per_game": ("spells", "spells", None),
    "restraints_per_game": ("spells", "restraints", None),
    "restraints_lost": ("spells", "restrained_lost", "restraints"),
    "release_rate": ("spells", "freed", "turns"),
    "spells_lost": ("spells", "lost", "spells"),
    "squares_taken_per_move": ("moves", "taken", "moves"),
    "chances_per_game": ("chances", "turns_with_chance", None),
    "chances_taken": ("chances", "taken", "chances"),
    "chances_at_random": ("chances", "at_random", "parts"),
}
SAMPLED = {"held_share": ("turns", "held", "turns"), "loss_risk": ("turns", "lost", "held")}
PHASES = ["opening", "middlegame", "endgame"]

NUMBERED = """
create temp table numbered as
select *, row_number() over (order by source, game, color desc) - 1 as place,
       dense_rank() over (order by source, game) as number_of_game,
       case when player_key is null then -row_number() over (order by source, game, color)
            else dense_rank() over (order by player_key) end as player
from sides
"""


class Level:
    """The sides of a level, in clusters of games, of players and of both."""

    def __init__(self, here, game, player):
        self.here = here
        self.named, of_player = np.unique(player[here], return_inverse=True)
        of_game = np.unique(game[here], return_inverse=True)[1]
        both = np.unique(of_game * np.int64(len(self.named)) + of_player, return_inverse=True)[1]
        self.player, self.clusters = of_player, (of_game, both)

    def two_way(self, e, t, share):
        """Standard error on the scale, degrees of freedom, players, largest share of one; sides without trials are in no cluster."""
        ratio = e.sum() / t.sum()
        u = e - ratio * t

        def variance(by):
            number = np.count_nonzero(np.bincount(by, t))
            return np.divide(number, number - 1) * (np.bincount(by, u) ** 2).sum()

        trials, of_player = np.bincount(self.player, t), np.bincount(self.player, u)
        named, number = (trials > 0) & (self.named > 0), np.count_nonzero(trials)
        left_out = (of_player / np.where(named, 1 - trials / t.sum(), 1))[trials > 0]
        players = (number - 1) / number * (left_out**2).sum()
        games, both = map(variance, self.clusters)
        se = np.sqrt(games + players - both) / (t.sum() * ratio * (1 - ratio) if share else e.sum())
        df = max(int(t.sum() ** 2 / (trials**2).sum()) - 1, 1)
        return se if np.isfinite(se) else np.nan, df, named.sum(), trials[named].max(initial=0) / t.sum()


class ByPlayer:
    """Standard errors two ways of all cells that the tables give by side; `con` has the tables, and counts by side.

    Where games or sides are chosen, held turns are those of the sample.
    """

    def __init__(self, con, k, within, developed, chosen=False):
        con.execute(NUMBERED)
        self.k, self.within, self.developed = k, within, developed
        eco = SPLITS["eco"]
        self.sides = con.sql(f"select *, 'all' as every, {eco} as letter from numbered order by place").fetchnumpy()
        self.counted = COUNTED | (SAMPLED if chosen else {})
        self.tables = {}
        for name in {table for table, *_ in self.counted.values()}:
            found = con.sql(f"select p.*, n.place from per_side_{name} p join numbered n using (source, game, color)").fetchnumpy()
            self.tables[name] = {column: np.ma.getdata(found[column]) for column in found}
        self.cells, self.totals = {}, {}
        columns = {"all": "every", "band": "band", "time_class": "time_class", "color": "color", "eco": "letter"}
        clusters = self.sides["number_of_game"], self.sides["player"]
        levels = {
            (split, str(name)): Level(np.flatnonzero(self.sides[column] == name), *clusters)
            for split, column in columns.items()
            for name in np.unique(self.sides[column])
        }
        for measure in dict.fromkeys([*self.counted, "held_share", "held_turns_per_turn", "loss_risk"]):
            for kind in ["all", *restraint_by_rating.KINDS]:
                found = self._counts(measure, kind, None)
                for (split, name), level in levels.items():
                    # The levels of the split by kind are the kinds of all sides.
                    place = ("kind", kind) if split == "all" and kind != "all" else (split, name)
                    self._read((measure, *place, kind), level, found)
                for phase in PHASES:
                    self._read((measure, "phase", phase, kind), levels["all", "all"], self._counts(measure, kind, phase))

    def _read(self, place, level, found):
        if found is None:
            return
        e, t = (counts[level.here] for counts in found)
        if t.sum() > 0:
            with np.errstate(all="ignore"):
                self.cells[place] = level.two_way(e, t, place[0] in SHARES)
            self.totals[place] = e.sum(), t.sum()

    def _counts(self, measure, kind, phase):
        """Events and trials of each side; None where the tables do not give them."""
        if measure in self.counted:
            table, events, trials = self.counted[measure]
            return self._sum(table, events, kind, phase), self._sum(table, trials, kind, phase)
        turns = self.sides["turns"].astype(float)
        if measure == "held_turns_per_turn" and self.developed == "any" and phase is None:
            return self._sum("spells", "turns", kind, phase), turns
        given = self.developed == "yes" and (phase is None or kind == "all")
        if not given or (measure == "loss_risk" and self.within != 10) or (measure == "held_turns_per_turn" and phase):
            return None
        words = [phase] if phase else restraint_by_rating.KINDS if kind == "all" else [kind]
        of_sides = lambda name: sum(self.sides[name.format(word)].astype(float) for word in words)  # noqa: E731
        held = of_sides("held_{}_%d" % self.k)
        if measure == "loss_risk":
            return of_sides("held_lost_{}_%d" % self.k), held
        return held, turns if measure == "held_turns_per_turn" else of_sides("developed_turns_{}")

    def _sum(self, table, column, kind, phase):
        """A count of each side, of a kind and in a phase; a side has every phase."""
        number = len(self.sides["place"])
        if column is None:
            return np.ones(number)
        rows = self.tables[table]
        here = np.ones(len(rows["place"]), dtype=bool)
        if kind != "all":
            here &= rows["kind"] == kind
        if phase is not None:
            here &= rows["phase"] == phase
        return np.bincount(rows["place"][here], rows[column][here].astype(float), number)

    def of(self, measure, split, level, kind):
        """Standard error (None where there is none), degrees of freedom, players, largest share; or None."""
        found = self.cells.get((measure, split, level, kind))
        if found is None:
            return None
        se, df, players, largest = found
        return (float(se) if se > 0 else None), int(df), int(players), float(largest)


def ask(hobble, data, *options):
    command = [hobble, "ask", "restraint-by-band", "--data", data, "--format", "json", *options]
    return json.loads(subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout)


def check_script(answer, data, label, width=200):
    """The script of sixty lines against the report."""
    label = f"{label}, bands of {width} points"
    check = Check(f"sides: restraint by rating with players, {label}", "restraint_by_rating.py, numpy, DuckDB", tolerance=1e-9)
    with redirect_stdout(io.StringIO()) as out:
        restraint_by_rating.main(data, width)
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
    """What the report adds up, from counts by side."""
    check = Check(f"sides: totals of the report by band, {label}", "DuckDB", tolerance=1e-12)
    parts = {"chances_at_random": 1000}
    for cell in answer["cells"]:
        found = by_player.totals.get((cell["measure"], cell["split"], cell["level"], cell["kind"]))
        if found is not None:
            where = f"{cell['measure']} {cell['split']} {cell['level']} {cell['kind']}"
            check.equal(f"{where} n", cell["n"], int(found[1]) // parts.get(cell["measure"], 1))
            if cell["estimate"] is not None:
                check.close(f"{where} estimate", cell["estimate"], float(found[0] / found[1]))
    return check


def check_two_way(answer, by_player, check, where):
    """Who the players of a cell are, and the intervals by games and players, where these are the wider ones."""
    for cell in answer["cells"]:
        found = by_player.of(cell["measure"], cell["split"], cell["level"], cell["kind"])
        name = f"{where}: {cell['measure']} {cell['split']} {cell['level']} {cell['kind']}"
        se, df, players, largest = found or (None, None, None, None)
        if cell["suppressed"]:
            players = largest = None
        check.equal(f"{name} players", cell["players"], players)
        check.close(f"{name} largest share", cell["largest_share"], largest)
        if cell["method"].startswith("two-way"):
            share = cell["measure"] in SHARES
            there = (lambda x: np.log(x / (1 - x))) if share else np.log
            back = (lambda x: 1 / (1 + np.exp(-x))) if share else np.exp
            wide = stats.t.ppf(0.975, df) * se
            for bound, way in (("low", -1), ("high", 1)):
                check.close(f"{name} {bound}", cell[bound], float(back(there(cell["estimate"]) + way * wide)))


def check_model(data, label):
    """The plain two-way variance against a generalised linear model."""
    check = Check(f"sides: two-way clusters, {label}", "statsmodels GLM, cluster by two groups", tolerance=1e-7)
    given = measures(2, 10, "yes", 16)
    for measure in ("restraints_per_game", "squares_taken_per_move", "restraints_lost", "chances_taken"):
        events, trials = given[measure]
        of = duckdb.sql(restraint_by_rating.ROWS.format(events, trials, data, trials, band="band")).fetchnumpy()
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


def check_ratings(answer, data, label):
    """Own and opponent's rating in one model, against a generalised linear model with clustered errors."""
    check = Check(f"bands: own and opponent's rating in one model, {label}", "statsmodels GLM, cluster", tolerance=1e-6)
    given = measures(2, 10, "yes", json.load(open(f"{data}/manifest.json"))["parameters"]["sample"])
    check.equal("measures", {model["measure"] for model in answer["rating_models"]} <= set(given), True)
    for model in answer["rating_models"]:
        events, trials = given[model["measure"]]
        of = duckdb.sql(
            f"""select rating // 50 * 50 + 25 as own, opponent_rating // 50 * 50 + 25 as opponent, fold::int as game,
                       coalesce(player_fold, fold)::int as player, ({events})::double as e, ({trials})::double as t
                from read_parquet('{data}/sides/**/*.parquet', hive_partitioning = true)
                where rating is not null and opponent_rating is not null"""
        ).fetchnumpy()
        check.equal(f"{model['measure']} sides", model["sides"], len(of["e"]))
        some = of["t"] > 0
        x = np.column_stack([np.ones(some.sum()), *((of[name][some] - 1500) / 100 for name in ("own", "opponent"))])
        e, t = of["e"][some], of["t"][some]
        if model["measure"] in SHARES:
            glm = sm.GLM(np.column_stack([e, t - e]), x, family=sm.families.Binomial())
        else:
            glm = sm.GLM(e, x, family=sm.families.Poisson(), offset=np.log(t))
        fits = {}
        for by, name in (("games", "game"), ("players", "player")):
            groups = {"groups": of[name][some], "use_correction": False}
            fit = glm.fit(cov_type="cluster", cov_kwds=groups, tol=1e-14, maxiter=100)
            clusters = len(set(groups["groups"]))
            fits[by] = fit.params, fit.bse * np.sqrt(clusters / (clusters - 1)), clusters - 1
        for at, name in ((1, "own"), (2, "opponent")):
            wide = {by: stats.t.ppf(0.975, df) * se[at] for by, (_, se, df) in fits.items()}
            by = max(wide, key=wide.get)
            beta, se, df = fits[by][0][at], fits[by][1][at], fits[by][2]
            where = f"{model['measure']} {name}"
            check.equal(f"{where} clusters", model[name]["clusters"], by)
            check.close(f"{where} factor", model[name]["per_100_points"], float(np.exp(beta)))
            for bound, way in (("low", -1), ("high", 1)):
                check.close(f"{where} {bound}", model[name][bound], float(np.exp(beta + way * wide[by])))
            check.close(f"{where} p", model[name]["p"], float(2 * stats.t.sf(abs(beta / se), df)))
    p = [model[name]["p"] for model in answer["rating_models"] for name in ("own", "opponent")]
    ours = [model[name]["p_holm"] for model in answer["rating_models"] for name in ("own", "opponent")]
    for one, other in zip(ours, multipletests(p, method="holm")[1] if p else []):
        check.close("Holm", one, float(other))
    return check


def main():
    given = argument_parser(__doc__).parse_args()
    answer = ask(given.hobble, given.data)
    sample = json.load(open(f"{given.data}/manifest.json"))["parameters"]["sample"]
    con = tables.connect(given.data)
    per_side.count(con, 2, 10, "yes", sample)
    by_player = ByPlayer(con, 2, 10, "yes")
    widths = (100, 300, 400)
    of_width = {width: ask(given.hobble, given.data, "--band-width", str(width)) for width in widths}
    for check in (
        check_script(answer, given.data, given.label),
        *(check_script(of_width[width], given.data, given.label, width) for width in widths),
        check_totals(answer, by_player, given.label),
        check_model(given.data, given.label),
        check_ratings(answer, given.data, given.label),
    ):
        check.report()
    return Check.total_differences > 0


if __name__ == "__main__":
    sys.exit(main())
