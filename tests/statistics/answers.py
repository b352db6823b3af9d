"""Answers of `hobble ask` against DuckDB, statsmodels, and numpy with scipy.

- Counts: plain SQL over the Parquet files (DuckDB, PyPI `duckdb`); those of held pieces a
  second time from the tables of spells and moves, without the cube.
- Wilson's interval (E. B. Wilson, JASA 22 (1927), 209-212): statsmodels
  `proportion_confint(method="wilson")`.
- Katz's interval of the risk ratio (D. Katz and others, Biometrics 34 (1978), 469-474):
  statsmodels `confint_proportions_2indep(compare="ratio", method="log")`.
- Newcombe's interval of the risk difference (R. G. Newcombe, Statistics in Medicine 17
  (1998), 873-890, method 10): the same with `compare="diff", method="newcomb"`.
- Standardisation and jackknife: jackknife.py beside this file.

Publications cited from memory. Prints a line for each check.
"""

import argparse
import csv
import io
import itertools
import json
import pathlib
import subprocess
import sys
import tempfile
import tomllib
from concurrent.futures import ThreadPoolExecutor

from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

import cells
import tables
from jackknife import Group, finite
from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]
QUESTIONS = ["held-piece-lost", "held-developed-piece-lost"]
HORIZONS = [3, 5, 10, 15, 20]
# Defaults of schemas/question.schema.json; the shipped questions do not set them.
MINIMUM = {
    name: field["default"]
    for name, field in json.loads((ROOT / "schemas" / "question.schema.json").read_text())["properties"].items()
    if name.startswith("minimum")
}
LEVEL = 0.95
KNOWN = {"format", "title", "text", "kinds", "k", "within", "outcome", "developed", "strata", "group_by"}


def load(name):
    """A question file; one with a field this recount does not know is refused."""
    question = tomllib.loads((ROOT / "notebooks-free-reports" / f"{name}.toml").read_text())
    if unknown := set(question) - KNOWN:
        raise ValueError(f"{name}: fields this recount does not know: {sorted(unknown)}")
    return question


def ask(hobble, data, name, *options):
    """What the program answers, as it prints it."""
    command = [hobble, "ask", name, "--data", data, *map(str, options)]
    return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout


def cube_alone(data, folder):
    """The same dataset with nothing but its cube: answers without examples come sooner."""
    (folder / "table=exposure").symlink_to(pathlib.Path(data).resolve() / "table=exposure")
    # A table that the manifest names must be there.
    manifest = json.loads((pathlib.Path(data) / "manifest.json").read_text(encoding="utf-8"))
    parts = [part for source in manifest["sources"] for part in source["parts"]]
    for sizes in [manifest["tables"], *(part["tables"] for part in parts)]:
        for name in sizes.keys() - {"exposure"}:
            del sizes[name]
    (folder / "manifest.json").write_text(json.dumps(manifest), encoding="utf-8")


def ask_all(hobble, data):
    """The answers to both questions in every combination of k, horizon and development."""

    def one(key):
        name, k, within, developed = key
        options = ["--k", k, "--within", within, "--developed", developed, "--format", "json"]
        return key, json.loads(ask(hobble, data, name, *options))

    keys = itertools.product(QUESTIONS, range(5), HORIZONS, ["any", "yes"])
    with ThreadPoolExecutor(2) as pool:
        return dict(pool.map(one, keys))


def bounds(interval):
    return (interval["low"], interval["high"]) if interval else (None, None)


class Checks:
    """The checks of one dataset."""

    def __init__(self, label):
        def check(what, source, **more):
            return Check(f"{what}, {label}", source, **more)

        self.counts = check("counts of answers", "DuckDB, the cube")
        self.held = check("held turns, lost, over", "DuckDB, spells and moves without the cube")
        self.given = check("which intervals are given", "schemas and methods text")
        self.rates = check("rates, ratios, differences", "numpy")
        self.wilson = check("Wilson intervals", "statsmodels proportion_confint wilson")
        self.katz = check("Katz intervals", "statsmodels confint_proportions_2indep log")
        self.newcombe = check("Newcombe intervals", "statsmodels confint_proportions_2indep newcomb")
        self.jackknife = check("jackknife intervals of rates, raw ratio and difference", "numpy, scipy t")
        self.standardised = check("jackknife intervals of standardised figures", "numpy, scipy t")
        self.csv = check("answers as CSV", "the same as JSON", tolerance=1e-15)

    def all(self):
        return [value for value in vars(self).values() if isinstance(value, Check)]

    def row(self, where, row, group):
        """One row of an answer against its cells."""
        compared = row["standardised"]
        expected = {
            "strata": int(group.compared.sum()),
            "strata_left_out": int(group.left_out.sum()),
            "held_turns": int(group.held[group.compared].sum()),
            "held_outcomes": int(group.held_outcomes[group.compared].sum()),
            "held_turns_left_out": int(group.held[group.left_out].sum()),
            "held_outcomes_left_out": int(group.held_outcomes[group.left_out].sum()),
            "free_turns": int(group.free[group.compared].sum()),
            "free_outcomes": int(group.free_outcomes[group.compared].sum()),
        }
        for name, count in expected.items():
            self.counts.equal(f"{where} {name}", compared[name], count)
        for side in ["held", "free"]:
            turns, folds, outcome_folds = group.spread(side)
            expected = {
                "turns": turns,
                "outcomes": int(getattr(group, f"{side}_outcomes").sum()),
                "over": int(getattr(group, f"{side}_over").sum()),
                "folds": folds,
                "outcome_folds": outcome_folds,
            }
            for name, count in expected.items():
                self.counts.equal(f"{where} {side} {name}", row[side][name], count)
        self.figures(where, row, group)
        self.independent(where, row, group)
        enough = group.enough("held", True)[1] and group.enough("free", True)[1]
        self.given.equal(f"{where} too_few", row["too_few"] is None, enough)

    def figures(self, where, row, group):
        """Figures with their jackknife."""
        raw, compared = row["raw"], row["standardised"]
        places = {
            "held": (row["held"]["rate"], row["held"]["jackknife"]),
            "free": (row["free"]["rate"], row["free"]["jackknife"]),
        }
        for name, estimate in [
            ("raw ratio", raw["ratio"]),
            ("raw difference", raw["difference"]),
            ("standardised held rate", compared["held_rate"]),
            ("standardised free rate", compared["free_rate"]),
            ("standardised ratio", compared["ratio"]),
            ("standardised difference", compared["difference"]),
        ]:
            places[name] = (estimate["value"], estimate["jackknife"])
        for name, (value, interval) in places.items():
            check = self.standardised if name.startswith("standardised") else self.jackknife
            # A difference is as exact as the rates it is taken of.
            scale = 0.0
            if name.endswith("difference"):
                scale = finite(group.whole["held"]) or 0.0
            self.rates.close(f"{where} {name}", value, finite(group.whole[name]), scale)
            expected = group.interval(name)
            self.given.equal(f"{where} {name}", interval is not None, expected is not None)
            if interval is None or expected is None:
                continue
            low, high, error, degrees = expected
            check.close(f"{where} {name} low", interval["low"], low, scale)
            check.close(f"{where} {name} high", interval["high"], high, scale)
            check.close(f"{where} {name} se", interval["se"], error)
            check.equal(f"{where} {name} df", interval["df"], degrees)

    def independent(self, where, row, group):
        """Intervals that take turns as independent."""
        sides = {}
        for side in ["held", "free"]:
            turns = int(getattr(group, side).sum())
            outcomes = int(getattr(group, f"{side}_outcomes").sum())
            sides[side] = (outcomes, turns)
            wilson = row[side]["wilson"]
            given = group.enough(side)[0]
            self.given.equal(f"{where} {side} Wilson", wilson is not None, given)
            if given:
                expected = proportion_confint(outcomes, turns, method="wilson")
                # Both bounds are sums and differences of numbers of the upper one's size; at no
                # outcome statsmodels keeps a rounding trace where the bound is 0.
                for end, ours, theirs in zip(["low", "high"], bounds(wilson), expected):
                    self.wilson.close(f"{where} {side} Wilson {end}", ours, theirs, expected[1])
        both = group.enough("held")[0] and group.enough("free")[0]
        some = sides["held"][0] > 0 and sides["free"][0] > 0
        katz = row["raw"]["ratio_katz"]
        newcombe = row["raw"]["difference_newcombe"]
        self.given.equal(f"{where} Katz", katz is not None, both and some)
        self.given.equal(f"{where} Newcombe", newcombe is not None, both)
        if both and some:
            expected = confint_proportions_2indep(*sides["held"], *sides["free"], compare="ratio", method="log")
            for end, ours, theirs in zip(["low", "high"], bounds(katz), expected):
                self.katz.close(f"{where} Katz {end}", ours, theirs)
        if both:
            expected = confint_proportions_2indep(*sides["held"], *sides["free"], compare="diff", method="newcomb")
            for end, ours, theirs in zip(["low", "high"], bounds(newcombe), expected):
                self.newcombe.close(f"{where} Newcombe {end}", ours, theirs, sides["held"][0] / sides["held"][1])

    def answer(self, where, answer, groups):
        """A whole answer."""
        kinds = [kind for kind in ["knight", "bishop", "rook", "queen"] if kind in groups]
        labels = kinds + (["all"] if len(kinds) != 1 else [])
        self.counts.equal(f"{where} rows", [row["label"] for row in answer["rows"]], labels)
        for row in answer["rows"]:
            group = groups.get(None if row["all"] else row["label"])
            if group is not None:
                self.row(f"{where} {row['label']}", row, group)

    def held_side(self, where, answer, counts, place):
        """Held turns, outcomes and over against those of spells."""
        total = [0, 0, 0]
        for row in answer["rows"]:
            turns, *rest = counts.get(row["label"], (0, *[0] * 2 * len(HORIZONS)))
            expected = [turns, *rest[2 * place : 2 * place + 2]]
            if row["all"]:
                expected = total
            else:
                total = [a + b for a, b in zip(total, expected)]
            for name, count in zip(["turns", "outcomes", "over"], expected):
                self.held.equal(f"{where} {row['label']} held {name}", row["held"][name], count)

    def same_as_csv(self, where, answer, text):
        """Every number of the CSV against the JSON."""
        rows = list(csv.DictReader(io.StringIO(text)))
        self.csv.equal(f"{where} rows", len(rows), len(answer["rows"]))
        for ours, row in zip(rows, answer["rows"]):
            raw, compared = row["raw"], row["standardised"]
            expected = {}
            for side in ["held", "free"]:
                for name in ["turns", "outcomes", "over", "folds", "outcome_folds"]:
                    expected[f"{side}_{name}"] = row[side][name]
                estimate(expected, f"{side}_rate", row[side]["rate"], row[side]["jackknife"])
                ends(expected, f"{side}_rate_wilson", row[side]["wilson"])
            estimate(expected, "raw_ratio", raw["ratio"]["value"], raw["ratio"]["jackknife"])
            ends(expected, "raw_ratio_katz", raw["ratio_katz"])
            estimate(expected, "raw_difference", raw["difference"]["value"], raw["difference"]["jackknife"])
            ends(expected, "raw_difference_newcombe", raw["difference_newcombe"])
            for column, name in [
                ("strata", "strata"), ("strata_left_out", "strata_left_out"),
                ("compared_held_turns", "held_turns"), ("compared_held_outcomes", "held_outcomes"),
                ("held_turns_left_out", "held_turns_left_out"),
                ("held_outcomes_left_out", "held_outcomes_left_out"),
                ("compared_free_turns", "free_turns"), ("compared_free_outcomes", "free_outcomes"),
            ]:
                expected[column] = compared[name]
            for column, name in [
                ("compared_held_rate", "held_rate"), ("standardised_free_rate", "free_rate"),
                ("standardised_ratio", "ratio"), ("standardised_difference", "difference"),
            ]:
                estimate(expected, column, compared[name]["value"], compared[name]["jackknife"])
            words = {"question", "definitions", "k", "within", "outcome", "developed_only", "row", "kind", "too_few"}
            self.csv.equal(f"{where} columns", set(ours) - words, set(expected))
            for column, value in expected.items():
                number = float(ours[column]) if ours.get(column) else None
                self.csv.close(f"{where} {row['label']} {column}", number, value)


def ends(into, name, interval):
    into[f"{name}_low"], into[f"{name}_high"] = bounds(interval)


def estimate(into, name, value, interval):
    into[name] = value
    ends(into, f"{name}_jackknife", interval)
    into[f"{name}_jackknife_se"] = interval["se"] if interval else None
    into[f"{name}_jackknife_df"] = interval["df"] if interval else None


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True, help="folder of the tables")
    parser.add_argument("--label", required=True, help="name of the games in the lines printed")
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    checks = Checks(arguments.label)
    questions = {name: load(name) for name in QUESTIONS}
    same = {json.dumps({**q, "title": "", "text": "", "developed": ""}) for q in questions.values()}
    assert len(same) == 1, "the shipped questions differ in more than `developed`: recount each"
    question = questions[QUESTIONS[0]]
    with tempfile.TemporaryDirectory() as folder:
        cube_alone(arguments.data, pathlib.Path(folder))
        answers = ask_all(arguments.hobble, folder)
    parameters = answers[QUESTIONS[0], 0, 3, "any"]["parameters"]
    for name, value in [*MINIMUM.items(), ("level", LEVEL)]:
        checks.counts.equal(name, parameters[name], value)
    for k, developed in itertools.product(range(5), ["any", "yes"]):
        from_spells = cells.held_from_spells(con, question, k, HORIZONS, developed)
        counts = cells.cells(con, question, k, HORIZONS, developed)
        for place, within in enumerate(HORIZONS):
            groups = {kind: Group(part, MINIMUM, LEVEL) for kind, part in counts[within].items()}
            for name in QUESTIONS:
                where = f"{name} k={k} N={within} developed={developed}"
                answer = answers[name, k, within, developed]
                checks.answer(where, answer, groups)
                checks.held_side(where, answer, from_spells, place)
    for name in QUESTIONS:
        answer = json.loads(ask(arguments.hobble, arguments.data, name, "--format", "json"))
        text = ask(arguments.hobble, arguments.data, name, "--format", "csv")
        checks.same_as_csv(name, answer, text)
        # As asked of the cube alone, with its defaults spelt out.
        key = (name, questions[name]["k"], questions[name]["within"], questions[name]["developed"])
        checks.counts.equal(f"{name} with all tables", answer["rows"], answers[key]["rows"])
        # Without options a question is asked as its file says.
        parameters = answer["parameters"]
        for field in KNOWN - {"format", "title", "text"}:
            checks.counts.equal(f"{name} {field}", parameters[field], questions[name][field])
    sys.exit(sum(check.report() for check in checks.all()) > 0)


if __name__ == "__main__":
    main()
