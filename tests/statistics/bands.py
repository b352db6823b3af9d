"""The report by rating band against DuckDB, numpy, scipy and statsmodels.

Every cell is worked out again: counts by SQL over the Parquet files (DuckDB, PyPI `duckdb`),
figures, standardisation and jackknife in numpy from the words the report carries under
`methods`, t from scipy, Holm's adjustment (Holm 1979) by statsmodels `multipletests(method="holm")`.
Prints a line for each check.
"""

import csv
import io
import json
import pathlib
import subprocess
import sys
import tempfile
import tomllib

import numpy as np
import polars as pl
from scipy import stats
from statsmodels.stats.multitest import multipletests

import per_side
import tables
from by_player import ByPlayer
from report import Check, argument_parser

ROOT = pathlib.Path(__file__).resolve().parents[2]
NAME = "restraint-by-band"
KINDS = ["knight", "bishop", "rook", "queen"]
SPLITS = ["all", "band", "time_class", "phase", "kind", "color", "eco"]
SHARES = {"held_share", "loss_risk", "loss_risk_standardised", "release_rate", "spells_lost", "restraints_lost",
          "chances_taken", "chances_at_random"}
CUBE = ["all", "band", "time_class", "phase", "kind"]
STAND_INS = ["all", "kind", "color", "eco"]
OF_A_SIDE = ["all", "band", "time_class", "kind", "color", "eco"]
# In which splits the report says it gives a measure.
GIVEN = {
    "spells_per_game": SPLITS,
    "restraints_per_game": SPLITS,
    "restraints_lost": SPLITS,
    "squares_taken_per_move": SPLITS,
    "release_rate": SPLITS,
    "held_share": SPLITS,
    "loss_risk": CUBE,
    "held_turns_per_turn": OF_A_SIDE,
    "spells_lost": STAND_INS,
    "chances_per_game": SPLITS,
    "chances_taken": SPLITS,
    "chances_at_random": SPLITS,
}
# Held pieces of developed ones come from `sides`, which knows no others; of all pieces from the spells, whose turns they are.
ONLY = {"yes": {}, "any": {"held_share": CUBE}, "no": {"held_share": CUBE, "held_turns_per_turn": []}}
# Where a level has all of the denominator it is not set against the whole.
WHOLE = {
    ("spells_per_game", "phase"), ("spells_per_game", "kind"), ("held_turns_per_turn", "kind"),
    ("restraints_per_game", "phase"), ("restraints_per_game", "kind"),
    ("chances_per_game", "phase"), ("chances_per_game", "kind"),
}
STRATA = ["kind", "phase", "developed", "attacked", "defended"]

SIDES = """
create view both_sides as
select g.source, g.game, color, time_class, cast(game_id % 64 as int) as fold,
       case color when 'white' then white_band else black_band end as band,
       case when upper(eco[1]) in ('A', 'B', 'C', 'D', 'E') then upper(eco[1]) else 'none' end as eco,
       coalesce(split_part(start_fen, ' ', 2) = 'b', false) as black_first,
       case when (color = 'white') = not black_first then (plies + 1) // 2 else plies // 2 end as turns
from games g, (values ('white'), ('black')) as colors(color)
"""

SPELLS = """
select s.kind, s.phase, d.color, d.band, d.time_class, d.eco, d.fold, sum(s.spells) as spells, sum(s.turns) as held_turns,
       sum(s.freed) as freed, sum(s.lost) as lost, sum(s.restraints) as restraints, sum(s.restrained_lost) as restrained_lost
from per_side_spells s join both_sides d using (source, game, color)
group by all
"""

MOVES = """
select m.kind, m.phase, d.color, d.band, d.time_class, d.eco, d.fold, sum(m.moves) as moves, sum(m.taken) as taken
from per_side_moves m join both_sides d using (source, game, color)
group by all
"""

CHANCES = """
select c.kind, c.phase, d.color, d.band, d.time_class, d.eco, d.fold, sum(c.chances) as chances,
       sum(c.turns_with_chance) as turns_with_chance, sum(c.taken) as taken, sum(c.at_random) as at_random, sum(c.parts) as parts
from per_side_chances c join both_sides d using (source, game, color)
group by all
"""

HELD = """
select kind, color, band, time_class, fold,
       case when upper(eco[1]) in ('A', 'B', 'C', 'D', 'E') then upper(eco[1]) else 'none' end as eco,
       sum(held) as held, sum(moved) as moved
from (select *, unnest(['knight', 'bishop', 'rook', 'queen']) as kind,
             unnest([held_knight_{k}, held_bishop_{k}, held_rook_{k}, held_queen_{k}]) as held,
             unnest([developed_turns_knight, developed_turns_bishop, developed_turns_rook, developed_turns_queen]) as moved
      from sides)
group by all
"""

CUBED = """
select kind, phase, developed, attacked, defended, band, time_class, fold, sum(turns) as turns,
       coalesce(sum(turns) filter (safe <= {k}), 0) as held,
       coalesce(sum(lost_{within}) filter (safe <= {k}), 0) as lost
from exposure where {developed} group by all
"""


def ask(hobble, data, *options):
    command = [hobble, "ask", NAME, "--data", data, *map(str, options)]
    return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout


def sample_of(data):
    """Of how many turns one is in the sample."""
    manifest = json.loads((pathlib.Path(data) / "manifest.json").read_text())
    return manifest["parameters"]["sample"]


def by_fold(frame, events, trials):
    """Sums by fold, as two arrays of 64."""
    out = np.zeros((2, 64))
    if frame is not None and len(frame):
        sums = frame.group_by("fold").agg(pl.col(events).sum().alias("e"), pl.col(trials).sum().alias("t"))
        for fold, e, t in sums.select("fold", "e", "t").iter_rows():
            out[:, int(fold)] = float(e), float(t)
    return out


class Scale:
    """Shares by their odds, rates by their logarithm."""

    def __init__(self, measure):
        self.share = measure in SHARES

    def forward(self, x):
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.log(x / (1 - x)) if self.share else np.log(x)

    def back(self, x):
        return 1 / (1 + np.exp(-x)) if self.share else np.exp(x)


def standard_error(values):
    """The jackknife's; none where it does not exist or there is no spread."""
    if len(values) < 2 or not np.isfinite(values).all() or np.ptp(values) == 0:
        return None
    n = len(values)
    return float(np.sqrt((n - 1) / n * ((values - values.mean()) ** 2).sum()))


class Cell:
    """A figure, the same without each fold, and what it is set against."""

    def __init__(self, measure, folds, overall=None, standardised=None):
        self.scale = Scale(measure)
        events, trials = folds
        # Parts of a chance are not chances.
        self.n = int(trials.sum()) // (1000 if measure == "chances_at_random" else 1)
        self.folds = int((trials > 0).sum())
        self.event_folds = int((events > 0).sum())
        self.covered = None
        with np.errstate(divide="ignore", invalid="ignore"):
            if standardised is not None:
                self.whole, self.without, self.all, self.all_without, self.present, self.covered = standardised
                return
            self.whole = events.sum() / trials.sum()
            self.without = (events.sum() - events) / (trials.sum() - trials)
            self.present = trials > 0
            self.all = None
            if overall is not None:
                e, t = overall
                self.all, self.all_without = e.sum() / t.sum(), (e.sum() - e) / (t.sum() - t)
                self.all_present = t > 0

    def spread(self):
        se = standard_error(self.scale.forward(self.without[self.present]))
        return (se, self.folds - 1) if se is not None and self.folds > 1 else None

    def test(self, wider):
        """The ratio to the whole, and its p-value; the standard error so many times wider."""
        if self.all is None:
            return None
        present = self.present if self.covered is not None else self.all_present
        apart = self.scale.forward(self.whole) - self.scale.forward(self.all)
        each = self.scale.forward(self.without) - self.scale.forward(self.all_without)
        se = standard_error(each[present])
        if se is None or self.folds < 2:
            return None
        return float(np.exp(apart)), float(2 * stats.t.sf(abs(apart) / (se * wider), self.folds - 1))


def standardise(cell, everything, strata):
    """Direct standardisation to the held turns of everything, with each fold left out."""

    def counts(frame, keys):
        out = {}
        rows = frame.group_by([*strata, "fold"]).agg(pl.col("lost").sum(), pl.col("held").sum())
        for row in rows.iter_rows(named=True):
            key = tuple(row[name] for name in strata)
            keys.setdefault(key, len(keys))
            out[keys[key], int(row["fold"])] = float(row["lost"]), float(row["held"])
        return out

    keys = {}
    sparse = [counts(cell, keys), counts(everything, keys)]
    (here, all_of) = (np.zeros((2, len(keys), 64)) for _ in sparse)
    for array, entries in zip((here, all_of), sparse):
        for (stratum, fold), pair in entries.items():
            array[:, stratum, fold] = pair
    drop = lambda array: np.concatenate([array.sum(-1, keepdims=True), array.sum(-1, keepdims=True) - array], -1)
    (lost, held), (all_lost, weight) = drop(here), drop(all_of)
    has = held > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        used = np.where(has, weight, 0)
        rate = (used * np.where(has, lost / np.where(has, held, 1), 0)).sum(0) / used.sum(0)
        overall = np.where(has, all_lost, 0).sum(0) / used.sum(0)
        covered = used.sum(0) / weight.sum(0)
    present = all_of[1].sum(0) > 0
    return rate[0], rate[1:], overall[0], overall[1:], present, float(covered[0])


class Recount:
    """Everything the report says, from the tables."""

    def __init__(self, data, k, within, developed):
        con = tables.connect(data)
        con.execute(SIDES)
        moved = {"yes": "developed", "no": "not developed", "any": "true"}[developed]
        read = lambda sql: con.sql(sql.format(k=k, within=within, developed=moved)).pl()
        per_side.count(con, k, within, developed, sample_of(data))
        self.tables = {
            "spells": read(SPELLS),
            "moves": read(MOVES),
            "chances": read(CHANCES),
            "sides": read("select color, band, time_class, eco, fold, count(*) as sides, sum(turns) as turns from both_sides group by all"),
            "cube": read(CUBED),
            "held": read(HELD),
        }
        self.given = GIVEN | ONLY[developed]
        self.developed = developed
        self.by_player = ByPlayer(con, k, within, developed)
        self.memo = {}

    def part(self, table, split, level, kind):
        frame = self.tables[table]
        if split != "all" and split in frame.columns:
            frame = frame.filter(pl.col(split) == level)
        if kind != "all" and "kind" in frame.columns:
            frame = frame.filter(pl.col("kind") == kind)
        return frame

    def levels(self, split):
        if split == "kind":
            return KINDS
        if split == "all":
            return ["all"]
        tables = ["spells", "moves", "sides", "cube", "chances"]
        found = set()
        for table in tables:
            frame = self.tables[table]
            if split in frame.columns:
                found |= set(frame[split].to_list())
        return sorted(found)

    def counts(self, measure, split, level, kind):
        key = measure, split, level, kind
        if key not in self.memo:
            part = lambda table: self.part(table, split, level, kind)
            of_sides = {
                "spells_per_game": ("spells", "sides"),
                "restraints_per_game": ("restraints", "sides"),
                "held_turns_per_turn": ("held_turns", "turns"),
            }
            of_held = self.developed == "yes" and (measure == "held_turns_per_turn" or split in ("color", "eco"))
            if measure == "chances_per_game":
                self.memo[key] = np.array(
                    [by_fold(part("chances"), "turns_with_chance", "chances")[0],
                     by_fold(part("sides"), "sides", "sides")[0]]
                )
            elif measure == "held_turns_per_turn" and of_held:
                self.memo[key] = np.array(
                    [by_fold(part("held"), "held", "held")[0], by_fold(part("sides"), "turns", "turns")[0]]
                )
            elif measure == "held_share" and of_held:
                self.memo[key] = by_fold(part("held"), "held", "moved")
            elif measure in of_sides:
                events, trials = of_sides[measure]
                self.memo[key] = np.array(
                    [by_fold(part("spells"), events, events)[0], by_fold(part("sides"), trials, trials)[0]]
                )
            else:
                table, events, trials = {
                    "release_rate": ("spells", "freed", "held_turns"),
                    "spells_lost": ("spells", "lost", "spells"),
                    "restraints_lost": ("spells", "restrained_lost", "restraints"),
                    "squares_taken_per_move": ("moves", "taken", "moves"),
                    "held_share": ("cube", "held", "turns"),
                    "loss_risk": ("cube", "lost", "held"),
                    "chances_taken": ("chances", "taken", "chances"),
                    "chances_at_random": ("chances", "at_random", "parts"),
                }[measure]
                self.memo[key] = by_fold(part(table), events, trials)
        return self.memo[key]

    def cells(self):
        """All cells with a denominator, by measure, split, level and kind."""
        out = {}
        for measure, splits in self.given.items():
            for split in splits:
                for level in self.levels(split):
                    kinds = [level] if split == "kind" else ["all"] if split == "all" else ["all", *KINDS]
                    for kind in kinds:
                        overall = None
                        if split != "all" and (measure, split) not in WHOLE:
                            if kind == "all" or split == "kind":
                                overall = self.counts(measure, "all", "all", "all")
                            elif "kind" in splits:
                                overall = self.counts(measure, "kind", kind, kind)
                        out[measure, split, level, kind] = Cell(
                            measure, self.counts(measure, split, level, kind), overall
                        )
        cube = self.tables["cube"]
        for split in CUBE[1:]:
            for level in self.levels(split):
                for kind in [level] if split == "kind" else ["all", *KINDS]:
                    here = self.part("cube", split, level, kind)
                    if here["held"].sum() == 0:
                        continue
                    whole = cube if kind == "all" or split == "kind" else cube.filter(pl.col("kind") == kind)
                    strata = [name for name in STRATA if name != split]
                    out["loss_risk_standardised", split, level, kind] = Cell(
                        "loss_risk_standardised",
                        by_fold(here, "lost", "held"),
                        standardised=standardise(here, whole, strata),
                    )
        out = {place: cell for place, cell in out.items() if cell.n > 0}
        # A level that has everything is not part of it.
        number = {}
        for measure, split, _, kind in out:
            number[measure, split, kind] = number.get((measure, split, kind), 0) + 1
        for (measure, split, _, kind), cell in out.items():
            if split != "kind" and number[measure, split, kind] < 2:
                cell.all = None
        return out


def trend(points, scale, level):
    """Weighted least squares through the bands, jackknifed: factor for 100 points, bounds, p, and p of a straight line."""
    if len(points) < 3:
        return None
    x = np.array([rating for rating, _, _, _ in points])
    by_games = np.array([spread[0] ** 2 for _, _, spread, _ in points])
    variances = by_games * np.array([wider**2 for *_, wider in points])
    w = 1 / variances
    y = np.array([np.concatenate([[cell.whole], cell.without]) for _, cell, _, _ in points])
    away = x - (w * x).sum() / w.sum()
    slopes = 100 * (w * away) @ scale.forward(y) / (w * away**2).sum()
    present = np.any([cell.present for _, cell, _, _ in points], 0)
    se = standard_error(slopes[1:][present])
    df = min(spread[1] for _, _, spread, _ in points)
    if se is None:
        return None
    # As much wider as the bands would make it, were they independent.
    se *= np.sqrt(((w * away) ** 2 * variances).sum() / ((w * away) ** 2 * by_games).sum())
    wide = stats.t.ppf(0.5 + level / 2, df) * se
    p = 2 * stats.t.sf(abs(slopes[0]) / se, df)
    line = np.polyfit(x, scale.forward(y[:, 0]), 1, w=np.sqrt(w))
    left_over = (w * (scale.forward(y[:, 0]) - np.polyval(line, x)) ** 2).sum()
    p_line = stats.chi2.sf(left_over, len(x) - 2)
    return [float(f) for f in (*np.exp([slopes[0], slopes[0] - wide, slopes[0] + wide]), p, p_line)]


def compare(answer, recount, label, table):
    figures = Check(f"bands: figures and counts of all cells, {label}", "DuckDB, numpy")
    intervals = Check(f"bands: intervals, {label}", "numpy, scipy t")
    tests = Check(f"bands: tests, trends and Holm's adjustment, {label}", "numpy, scipy t, statsmodels holm", tolerance=1e-7)
    rows = Check(f"bands: CSV and Parquet, {label}", "the same as JSON", tolerance=1e-15)
    asked = answer["parameters"]
    theirs = recount.cells()
    ours = {(c["measure"], c["split"], c["level"], c["kind"]): c for c in answer["cells"]}
    figures.equal("cells", sorted(ours), sorted(theirs))
    p_values, series = {}, {}
    for place, cell in theirs.items():
        our = ours.get(place)
        if our is None:
            continue
        where = " ".join(place)
        measure, split, level, kind = place
        least = asked["minimum_games" if measure.endswith("_per_game") else "minimum_turns"]
        suppressed = cell.n < least or cell.folds < asked["minimum_folds"]
        figures.equal(f"{where} n", (our["n"], our["folds"]), (cell.n, cell.folds))
        figures.equal(f"{where} suppressed", our["suppressed"], bool(suppressed))
        figures.close(f"{where} estimate", our["estimate"], None if suppressed else float(cell.whole))
        figures.close(f"{where} covered", our["covered"], None if suppressed else cell.covered)
        spread = None
        if not suppressed and cell.event_folds >= asked["minimum_folds"]:
            spread = cell.spread()
        bounds = (None, None)
        wider = 1
        by_player = recount.by_player.of(*place)
        who = by_player[2:] if by_player and not suppressed else (None, None)
        figures.equal(f"{where} players", our["players"], who[0])
        figures.close(f"{where} largest share", our["largest_share"], who[1])
        if spread is not None:
            middle = cell.scale.forward(cell.whole)
            width = lambda se, df: stats.t.ppf(0.5 + asked["level"] / 2, df) * se
            wide = width(*spread)
            if by_player and by_player[0]:
                wider = max(1, width(*by_player[:2]) / wide)
            wide *= wider
            bounds = float(cell.scale.back(middle - wide)), float(cell.scale.back(middle + wide))
        intervals.close(f"{where} low", our["low"], bounds[0])
        intervals.close(f"{where} high", our["high"], bounds[1])
        test = cell.test(wider) if spread is not None else None
        tests.close(f"{where} against all", our["against_all"], test and test[0])
        tests.close(f"{where} p", our["p"], test and test[1], scale=1e-12)
        if test is not None:
            p_values[place] = test[1]
        if split == "band" and level[0].isdigit() and spread is not None:
            low, high = map(int, level.split("-"))
            series.setdefault((measure, kind), []).append(((low + high + 1) / 2, cell, spread, wider))
    trends = {key: trend(points, points[0][1].scale, asked["level"]) for key, points in series.items()}
    trends = {key: figure for key, figure in trends.items() if figure is not None}
    our_trends = {(t["measure"], t["kind"]): t for t in answer["trends"]}
    tests.equal("trends", sorted(our_trends), sorted(trends))
    for key, figure in trends.items():
        for name, value in zip(["per_100_points", "low", "high", "p", "p_line"], figure):
            tests.close(f"{key} {name}", our_trends[key][name], value, scale=1e-12)
        p_values[key] = figure[3]
    if p_values:
        holm = multipletests(list(p_values.values()), method="holm")[1]
        for place, p in zip(p_values, holm):
            our = ours.get(place) or our_trends.get(place)
            tests.close(f"{place} Holm", our["p_holm"], float(p), scale=1e-12)
    tests.equal("number of tests", answer["multiplicity"]["tests"], len(p_values))
    for source, lines in table.items():
        rows.equal(f"{source} rows", len(lines), len(answer["cells"]))
        for line, cell in zip(lines, answer["cells"]):
            for name, value in cell.items():
                read = line[name]
                if source == "CSV":
                    read = {"": None, "true": True, "false": False}.get(read, read)
                    read = float(read) if isinstance(value, (float, int)) and not isinstance(value, bool) else read
                rows.equal(f"{source} {name}", read, value)
    return [figures, intervals, tests, rows]


def main():
    arguments = argument_parser(__doc__)
    arguments.add_argument("--once", action="store_true", help="only as the shipped file asks")
    given = arguments.parse_args()
    shipped = tomllib.loads((ROOT / "notebooks-free-reports" / f"{NAME}.toml").read_text())
    cases = [(shipped["k"], shipped["within"], shipped["developed"])]
    cases += [] if given.once else [(0, 3, "any"), (4, 20, "no")]
    for k, within, developed in cases:
        options = ["--k", k, "--within", within, "--developed", developed]
        answer = json.loads(ask(given.hobble, given.data, *options, "--format", "json"))
        table = {"CSV": list(csv.DictReader(io.StringIO(ask(given.hobble, given.data, *options, "--format", "csv"))))}
        with tempfile.TemporaryDirectory() as folder:
            path = f"{folder}/cells.parquet"
            ask(given.hobble, given.data, *options, "--format", "parquet", "--out", path)
            table["Parquet"] = pl.read_parquet(path).to_dicts()
        label = f"{given.label}, k {k}, {within} moves, developed {developed}"
        for check in compare(answer, Recount(given.data, k, within, developed), label, table):
            check.report()
    return Check.total_differences > 0


if __name__ == "__main__":
    sys.exit(main())
