"""Answers of `hobble ask` against DuckDB, statsmodels, and numpy with scipy.

- Counts: plain SQL over the Parquet file of `turns` (DuckDB, PyPI `duckdb`).
- That bishops of a comparison are those of the claim about them, which is counted in another way.
- Standardisation and jackknife: jackknife.py beside this file.

Prints a line for each check.
"""

import argparse
import csv
import io
import json
import pathlib
import subprocess
import sys
import tempfile
import tomllib
from concurrent.futures import ThreadPoolExecutor

from statsmodels.stats.multitest import multipletests

import cells
import tables
from jackknife import Group, finite
from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]
QUESTIONS = ["restrained-piece-lost", "held-piece-lost"]
HORIZONS = [3, 5, 10, 15, 20]
# Defaults of schemas/question.schema.json; the shipped questions do not set them.
MINIMUM = {
    name: field["default"]
    for name, field in json.loads((ROOT / "schemas" / "question.schema.json").read_text())["properties"].items()
    if name.startswith("minimum")
}
LEVEL = 0.95
# The sides of a comparison, by their names in an answer and in jackknife.py.
SIDES = {"restricted": "held", "free": "free"}
KNOWN = {"format", "title", "text", "kinds", "k", "restrained", "within", "outcome", "strata", "group_by"}


# Matched by little, so that few games have intervals too.
COARSE = """
format = 1
title = "Held, matched by kind and phase"
text = "So few strata that small archives have comparable pieces in each."
strata = ["kind", "phase"]
kinds = ["knight", "bishop", "rook", "queen"]
k = 2
within = 10
outcome = "lost"
group_by = ["kind"]
"""


def load(name):
    """A question file; one with a field this recount does not know is refused."""
    path = pathlib.Path(name) if name.endswith(".toml") else ROOT / "notebooks-free-reports" / f"{name}.toml"
    question = tomllib.loads(path.read_text())
    if unknown := set(question) - KNOWN:
        raise ValueError(f"{name}: fields this recount does not know: {sorted(unknown)}")
    return question


def ask(hobble, data, name, *options):
    """What the program answers, as it prints it."""
    command = [hobble, "ask", name, "--data", data, *map(str, options)]
    return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout


def turns_alone(data, folder):
    """The same dataset with nothing but its turns: answers without examples come sooner."""
    (folder / "turns").symlink_to(pathlib.Path(data).resolve() / "turns")
    # A table that the manifest names must be there.
    manifest = json.loads((pathlib.Path(data) / "manifest.json").read_text(encoding="utf-8"))
    parts = [part for source in manifest["sources"] for part in source["parts"]]
    for sizes in [manifest["tables"], *(part["tables"] for part in parts)]:
        for name in sizes.keys() - {"turns"}:
            del sizes[name]
    (folder / "manifest.json").write_text(json.dumps(manifest), encoding="utf-8")


def asked_with(question):
    """Pairs of k and horizon: every horizon at the question's own k, every k at its own horizon."""
    own = question["k"], question["within"]
    return {(own[0], within) for within in HORIZONS} | {(k, own[1]) for k in range(5)}


def ask_all(hobble, data, questions):
    """The answers to the questions, by name, k and horizon."""

    def one(key):
        name, k, within = key
        options = ["--k", k, "--within", within, "--format", "json"]
        return key, json.loads(ask(hobble, data, name, *options))

    keys = [(name, *pair) for name, question in questions.items() for pair in sorted(asked_with(question))]
    with ThreadPoolExecutor(2) as pool:
        return dict(pool.map(one, keys))


def bounds(interval):
    return (interval["low"], interval["high"]) if interval else (None, None)


class Checks:
    """The checks of one dataset."""

    def __init__(self, label):
        def check(what, source, **more):
            return Check(f"{what}, {label}", source, **more)

        self.counts = check("counts of answers", "DuckDB")
        self.claim = check("bishops of the comparison", "the claim about them", tolerance=1e-12)
        self.given = check("which intervals are given", "schemas and methods text")
        self.rates = check("rates, ratios, differences", "numpy")
        self.jackknife = check("jackknife intervals of rates, raw ratio and difference", "numpy, scipy t")
        self.standardised = check("jackknife intervals of standardised figures", "numpy, scipy t")
        self.over_all = check("each group's ratio over that of all", "numpy, scipy t, statsmodels holm", tolerance=1e-7)
        self.csv = check("answers as CSV", "the same as JSON", tolerance=1e-15)

    def all(self):
        return [value for value in vars(self).values() if isinstance(value, Check)]

    def row(self, where, row, group):
        """One row of an answer against its cells."""
        compared = row["standardised"]
        expected = {
            "strata": int(group.compared.sum()),
            "strata_left_out": int(group.left_out.sum()),
            "restricted_turns": int(group.held[group.compared].sum()),
            "restricted_outcomes": int(group.held_outcomes[group.compared].sum()),
            "restricted_turns_left_out": int(group.held[group.left_out].sum()),
            "restricted_outcomes_left_out": int(group.held_outcomes[group.left_out].sum()),
            "free_rows": int(group.free_rows[group.compared].sum()),
            "free_turns": int(group.free[group.compared].sum()),
            "free_outcomes": int(group.free_outcomes[group.compared].sum()),
        }
        for name, count in expected.items():
            self.counts.equal(f"{where} {name}", compared[name], count)
        for field, side in SIDES.items():
            turns, folds, outcome_folds = group.spread(side)
            expected = {
                "rows": int(getattr(group, f"{side}_rows").sum()),
                "turns": turns,
                "outcomes": int(getattr(group, f"{side}_outcomes").sum()),
                "over": int(getattr(group, f"{side}_over").sum()),
                "folds": folds,
                "outcome_folds": outcome_folds,
            }
            for name, count in expected.items():
                self.counts.equal(f"{where} {side} {name}", row[field][name], count)
        self.figures(where, row, group)
        enough = group.enough("held", True)[1] and group.enough("free", True)[1]
        self.given.equal(f"{where} too_few", row["too_few"] is None, enough)

    def figures(self, where, row, group):
        """Figures with their jackknife."""
        raw, compared = row["raw"], row["standardised"]
        places = {
            "held": (row["restricted"]["rate"], row["restricted"]["jackknife"]),
            "free": (row["free"]["rate"], row["free"]["jackknife"]),
        }
        for name, estimate in [
            ("raw ratio", raw["ratio"]),
            ("raw difference", raw["difference"]),
            ("standardised held rate", compared["restricted_rate"]),
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

    def answer(self, where, answer, groups):
        """A whole answer."""
        kinds = [kind for kind in ["knight", "bishop", "rook", "queen"] if kind in groups]
        labels = kinds + (["all"] if len(kinds) != 1 else [])
        self.counts.equal(f"{where} rows", [row["label"] for row in answer["rows"]], labels)
        for row in answer["rows"]:
            group = groups.get(None if row["all"] else row["label"])
            if group is not None:
                self.row(f"{where} {row['label']}", row, group)
        self.ratios_over_all(where, answer["rows"], groups)

    def ratios_over_all(self, where, rows, groups):
        """Each group's ratio over that of all groups, and the tests of all of them together."""
        compared = [(row, groups[row["label"]].over(groups[None])) for row in rows if not row["all"] and len(rows) > 1]
        tested = [(row, of) for row, of in compared if of is not None]
        adjusted = multipletests([of[3] for _, of in tested], method="holm")[1] if tested else []
        for row, of in compared:
            self.over_all.equal(f"{where} {row['label']}", row["against_all"] is not None, of is not None)
        for (row, (value, low, high, p)), p_holm in zip(tested, adjusted):
            if ours := row["against_all"]:
                expected = {"value": value, "low": low, "high": high, "p": p, "p_holm": float(p_holm)}
                for name, figure in expected.items():
                    self.over_all.close(f"{where} {row['label']} {name}", ours[name], figure)

    def as_claimed(self, row, claim):
        """The row of bishops against the comparison of the claim, at its own horizon."""
        within = claim["claim"]["within"]
        compared = next(one for one in claim["comparison"] if one["within"] == within)
        figures = row["standardised"]
        for ours, theirs in [
            (row["restricted"]["rows"], compared["held_rows"]),
            (figures["restricted_turns"], compared["compared_held"]),
            (figures["restricted_outcomes"], compared["compared_held_outcomes"]),
            (figures["free_turns"], compared["compared_free"]),
            (figures["free_outcomes"], compared["compared_free_outcomes"]),
            (figures["strata"], compared["strata"]),
        ]:
            self.claim.equal("bishops", ours, theirs)
        for name, other in [("restricted_rate", "held_rate"), ("free_rate", "free_rate"), ("ratio", "ratio")]:
            self.claim.close(f"bishops {name}", figures[name]["value"], compared[other]["value"])
            pairs = zip(bounds(figures[name]["jackknife"]), bounds(compared[other]["jackknife"]))
            for ours, theirs in pairs:
                self.claim.close(f"bishops {name}", ours, theirs)

    def same_as_csv(self, where, answer, text):
        """Every number of the CSV against the JSON."""
        rows = list(csv.DictReader(io.StringIO(text)))
        self.csv.equal(f"{where} rows", len(rows), len(answer["rows"]))
        for ours, row in zip(rows, answer["rows"]):
            raw, compared = row["raw"], row["standardised"]
            expected = {}
            for side in SIDES:
                for name in ["rows", "turns", "outcomes", "over", "folds", "outcome_folds"]:
                    expected[f"{side}_{name}"] = row[side][name]
                estimate(expected, f"{side}_rate", row[side]["rate"], row[side]["jackknife"])
            estimate(expected, "raw_ratio", raw["ratio"]["value"], raw["ratio"]["jackknife"])
            estimate(expected, "raw_difference", raw["difference"]["value"], raw["difference"]["jackknife"])
            for column, name in [
                ("strata", "strata"), ("strata_left_out", "strata_left_out"),
                ("compared_restricted_turns", "restricted_turns"),
                ("compared_restricted_outcomes", "restricted_outcomes"),
                ("restricted_turns_left_out", "restricted_turns_left_out"),
                ("restricted_outcomes_left_out", "restricted_outcomes_left_out"),
                ("compared_free_turns", "free_turns"), ("compared_free_outcomes", "free_outcomes"),
                ("compared_free_rows", "free_rows"),
            ]:
                expected[column] = compared[name]
            for column, name in [
                ("compared_restricted_rate", "restricted_rate"), ("standardised_free_rate", "free_rate"),
                ("standardised_ratio", "ratio"), ("standardised_difference", "difference"),
            ]:
                estimate(expected, column, compared[name]["value"], compared[name]["jackknife"])
            for name in ["value", "low", "high", "se", "p", "p_holm"]:
                column = "ratio_over_all" + ("" if name == "value" else f"_{name}")
                expected[column] = row["against_all"] and row["against_all"][name]
            words = {"question", "definitions", "k", "within", "outcome", "state", "row", "kind", "too_few"}
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
    with tempfile.TemporaryDirectory() as folder:
        coarse = pathlib.Path(folder) / "coarse.toml"
        coarse.write_text(COARSE)
        questions = {name: load(name) for name in [*QUESTIONS, str(coarse)]}
        alone = pathlib.Path(folder) / "turns"
        alone.mkdir()
        turns_alone(arguments.data, alone)
        answers = ask_all(arguments.hobble, alone, questions)
    parameters = answers[QUESTIONS[0], 1, 3]["parameters"]
    for name, value in [*MINIMUM.items(), ("level", LEVEL)]:
        checks.counts.equal(name, parameters[name], value)
    manifest = json.loads((pathlib.Path(arguments.data) / "manifest.json").read_text(encoding="utf-8"))
    for name, question in questions.items():
        pairs = asked_with(question)
        for k in {k for k, _ in pairs}:
            horizons = [within for one, within in pairs if one == k]
            counts = cells.cells(con, question, k, horizons, manifest["parameters"]["sample"])
            for within in horizons:
                groups = {
                    kind: Group(sides, MINIMUM, LEVEL, cells.FREE_ROWS) for kind, sides in counts[within].items()
                }
                where = f"{pathlib.Path(name).stem} k={k} N={within}"
                checks.answer(where, answers[name, k, within], groups)
    for name in QUESTIONS:
        answer = json.loads(ask(arguments.hobble, arguments.data, name, "--format", "json"))
        text = ask(arguments.hobble, arguments.data, name, "--format", "csv")
        checks.same_as_csv(name, answer, text)
        # As asked of the turns alone, with its defaults spelt out.
        key = (name, questions[name]["k"], questions[name]["within"])
        checks.counts.equal(f"{name} with all tables", answer["rows"], answers[key]["rows"])
        # Without options a question is asked as its file says.
        parameters = answer["parameters"]
        for field in questions[name].keys() - {"format", "title", "text"}:
            checks.counts.equal(f"{name} {field}", parameters[field], questions[name][field])
    claim = json.loads(ask(arguments.hobble, arguments.data, "bishop-restrained", "--format", "json"))
    bishops = [row for row in answers["restrained-piece-lost", 1, 10]["rows"] if row["label"] == "bishop"]
    for row in bishops:
        checks.as_claimed(row, claim)
    sys.exit(sum(check.report() for check in checks.all()) > 0)


if __name__ == "__main__":
    main()
